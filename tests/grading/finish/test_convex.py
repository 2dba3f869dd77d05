"""The least earth, by Newton steps and by bundles of tangents: two methods, one answer."""

import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, grid_of_spots, site_of

from grading.finish import convex
from grading.finish.convex import Bounds, Disc, feasible, gentlest, least
from grading.finish.cutting import clip
from grading.ground.model import survey_to_ground

SCALE = np.array([1.0, 1 / 5, 1 / 5])  # a level, and two slopes over 5 m
SLOPES = np.eye(3)[1:]
START = np.array([30.0, 0, 0])


def pieces_of(height):
    ground = survey_to_ground(site_of(grid_of_spots(height), [PATIO]))
    return clip(ground, shapely.box(1, 0, 9, 5))


def bounds_of(*rows, greatest_fall=0.04):
    table = np.array(rows, dtype=float).reshape(-1, 5)
    return Bounds(table[:, :3], table[:, 3], table[:, 4], (Disc(SLOPES, greatest_fall),))


AWAY = (0, 0, -1, 0.02, np.inf)
GROUNDS = {
    "bumpy": lambda x, y: 30 - 0.01 * y + 0.08 * np.sin(x) * np.cos(y / 2),
    "planar": lambda x, y: 30 - 0.02 * y + 0.001 * x,
    "creased": lambda x, y: 30 - 0.02 * y + 0.05 * np.maximum(0, x - 6),
    "falls to the wall": lambda x, y: 30 + 0.03 * y,
}


@pytest.mark.parametrize("ground", GROUNDS)
@pytest.mark.parametrize(
    "bounds",
    [
        bounds_of(AWAY),
        bounds_of(AWAY, (1, 0, -2.5, -np.inf, 29.9)),
        bounds_of(AWAY, (1, 2, 1, 29.97, 29.97)),
        bounds_of(AWAY, (1, 0, -2.5, 30.4, np.inf), greatest_fall=0.03),
        bounds_of(greatest_fall=0.5),
    ],
)
def test_newton_steps_and_tangent_bundles_agree(ground, bounds):
    moments = pieces_of(GROUNDS[ground]).moments
    found = least(moments, bounds, START, SCALE)
    program = convex._Program(bounds, SCALE)
    begin = program.nearest(START)
    other = convex._by_bundle(moments, program, begin, moments(begin))
    assert found.gap <= 1e-6
    assert other.gap <= 1e-6
    assert found.moved == pytest.approx(other.moved, abs=2e-6)
    at = bounds.rows @ found.unknowns
    assert (at >= bounds.lower - 1e-8).all()
    assert (at <= bounds.upper + 1e-8).all()
    assert np.hypot(*found.unknowns[1:]) <= bounds.discs[0].radius + 1e-8


def test_planar_ground_that_may_be_had_moves_nothing():
    found = least(pieces_of(GROUNDS["planar"]).moments, bounds_of(AWAY), START, SCALE)
    assert found.moved == pytest.approx(0, abs=1e-6)
    assert found.unknowns[1:] == pytest.approx([0.001, -0.02], abs=1e-6)


def test_bounds_that_conflict_are_told_apart_from_those_that_do_not():
    steep = (0, 0, -1, 0.05, np.inf)
    assert feasible(bounds_of(AWAY), SCALE)
    assert not feasible(bounds_of(steep), SCALE)
    assert feasible(bounds_of(steep, greatest_fall=0.05), SCALE)
    assert least(pieces_of(GROUNDS["bumpy"]).moments, bounds_of(steep), START, SCALE) is None


@pytest.mark.parametrize("turn", [0.0, 0.4, 2.1])
def test_the_gentlest_fall_is_the_distance_of_level_from_what_is_allowed(turn):
    # Slopes of at least 3 % one way and 4 % across it: the nearest to level falls 5 %. A level
    # held between two heights far off says nothing of it.
    along = np.array([np.cos(turn), np.sin(turn)])
    across = np.array([-np.sin(turn), np.cos(turn)])
    rows = np.array([[0.0, *along], [0.0, *across], [1.0, 0.0, 0.0]])
    bounds = Bounds(rows, np.array([0.03, 0.04, 29.0]), np.array([np.inf, np.inf, 31.0]))
    disc = Disc(np.eye(3)[1:], 0.02)
    scale = np.array([1.0, 0.2, 0.2])
    for start in (np.zeros(3), np.array([30.0, -0.2, 0.3])):
        assert gentlest(bounds, disc, start, scale) == pytest.approx(0.05, abs=1e-7)
    none = Bounds(rows, np.array([0.03, 0.04, 31.0]), np.array([np.inf, np.inf, 29.0]))
    assert gentlest(none, disc, np.zeros(3), scale) is None


def test_an_answer_that_breaks_a_row_is_no_answer_whatever_the_solver_calls_it(monkeypatch):
    program = convex._Program(bounds_of((1, 0, 0, -np.inf, 30.0)), SCALE)
    start = np.array([29.0, 0.0, -0.01])
    slope = np.array([-1.0, 0.0, 0.0])  # the higher the better, up to 30
    (row,) = (program.minimise(np.eye(3), 10 * slope, start)[:1],)
    assert start[0] + row[0] == pytest.approx(30.0, abs=1e-6)
    solve = convex.daqp.solve

    def beyond(*problem, **options):
        step, value, _, told = solve(*problem, **options)
        return step + np.array([1e-3, 0.0, 0.0]), value, 1, told

    monkeypatch.setattr(convex.daqp, "solve", beyond)
    assert program.minimise(np.eye(3), 10 * slope, start) is None


def test_an_answer_that_the_solver_gives_up_on_is_none(monkeypatch):
    program = convex._Program(bounds_of(), SCALE)
    monkeypatch.setattr(convex.daqp, "solve", lambda *_, **__: (np.zeros(3), 0.0, -1, {}))
    assert program.minimise(np.eye(3), np.zeros(3), START) is None


def test_of_all_that_was_tried_the_best_is_handed_back(monkeypatch):
    """Also where it ends before the best is proven: the last that was tried may be worse."""
    moments = pieces_of(GROUNDS["bumpy"]).moments
    monkeypatch.setattr(convex, "_CUTS", 12)
    bounds = bounds_of(AWAY)
    program, seen = convex._Program(bounds, SCALE), []

    def noted(at):
        seen.append(moments(at))
        return seen[-1]

    begin = program.nearest(START)
    found = convex._by_bundle(noted, program, begin, noted(begin))
    assert found.moved == min(each.moved for each in seen)
    assert found.moved < seen[-1].moved
