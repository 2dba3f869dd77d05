"""Edges that two areas share: which is above, which are one straight edge, which are missed."""

import numpy as np
import pytest
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of

from grading.finish.wishes.seams import Seam, near_misses, seams_of
from grading.pipeline import plan
from grading.units import INCH

LOWER = {**PATIO, "name": "lower", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]}


def drawn(*areas, **kwargs):
    return site_of(grid_of_spots(lambda x, y: 30 - 0.02 * y), areas, house=WALL, **kwargs)


@pytest.mark.parametrize("down", [["patio", "lower"], ["lower", "patio"]])
def test_the_upper_side_of_a_step_is_the_one_that_it_leads_down_from(down):
    site = drawn(PATIO, LOWER, steps=[{"down": down, "risers": 1}])
    (seam,) = seams_of(site.areas, site.steps)
    assert [seam.upper, seam.lower] == down


@pytest.mark.parametrize(("inches", "missed"), [(5.5, True), (5.95, True), (6.1, False)])
def test_edges_up_to_half_a_foot_apart_were_meant_to_be_one(inches, missed):
    edge = 5 + inches * INCH
    near = {**LOWER, "outline": [[1, edge], [9, edge], [9, 8], [1, 8]]}
    assert bool(near_misses(drawn(PATIO, near).areas, "m")) == missed


def test_pieces_of_one_straight_edge_are_put_on_one_line():
    """Both ends of it that lie farthest apart tell where the line runs."""
    pieces = np.array([[0.0, 0.0], [4.0, 0.005]]), np.array([[6.0, -0.005], [10.0, 0.0]])
    runs = Seam("patio", "lower", pieces, None).runs
    assert sorted(run[:, 0].round(6).tolist() for run in runs) == [[0, 4], [6, 10]]
    assert np.concatenate(runs)[:, 1] == pytest.approx(np.zeros(4), abs=1e-12)


def test_an_edge_that_areas_share_holds_them_together_and_has_no_price():
    """It is what the paving is, and nothing that could be given up for less work."""
    made = plan(
        site_of(
            grid_of_spots(lambda x, y: 30 - 0.02 * y + 0.03 * np.abs(y - 5)),
            [PATIO, LOWER], house=WALL,
        )
    )  # fmt: skip
    rules = {wish.rule for area in made.areas for wish in area.wishes}
    assert "shared-edge" in rules
    bound = [binding for area in made.areas for binding in area.finish.binding]
    assert bound
    assert all(binding.rule != "shared-edge" for binding in bound)
