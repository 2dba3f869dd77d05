"""How long the way of the water takes beside general-purpose roads to the same numbers.

Nothing is asserted; the error is that of an answer against ours. A road whose library is not
installed is left out.

The site is 24 by 24 m with a patio, a house and a yard that rolls enough to hold pools, on a grid
of 500 by 500 cells. The roads to filled ground are a priority flood in plain Python, a minimum
spanning tree over all cells, reconstruction by erosion and an accelerated priority flood; those
to gathered area a sparse triangular system and an accelerated sweep.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable

import numpy as np
import shapely
from make.plans.water_grid import border, flooded
from measuring import Row, peak, spent

from grading.catalogue.rules import Limits
from grading.geometry.plane import Plane
from grading.ground.model import Ground, surface
from grading.site.model import Outfall
from grading.water.course import Paved
from grading.water.destinations import destinations_of
from grading.water.grid.descent import STEPS, last
from grading.water.grid.flow import Downhill, routed
from grading.water.grid.pools import filled
from grading.water.grid.relief import Relief, relief
from grading.water.model import water_of

PATIO = shapely.box(6, 0, 16, 7) - shapely.Point(11, 4).buffer(0.6)
HOUSE = shapely.box(-1, -4, 25, 0)
REPEATS = 5
FINISH = Plane(0.1, 0.002, -0.02)


def yard(spots: int) -> Ground:
    """Return the ground through a number of spots."""
    rng = np.random.default_rng(3)
    xy = np.vstack([rng.uniform(0, 24, (spots, 2)), [[0, 0], [24, 0], [24, 24], [0, 24]]])
    z = -0.02 * xy[:, 1] + 0.1 * np.sin(xy[:, 0] / 1.5) * np.cos(xy[:, 1] / 2)
    return surface(np.column_stack([xy, z]), warn=False)


def asked(ground: Ground, grid: Relief) -> np.ndarray:
    """Ask the ground, the paving and the house about the centre of every cell."""
    centres = grid.centres(np.arange(grid.z.size))
    z = ground.elevation(centres)
    on = shapely.contains_xy(PATIO, centres)
    z[on] = FINISH.at(centres[on])
    z[shapely.contains_xy(HOUSE, centres)] = np.nan
    return z.reshape(grid.shape)


def by_spanning_tree(z: np.ndarray, outlets: np.ndarray) -> np.ndarray:
    """Fill by the minimum spanning tree of all cells, joined to one cell beyond the edge."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import breadth_first_order, minimum_spanning_tree

    number = np.arange(z.size).reshape(z.shape)
    rows, columns = z.shape
    ends, weights = [], []
    for row, column in STEPS[:4]:
        here = number[: rows - row, max(0, -column) : columns - max(0, column)].ravel()
        there = number[row:, max(0, column) : columns - max(0, -column)].ravel()
        ends.append(np.stack([here, there]))
        weights.append(np.maximum(z.ravel()[here], z.ravel()[there]))
    edge = number[outlets]
    ends.append(np.stack([edge, np.full(len(edge), z.size)]))
    weights.append(z.ravel()[edge])
    pair, weight = np.concatenate(ends, axis=1), np.concatenate(weights)
    links = coo_array((weight - weight.min() + 1, (pair[0], pair[1])), shape=(z.size + 1,) * 2)
    tree = minimum_spanning_tree(links.tocsr())
    _, before = breadth_first_order(tree, z.size, directed=False)
    before[z.size] = z.size
    level = np.append(z.ravel(), -np.inf)
    while True:
        level = np.maximum(level, level[before])
        further = before[before]
        if np.array_equal(further, before):
            return level[:-1].reshape(z.shape)
        before = further


def by_reconstruction(z: np.ndarray, outlets: np.ndarray) -> np.ndarray:
    """Fill by reconstruction from the edge: scikit-image."""
    from skimage.morphology import reconstruction

    return reconstruction(np.where(outlets, z, z.max()), z, "erosion", np.ones((3, 3)))


def by_compiled_flood(z: np.ndarray, outlets: np.ndarray) -> np.ndarray:
    """Fill by a compiled priority flood: pyflwdir, which gives directions too."""
    from pyflwdir.dem import fill_depressions

    return np.asarray(fill_depressions(z.astype(np.float64))[0])


def by_triangular_system(receiver: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """Gather by solving (I - P) a = w, P carrying each cell to its receiver."""
    from scipy.sparse import coo_array, eye_array
    from scipy.sparse.linalg import spsolve

    own = np.flatnonzero(receiver != np.arange(len(receiver)))
    carried = coo_array((np.ones(len(own)), (receiver[own], own)), shape=(len(receiver),) * 2)
    return np.asarray(spsolve((eye_array(len(receiver)) - carried).tocsc(), weight))


ROUTED, FOLLOWED = 3, 6  # times that a way down is sought, and that it is followed to its end


def _passes(z: np.ndarray, receiver: np.ndarray) -> None:
    """Read what must be read: each cell's eight neighbours, and ways doubled up to their ends."""
    rows, columns = z.shape
    inner = z[1:-1, 1:-1]
    for _ in range(ROUTED):
        for row, column in STEPS:
            inner - z[1 + row : rows - 1 + row, 1 + column : columns - 1 + column]
    for _ in range(FOLLOWED):
        last(receiver)


SIZES = (None,)


def compare(
    what: str, ours: Callable[[], np.ndarray], roads: dict[str, Callable[[], np.ndarray]]
) -> Iterable[Row]:
    """Give a row for each road to the same."""
    answer, own, most = ours(), spent(ours, REPEATS), peak()
    cells = answer.size
    for name, road in roads.items():
        try:
            error = float(np.nanmax(np.abs(road() - answer)))
        except ImportError:
            print(f"{name}: not installed", file=sys.stderr)
            continue
        theirs = spent(road, 1 if name == "plain Python" else REPEATS)
        yield Row(what, cells, own, name, theirs, most, error)


def measure(_: None) -> Iterable[Row]:
    """Give the rows: each step beside the other roads to it, and all of it."""
    ground, surfaces = yard(400), [(PATIO, FINISH.at)]
    grid = relief(ground, surfaces, HOUSE)
    yield from compare(
        "water: levels on a grid",
        lambda: relief(ground, surfaces, HOUSE).z,
        {"asking each cell": lambda: asked(ground, grid)},
    )
    z = np.where(grid.ground, grid.z, 1.0)  # the other roads know no holes
    outlets = border(z)
    z[outlets] = np.minimum(z[outlets], -1.0)
    stands = filled(z, outlets)
    yield from compare(
        "water: ground filled",
        lambda: filled(z, outlets),
        {
            "pyflwdir": lambda: by_compiled_flood(z, outlets),
            "scikit-image": lambda: by_reconstruction(z, outlets),
            "SciPy's spanning tree of cells": lambda: by_spanning_tree(z, outlets),
            "plain Python": lambda: flooded(z, outlets),
        },
    )
    receiver = routed(stands, outlets)
    weight = np.full(z.size, grid.spacing**2)
    yield from compare(
        "water: area gathered",
        lambda: Downhill(receiver).gathered(weight),
        {"SciPy's triangular system": lambda: by_triangular_system(receiver, weight)},
    )
    lawn = Outfall(name="lawn", kind="lawn", at=[[0, 20], [24, 20]])
    places = destinations_of([lawn], (), surfaces, ground)
    wall = ("wall", np.array([0.0, 0.0]), np.array([24.0, 0.0]), np.array([0.0, 1.0]))
    paving = [Paved("patio", PATIO, FINISH.at)]

    def whole() -> object:
        return water_of(ground, paving, HOUSE, [wall], places, Limits({}))

    flood = spent(lambda: by_compiled_flood(z, outlets), REPEATS)
    ours = spent(whole, REPEATS)
    yield Row("water: all of it", z.size, ours, "pyflwdir filling alone", flood, peak())
    passes = spent(lambda: _passes(z, receiver), REPEATS)
    name = "its passes through memory alone"
    yield Row("water: all of it", z.size, ours, name, passes, limit=True)
