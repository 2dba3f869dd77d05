"""A wall as it is seen from the lawn: true scale, its units without gaps, heights as they are."""

from __future__ import annotations

import re
from functools import cache

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled
from measure.on_paper import overlaps

from grading.structures.holding.holds import holding_of
from viz.drawings.homeowner.front import front_views
from viz.paper.compose import compose, words_of

INCH = 0.0254
WIDE = 184.0


@cache
def raised():
    return sampled("raised-patio")


@cache
def view():
    (found,) = front_views(raised(), WIDE)
    return found


def shapes(*layers):
    (drawn,) = (each.drawing for each in view().sheet.views)
    found = [each for layer in layers for each in drawn.of(layer) if hasattr(each, "rings")]
    return [shapely.Polygon(np.asarray(each.rings[0])) for each in found]


@cache
def wall():
    (area,) = raised().areas
    (found,) = holding_of(raised(), area, area.chosen).walls
    return area, found


def read(words):
    number = re.fullmatch(r"(?:(\d+) )?(?:(\d+)/(\d+) )?in", words)
    whole, top, bottom = (float(each or 0) for each in number.groups())
    return (whole + (top / bottom if bottom else 0.0)) * INCH


def test_there_is_none_where_no_wall_is():
    flat = sampled("back-patio")
    assert front_views(flat, WIDE) == ()


def test_its_heights_are_those_of_the_paving_over_the_ground():
    """The finish off the plan's plane, the ground off its surface, each where it is told."""
    area, built = wall()
    told = [
        read(each.words) for each in words_of(compose(view().sheet)) if each.words.endswith(" in")
    ]
    assert len(told) == 3
    points = shapely.get_coordinates(shapely.line_interpolate_point(built.line, built.along))
    (facet,) = area.finish.surface.facets
    plane = facet.plane
    finish = plane.z0 + points @ (plane.dzdx, plane.dzdy)
    height = finish - raised().ground.elevation(points)
    # All of it stands between the least and the greatest, and the greatest is told.
    assert all(height.min() - INCH / 16 <= each <= height.max() + INCH / 16 for each in told)
    assert max(told) == pytest.approx(height.max(), abs=INCH / 16 + 1e-9)


def test_it_is_drawn_at_its_scale_and_as_long_as_its_straight_side():
    """The longest side of the sample is 14 ft, its corner takes 4 ft more of the view."""
    blocks = shapes("block")
    x0, _, x1, _ = shapely.total_bounds(blocks)
    _, built = wall()
    assert 14 * 12 * INCH < x1 - x0 < 18.5 * 12 * INCH
    longest = max(each.bounds[2] - each.bounds[0] for each in blocks)
    assert longest == pytest.approx(built.unit.length, abs=1e-3)
    (each,) = view().sheet.views
    assert each.scale.mm(built.unit.length) == pytest.approx(
        built.unit.length * 1000 / each.scale.ratio
    )


def test_its_courses_and_caps_cover_it_once():
    """At any place along the straight side a plumb line meets units from the pad to the cap."""
    _, built = wall()
    units = shapes("block", "cap")
    low = min(each.pad_top for each in built.segments)
    x0, _, x1, _ = shapely.total_bounds(units)
    for x in np.linspace(x0 + 0.3 * (x1 - x0), x1 - 0.02, 57) + 0.0007:
        line = shapely.LineString([(x, low - 1), (x, low + 5)])
        lengths = [each.intersection(line).length for each in units]
        union = shapely.union_all(units).intersection(line).length
        assert sum(lengths) == pytest.approx(union, abs=1e-6), x
        assert union > built.unit.height


def test_no_words_lie_over_others():
    assert not overlaps(compose(view().sheet))
