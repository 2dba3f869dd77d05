"""Lawn that is brought to paving is seen so once the work is done, and as it lies before."""

from __future__ import annotations

import numpy as np
import pytest
from make.plans.lawn_yard import DEEP, WIDE, yard

from grading.order.sequence import build_ups
from grading.units import FOOT, INCH
from viz.building.stages import staged, view
from viz.scene.backdrop import backdrop_of
from viz.scene.staging import stage


def tops(scene, shown, along):
    """Return how high turf stands in a view along a line out from the middle of the front. [m]"""
    xy = np.column_stack([np.full(len(along), WIDE / 2 * FOOT), DEEP * FOOT + along])
    found = np.full(len(xy), -np.inf)
    for body in scene.bodies:
        if body.material != "turf" or shown not in body.shown:
            continue
        corners = body.vertices[body.faces] + scene.origin
        for k, point in enumerate(xy):
            for z in crossed(corners, point):
                found[k] = max(found[k], z)
    return found


def crossed(corners, point):
    """Yield the levels at which triangles (k, 3, 3) stand over a point."""
    near = (corners[:, :, :2].min(axis=1) <= point) & (corners[:, :, :2].max(axis=1) >= point)
    for a, b, c in corners[near.all(axis=1)]:
        sides = np.array([b[:2] - a[:2], c[:2] - a[:2]]).T
        if abs(np.linalg.det(sides)) < 1e-12:
            continue
        s, t = np.linalg.solve(sides, point - a[:2])
        if min(s, t) >= -1e-9 and s + t <= 1 + 1e-9:
            yield a[2] + s * (b[2] - a[2]) + t * (c[2] - a[2])


def test_lawn_brought_to_paving_leaves_it_at_its_slope():
    """4 in above the lawn and flush: half an inch below the pavers, down at 5 %, to the lawn."""
    made = yard(4, {"edge": "flush"})
    (area,) = made.areas
    scene = stage(made, area, area.chosen)
    lawn, finish = 100 * FOOT, 100 * FOOT + 4 * INCH
    lip, slope = area.lawn_lip, area.tie_in.slope
    along = np.array([0.12, 0.25, 0.35]) * (4 * INCH - lip) / slope
    by_hand = np.maximum(finish - lip - slope * along, lawn)
    for shown in ("finished", "yard"):
        assert tops(scene, shown, along) == pytest.approx(by_hand, abs=4e-3)
    for shown in ("today", "dig"):
        assert tops(scene, shown, along) == pytest.approx(np.full(3, lawn), abs=4e-3)
    built = build_ups(made.order, area, (area.outline,), made.site.unit)
    one = next(each for each in built if each.base == area.chosen)
    film = staged(one, backdrop_of(made, area))
    last = len(one.steps) - 1
    highest = {
        number: max(float(body.vertices[:, 2].max()) for body in film.bodies
                    if body.name == "turf" and view(number) in body.shown)
        for number in (last - 1, last)
    }  # fmt: skip
    assert highest[last - 1] + film.origin[2] == pytest.approx(lawn, abs=8e-3)  # blades of grass
    assert highest[last] + film.origin[2] > finish - lip - slope * 0.3
    # Where the whole yard is shown it meets the lawn as it lies.
    far = np.array([0.8, 1.2]) * (4 * INCH - lip) / slope
    assert tops(scene, "yard", far) == pytest.approx(
        np.maximum(finish - lip - slope * far, lawn), abs=4e-3
    )
