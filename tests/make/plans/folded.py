"""Sites whose finish folds, whose areas share edges, and whose water is told of."""

from __future__ import annotations

import numpy as np
import shapely
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from msgspec.structs import replace

from grading.geometry.facets import Surface
from grading.site.model import Downspout, Outfall, Site, Storm
from grading.units import FOOT

INNER = {"walls": [[-1, 0], [9, 0], [9, 8]], "inside": [10.5, -1]}
OUTER = {"walls": [[-1, 3], [4, 3], [4, -5]], "inside": [0, -1]}
CORNER = {**PATIO, "outline": [[4.8, 0], [9, 0], [9, 4.2], [4.8, 4.2]]}
WRAP = {**PATIO, "outline": [[0, 3], [4, 3], [4, -0.5], [8, -0.5], [8, 7], [0, 7]]}
WALK = {"name": "walk", "use": "walkway", "outline": [[9, 0], [11, 0], [11, 1.5], [9, 1.5]]}
LOW = {**PATIO, "name": "low", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]}


def _bumpy(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 30 - 0.01 * y + 0.03 * np.sin(x) * np.cos(y / 2)


def _gathered(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    corner = 9 * FOOT
    return 30 - 0.02 * y + 0.02 * x + 0.03 * np.abs(corner - x - y)


def _level(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 30.0 + 0.0 * x


def _twisted(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 30 - 0.01 * y - 0.0024 * x * y


def _dished(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 30 - 0.03 * y - 0.1 * np.exp(-((x - 4) ** 2 + (y - 6.3) ** 2) / 0.8)


def _with_water(site: Site) -> Site:
    lawn = [[0, 8.5], [10, 8.5], [10, 10.5], [0, 10.5], [0, 8.5]]
    return replace(
        site,
        outfalls=(
            Outfall(name="back lawn", kind="lawn", at=lawn),
            Outfall(name="catch basin", kind="drain", at=[7, 4.8], z=29.9),
        ),
        downspouts=(
            Downspout(name="downspout 1", at=[0, 0], roof=40.0),
            Downspout(name="downspout 2", at=[10, 0], roof=30.0, to=[10.6, 2.5]),
        ),
        storm=Storm(intensity="4 in/h"),
    )


FOLDED = {
    "valley": lambda: site_of(
        grid_of_spots(_gathered), [{**CORNER, "shape": "valley"}], house=INNER, unit="ft"
    ),
    "fan of two": lambda: site_of(
        grid_of_spots(_level), [{**WRAP, "shape": "fan"}], house=OUTER
    ),
    "fan of three": lambda: site_of(
        grid_of_spots(_level), [{**WRAP, "shape": "fan", "planes": 3}], house=OUTER
    ),
    "ridge": lambda: site_of(
        grid_of_spots(_bumpy), [{**PATIO, "shape": "ridge", "fold": [[1, 3.2], [9, 2.8]]}]
    ),
    "warp": lambda: site_of(
        grid_of_spots(_twisted),
        [{**PATIO, "shape": "warp", "between": [[[1, 0], [1, 5]], [[9, 0], [9, 5]]]}],
        house=WALL,
    ),
    "three areas": lambda: site_of(
        grid_of_spots(_bumpy), [PATIO, WALK, LOW], house=WALL,
        steps=[{"down": ["patio", "low"], "risers": 1}],
    ),
}  # fmt: skip
WATERED = {
    "water": lambda: _with_water(
        site_of(grid_of_spots(_dished, ((-2, -1), (12, 11)), 0.7), [PATIO], house=WALL)
    ),
}


def folds_within(surface: Surface, shape: shapely.Geometry) -> list[np.ndarray]:
    """Return the lines inside a shape along which two facets meet, (2, 2) each. [m]"""
    found = []
    for number, facet in enumerate(surface.facets):
        for other in surface.facets[number + 1 :]:
            shared = shapely.intersection(facet.domain.boundary, other.domain.boundary)
            inside = shapely.line_merge(shapely.intersection(shared, shape))
            for part in shapely.get_parts(inside):
                if isinstance(part, shapely.LineString) and part.length > 0:
                    found.append(shapely.get_coordinates(part)[[0, -1]])
    return found
