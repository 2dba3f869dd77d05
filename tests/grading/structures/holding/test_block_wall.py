"""Walls of blocks: where they step, how deep they stand, and how many pieces they take."""

from math import atan, ceil, degrees

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from grading.crew.model import default_crew
from grading.dig.edge_runs import EdgeRun
from grading.structures.holding.block_wall import block_wall, corners_of, strip_along
from grading.structures.holding.wall_parts import (
    base_offset,
    pads,
    trenches,
    wall_count,
    wall_works,
)
from grading.structures.holding.wall_unit import unit_of
from grading.units import FOOT, INCH

UNIT = unit_of(default_crew())
# A worked example has units 16 in long and a cap of 20 ft in a straight line.


def edge(points, finish, ground, closed=False):
    """An edge with levels at its corners, straight between; looked at every 0.25 m."""
    line = shapely.LineString(np.array(points, float))
    along = np.append(0.0, np.hypot(*np.diff(np.array(points, float), axis=0).T).cumsum())
    fine = shapely.get_coordinates(shapely.segmentize(line, 0.25))
    there = np.append(0.0, np.hypot(*np.diff(fine, axis=0).T).cumsum())
    levels = [np.interp(there, along, np.broadcast_to(z, len(along))) for z in (finish, ground)]
    return EdgeRun(fine, there, *levels, closed)


def straight(long, finish, ground):
    # The paving lies north of it, on the left of an edge that runs east.
    return edge([[0, 0], [long, 0]], finish, ground)


def wall_of(run, low=0.0, high=None, unit=UNIT):
    return block_wall("wall", "patio", run, low, run.length if high is None else high, unit)


def test_the_figures_of_a_worked_wall():
    """20 ft of 18 in shown: caps 2 1/4, units 6 x 12 x 16 in, buried 6 in at least; computed.

    4 courses, buried 8 1/4 in; 60 units; pad 21.0 ft3; trench 62.3 ft3; face 2 1/4 in back.
    """
    wall = wall_of(straight(20 * FOOT, 10.0, 10.0 - 18 * INCH))
    (segment,) = wall.segments
    assert segment.courses == 4
    assert segment.bury / INCH == pytest.approx(8.25)
    assert segment.shown / INCH == pytest.approx(18)
    assert base_offset(wall, segment) / INCH == pytest.approx(2.25)
    assert degrees(UNIT.lean) == pytest.approx(degrees(atan(0.75 / 6)))
    (pad,), (trench,) = pads(wall), trenches(wall)
    assert pad.area * UNIT.pad / FOOT**3 == pytest.approx(21.0)
    where, bottom = trench
    assert where.area * (10.0 - 18 * INCH - bottom) / FOOT**3 == pytest.approx(62.34, abs=0.01)
    assert wall.total / INCH == pytest.approx(18 + 8.25 + 6)


@pytest.mark.parametrize(
    ("height", "setback", "lean"), [(6, 0.75, 7.1), (8, 0.75, 5.4), (8, 1.0, 7.1)]
)
def test_how_far_it_leans(height, setback, lean):
    unit = unit_of(default_crew(), {"height": height * INCH, "setback": setback * INCH})
    assert degrees(unit.lean) == pytest.approx(lean, abs=0.05)


@given(shown=st.floats(6, 36), course=st.sampled_from([4.0, 6.0, 8.0]), cap=st.floats(1.5, 3.0))
def test_courses_are_the_fewest_that_bury_it_deep_enough(shown, course, cap):
    unit = unit_of(default_crew(), {"height": course * INCH, "cap_height": cap * INCH})
    least = max(6.0, course, shown / 10)
    fewest = next(n for n in range(1, 99) if n * course + cap - shown >= least - 1e-3)
    assert unit.courses(shown * INCH) == fewest
    assert unit.buried(shown * INCH) / INCH == pytest.approx(fewest * course + cap - shown)


def laid(long, courses, piece):
    """Return the units that a wall takes when it is laid one by one, what is sawn off kept.

    Running bond: every other course begins with half a unit. Nothing of the count is used.
    """
    left, taken = [], 0
    for course in range(courses):
        at = 0.0
        while long - at > 1e-9:
            first = at == 0.0 and course % 2 == 1
            need = min(piece / 2 if first else piece, long - at)
            fits = sorted(each for each in left if each >= need - 1e-9)
            if fits and need < piece - 1e-9:
                left.remove(fits[0])
                rest = fits[0] - need
            else:
                taken += 1
                rest = piece - need
            if rest > 1e-9:
                left.append(rest)
            at += need
    return taken


@settings(max_examples=60)
@given(pieces=st.integers(3, 24), halves=st.booleans(), shown=st.floats(6, 30))
def test_units_are_as_many_as_a_wall_laid_one_by_one_takes(pieces, halves, shown):
    long = (pieces + halves / 2) * UNIT.length
    wall = wall_of(straight(long, 10.0, 10.0 - shown * INCH))
    count = wall_count(wall, None, clean_none())
    by_hand = laid(long, wall.segments[0].courses, UNIT.length)
    ordered = ceil(count.pieces * 1.05 - 1e-9)
    assert count.units == pytest.approx(wall.segments[0].courses * long / UNIT.length)
    assert by_hand <= ordered <= by_hand * 1.05 + wall.segments[0].courses / 2 + 2


class _NoLayers:
    class system:  # noqa: N801
        layers = ()


def clean_none():
    return _NoLayers()


def test_caps_step_down_with_the_paving_by_whole_courses_and_never_stand_above_it():
    """30 ft of edge along a fall of 3 %: 10.8 in; caps are level, and step once."""
    run = straight(30 * FOOT, [10.0, 10.0 - 0.03 * 30 * FOOT], 9.4)
    wall = wall_of(run)
    caps = sorted({round(each.cap, 6) for each in wall.segments})
    assert len(caps) == 2
    assert caps[1] - caps[0] == pytest.approx(UNIT.height)
    for each in wall.segments:
        own = (wall.along >= each.low - 1e-9) & (wall.along <= each.high + 1e-9)
        assert (wall.finish[own] - each.cap >= -1e-5).all()
        assert each.wedge < UNIT.height + 0.03 * 2 * UNIT.length
    assert wall.segments[0].cap > wall.segments[-1].cap
    count = wall_count(wall, None, clean_none())
    # All of it but a hair stands under paving that is held by a wedge, each unit of which is sawn.
    assert count.cuts >= (wall.length - 0.05) / UNIT.length


def test_its_pad_steps_by_whole_courses_where_the_ground_rises():
    """Level paving over ground that rises 24 in along 24 ft."""
    wall = wall_of(straight(24 * FOOT, 10.0, [10.0 - 30 * INCH, 10.0 - 6 * INCH]))
    tops = [each.pad_top for each in wall.segments]
    assert tops == sorted(tops)
    steps = np.diff(tops) / UNIT.height
    assert np.allclose(steps, np.round(steps))
    assert len(tops) > 2
    for each in wall.segments:
        shown = 10.0 - each.ground[0]
        assert each.bury >= UNIT.bury_at(shown) - 1e-5
        assert each.length >= 2 * UNIT.length - 1e-6
    assert {round(each.cap, 9) for each in wall.segments} == {10.0}


@settings(max_examples=60)
@given(st.lists(st.floats(6, 36), min_size=4, max_size=12))
def test_no_pad_lies_too_high_on_any_ground(heights):
    places = np.linspace(0, 9, len(heights))
    run = edge(
        np.column_stack([places, np.zeros(len(heights))]), 10.0, 10.0 - np.array(heights) * INCH
    )
    wall = wall_of(run)
    at = np.concatenate([wall.along, (wall.along[1:] + wall.along[:-1]) / 2])
    ground = np.interp(at, wall.along, wall.ground)
    for here, level in zip(at, ground, strict=True):
        bury = level - wall.at(here).pad_top
        assert bury >= UNIT.bury_at(10.0 - level) - 1e-5
    assert sum(each.length for each in wall.segments) == pytest.approx(wall.length)


def test_corners_take_a_unit_more_in_each_course_and_no_step_lies_at_one():
    """Round two outward corners of paving: down one side, along the front and up the other."""
    points = [[4, 3], [4, 0], [0, 0], [0, 3]]  # clockwise seen from the paving's inside: reversed
    run = edge(points[::-1], 10.0, [9.8, 9.6, 9.6, 9.8])
    assert [way for _, way in corners_of(shapely.LineString(points[::-1]), False)] == [1, 1]
    wall = wall_of(run)
    turned = sum(wall.at(place).courses for place, _ in wall.corners)
    count = wall_count(wall, None, clean_none())
    plain = sum(each.courses * each.length for each in wall.segments) / UNIT.length
    assert count.units == pytest.approx(plain + turned)
    for place, _ in wall.corners:
        for each in wall.segments[1:]:
            assert abs(each.low - place) >= UNIT.length - 0.06


def quarter(radius):
    turned = np.linspace(0, np.pi / 2, 25)
    points = radius * np.column_stack([np.sin(turned), -np.cos(turned)])
    return np.vstack([[-3, -radius], points, [radius, 3]])


@pytest.mark.parametrize(("radius", "sawn"), [(4, True), (7, False)])
def test_units_of_a_curve_tighter_than_they_go_round_are_sawn(radius, sawn):
    """A quarter round of 4 ft is 6.28 ft long: 4.7 units in each course; 6 ft is the least."""
    wall = wall_of(edge(quarter(radius * FOOT), 10.0, 9.6))
    (segment,) = wall.segments
    count = wall_count(wall, None, clean_none())
    courses = segment.courses
    on_curve = courses * np.pi / 2 * radius * FOOT / UNIT.length if sawn else 0
    assert count.cuts == pytest.approx(courses + on_curve, abs=1.0)
    assert wall.corners == ()


def test_a_ring_of_wall_has_no_free_ends():
    ring = [[0, 0], [3, 0], [3, 2], [0, 2], [0, 0]]
    run = edge(ring, 10.0, 9.6, closed=True)
    wall = wall_of(run)
    assert wall.closed
    assert wall.ends == 0
    assert len(wall.corners) == 4
    assert wall_count(wall, None, clean_none()).halves == 0
    # A band of its own depth all round, its four corners filled: no gap where it begins.
    (segment,) = wall.segments
    band = wall.strip(segment, 0.0, 0.3)
    assert band.area == pytest.approx(2 * (3 + 2) * 0.3 + 4 * 0.3**2, rel=1e-3)


def test_a_wall_stands_outside_its_paving_and_its_stone_below_it():
    paving = shapely.box(0, 0, 4, 3)
    wall = wall_of(edge([[0, 0], [4, 0]], 10.0, 9.6))
    (segment,) = wall.segments
    assert wall.strip(segment, 0.0, 0.3).intersection(paving).area == pytest.approx(0, abs=1e-9)
    assert wall.strip(segment, -0.3, 0.0).within(paving.buffer(1e-9))
    assert wall.outward(2.0) == pytest.approx([0, -1])
    assert strip_along(segment.line, -0.1, 0.2).area == pytest.approx(4 * 0.3)
    courses = wall.courses_of(segment)
    assert [out for *_, out in courses] == sorted((out for *_, out in courses), reverse=True)
    assert courses[-1][1] == pytest.approx(segment.cap - UNIT.cap_height)
    assert courses[-1][2] == 0


def test_work_is_by_the_foot_of_each_course():
    wall = wall_of(straight(20 * FOOT, 10.0, 10.0 - 18 * INCH))
    work = {each.rate: each.amount for each in wall_works(wall_count(wall, None, clean_none()))}
    assert work["wall-base"] / FOOT == pytest.approx(20)
    assert work["wall-course"] / FOOT == pytest.approx(60)
    assert work["wall-cap"] / FOOT == pytest.approx(20)
