"""Spots that stand out: named when one is off by a foot, silent on honest ground."""

from __future__ import annotations

import numpy as np
import pytest

from grading.blunders import blunders
from grading.ground import surface
from grading.survey_check import SpotNames
from grading.triangulation import triangulate
from grading.units import FOOT


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


def found(spots):
    mesh = triangulate(spots[:, :2])
    return blunders(spots, mesh.corners, np.zeros(len(spots), bool))[0].tolist()


@pytest.mark.parametrize("count", [8, 20, 40, 120, 400])
def test_honest_ground_is_left_alone(count):
    named = [found(yard(seed, count)) for seed in range(20)]
    assert named == [[]] * 20


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
    assert surface(spots).warnings
    assert not surface(spots, breaklines=[spots[[10, nearest], :2]]).warnings


def test_the_sentence_asks_for_the_misread_foot():
    spots = yard(4, 80)
    spots = np.concatenate((spots, spots.mean(axis=0, keepdims=True)))
    spots[80, 2] = 99.4 * FOOT
    spots[:80, 2] += 98.4 * FOOT - surface(spots[:80]).elevation(spots[80:, :2])[0]
    ids, lines = [""] * 80 + ["14"], list(range(2, 83))
    (said,) = surface(spots, names=SpotNames(ids, lines, "spots.csv", "ft")).warnings
    assert said.startswith("spots.csv, line 82: spot 14 is ")
    assert said.endswith("ft above the ground around it: was 98.4 read as 99.4?")


def test_the_sentence_asks_for_the_misread_metre_below():
    spots = yard(4, 80)
    spots[10, 2] = round(spots[10, 2] - 1, 2)
    (said,) = surface(spots).warnings
    assert "m below the ground around it: was " in said
    assert said.endswith(f" read as {spots[10, 2]:g}?")


def test_a_height_that_is_no_whole_unit_asks_for_a_check():
    spots = yard(4, 80)
    spots[10, 2] += 0.5
    (said,) = surface(spots).warnings
    assert "0.5" in said
    assert "check the reading" in said


def test_few_spots_say_nothing_of_what_is_usual():
    spots = yard(0, 7)
    spots[3, 2] += 5
    assert found(spots) == []


def test_a_plane_gives_no_warning():
    plan = np.random.default_rng(0).uniform(0, 20, (50, 2))
    assert found(np.column_stack((plan, plan @ [0.02, 0.03]))) == []


def test_many_blunders_end_in_a_count():
    x, y = np.meshgrid(np.arange(20) * 3.0, np.arange(14) * 3.0)
    spots = np.column_stack((x.ravel(), y.ravel(), (0.02 * x).ravel()))
    spots[(x.ravel() % 12 == 6) & (y.ravel() % 12 == 6), 2] += 0.7
    warnings = surface(spots).warnings
    assert len(warnings) == 11
    assert warnings[-1].endswith("more spots stand out like these.")
