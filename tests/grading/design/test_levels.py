"""The grid of levels: from a corner of the paving, along the wall and out from it."""

from __future__ import annotations

import numpy as np
import pytest
from make.sites.on_a_plane import planar_spots, written

from grading.design.levels import MOST_POINTS, SPACING, grid_of, levels_at
from grading.pipeline import plan
from grading.units import FOOT, INCH

SITE = """name = "grid"
unit = "ft"
spots = "spots.csv"
[ground]
organics = "12 in"
[house]
walls = [[-3, 0], [{wide}, 0]]
inside = [5, -5]
[[area]]
name = "patio"
outline = [[1, 0], [{right}, 0], [{right}, 12], [1, 12]]
base = "panel"
plane = {{at = [1, 0], z = 100, fall = "2 %", bearing = 0}}
"""


def made(folder, right: float = 13.0):
    spots = planar_spots((right, 12), (100.0, 0.0, -0.01))
    return plan(written(folder, SITE.format(right=right, wide=right + 3), spots))


def test_points_stand_every_five_feet_from_the_corner_at_the_wall(tmp_path):
    found = made(tmp_path)
    grid = grid_of(found.areas[0], "ft")
    # 12 by 12 ft: lines at 0, 5 and 10 ft each way, and the outer edge where those out end at it.
    assert grid.spacing == 5 * FOOT
    assert grid.origin / FOOT == pytest.approx([1, 0], abs=1e-9)
    expected = {(x, y) for x in (1, 6, 11) for y in (0, 5, 10, 12)}
    assert {tuple(np.round(p, 6) + 0.0) for p in grid.xy / FOOT} == expected
    assert grid.measured(grid.xy) == pytest.approx(grid.steps * grid.spacing, abs=1e-9)


def test_a_corner_that_is_told_is_not_told_again(tmp_path):
    found = made(tmp_path)
    corners = np.array([[1.0, 0.0], [13.0, 0.0], [1.0, 12.0]]) * FOOT
    grid = grid_of(found.areas[0], "ft", corners)
    # Nine crossings and three places on the outer edge, less a corner of either kind.
    assert len(grid.steps) == 8 + 2
    assert np.hypot(*(grid.xy - corners[0]).T).min() > FOOT


def test_a_walk_narrower_than_the_grid_has_points_along_its_outer_edge(tmp_path):
    """36 by 4 ft: lines out at 0, 5, ... 35 ft; by hand each meets both edges."""
    text = SITE.format(right=37, wide=40).replace(", 12]", ", 4]")
    found = plan(written(tmp_path, text, planar_spots((37, 12), (100.0, 0.0, -0.01))))
    grid = grid_of(found.areas[0], "ft")
    out = np.round(grid.measured(grid.xy)[:, 1] / FOOT, 6)
    assert sorted(out) == [0.0] * 8 + [4.0] * 8
    # Whoever walks the outer edge finds them one after the other.
    along = grid.measured(grid.xy)[out > 0, 0] / FOOT
    assert along == pytest.approx([0, 5, 10, 15, 20, 25, 30, 35])


def test_a_long_area_is_spaced_wider(tmp_path):
    grid = grid_of(made(tmp_path, 201.0).areas[0], "ft")
    assert len(grid.steps) <= MOST_POINTS
    assert grid.spacing == 2 * SPACING["ft"]


def test_levels_by_hand(tmp_path):
    found = made(tmp_path)
    area = found.areas[0]
    levels = levels_at(found, area, np.array([[6.0, 10.0]]) * FOOT)
    # 10 ft out: finish 100 - 0.2 ft, ground 100 - 0.1 ft; the panel base is 4 1/8 in high, and
    # the organics go 12 in deep, lower than that: the hole is dug to their bottom.
    assert levels.finish[0] / FOOT == pytest.approx(99.8, abs=1e-9)
    assert levels.existing[0] / FOOT == pytest.approx(99.9, abs=1e-9)
    assert levels.subgrade[0] / FOOT == pytest.approx(99.8 - 4.125 / 12, abs=1e-9)
    assert levels.dug[0] / FOOT == pytest.approx(98.9, abs=1e-9)
    assert levels.depth[0] / INCH == pytest.approx(12.0, abs=1e-6)
    assert levels.refill[0] / INCH == pytest.approx(12 * (99.8 - 98.9) - 4.125, abs=1e-8)
