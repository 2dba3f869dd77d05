"""Contours of ground and finish at round levels, and bands of depth."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from make.plans.drawn import planned
from make.plans.folded import FOLDED
from make.plans.furnished import NAMES

import sample_sites
from grading.design.contours import (
    MOST,
    MOST_BANDS,
    contour_levels,
    finish_contours,
    ground_contours,
    interval,
    levels_within,
)
from grading.design.folds import panes_of
from grading.geometry.bands import level_lines_of
from grading.geometry.facets import Surface
from grading.geometry.plane import Plane
from grading.units import INCH

SITES = (*sample_sites.names(), *FOLDED, *NAMES)


@pytest.mark.parametrize("name", SITES)
def test_contours_lie_at_their_level(name):
    made = planned(name)
    for area in made.areas:
        yard = area.outline.buffer(1.0)
        step, lines = finish_contours(area, made.site.unit)
        assert lines or max(pane.plane.fall for pane in panes_of(area)) < 1e-6
        for z, line in lines:
            points = shapely.get_coordinates(shapely.segmentize(line, 0.1))
            assert np.abs(area.finish.surface.at(points) - z).max() < 1e-9
            assert area.outline.buffer(1e-6).contains(line)
            assert z / step == pytest.approx(round(z / step), abs=1e-6)
        step, lines = ground_contours(made.ground, area, yard, made.site.unit)
        for z, line in lines:
            points = shapely.get_coordinates(shapely.segmentize(line, 0.1))
            known = made.ground.elevation(points)
            known = known[np.isfinite(known)]
            assert np.abs(known - z).max(initial=0.0) < 1e-6
            assert z / step == pytest.approx(round(z / step), abs=1e-6)


@pytest.mark.parametrize("name", SITES)
def test_every_level_between_the_lowest_and_the_highest_corner_is_drawn(name):
    made = planned(name)
    for area in made.areas:
        step, lines = finish_contours(area, made.site.unit)
        corners = shapely.get_coordinates(area.outline)
        levels = area.finish.surface.at(corners)
        assert len({z for z, _ in lines}) <= MOST + 1
        drawn = sorted({z for z, _ in lines})
        first = int(np.ceil(levels.min() / step + 1e-6))
        last = int(np.floor(levels.max() / step - 1e-6))
        wanted = [k * step for k in range(first, last + 1)]
        assert set(np.round(wanted, 6)) <= set(np.round(drawn, 6))


def test_a_plane_is_crossed_by_straight_lines_as_far_apart_as_its_fall_asks():
    surface = Surface.of(Plane.through((0.0, 0.0), 10.0, 0.02, 0.0), shapely.box(-1, -1, 9, 9))
    box = shapely.box(0, 0, 8, 5)
    lines = level_lines_of(surface, box, np.array([9.98, 9.96, 9.94]))
    for k, found in enumerate(lines, start=1):
        (line,) = found
        assert line[:, 1] == pytest.approx(k * 1.0)  # 20 mm down every metre at 2 %
        assert np.ptp(line[:, 0]) == pytest.approx(8.0)


@pytest.mark.parametrize("name", ["ridge", "valley", "fan of three"])
def test_contours_of_a_folded_finish_are_those_of_a_contouring_library(name):
    """contourpy on a fine grid; it is off by what the grid is at a fold."""
    contourpy = pytest.importorskip("contourpy")
    area = planned(name).areas[0]
    x0, y0, x1, y1 = area.outline.bounds
    x, y = np.linspace(x0, x1, 201), np.linspace(y0, y1, 201)
    grid = np.stack(np.meshgrid(x, y), axis=-1)
    z = area.finish.surface.at(grid.reshape(-1, 2)).reshape(201, 201)
    maker = contourpy.contour_generator(x, y, z)
    _, lines = finish_contours(area, planned(name).site.unit)
    inside = area.outline.buffer(-0.1)
    for level in {z for z, _ in lines}:
        ours = shapely.union_all([line for other, line in lines if other == level])
        theirs = shapely.union_all([shapely.LineString(line) for line in maker.lines(level)
                                    if len(line) > 1]).intersection(inside)  # fmt: skip
        if theirs.is_empty:
            continue
        away = shapely.distance(ours, shapely.points(shapely.get_coordinates(theirs)))
        assert away.max() < 0.06


@pytest.mark.parametrize("unit", ["ft", "m"])
def test_the_interval_is_round_and_gives_a_readable_number_of_lines(unit):
    for span in (0.02, 0.05, 0.11, 0.3, 0.9, 3.0):
        step, levels = contour_levels(10.0, 10.0 + span, unit)
        assert len(levels) <= MOST + 1
        assert len(levels) >= 3
        told = step / INCH if unit == "ft" else step * 1000
        assert told * 4 == pytest.approx(round(told * 4))


@given(st.floats(-2, 2), st.floats(1e-4, 2), st.sampled_from(["ft", "m"]))
def test_bands_are_few_round_and_hold_the_range(low, span, unit):
    limits = levels_within(low, low + span, unit)
    step = interval(span, unit)
    assert limits[0] <= low + 1e-9 * step
    assert limits[-1] >= low + span - 1e-9 * step
    assert len(limits) <= MOST_BANDS + 3
    assert np.diff(limits) == pytest.approx(step)
    assert step >= (INCH / 2 if unit == "ft" else 0.01)
