"""Shapes that break sums: slivers, lines upon lines, planes in the ground, coordinates in millions.

Each has an invariant that holds to 1e-9, of the volume or of a cubic metre, by exact rational
arithmetic (`exact.py`) or in closed form. The yard's corners lie on multiples of 1/64 m, so that
far moves are exact too, and what differs is the sum's own.
"""

from __future__ import annotations

import itertools
from fractions import Fraction

import numpy as np
import pytest
import shapely
from make.plans.grounds import gridded, ground_of
from make.sites.compared import folder
from measure.exact import exact_volumes

import grading
from grading.errors import SiteError
from grading.finish.cutting import clip
from grading.finish.earthwork import positive_and_negative
from grading.ground.model import Ground

TO = 1e-9
PLANE = (30.0, -0.01, 0.02)
MILLIONS = (3 * 2.0**20, -5 * 2.0**20)


def on_the_grid(values):
    return np.round(np.asarray(values) * 64) / 64


def yard() -> Ground:
    """Return a bumpy ground on a grid of 0.5 m."""
    steps = np.arange(0, 10.1, 0.5)
    rng = np.random.default_rng(9)
    return gridded(steps, steps, on_the_grid(30 + rng.uniform(-0.4, 0.4, (len(steps), len(steps)))))


YARD = yard()

CONVEX = {
    "along the grid's lines": [[2, 2], [6, 2], [6, 5], [2, 5]],
    "along the diagonals": [[2, 2], [4, 4], [3, 5], [1, 3]],
    "one triangle of the ground": [[2, 2], [2.5, 2], [2.5, 2.5]],
    "through corners alone": [[1, 1], [4, 2], [5, 5], [2, 4]],
    "a hair beside the grid's lines": [[2 + 1e-12, 2], [6, 2 - 1e-13], [6, 5 + 1e-12], [2, 5]],
    "all but collinear": [[1, 1], [3, 1 + 1e-10], [5, 1 + 1e-9], [9, 1], [9, 4], [1, 4]],
    "all but collinear, inward": [[1, 1], [5, 1 - 1e-14], [9, 1], [9, 4], [5, 4 + 1e-14], [1, 4]],
    "a micrometre wide": [[1, 1], [9, 1.3], [9, 1.300001], [1, 1.000001]],
    "a needle": [[1, 1], [9, 5], [9, 5.0000001]],
    "smaller than a grain": [[3, 3], [3 + 1e-6, 3], [3 + 1e-6, 3 + 1e-6], [3, 3 + 1e-6]],
    "all of the ground": [[0, 0], [10, 0], [10, 10], [0, 10]],
    "many corners on one edge": [*([1 + k / 8, 1] for k in range(33)), [5, 4], [1, 4]],
}


def of(volumes):
    return np.array([volumes.cut, volumes.fill])


@pytest.mark.parametrize("name", CONVEX)
def test_volumes_are_those_of_exact_arithmetic(name):
    ring = CONVEX[name]
    exact = np.array([float(each) for each in exact_volumes(YARD, ring, PLANE)])
    pieces = clip(YARD, shapely.Polygon(ring))
    assert of(pieces.volumes(*PLANE)) == pytest.approx(exact, rel=TO, abs=TO)
    assert pieces.area == pytest.approx(shapely.Polygon(ring).area, rel=TO, abs=TO)
    assert np.isfinite(pieces.areas).all()
    assert (pieces.areas >= 0).all()


ON_THE_GRID = [name for name, ring in CONVEX.items() if shapely.Polygon(on_the_grid(ring)).area > 0]


@pytest.mark.parametrize("name", ON_THE_GRID)
@pytest.mark.parametrize(
    "far", [MILLIONS, (2.0**27, 2.0**27)], ids=["millions", "hundred millions"]
)
def test_far_away_they_are_the_same(name, far):
    """Corners that lie closer than a double tells there are left out: none is meant."""
    ring = on_the_grid(CONVEX[name])
    points = YARD.points + np.array([*far, 0])
    moved = ground_of(points, YARD.triangles)
    plane = (float(Fraction(30) + Fraction(1, 128) * Fraction(far[0])), -1 / 128, 0.0)
    here = clip(YARD, shapely.Polygon(ring)).volumes(30.0, -1 / 128, 0.0)
    there = clip(moved, shapely.Polygon(ring + far)).volumes(*plane)
    assert of(there) == pytest.approx(of(here), rel=TO, abs=1e-7 if far[0] > 1e8 else TO)


@pytest.mark.parametrize("name", CONVEX)
def test_which_way_an_outline_goes_round_changes_nothing(name):
    ring = CONVEX[name]
    one, other = (clip(YARD, shapely.Polygon(each)) for each in (ring, ring[::-1]))
    assert of(one.volumes(*PLANE)) == pytest.approx(of(other.volumes(*PLANE)), rel=TO, abs=TO)
    turned = YARD.triangles.copy()
    turned[::2] = turned[::2, ::-1]
    mixed = clip(ground_of(YARD.points, turned), shapely.Polygon(ring))
    assert of(mixed.volumes(*PLANE)) == pytest.approx(of(one.volumes(*PLANE)), rel=TO, abs=TO)


HOLES = {
    "at a corner": [[2, 2], [3, 2.5], [2.5, 3]],
    "at the middle of an edge": [[4, 2], [4.5, 3], [3.5, 3]],
    "along an edge": [[3, 2], [5, 2], [5, 3], [3, 3]],
    "from edge to edge": [[3, 2], [4, 2], [4, 5], [3, 5]],
    "a hair inside": [[3, 2 + 1e-12], [5, 2 + 1e-12], [5, 3], [3, 3]],
    "all of it": [[2, 2], [6, 2], [6, 5], [2, 5]],
}


@pytest.mark.parametrize("name", HOLES)
def test_a_hole_that_touches_the_edge_takes_what_lies_in_it(name):
    whole, hole = (
        shapely.Polygon(each) for each in (CONVEX["along the grid's lines"], HOLES[name])
    )
    left = of(clip(YARD, whole.difference(hole)).volumes(*PLANE)) if hole != whole else np.zeros(2)
    taken = np.array([float(each) for each in exact_volumes(YARD, HOLES[name], PLANE)])
    exact = np.array(
        [float(each) for each in exact_volumes(YARD, whole.exterior.coords[:-1], PLANE)]
    )
    assert left + taken == pytest.approx(exact, rel=TO, abs=TO)


@pytest.mark.parametrize("name", CONVEX)
def test_a_plane_that_is_the_ground_moves_nothing(name):
    plane = (30.0, 1 / 64, -1 / 128)
    points = YARD.points.copy()
    points[:, 2] = plane[0] + points[:, 0] * plane[1] + points[:, 1] * plane[2]
    pieces = clip(ground_of(points, YARD.triangles), shapely.Polygon(CONVEX[name]))
    moved = pieces.volumes(*plane)
    assert of(moved) == pytest.approx([0, 0], abs=TO)
    for lift in (1e-12, 1e-6, 0.5):
        deep = pieces.volumes(plane[0] - lift, *plane[1:])
        assert deep.cut == pytest.approx(
            lift * pieces.area, rel=1e-3 if lift < 1e-9 else TO, abs=TO
        )
        assert deep.fill == pytest.approx(0, abs=TO)
    assert np.isfinite(pieces.moments(np.array(plane)).gradient).all()


def test_depths_of_every_size_add_up():
    """Net is the mean depth times the area, whatever cancels: 1e-300 beside 1e6."""
    sizes = [0.0, 1e-300, -1e-300, 1e-16, -1e-16, 1e-9, -1e-9, 1.0, -1.0, 1e6, -1e6]
    for depth in itertools.product(sizes, repeat=3):
        moved = positive_and_negative(np.array([depth]), np.array([0.5]))
        net = sum(map(Fraction, depth)) / 6
        scale = max(map(abs, depth))
        assert moved.cut - moved.fill == pytest.approx(float(net), abs=TO * max(scale, 1e-30))
        assert min(moved.cut, moved.fill) >= 0


BASE = """
base = "mine"
plane = {{at = [0, 0], z = 10.03, fall = "3 %", bearing = 0}}
[[base]]
name = "mine"
layers = [{}]
"""
LAYER = '{{name = "{}", thickness = "{} mm", material = "dense-graded"}}'


def dug(root, *layers):
    told = ", ".join(LAYER.format(f"layer {k}", each) for k, each in enumerate(layers))
    paver = '{name = "paver", thickness = "60 mm"}'
    plan = grading.plan(grading.read_site(folder(root, area=BASE.format(f"{paver}, {told}"))))
    dig = plan.areas[0].digs["mine"]
    return np.array([dig.cut, dig.fill])


def test_layers_of_no_thickness_are_refused_and_thin_ones_add_up(tmp_path):
    with pytest.raises(SiteError, match="layers"):
        dug(tmp_path / "none", 150, 0)
    one, parted = dug(tmp_path / "one", 150), dug(tmp_path / "parted", 50, 0.001, 99.999)
    assert parted == pytest.approx(one, rel=TO, abs=TO)
