"""Real yards that surveys are tried on, and how a yard is shot.

`dem.tif`, a 1 m lidar ground model, 400 by 400, of the Python package lidar 0.8.4: patches of 16 m,
no steeper than 35 %. Between its cells it is bilinear, so the roughness of turf below a metre is
not in it. Tame are those within 10 cm (root mean square) of a plane: a lawn.
"""

from __future__ import annotations

import importlib.util
from pathlib import Path

import numpy as np
import pytest

SIDE, CORNERS = 16, 4
READING, ROD = 0.003, 0.02  # m
TAME, ANY = 0.10, np.inf  # m off a plane


def lidar_dem() -> np.ndarray:
    """Return its cells, (400, 400) [m], a metre apart; the test is skipped where it is missing."""
    spec = importlib.util.find_spec("lidar")  # the package itself needs far more than its data
    if spec is None or spec.origin is None:
        pytest.skip("the package lidar is not installed")
    image = pytest.importorskip("PIL.Image")
    with image.open(Path(spec.origin).parent / "data" / "dem.tif") as picture:
        dem = np.asarray(picture, dtype=float)
    assert dem.shape == (400, 400)
    return dem


def lidar_yards(rough, count):
    """The levels of some yards no rougher than so much, as functions of points (k, 2). [m]"""
    dem = lidar_dem()
    y, x = np.indices((SIDE + 1, SIDE + 1)).reshape(2, -1).astype(float)
    plane = np.column_stack((np.ones_like(x), x, y))
    found = []
    for row, column in np.ndindex(54, 54):
        patch = dem[7 * row :, 7 * column :][: SIDE + 1, : SIDE + 1]
        fit, miss = np.linalg.lstsq(plane, patch.ravel(), rcond=None)[:2]
        if np.sqrt(miss[0] / len(x)) <= rough and np.hypot(*fit[1:]) <= 0.35:
            found.append(_bilinear(patch))
    kept = np.random.default_rng(0).permutation(len(found))[:count]
    assert len(kept) == count
    return [found[place] for place in kept]


def _bilinear(patch):
    def level(xy):
        cell = np.clip(np.floor(xy).astype(int), 0, SIDE - 1)
        (x, y), (a, b) = (xy - cell).T, cell.T
        return (
            patch[b, a] * (1 - x) * (1 - y) + patch[b, a + 1] * x * (1 - y)
            + patch[b + 1, a] * (1 - x) * y + patch[b + 1, a + 1] * x * y
        )  # fmt: skip

    return level


def shot(level, count, rng):
    """The survey (count, 3) of a yard, its four corners first."""
    corners = np.array([[0, 0], [SIDE, 0], [SIDE, SIDE], [0, SIDE]], float)
    across = int(np.ceil(np.sqrt(max(count - CORNERS, 1))))
    cells = np.stack(np.meshgrid(np.arange(across), np.arange(across)), axis=-1).reshape(-1, 2)
    inner = (cells + 0.5 + rng.uniform(-0.35, 0.35, cells.shape)) * SIDE / across
    inner = inner[rng.permutation(len(inner))[: count - CORNERS]]
    xy = np.concatenate((corners, inner))
    stood = np.clip(xy + rng.normal(0, ROD, xy.shape), 0, SIDE)
    return np.column_stack((xy, level(stood) + rng.normal(0, READING, count)))
