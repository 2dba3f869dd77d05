import numpy as np
import pytest
from make.plans.water_grid import border, flooded

from grading.water.grid.flow import routed
from grading.water.grid.pools import filled, pools


def told(grid, spacing=1.0, least=0.0, outlets=None):
    outlets = border(grid) if outlets is None else outlets
    stands = filled(grid, outlets)
    return pools(grid, stands, routed(stands, outlets), spacing, least)


def test_a_slope_holds_no_water():
    grid = np.add.outer(np.arange(20.0), 0.3 * np.arange(30))
    np.testing.assert_array_equal(filled(grid, border(grid)), grid)
    assert told(grid) == ()


def test_a_hole_in_a_level_yard_fills_to_the_yard():
    grid = np.ones((9, 9))
    grid[3:6, 3:6] = 0.0
    (pool,) = told(grid, spacing=0.5)
    np.testing.assert_array_equal(filled(grid, border(grid)), np.ones((9, 9)))
    assert (pool.depth, pool.volume, pool.area, pool.level) == (1.0, 9 * 0.25, 9 * 0.25, 1.0)


def test_a_hole_spills_over_the_lowest_of_its_rim():
    grid = np.full((7, 9), 5.0)
    grid[1:-1, 1:-1] = [4.0] * 7
    grid[3, 4] = 1.0
    grid[3, 5:] = [2.5, 3.0, 2.0, 1.0]
    (pool,) = told(grid)
    assert (pool.level, pool.depth) == (3.0, 2.0)
    assert (pool.deepest, pool.spill) == (3 * 9 + 4, 3 * 9 + 6)
    assert pool.volume == pytest.approx(2.0 + 0.5)


def test_one_pool_spills_into_the_next_and_each_keeps_its_level():
    grid = np.array([9, 3, 1, 4, 0, 2, -1, -2], dtype=float)
    grid = np.vstack([np.full(8, 9.0), grid, np.full(8, 9.0)])
    first, second = told(grid)
    assert (first.depth, first.level, sorted(first.cells.tolist())) == (3.0, 4.0, [9, 10])
    assert (second.depth, second.level, second.cells.tolist()) == (2.0, 2.0, [12])
    assert (first.spill, second.spill) == (11, 13)


def test_a_drain_in_a_hole_keeps_it_dry():
    grid = np.ones((9, 9))
    grid[3:6, 3:6] = 0.0
    outlets = border(grid)
    outlets[4, 4] = True
    assert told(grid, outlets=outlets) == ()


def test_water_that_is_shallow_is_not_told():
    grid = np.ones((9, 9))
    grid[4, 4] = 0.99
    grid[2, 2] = 0.5
    assert [pool.depth for pool in told(grid, least=0.02)] == [0.5]


def test_water_does_not_leave_over_a_wall():
    """The house beside a grid that falls to it: the water stands against the wall."""
    grid = np.tile(np.arange(1.0, 8.0)[:, None], (1, 9))
    grid[0] = np.nan
    outlets = border(grid) & np.isfinite(grid)
    outlets[:, [0, -1]] = False  # fences that close the sides
    (pool,) = told(grid, outlets=outlets)
    assert pool.level == 7.0


def test_ground_that_is_walled_off_is_left_alone():
    grid = np.full((7, 7), 3.0)
    grid[2:5, 2:5] = np.nan
    grid[3, 3] = 1.0
    stands = filled(grid, border(grid))
    assert stands[3, 3] == 1.0
    np.testing.assert_array_equal(stands, grid)


def test_a_tilted_bowl_spills_where_its_rim_is_lowest():
    """z = r2 / (2 R) - s x in a yard cut off at radius a: the water stands to the rim's lowest
    point, a2 / (2 R) - s a, and holds pi R h2 with h its depth over the bowl's own lowest point,
    -s2 R / 2 at x = s R."""
    radius, tilt, reach, spacing = 4.0, 0.05, 1.2, 0.01
    line = np.arange(-1.3, 1.3 + spacing / 2, spacing)
    x, y = np.meshgrid(line, line)
    grid = (x**2 + y**2) / (2 * radius) - tilt * x
    outside = np.hypot(x, y) > reach
    grid[outside] = -tilt * reach + reach**2 / (2 * radius) - 1.0
    (pool,) = told(grid, spacing)
    level = reach**2 / (2 * radius) - tilt * reach
    depth = level + tilt**2 * radius / 2
    assert pool.level == pytest.approx(level, abs=spacing * (reach / radius))
    assert pool.depth == pytest.approx(depth, abs=spacing * (reach / radius))
    assert pool.volume == pytest.approx(np.pi * radius * depth**2, rel=0.05)
    row, column = divmod(pool.spill, len(line))
    assert (line[column], line[row]) == (pytest.approx(reach, abs=0.03), pytest.approx(0, abs=0.15))


@pytest.mark.parametrize("seed", range(6))
def test_rough_ground_fills_as_by_priority_flood(seed):
    rng = np.random.default_rng(seed)
    grid = rng.integers(0, 9, (30, 24)).astype(float)  # many ties and flats
    grid[rng.random(grid.shape) < 0.1] = np.nan
    outlets = border(grid) & np.isfinite(grid)
    level = flooded(grid, outlets)
    reached = np.isfinite(level)
    np.testing.assert_array_equal(filled(grid, outlets)[reached], level[reached])
