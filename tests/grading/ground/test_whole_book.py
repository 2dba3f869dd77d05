"""What only the whole of a level book shows."""

from __future__ import annotations

from math import comb

import numpy as np
import pytest
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from make.sites.lawns import TAME, lidar_yards, shot
from msgspec.structs import replace

from grading.ground.whole_book import ENOUGH, beyond_rod, setups_off, tenths_read_as_inches
from grading.pipeline import plan
from grading.site.model import Reading
from grading.units import FOOT, INCH


def test_a_book_without_a_ten_or_an_eleven_is_asked_about():
    rng = np.random.default_rng(1)
    tenths = (rng.integers(0, 12, 24) * FOOT + rng.integers(0, 10, 24) * INCH).tolist()
    assert tenths_read_as_inches(tenths, "ft-in")
    assert not tenths_read_as_inches(tenths[: ENOUGH - 1], "ft-in")
    assert not tenths_read_as_inches(tenths, "ft")
    assert not tenths_read_as_inches([*tenths, 4 * FOOT + 10.5 * INCH], "ft-in")
    assert not tenths_read_as_inches([*tenths, -(4 * FOOT + 11 * INCH)], "ft-in")


@pytest.mark.parametrize(("readings", "chance"), [(20, 0.026), (30, 0.004)])
def test_an_honest_book_is_seldom_asked_about(readings, chance):
    """Two inches of twelve: the binomial with no hit, and 20,000 books."""
    assert comb(readings, 0) * (10 / 12) ** readings == pytest.approx(chance, abs=5e-4)
    rng = np.random.default_rng(3)
    books = rng.uniform(0, 12, (20000, readings)) * FOOT
    asked = np.mean([tenths_read_as_inches(book, "ft-in") for book in books[:4000]])
    assert asked == pytest.approx(chance, abs=0.008)


def test_a_reading_longer_than_the_rod_is_told():
    assert beyond_rod([1.0, 8.0, -9.0, 7.62], 7.62) == (1, 2)


@pytest.mark.parametrize(("count", "off", "least"), [(30, 0.10, 0.85), (60, 0.05, 0.85)])
def test_a_set_up_that_is_off_is_named_and_honest_ones_are_not(count, off, least):
    """Twenty-five lawns, each shot from two set-ups that look at all of it."""
    rng, found, false, known = np.random.default_rng(5), 0, 0, []
    for level in lidar_yards(TAME, 25):
        spots, setups = shot(level, count, rng), rng.integers(1, 3, count)
        false += bool(setups_off(spots, setups))
        main = 1 if (setups == 1).sum() >= (setups == 2).sum() else 2
        bad = spots.copy()
        bad[setups != main, 2] += off
        for each in setups_off(bad, setups):
            found += each.setup == 3 - main
            known.append((each.off - off) / each.sd)
    assert found >= least * 25
    assert false == 0
    assert np.sqrt(np.mean(np.square(known))) == pytest.approx(1.0, abs=0.5)


def test_set_ups_that_look_at_ground_of_their_own_are_known_badly_and_not_named():
    rng = np.random.default_rng(6)
    for level in lidar_yards(TAME, 10):
        spots = shot(level, 30, rng)
        spots[spots[:, 0] > 8, 2] += 0.05
        assert not setups_off(spots, 1 + (spots[:, 0] > 8))


@pytest.mark.parametrize("setups", [[1] * 30, [1] * 29 + [2]])
def test_one_set_up_or_one_shot_from_another_says_nothing(setups):
    spots = shot(lidar_yards(TAME, 1)[0], 30, np.random.default_rng(1))
    assert setups_off(spots, np.array(setups)) == ()


def with_readings(rods, setups, marks="ft-in"):
    spots = grid_of_spots(lambda x, y: 30 - 0.02 * y)
    site = site_of(spots, [PATIO], unit="ft", house=WALL)
    readings = tuple(
        Reading(float(rod), marks, int(setup), 31.0)
        for rod, setup in zip(rods(len(spots)), setups(len(spots)), strict=True)
    )
    spots = spots.copy()
    spots[:, 2] += 0.12 * (np.array([each.setup for each in readings]) == 2)
    return replace(site, spots=replace(site.spots, xyz=spots, readings=readings))


def test_the_plan_asks_about_a_rod_of_tenths_a_longer_rod_and_a_set_up_that_is_off():
    site = with_readings(
        lambda n: [*(4 * FOOT + np.arange(n - 1) % 10 * INCH), 30 * FOOT],
        lambda n: 1 + (np.arange(n) % 3 == 0),
    )
    told = [each for each in plan(site).checks if each.rule == "survey" and each.status == "warn"]
    tenths, rod, setup = (each.text for each in told)
    assert "has 10 or 11 inches: is the rod marked in tenths of a foot" in tenths
    assert "is longer than any rod" in rod
    assert "from set-up 2 all lie 4 3/4 in above those of the others" in setup


def test_each_book_is_asked_about_for_itself():
    """A book of one reading says nothing of its rod, whatever was read in another."""
    site = with_readings(
        lambda n: 4 * FOOT + np.arange(n) % 10 * INCH, lambda n: np.ones(n, int), "ft-in"
    )
    count = len(site.spots.xyz)
    spots = replace(site.spots, sources=("a.csv", *["b.csv"] * (count - 1)))
    told = [each.text for each in plan(replace(site, spots=spots)).checks if each.rule == "survey"]
    (asked,) = (text for text in told if "10 or 11 inches" in text)
    assert asked.startswith(f"b.csv: none of {count - 1} readings")


def test_the_plan_of_an_honest_book_asks_nothing():
    site = with_readings(
        lambda n: 4 * FOOT + np.arange(n) % 12 * INCH, lambda n: np.ones(n, int), "ft-in"
    )
    assert {each.status for each in plan(site).checks if each.rule == "survey"} == {"pass"}
