"""Areas that share edges against linear programming by HiGHS, which is given rows of its own.

The other route knows nothing of ours: the ground is SciPy's Delaunay interpolation of the spots,
the earth moved a sum over points drawn by a rule of its own, the wishes rows written from the
corners as the site has them. Huangfu and Hall, "Parallelizing the dual revised simplex method",
Mathematical Programming Computation 10 (2018).
"""

from __future__ import annotations

import numpy as np
import pytest
from make.sites.handmade import site_of
from scipy import sparse
from scipy.interpolate import LinearNDInterpolator
from scipy.optimize import linprog

from grading.pipeline import Plan, plan
from grading.units import FOOT

PATIO, WALK, SIDE = "patio", "walk", "side yard"
# Rectangles as (left, bottom, right, top), the foundation wall along y = 0. [ft]
AREAS = {PATIO: (0, 0, 16, 14), WALK: (16, 0, 32, 4), SIDE: (-10, 6, 0, 16)}
EDGES = {(PATIO, WALK): ((16, 0), (16, 4)), (PATIO, SIDE): ((0, 6), (0, 14))}
USE = {PATIO: ("patio", 0.04), WALK: ("walkway", 0.05), SIDE: ("patio", 0.04)}
REACH = 10  # ft: IRC R401.3
BUILD_UP = (2.375 + 1 + 6) / 12  # ft: the dense base, from paver to subgrade
CELL = 0.5  # ft


def turned(points, angle):
    """Turn points (k, 2) [ft] about the origin."""
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray(points, dtype=float) @ np.array([[cos, sin], [-sin, cos]])


def corners(name):
    left, bottom, right, top = AREAS[name]
    return [(left, bottom), (right, bottom), (right, top), (left, top)]


def ground(seed):
    """Return spots (n, 3) [ft] of rough ground that falls some way, before it is turned."""
    rng = np.random.default_rng(seed)
    x, y = np.meshgrid(np.arange(-18, 43, 4.0), np.arange(-6, 27, 4.0))
    xy = np.column_stack([x.ravel(), y.ravel()]) + rng.uniform(-0.8, 0.8, (x.size, 2))
    fall = rng.uniform(-0.03, 0.03, 2)
    waves = rng.uniform(0.1, 0.3, 2) * np.sin(xy / rng.uniform(4, 9, 2))
    return np.column_stack([xy, 100 + xy @ fall + waves.sum(axis=1)])


def site(names, seed, angle, digits):
    spots = ground(seed)
    spots[:, :2] = turned(spots[:, :2], angle)

    def at(points):
        return turned(points, angle).round(digits).tolist()

    return site_of(
        spots * FOOT,
        [
            {"name": name, "use": USE[name][0], "outline": at(corners(name)), "base": "dense"}
            for name in names
        ],
        unit="ft",
        house={"walls": at([(-12, 0), (38, 0)]), "inside": at([(16, -9)])[0]},
        finish={"objective": "least earth"},
    )


def points_of(name):
    """Return the middles of small squares that make up an area, (k, 2). [ft]"""
    left, bottom, right, top = AREAS[name]
    x, y = np.arange(left, right, CELL) + CELL / 2, np.arange(bottom, top, CELL) + CELL / 2
    return np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)


def least_by_highs(names, seed, planes):
    """Return the least of the sum of abs(depth), and the same sum for given planes. [ft3]

    Unknowns: a level at the origin and two slopes for each area, as the site lies before it is
    turned; then one bound on abs(depth) for each point.
    """
    spots = ground(seed)
    lies = LinearNDInterpolator(spots[:, :2], spots[:, 2])
    points = [points_of(name) for name in names]
    depths = np.concatenate([lies(at) + BUILD_UP for at in points])
    levels = sparse.block_diag([np.column_stack([np.ones(len(at)), at]) for at in points])
    ours = np.abs(depths - levels @ np.concatenate(planes)).sum()
    count, unknowns = levels.shape
    one = sparse.eye(count)
    rows = [sparse.hstack([-levels, -one]), sparse.hstack([levels, -one])]
    limits = [-depths, depths]
    turns = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    for number, name in enumerate(names):
        slopes = np.zeros((2, unknowns))
        slopes[:, 3 * number + 1 : 3 * number + 3] = np.eye(2)
        bounds = [np.column_stack([np.cos(turns), np.sin(turns)]) @ slopes]
        limits.append(np.full(720, USE[name][1]))
        if AREAS[name][1] < REACH:
            bounds.append(slopes[1:])
            limits.append(np.array([-0.02]))  # IRC R401.3: away from the wall
        rows += [sparse.hstack([part, sparse.csr_array((len(part), count))]) for part in bounds]
    flush = np.zeros((0, unknowns))
    for (upper, lower), ends in EDGES.items():
        if upper in names and lower in names:
            for x, y in ends:
                row = np.zeros((len(names), 3))
                row[names.index(upper)], row[names.index(lower)] = (1, x, y), (-1, -x, -y)
                flush = np.vstack([flush, row.ravel()])
    answer = linprog(
        np.concatenate([np.zeros(unknowns), np.ones(count)]),
        A_ub=sparse.vstack(rows).tocsr(),
        b_ub=np.concatenate(limits),
        A_eq=sparse.hstack([flush, sparse.csr_array((len(flush), count))]).tocsr(),
        b_eq=np.zeros(len(flush)),
        bounds=[(None, None)] * unknowns + [(0, None)] * count,
        method="highs",
    )
    assert answer.status == 0
    return answer.fun * CELL**2, ours * CELL**2


def planes_of(made: Plan, names, angle):
    """Return the level at the origin and the slopes of each finish, turned back. [ft, ratio]"""
    found = []
    for name in names:
        finish = next(area for area in made.areas if area.area.name == name).finish.plane
        slopes = turned([finish.gradient], -angle)[0]
        found.append(np.array([finish.z0 / FOOT, *slopes]))
    return found


@pytest.mark.parametrize("seed", range(20))
def test_flush_areas_move_the_least_earth_that_there_is(seed):
    names = [(PATIO,), (PATIO, WALK), (PATIO, SIDE), (PATIO, WALK, SIDE), (SIDE, WALK, PATIO)][
        seed % 5
    ]
    # Every other site stands on a house that is not square to its survey, taped to 1/100 ft.
    angle, digits = (0.0, 9) if seed % 2 else (np.random.default_rng(seed).uniform(0, 6.28), 2)
    made = plan(site(names, seed, angle, digits))
    best, ours = least_by_highs(names, seed, planes_of(made, names, angle))

    # Corners a hundredth of a foot off, and squares in place of triangles, are worth this much.
    assert ours == pytest.approx(best, rel=5e-4)


@pytest.mark.parametrize("digits", [2, 3, 9])
@pytest.mark.parametrize("angle", [0.0, 0.3, 1.1, 2.5, 4.4])
def test_flush_areas_meet_along_their_edge_and_need_not_be_one_plane(angle, digits):
    made = plan(site((PATIO, WALK), 5, angle, digits))
    patio, walk = planes_of(made, (PATIO, WALK), angle)
    for x, y in EDGES[PATIO, WALK]:
        assert patio @ [1, x, y] == pytest.approx(walk @ [1, x, y], abs=2e-3)
    assert abs(patio[1] - walk[1]) > 0.005
    (check,) = [one for one in made.area_checks if one.rule == "shared-edge"]
    assert check.status == "pass"
