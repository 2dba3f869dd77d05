"""Spots that stand out: named when one is off by a foot, silent on honest ground."""

from __future__ import annotations

import numpy as np
import pytest

from grading.geometry.triangulation import triangulate
from grading.ground.blunders import _plane_misses, blunders
from grading.ground.model import surface
from grading.ground.plates import NOISE_RATIOS, downdated, plate_precision, scaled
from grading.ground.smooth import plate_matrix
from grading.ground.spots import SpotNames
from grading.units import FOOT, INCH


def yard(seed, count):
    """A yard of `count` spots: a fall, two gentle swells of up to 0.15 m, 5 mm of reading noise."""
    rng = np.random.default_rng(seed)
    width = np.sqrt(count) * rng.uniform(2, 4)
    plan = rng.uniform(0, width, (count, 2))
    z = 100 * FOOT + plan @ rng.normal(0, 0.03, 2)
    for _ in range(2):
        wave = rng.normal(size=2)
        wave *= 2 * np.pi / np.hypot(*wave) / rng.uniform(15, 40)
        z = z + rng.uniform(0.05, 0.15) * np.sin(plan @ wave + rng.uniform(0, 6))
    return np.round(np.column_stack((plan, z + rng.normal(0, 0.005, count))), 3)


def asked(spots):
    mesh = triangulate(spots[:, :2])
    return blunders(spots, mesh, np.zeros(len(spots), bool))


def found(spots):
    return asked(spots).spots.tolist()


def told(spots, **others):
    return [each.text for each in surface(spots, **others).shots.suspects]


@pytest.mark.parametrize("count", [8, 20, 40, 120, 400])
def test_honest_ground_is_left_alone(count):
    named = [found(yard(seed, count)) for seed in range(20)]
    assert sum(map(bool, named)) <= 1  # one honest survey in twenty


@pytest.mark.parametrize("count", [25, 60, 150, 400])
@pytest.mark.parametrize("step", [FOOT, -FOOT])
def test_one_foot_off_is_named_and_nothing_else(count, step):
    right = 0
    for seed in range(20):
        spots = yard(seed, count)
        ring = triangulate(spots[:, :2]).ring
        inner = np.setdiff1d(np.arange(count), ring)
        off = int(inner[seed % len(inner)])
        spots[off, 2] += step
        named = found(spots)
        assert named in ([off], [])
        right += named == [off]
    assert right >= 19


def test_two_blunders_are_both_named_the_worse_first():
    spots = yard(4, 80)
    spots[10, 2] += FOOT
    spots[50, 2] -= 2 * FOOT
    assert found(spots) == [50, 10]


def test_a_bank_is_no_row_of_blunders():
    x, y = np.meshgrid(np.arange(9) * 2.0, np.arange(7) * 2.0)
    bank = np.column_stack((x.ravel(), y.ravel(), np.where(x > 7, 1.2, 0).ravel()))
    assert found(bank) == []


def test_a_spot_on_a_breakline_is_never_named():
    spots = yard(4, 80)
    spots[10, 2] += FOOT
    nearest = int(np.argsort(np.hypot(*(spots[:, :2] - spots[10, :2]).T))[1])
    assert told(spots)
    assert not told(spots, breaklines=[spots[[10, nearest], :2]])


def test_the_sentence_asks_for_the_misread_foot():
    spots = yard(4, 80)
    spots = np.concatenate((spots, spots.mean(axis=0, keepdims=True)))
    spots[80, 2] = 99.4 * FOOT
    spots[:80, 2] += 98.4 * FOOT - surface(spots[:80]).elevation(spots[80:, :2])[0]
    ids, lines = [""] * 80 + ["14"], list(range(2, 83))
    (said,) = told(spots, names=SpotNames(ids, lines, "spots.csv", "ft"))
    assert said.startswith("spots.csv, line 82: spot 14 is ")
    assert said.endswith("ft above the ground around it: was 98.4 read as 99.4?")


def test_the_sentence_asks_for_the_misread_metre_below():
    spots = yard(4, 80)
    spots[10, 2] = round(spots[10, 2] - 1, 2)
    (said,) = told(spots)
    assert "m below the ground around it: was " in said
    assert said.endswith(f" read as {spots[10, 2]:g}?")


def test_a_height_that_is_no_whole_unit_asks_for_a_check():
    spots = yard(4, 80)
    spots[10, 2] += 0.5
    (said,) = told(spots)
    assert "0.5" in said
    assert "check the reading" in said


@pytest.mark.parametrize("count", [3, 4, 5, 7, 9, 12])
def test_what_no_ground_can_explain_is_named_however_few_the_spots(count):
    spots = yard(0, count)
    spots[1, 2] = 999.2 * FOOT
    assert found(spots)[:1] == [1]


@pytest.mark.parametrize("count", [5, 6, 7, 9, 12, 30])
@pytest.mark.parametrize("step", [FOOT, -FOOT])
def test_a_foot_off_a_plane_that_the_others_fit_to_an_inch_is_named(count, step):
    """Four or five others lie on a plane to an inch by chance; they must fit it to a quarter."""
    fit = INCH if count > 6 else INCH / 4
    x, y = np.meshgrid(np.arange(6.0), np.arange(5.0))
    plan = np.column_stack((x.ravel(), y.ravel()))[np.random.default_rng(count).permutation(30)]
    plan = 3 * plan[:count]
    inch = np.random.default_rng(count).uniform(-0.8 * fit, 0.8 * fit, count)
    for off in range(count):
        others = np.delete(plan, off, axis=0) - plan[off]
        if np.ptp(np.arctan2(*others.T)) < np.pi:
            continue  # a corner that the others do not reach round to
        spots = np.column_stack((plan, 30 + plan @ [0.02, 0.01] + inch))
        spots[off, 2] += step
        assert found(spots)[:1] == [off]


def test_too_few_spots_say_that_they_check_nothing():
    assert asked(yard(0, 4)).power == 0
    rough = yard(3, 7) * [4, 4, 1]  # shots 10 m apart on ground that rolls by a hand
    rough[:, 2] += np.random.default_rng(3).normal(0, 0.08, 7)
    assert asked(rough).power < 0.5
    assert asked(yard(3, 60)).power > 0.9


def test_the_inverse_is_that_of_the_plate_with_its_plane():
    """`numpy` on the whole bordered matrix; a spot set aside is one row fewer."""
    plan = yard(1, 30)[:, :2]
    precision = plate_precision(plan)
    rest = np.delete(np.arange(30), 5)
    for noise, ours, less in zip(NOISE_RATIOS, precision, downdated(precision, 5), strict=True):
        matrix = plate_matrix(scaled(plan)[0])
        matrix[range(30), range(30)] += noise
        assert np.abs(np.linalg.inv(matrix)[:30, :30] - ours).max() < 1e-9
        kept = np.append(rest, [30, 31, 32])
        without = np.linalg.inv(matrix[np.ix_(kept, kept)])[:29, :29]
        assert np.abs(without - less[np.ix_(rest, rest)]).max() < 1e-9


def test_small_work_takes_one_thread(monkeypatch):
    """No LAPACK: a library that puts threads on small inverses waits for them on a busy machine."""

    def refused(*_):
        raise AssertionError("a library's inverse")

    for name in ("inv", "solve", "eigh", "svd", "qr", "cholesky", "lstsq", "pinv"):
        monkeypatch.setattr(np.linalg, name, refused)
    for count in (9, 60, 110, 400):
        spots = yard(4, count)
        spots[count // 2, 2] += FOOT
        found(spots)


def test_a_plane_gives_no_warning():
    plan = np.random.default_rng(0).uniform(0, 20, (50, 2))
    assert found(np.column_stack((plan, plan @ [0.02, 0.03]))) == []


def test_many_blunders_are_all_told():
    x, y = np.meshgrid(np.arange(20) * 3.0, np.arange(14) * 3.0)
    spots = np.column_stack((x.ravel(), y.ravel(), (0.02 * x).ravel()))
    spots[(x.ravel() % 12 == 6) & (y.ravel() % 12 == 6), 2] += 0.7
    assert len(told(spots)) > 10


def test_every_spot_is_held_against_the_plane_of_least_squares_through_its_neighbours():
    """NumPy's lstsq, spot by spot, over neighbours that NetworkX finds."""
    import networkx as nx

    rng = np.random.default_rng(3)
    points = np.column_stack([rng.uniform(0, 20, (150, 2)), rng.normal(0, 0.2, 150)])
    mesh = triangulate(points[:, :2])
    graph = nx.Graph()
    for ring in mesh.corners.tolist():
        nx.add_cycle(graph, ring)
    miss, spread = _plane_misses(points, mesh)
    judged = 0
    for spot in range(len(points)):
        local = points[list(graph[spot])] - points[spot]
        rows = np.column_stack([np.ones(len(local)), local[:, :2]])
        if np.isnan(miss[spot]):
            assert len(local) < 3 or np.linalg.cond(rows) > 3
            continue
        plane = np.linalg.lstsq(rows, local[:, 2], rcond=None)[0]
        assert miss[spot] == pytest.approx(-plane[0], abs=1e-9)
        variance = np.linalg.inv(rows.T @ rows)[0, 0]
        assert spread[spot] == pytest.approx(np.sqrt(1 + variance), rel=1e-9)
        judged += 1
    assert judged > 120
