from time import perf_counter

import numpy as np
import pytest
import shapely
from make.plans.water_grid import box, yard

from grading.water.grid.raster import inside, tin_levels
from grading.water.grid.relief import GROUND, HOUSE, MOST_CELLS, OFF_THE_MAP, relief

PATIO = box(2, 0, 8, 4)
HOUSE_BODY = box(-1, -4, 13, 0)


def finish(xy):
    return 5.0 - 0.02 * xy[:, 1]


def made(**kwargs):
    ground = yard(lambda x, y: 4.9 - 0.05 * y + 0.02 * np.sin(x))
    return ground, relief(ground, [(PATIO, finish)], HOUSE_BODY, **kwargs)


def test_each_cell_has_the_level_of_what_lies_there():
    ground, grid = made()
    kind, z, xy = grid.kind.ravel(), grid.z.ravel(), grid.centres(np.arange(grid.z.size))
    np.testing.assert_allclose(z[kind == 0], finish(xy[kind == 0]), rtol=1e-14)
    np.testing.assert_allclose(z[kind == GROUND], ground.elevation(xy[kind == GROUND]), rtol=1e-13)
    assert np.isnan(z[kind < GROUND]).all()
    assert set(np.unique(kind)) == {OFF_THE_MAP, HOUSE, GROUND, 0}


def test_the_cells_are_those_whose_centre_is_inside():
    _, grid = made()
    xy = grid.centres(np.arange(grid.z.size))
    for polygon in (PATIO, HOUSE_BODY):
        own = shapely.contains_xy(polygon, xy)
        np.testing.assert_array_equal(grid.inside(polygon).ravel(), own)
    assert (grid.kind == 0).sum() * grid.spacing**2 == pytest.approx(PATIO.area)


def test_a_pocket_in_the_paving_keeps_its_ground():
    pocket = shapely.Point(5, 2).buffer(0.7)
    ground = yard(lambda x, y: 4.9 - 0.05 * y)
    grid = relief(ground, [(PATIO - pocket, finish)])
    xy = grid.centres(np.arange(grid.z.size))
    within = shapely.contains_xy(pocket, xy)
    assert (grid.kind.ravel()[within] == GROUND).all()


def test_water_cannot_leave_over_the_house_and_can_everywhere_else():
    _, grid = made()
    first = grid.centres(np.flatnonzero(grid.beside_house))
    assert (first[:, 1] < grid.spacing).all()
    assert len(first) == pytest.approx(12 / grid.spacing, abs=2)
    edge = grid.centres(np.flatnonzero(grid.edge & ~grid.beside_house))
    far = np.minimum.reduce([edge[:, 0], 12 - edge[:, 0], 10 - edge[:, 1]])
    assert (far < grid.spacing).all()


def test_the_cells_lie_along_the_wall_and_their_sides_on_it():
    turn = np.radians(27)
    along = np.array([np.cos(turn), np.sin(turn)])
    _, grid = made(along=along, through=np.array([0.3, 0.4]))
    np.testing.assert_allclose(grid.along, along)
    column, row = grid.steps(np.array([0.3, 0.4]))
    assert (column % 1, row % 1) == (pytest.approx(0.5), pytest.approx(0.5))
    cells = np.arange(grid.z.size)
    np.testing.assert_array_equal(grid.cells(grid.centres(cells)), cells)
    a, b, c, d, e, f = grid.affine
    row, column = 7, 11
    at = [a * column + b * row + c, d * column + e * row + f]
    np.testing.assert_allclose(grid.centres(np.array([7 * grid.shape[1] + 11]))[0], at)
    assert (grid.kind == 0).sum() * grid.spacing**2 == pytest.approx(PATIO.area, rel=0.01)


def test_points_beyond_the_grid_have_no_cell():
    _, grid = made()
    assert grid.cells(np.array([[50.0, 2.0], [5.0, -9.0]])).tolist() == [-1, -1]


@pytest.mark.parametrize("size", [(3.0, 2.0), (12.0, 10.0), (90.0, 20.0)])
def test_the_grid_is_never_finer_than_it_needs_nor_larger_than_it_may(size):
    grid = relief(yard(lambda x, y: 1.0, size), [])
    assert max(grid.shape) <= MOST_CELLS
    assert grid.spacing >= 0.05
    assert grid.spacing == 0.05 or max(grid.shape) > MOST_CELLS - 10


def test_ground_that_was_not_surveyed_is_off_the_map():
    ground = yard(lambda x, y: 1.0 + 0.02 * x).reaching(box(-0.8, 0, 5, 5), 1.0)
    assert ground.beyond.any()
    grid = relief(ground, [])
    assert grid.centres(np.flatnonzero(grid.ground))[:, 0].min() > 0


def test_triangles_that_share_a_side_leave_no_gap_and_never_overlap():
    rng = np.random.default_rng(4)
    from scipy.spatial import Delaunay

    xy = rng.uniform(1, 38, (60, 2)).round(1)  # many centres right on sides and corners
    triangles = Delaunay(xy).simplices
    z = 2.0 + 0.1 * xy[:, 0] - 0.3 * xy[:, 1]
    levels = tin_levels(xy, z, triangles, (40, 40))
    row, column = np.indices(levels.shape)
    known = np.isfinite(levels)
    np.testing.assert_allclose(levels[known], (2.0 + 0.1 * column - 0.3 * row)[known], atol=1e-12)
    hull = shapely.MultiPoint(xy).convex_hull
    inner = shapely.contains_xy(hull.buffer(-1e-9), column, row)
    assert known[inner].all()
    counted = sum(inside(shapely.Polygon(xy[t]), levels.shape).astype(int) for t in triangles)
    np.testing.assert_array_equal(counted, known.astype(int))


def test_a_grid_of_500_by_500_is_made_in_a_blink():
    rng = np.random.default_rng(1)
    from grading.ground.model import surface

    xy = np.vstack([rng.uniform(0, 25, (400, 2)), [[0, 0], [25, 0], [25, 25], [0, 25]]])
    ground = surface(np.column_stack([xy, 0.01 * xy[:, 0]]), warn=False)
    best = np.inf
    for _ in range(5):
        start = perf_counter()
        grid = relief(ground, [(PATIO, finish)], HOUSE_BODY)
        best = min(best, perf_counter() - start)
    assert max(grid.shape) >= 480
    assert best < 1.0  # some 0.05 s on a quiet machine
