"""What holds of the water on any ground: nothing is lost, nothing climbs, and shapes that have an
answer in closed form give it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from make.plans.water_grid import border, flooded, gathered_one_by_one

from grading.geometry.plane import Plane
from grading.water.falls import falls_away
from grading.water.grid.descent import last
from grading.water.grid.flow import Downhill, routed, way
from grading.water.grid.pools import filled, pools
from grading.water.margins import margin
from grading.water.runoff import stored

QUICK = settings(max_examples=60)


@st.composite
def grids(draw, holes=True):
    """Grids of levels with many ties, some cells without ground."""
    rows, columns = draw(st.integers(3, 14)), draw(st.integers(3, 14))
    rng = np.random.default_rng(draw(st.integers(0, 10_000)))
    steps = draw(st.sampled_from([2, 5, 40, 10_000]))
    grid = rng.integers(0, steps, (rows, columns)) / steps
    if holes and draw(st.booleans()):
        grid[rng.random(grid.shape) < 0.15] = np.nan
    return grid


@given(grids(), st.booleans(), st.booleans())
@QUICK
def test_no_drop_is_lost_and_none_goes_round_in_circles(grid, steer, open_edge):
    outlets = border(grid) & np.isfinite(grid)
    stands = filled(grid, outlets)
    outside = ~np.isfinite(grid) if open_edge else None
    kind = np.random.default_rng(grid.size).integers(0, 3, grid.shape) if open_edge else None
    receiver = routed(stands, outlets, outside=outside, kind=kind, steer=steer)
    weight = np.where(np.isfinite(grid), 1.0, 0.0).ravel()
    weight[np.flatnonzero(weight)[: len(grid)]] += 7.5  # roofs
    total = Downhill(receiver).gathered(weight)
    ends = receiver == np.arange(grid.size)
    assert total[ends].sum() == pytest.approx(weight.sum(), rel=1e-12)
    np.testing.assert_allclose(total, gathered_one_by_one(receiver, weight), rtol=1e-12)
    level = stands.ravel()
    ground = np.isfinite(level)
    assert (level[receiver[ground]] <= level[ground]).all()
    assert ground[receiver[ground]].all()
    assert (last(receiver)[ends] == np.flatnonzero(ends)).all()


@given(grids())
@QUICK
def test_water_stands_as_by_priority_flood(grid):
    outlets = border(grid) & np.isfinite(grid)
    assume(outlets.any())
    level = flooded(grid, outlets)
    reached = np.isfinite(level)
    np.testing.assert_array_equal(filled(grid, outlets)[reached], level[reached])


@given(grids())
@QUICK
def test_filling_twice_changes_nothing_and_pools_hold_the_difference(grid):
    outlets = border(grid) & np.isfinite(grid)
    stands = filled(grid, outlets)
    np.testing.assert_array_equal(filled(stands, outlets), stands)
    found = pools(grid, stands, routed(stands, outlets), 0.5)
    held = np.nansum(stands - grid) * 0.25
    assert sum(pool.volume for pool in found) == pytest.approx(held, rel=1e-12, abs=1e-15)
    for pool in found:
        np.testing.assert_array_equal(stands.ravel()[pool.cells], pool.level)
        assert stands.ravel()[pool.spill] <= pool.level
        assert pool.spill not in pool.cells


@given(grids(), st.floats(-50, 50), st.sampled_from([0, 1, 2, 3]))
@QUICK
def test_raising_or_turning_the_ground_moves_no_water(grid, lift, turns):
    """The shift is in whole steps of the ground, so that no two levels change their order."""
    lift = round(lift) * 1.0
    turned = np.rot90(grid + lift, turns)
    stands = filled(grid, border(grid) & np.isfinite(grid))
    other = filled(turned, border(turned) & np.isfinite(turned))
    np.testing.assert_allclose(np.rot90(other, -turns) - lift, stands, atol=1e-12)


@given(st.floats(0, 2 * np.pi), st.floats(0.001, 0.2))
@QUICK
def test_on_a_plane_no_water_stands_and_all_ways_are_straight(turn, fall):
    down = np.array([np.cos(turn), np.sin(turn)])
    row, column = np.indices((61, 61))
    grid = -fall * (column * down[0] + row * down[1])
    np.testing.assert_array_equal(filled(grid, border(grid)), grid)
    receiver = routed(grid, border(grid), outside=np.zeros(grid.shape, dtype=bool))
    for start in (30 * 61 + 30, 15 * 61 + 40):
        path = way(receiver, start)
        at = np.column_stack([path % 61, path // 61]) - [start % 61, start // 61]
        assert np.abs(at @ [down[1], -down[0]]).max() < 2.5


@given(st.floats(0.005, 0.2), st.floats(-0.4, 0.4), st.floats(-0.4, 0.4))
@QUICK
def test_off_a_cone_water_runs_away_from_its_top_in_every_direction(fall, dx, dy):
    row, column = np.indices((61, 61))
    away = np.column_stack([column.ravel() - 30 - dx, row.ravel() - 30 - dy])
    grid = (-fall * np.hypot(*away.T)).reshape(61, 61)
    receiver = routed(filled(grid, border(grid)), border(grid), outside=np.zeros((61, 61), bool))
    for start in (20 * 61 + 33, 33 * 61 + 41, 44 * 61 + 24):
        end = away[way(receiver, start)[-1]]
        angle = np.arctan2(*end) - np.arctan2(*away[start])
        assert abs((angle + np.pi) % (2 * np.pi) - np.pi) < 0.15


@given(st.floats(0.005, 0.1), st.floats(0.002, 0.1))
@QUICK
def test_in_a_valley_all_water_comes_to_its_line(side, along):
    row, column = np.indices((41, 41))
    grid = side * np.abs(column - 20.0) - along * row
    receiver = routed(filled(grid, border(grid)), border(grid), outside=np.zeros((41, 41), bool))
    total = Downhill(receiver).gathered(np.ones(grid.size)).reshape(grid.shape)

    def arrived(nearer):
        """Return the cells from which water has come to the line, or nearer to it than a cell."""
        apart = np.maximum(np.abs(np.arange(-20, 21)) - nearer, 0)
        return np.clip(41 - apart * along / side, 0, 41).sum()

    assert 0.9 * arrived(0.0) <= total[40, 19:22].max() <= 1.05 * arrived(1.5) + 1


@given(st.floats(0, np.pi), st.floats(0.005, 0.04), st.floats(0.005, 0.04))
@QUICK
def test_a_valley_at_any_angle_to_the_cells_holds_no_water_worth_telling(turn, side, along):
    spacing = 0.05
    row, column = np.indices((90, 90)) * spacing - 45 * spacing
    ahead, across = (
        column * np.cos(turn) + row * np.sin(turn),
        row * np.cos(turn) - column * np.sin(turn),
    )
    grid = side * np.abs(across) - along * ahead
    assert (filled(grid, border(grid)) - grid).max() < 0.001  # m; the limit is 1/8 in


@given(st.floats(0.5, 5.0), st.floats(0.0, 0.08), st.floats(0.8, 1.2))
@settings(max_examples=25)
def test_a_tilted_bowl_holds_what_the_closed_form_says(radius, tilt, reach):
    """z = r2 / (2 R) - s x, cut off at r = a: it spills at x = a, and holds pi R h2 where the
    water does not reach the rim elsewhere."""
    spacing = 0.02
    line = np.arange(-1.4, 1.4 + spacing / 2, spacing)
    x, y = np.meshgrid(line, line)
    grid = (x**2 + y**2) / (2 * radius) - tilt * x
    level = reach**2 / (2 * radius) - tilt * reach
    grid[np.hypot(x, y) > reach] = level - 1.0
    depth = level + tilt**2 * radius / 2
    assume(tilt * radius < 0.8 * reach and depth > 0.01)
    found = pools(grid, stands := filled(grid, border(grid)), routed(stands, border(grid)), spacing)
    slack = 2 * spacing * (reach / radius + tilt)
    assert found[0].level == pytest.approx(level, abs=slack)
    assert found[0].volume == pytest.approx(np.pi * radius * depth**2, abs=4 * slack)


@given(st.floats(0, 0.15), st.floats(0, 2 * np.pi), st.floats(0.02, 0.4), st.floats(0, 1))
@QUICK
def test_what_a_base_holds_is_the_integral_of_its_depth(fall, turn, thickness, share):
    slope = Plane(2.0, fall * np.cos(turn), fall * np.sin(turn))
    outline = shapely.Polygon([(0, 0), (6, 0), (6, 2), (3, 2), (3, 5), (0, 5)])
    bottom = slope.at(shapely.get_coordinates(outline)).min()
    held = stored([(outline, slope)], thickness, 0.4, outlet=bottom + share * thickness)
    x, y = np.meshgrid(np.arange(0.01, 6, 0.02), np.arange(0.01, 5, 0.02))
    inside = shapely.contains_xy(outline, x, y)
    above = held.level - slope.at(np.column_stack([x[inside], y[inside]]))
    volume = 0.4 * np.clip(above, 0, thickness).sum() * 0.02**2
    assert held.volume == pytest.approx(volume, rel=0.02, abs=1e-4)
    assert 0 <= held.volume <= held.capacity * (1 + 1e-9)


@given(st.floats(0.0, 0.05), st.floats(0.5, 8.0), st.floats(0.0, 0.1), st.floats(0.0, 0.1))
@QUICK
def test_more_movement_leaves_less_fall(fall, run, less, more):
    less, more = sorted((less, more))
    first = margin(fall, run, settlement=less, heave=less)
    second = margin(fall, run, settlement=more, heave=more)
    assert second.settled <= first.settled <= fall
    assert second.heaved <= first.heaved <= fall


@given(st.floats(-0.05, 0.05), st.floats(-0.05, 0.05), st.floats(0.2, 6.0))
@settings(max_examples=25)
def test_the_fall_away_from_a_wall_is_that_of_the_plane(dzdx, dzdy, depth):
    from make.plans.water_grid import yard

    ground = yard(lambda x, y: 5 - 0.06 * y, spacing=2.0)
    plane = Plane(5.0, dzdx, dzdy)
    wall = ("wall", np.array([0.0, 0.0]), np.array([12.0, 0.0]), np.array([0.0, 1.0]))
    patio = shapely.box(1, 0, 9, depth)
    (found,) = falls_away([wall], ground, [(patio, plane.at)], shapely.box(-1, -2, 13, 0))
    assert found.paved.fall == pytest.approx(-dzdy, abs=1e-9)
    assert found.paved.length == pytest.approx(min(depth, 3.048))
