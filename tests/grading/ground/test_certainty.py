"""The plus-or-minus of the surface that is shown: against grounds drawn by another route."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from grading.ground.certainty import Certainty, Measured, certainty_of, within
from grading.ground.model import surface
from grading.ground.next_shots import APART, MOST_SPOTS, places_in, telling_shots
from grading.ground.process import MOST, Process, fitted, spread_out
from grading.ground.trend import bends_of

BOX = shapely.box(4, 4, 12, 11)


def yard(count, seed=3, rough=0.08):
    rng = np.random.default_rng(seed)
    xy = np.vstack(([[0, 0], [16, 0], [16, 16], [0, 16]], rng.uniform(0, 16, (count - 4, 2))))
    z = 30 - 0.02 * xy[:, 1] + rough * np.sin(xy[:, 0] / 2) * np.cos(xy[:, 1] / 3)
    return np.column_stack((xy, z + rng.normal(0, 0.004, count)))


def known_of(spots, **others):
    ground = surface(spots, warn=False, **others)
    return ground, certainty_of(ground.measured, shapely.get_coordinates(BOX))


@pytest.mark.parametrize("kind", ["tin", "smooth"])
def test_the_deviation_is_that_of_grounds_drawn_by_lot(kind):
    """Grounds and their readings drawn together, each met by its own surface: SciPy's triangles."""
    from scipy.interpolate import LinearNDInterpolator, RBFInterpolator

    spots = yard(25)
    _, known = known_of(spots, kind=kind)
    process = known.process
    xy = np.random.default_rng(5).uniform(5, 11, (6, 2))
    both = np.vstack((spots[:, :2], xy))
    away = np.sqrt(((both[:, None] - both[None]) ** 2).sum(axis=-1)) * np.sqrt(3) / process.length
    root = np.linalg.cholesky(
        process.size**2 * (1 + away) * np.exp(-away) + 1e-12 * np.eye(len(both))
    )
    rng = np.random.default_rng(6)
    grounds = rng.standard_normal((4000, len(both))) @ root.T
    read = grounds[:, :25] + rng.normal(0, process.noise, (4000, 25))
    if kind == "tin":
        made = LinearNDInterpolator(spots[:, :2], read.T)(xy)
    else:
        made = RBFInterpolator(spots[:, :2], read.T, kernel="thin_plate_spline")(xy)
    off = made.T - grounds[:, 25:]
    assert known.deviation(xy) == pytest.approx(off.std(axis=0), rel=0.06)
    by = np.array([1.0, -2.0, 0.5, 0.0, 1.0, 3.0])
    assert known.of_sum(xy, by) == pytest.approx(known.deviations * (off @ by).std(), rel=0.06)
    drawn = known.draws(xy) / (known.deviations / 1.6448536)
    # of 200 a variance is known to a tenth
    assert np.diag(np.cov(drawn.T)) == pytest.approx(np.diag(known.covariance(xy)), rel=0.35)


def test_what_is_asked_at_a_spot_is_known_to_the_reading():
    spots = yard(40)
    _, known = known_of(spots)
    assert known.deviation(spots[10:11, :2])[0] == pytest.approx(known.process.noise, rel=1e-6)


def test_levels_that_are_read_worse_are_known_worse_and_weigh_less():
    spots = yard(40, rough=0.02)
    sd = np.full(40, 0.003)
    sd[20:] = 0.06
    mixed = surface(spots, warn=False, sd=sd)
    known = certainty_of(mixed.measured, shapely.get_coordinates(BOX))
    good, bad = known.deviation(spots[[10, 30], :2])
    assert good == pytest.approx(known.process.noise, rel=1e-6)
    assert bad == pytest.approx(np.sqrt(known.process.noise**2 + 0.06**2 - sd.min() ** 2), rel=0.02)
    weights = known.process.weights(spots[[10, 30], :2] + 0.01)
    assert weights[0, 10] > 0.5 > 0.2 > weights[1, 30]


def test_a_survey_that_is_read_badly_throughout_is_known_no_better():
    spots = yard(40)
    rough = surface(spots, warn=False, sd=np.full(40, 0.05))
    known = certainty_of(rough.measured, shapely.get_coordinates(BOX))
    assert known.process.noise >= 0.05
    assert known.deviation(spots[10:11, :2])[0] >= 0.05


def test_ground_beyond_the_survey_is_known_worse_and_never_lost():
    _, known = known_of(yard(40))
    inside, beyond = known.deviation(np.array([[8.0, 8.0], [8.0, 19.0]]))
    assert np.isfinite(beyond)
    assert beyond > 2 * inside


def test_a_plane_is_known_to_the_reading_that_practice_has():
    x, y = np.meshgrid(np.arange(0.0, 17, 2), np.arange(0.0, 17, 2))
    spots = np.column_stack((x.ravel(), y.ravel(), 30 - 0.02 * y.ravel()))
    _, known = known_of(spots)
    assert 0.001 < known.deviation(np.array([[8.3, 7.7]]))[0] < 0.004


@pytest.mark.parametrize("count", [3, 4])
def test_too_few_spots_say_nothing(count):
    assert fitted(yard(10)[:count]) is None


def test_of_many_spots_those_near_the_questions_are_taken_and_spread_out():
    spots = yard(1500)
    ground, known = known_of(spots)
    assert (len(known.process.xyz), known.process.of) == (MOST, 1500)
    taken, towards = known.chosen, shapely.get_coordinates(BOX)
    assert len(set(taken.tolist())) == MOST
    near = shapely.distance(shapely.points(spots[:, :2]), BOX) < 1
    assert near[taken].mean() > near.mean()
    away = np.sqrt(((spots[taken, None, :2] - spots[None, taken, :2]) ** 2).sum(axis=-1))
    any_300 = np.sqrt(((spots[:300, None, :2] - spots[None, :300, :2]) ** 2).sum(axis=-1))
    for gaps in (away, any_300):
        np.fill_diagonal(gaps, np.inf)
    assert np.quantile(away.min(axis=1), 0.05) > 2 * np.quantile(any_300.min(axis=1), 0.05)
    # the plus-or-minus is of all levels, of which the triangle has three beside the question
    xy = np.array([[8.1, 7.2]])
    weight, used = known.weights(xy)
    assert len(used) == 3
    assert weight.sum() == pytest.approx(1)
    assert weight[0] @ ground.measured.points[used, 2] == pytest.approx(ground.elevation(xy)[0])
    assert (spread_out(spots[:50, :2], towards) == np.arange(50)).all()


def test_the_same_survey_gives_the_same_bytes():
    one, other = (known_of(yard(60))[1].draws(np.array([[8.0, 8], [9, 9]])) for _ in range(2))
    assert one.tobytes() == other.tobytes()


def test_every_shot_leaves_less_and_stands_off_the_others():
    spots = yard(30)
    _, known = known_of(spots)
    places = places_in(BOX)
    xy, by = places, np.full(len(places), BOX.area / len(places))
    found, reach = telling_shots(known, xy, by, places)
    assert len(found) == 3
    assert (np.diff(reach) < 0).all()
    assert reach[0] == pytest.approx(known.of_sum(xy, by))
    assert reach[-1] == pytest.approx(known.with_shots(found).of_sum(xy, by))
    stood = np.vstack((spots[:, :2], found))
    gaps = np.sqrt(((found[:, None] - stood[None]) ** 2).sum(axis=-1))
    gaps[gaps == 0] = np.inf
    assert gaps.min() >= APART


def test_no_place_to_stand_gives_no_shot():
    spots = yard(30)
    _, known = known_of(spots)
    xy, by = np.array([[8.0, 8.0]]), np.ones(1)
    for places in (np.zeros((0, 2)), spots[5:9, :2]):
        found, reach = telling_shots(known, xy, by, places)
        assert found.shape == (0, 2)
        assert len(reach) == 1
    assert places_in(shapely.Polygon()).shape == (0, 2)


def test_a_scan_asks_for_no_shot_by_hand():
    _, known = known_of(yard(MOST_SPOTS + 1))
    found, reach = telling_shots(known, np.array([[8.0, 8.0]]), np.ones(1), places_in(BOX))
    assert len(found) == 0
    assert len(reach) == 1


def test_a_plate_through_many_levels_is_known_as_the_triangles_between_them():
    spots = yard(MOST + 1)
    xy = np.random.default_rng(5).uniform(5, 11, (6, 2))
    flat, plate = (known_of(spots, kind=kind)[1].deviation(xy) for kind in ("tin", "smooth"))
    assert (flat == plate).all()


def test_an_interval_holds_nine_in_ten():
    assert within(np.arange(1001.0)) == pytest.approx((50, 950))


LINE = np.array([[8.0, 0.0], [8.0, 16.0]])
EAST = np.array([1.0, 0.0])


@pytest.mark.parametrize(
    ("lines", "bends"),
    [
        ([LINE], [0.0]),
        ([LINE + 0.4 * EAST, LINE], [0.4]),  # head and foot of one step
        ([LINE, LINE + 3 * EAST], [0.0, 0.0]),
        ([LINE * [1, 0.5]], []),  # ends in the middle of the yard
        ([np.array([[8.0, 0], [9.0, 8], [8.0, 16]])], []),  # turns
        ([LINE + 7.99 * EAST], []),  # nothing lies beyond it
    ],
)
def test_a_straight_line_through_the_survey_bends_its_trend(lines, bends):
    found = bends_of(lines, yard(60)[:, :2])
    assert [bend.width for bend in found] == pytest.approx(bends)


def test_a_step_rises_between_its_lines_and_nowhere_else():
    (step,) = bends_of([LINE, LINE + 0.4 * EAST], yard(60)[:, :2])
    assert step.column(np.array([[2.0, 3], [8.2, 3], [12.0, 9]])) == pytest.approx([0, 0.5, 1])


def test_the_trend_that_the_surface_loses_is_added():
    """Two triangles span a bend: between its spots the surface cuts the corner off."""
    points = np.array([[0, 0, 0], [16, 0, 2.4], [16, 16, 2.4], [0, 16, 0], [8, 0, 0], [8, 16, 0],
                       [4, 9, 0], [12, 7, 1.2], [3, 4, 0], [13, 12, 1.5]], float)  # fmt: skip
    (bend,) = bends_of([LINE], np.vstack((points[:, :2], yard(60)[:, :2])))
    process = fitted(points, [bend])
    wide = np.array([[0, 1, 2], [0, 2, 3]])
    known = Certainty(Measured(points[:4], wide, np.zeros((0, 2), int)), process, np.arange(4))
    assert isinstance(process, Process)
    # half-way along the lower side the plane through its ends lies 1.2 m above the crease
    assert known.deviation(np.array([[8.0, 0.001]]))[0] == pytest.approx(1.2, abs=0.05)
