import numpy as np
import pytest
from make.plans.water_grid import border, gathered_one_by_one

from grading.water.grid.descent import framed, last, steepest
from grading.water.grid.flow import Downhill, routed, way
from grading.water.grid.pools import filled


def rough(seed, shape=(24, 31)):
    rng = np.random.default_rng(seed)
    return rng.integers(0, 12, shape) / 4.0


def routes(grid, ends=None, **kwargs):
    return routed(filled(grid, border(grid)), border(grid), ends, **kwargs)


@pytest.mark.parametrize("seed", range(5))
def test_every_drop_ends_at_the_edge_and_all_of_them_are_counted(seed):
    grid = rough(seed)
    receiver = routes(grid)
    ends = np.flatnonzero(receiver == np.arange(grid.size))
    assert border(grid).ravel()[ends].all()
    weight = np.random.default_rng(seed).uniform(0, 3, grid.size)
    total = Downhill(receiver).gathered(weight)
    assert total[ends].sum() == pytest.approx(weight.sum(), rel=1e-12)
    np.testing.assert_allclose(total, gathered_one_by_one(receiver, weight), rtol=1e-12)
    assert (border(grid).ravel()[last(receiver)]).all()


@pytest.mark.parametrize("seed", range(5))
def test_water_never_climbs_over_the_filled_ground(seed):
    grid = rough(seed)
    stands = filled(grid, border(grid)).ravel()
    receiver = routes(grid)
    assert (stands[receiver] <= stands).all()


def test_a_drain_takes_all_that_reaches_it():
    y, x = np.mgrid[:21, :21].astype(float)
    grid = np.hypot(x - 10, y - 10)
    drain = np.zeros(grid.shape, dtype=bool)
    drain[10, 10] = True
    stands = filled(grid, border(grid) | drain)
    receiver = routed(stands, border(grid) | drain, drain)
    total = Downhill(receiver).gathered(np.ones(grid.size))
    assert total[10 * 21 + 10] == grid.size
    np.testing.assert_array_equal(last(receiver), 10 * 21 + 10)


def test_over_level_ground_the_way_out_is_the_shortest():
    grid = np.ones((15, 15))
    receiver = routes(grid)
    row, column = np.indices(grid.shape)
    to_edge = np.minimum.reduce([row, column, 14 - row, 14 - column]).ravel()
    lengths = [len(way(receiver, cell)) - 1 for cell in range(grid.size)]
    np.testing.assert_array_equal(lengths, to_edge)


def test_a_pool_passes_its_water_on_over_its_spill():
    grid = np.full((5, 9), 9.0)
    grid[2] = [9, 5, 1, 4, 3, 2, 1, 0, -1]
    receiver = routes(grid)
    path = way(receiver, 2 * 9 + 1)
    assert path.tolist() == [19, 20, 21, 22, 23, 24, 25, 26]


def test_a_source_adds_to_every_cell_below_it():
    grid = np.tile(np.arange(12.0)[:, None], (1, 7))
    receiver = routes(grid)
    weight = np.ones(grid.size)
    weight[8 * 7 + 3] += 40.0
    total = Downhill(receiver).gathered(weight).reshape(grid.shape)
    np.testing.assert_array_equal(total[:, 2], 12 - np.arange(12.0))
    np.testing.assert_array_equal(total[:9, 3], 40 + 12 - np.arange(9.0))


def test_the_last_mark_on_the_way_is_told():
    grid = np.tile(np.arange(12.0)[:, None], (1, 7))
    receiver = routes(grid)
    mark = np.zeros(grid.shape, dtype=np.int64)
    mark[8, :], mark[3, :4] = 1, 2
    seen = Downhill(receiver).marked(mark.ravel()).reshape(grid.shape)
    np.testing.assert_array_equal(seen[9:, 2], 2)
    np.testing.assert_array_equal(seen[9:, 5], 1)
    np.testing.assert_array_equal(seen[4:8, 5], 0)
    np.testing.assert_array_equal(seen[:3], 0)


@pytest.mark.parametrize("bearing", range(0, 360, 7))
def test_on_a_plane_water_runs_straight_down_and_not_by_eighths_of_a_turn(bearing):
    turn = np.radians(bearing)
    down = np.array([np.sin(turn), np.cos(turn)])
    row, column = np.indices((121, 121))
    grid = -0.02 * (column * down[0] + row * down[1])
    nowhere = np.zeros(grid.shape, dtype=bool)
    path = way(routes(grid, outside=nowhere), 60 * 121 + 60)
    at = np.column_stack([path % 121, path // 121]) - 60.0
    aside = at @ np.array([down[1], -down[0]])
    assert np.abs(aside).max() < 2.0
    assert np.hypot(*at[-1]) > 58


def test_unsteered_each_step_is_the_steepest_of_eight():
    rng = np.random.default_rng(3)
    grid = rng.normal(size=(20, 20))
    level = framed(grid)
    receiver = steepest(level, steer=False).reshape(level.shape)
    for row in range(1, 21):
        for column in range(1, 21):
            falls = {
                (r, c): (level[row, column] - level[r, c]) / np.hypot(r - row, c - column)
                for r in range(row - 1, row + 2)
                for c in range(column - 1, column + 2)
                if (r, c) != (row, column)
            }
            best = max(falls, key=falls.get)
            expected = best if falls[best] > 0 else (row, column)
            assert divmod(receiver[row, column], 22) == expected


@pytest.mark.parametrize("steer", [True, False])
def test_ways_sought_row_by_row_are_those_of_the_whole_grid(steer, monkeypatch):
    rng = np.random.default_rng(5)
    level = framed(np.round(rng.normal(0, 1, (23, 31)), 1))
    kind = np.pad(rng.integers(0, 3, (23, 31)), 1)
    whole = [steepest(level, steer, each) for each in (None, kind)]
    for part in (1, 70, 200):
        monkeypatch.setattr("grading.water.grid.descent._PART", part)
        for each, told in zip((None, kind), whole, strict=True):
            assert np.array_equal(steepest(level, steer, each), told)
