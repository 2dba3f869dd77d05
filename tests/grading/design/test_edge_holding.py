"""What holds the free edge is told as it is laid and counted: spikes, panels cut, kerbs, walls."""

from __future__ import annotations

import numpy as np
import pytest
from handmade import site_of

from grading.catalogue.rules import Limits
from grading.design.edge_holding import kerbed
from grading.pipeline import plan
from grading.site.model import GroundSpec
from grading.units import FOOT, INCH
from viz.words.advice import area_lines
from viz.words.uncounted import not_counted


def yard(lawn=0.02, sill=6.0, **area):
    """Return paving of 16 x 14 ft before a wall, on a lawn that falls so much away from it."""
    x, y = np.meshgrid(np.arange(-10, 31, 4.0), np.arange(-6, 41, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), 100 - lawn * y.ravel()])
    outline = [[0, 0], [16, 0], [16, 14], [0, 14]]
    return plan(
        site_of(
            spots * FOOT,
            [{"name": "paving", "base": "dense", "outline": outline, **area}],
            unit="ft",
            house={"walls": [[-10, 0], [30, 0]], "inside": [8, -8]},
            doors=[{"name": "back door", "at": [8, 0], "sill": 100 + sill / 12}],
            ground=GroundSpec(soil="loam", organics=3 * INCH),
            finish={},
        )
    )


def edge_line(made):
    (line,) = [one for one in area_lines(made.advice, "paving", "ft") if one.startswith("Edge: ")]
    return line


@pytest.mark.parametrize(("use", "spacing"), [("patio", "12 in"), ("driveway", "8 in")])
def test_spikes_are_told_as_far_apart_as_the_order_counts_them(use, spacing):
    made = yard(use=use)
    assert f"spikes every {spacing}, closer on curves" in edge_line(made)
    (counted,) = [line for _, line in made.order.areas[0].chosen.lines if line.item == "spikes"]
    assert counted.how.startswith(f"one in {spacing}, ")


@pytest.mark.parametrize(("base", "cut"), [("panel", True), ("dense", False)])
@pytest.mark.parametrize("edge", ["concrete edge", "border"])
def test_a_panel_is_cut_flush_where_there_is_one(edge, base, cut):
    line = edge_line(yard(base=base, edge=edge))
    assert ("the panel cut flush with it" in line) is cut
    assert "where there is one" not in line


def test_a_kerb_holds_what_no_shoulder_of_soil_does_and_no_wall_is_needed_for():
    """The finish falls 2.5 % and the lawn 6 %: the edge rises from 0.4 in to 6.25 in over it."""
    made = yard(0.06, 8.0)
    area = made.areas[0]
    limits = Limits({})
    # Both sides rise from 0.25 + 0.42 in/ft y: 4 in at 8.93 ft, 6 in at 13.69 ft of their 14.
    sides = 2 * (5.75 - 3.75) / (0.035 * 12) * FOOT
    assert kerbed(area, limits) == pytest.approx(sides, abs=0.05)
    line = edge_line(made)
    assert "a kerb of concrete outside it along the 9'" in line
    assert "stand 4 in to 6 in above the lawn" in line
    assert "of free edge that is raised" not in line  # told by the length that the wall holds
    # What is not counted of it is told by the length along which nothing else stands.
    assert any(words.startswith("the kerb along 9'") for words in not_counted(made))
    for edge in ("concrete edge", "wall"):
        assert kerbed(yard(0.06, 8.0, edge=edge).areas[0], limits) == 0
    assert kerbed(yard().areas[0], limits) == 0
