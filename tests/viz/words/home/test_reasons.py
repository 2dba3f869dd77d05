"""Who lives there reads what fails in words of their own: no rod, no key, no place along a tape."""

from __future__ import annotations

import re
import string

import pytest
from make.plans.looked_at import looked
from make.plans.raised_yard import DOWN, raised
from make.sites.seven_elms import SITE
from make.sites.site_folder import write_site
from make.sites.wild import write_wild

import grading
import sample_sites
from grading.answers.led import failing, led
from grading.catalogue.tables import table
from grading.errors import GradingError
from grading.reading.site_edit import Edit
from viz.desk.guest.sheet import guest_steps
from viz.words.home.reasons import asked_otherwise, reason, sentences
from viz.words.signing import against_signing

BACK = {"at": [10, 0], "z": 98.9, "fall": "2 %", "bearing": 180}
"""A plane of the sample patio that runs back to the house, and lies low at its doors."""

OF_THE_WATER = {"low-edge", "ground-water", "low-spot-paving", "low-spot-ground"}
"""Rules that are told as the answer on water tells them, place by place."""

KNOWN = {"value", "limit", "by", "where", "area", "Area", "amount", "Amount", "falls"}

THE_CREWS = re.compile(
    r"\brods?\b|\bshoot\b|\bshots?\b|\bbenchmark\b|\bsubgrade\b|\borganics\b|\bregrade it\b|"
    r"\[\[|`|--\w|\.toml|\w = |\bBACK\b|\bFAIL\b|-\d|\bend of wall\b|\d out\b|[Ss]pills \d|"
    r"To mend it|\bmend\b"
)
"""What is said to a crew: its tools, its keys, where it measures, and how it mends."""


def test_every_rule_that_may_fail_has_a_sentence_for_who_lives_there():
    said = table("answers", "led")["said"]
    may_fail = {rule for rule, words in said.items() if {"fail", "below"} & set(words)}
    assert len(may_fail) > 40
    assert may_fail - set(sentences()) == OF_THE_WATER
    assert not set(sentences()) - set(said)


def test_sentences_ask_only_for_what_is_known_and_use_no_word_of_the_crew():
    for rule, words in sentences().items():
        for kind, pattern in words.items():
            assert kind in ("fail", "below"), rule
            asked = {name for _, name, _, _ in string.Formatter().parse(pattern) if name}
            assert asked <= KNOWN, (rule, asked - KNOWN)
            assert not THE_CREWS.search(pattern), (rule, pattern)


def test_a_patio_that_falls_to_the_house_is_told_wall_by_wall_by_its_doors():
    seen = looked(sample_sites.path("back-patio"), Edit(("area", 0, "plane"), BACK), who="home")
    told = {each.rule: reason(seen.plan, each) for each in led(seen.plan).fails}
    assert told["fall-away"] == (
        "The patio falls back towards wall 1 (back door) and wall 3 and does not fall away from "
        "wall 2 (kitchen door): 2 3/8 in per 10 ft away from the house is the least."
    )
    # The figures are those of the crew's first screen.
    assert told["door-step"] == (
        "The step down at kitchen door and back door would be 15 1/8 in, 7 3/8 in more than the "
        "7 3/4 in that is allowed."
    )
    assert told["low-spot-paving"] == (
        "After rain, water would stand up to 2 1/2 in deep on the patio: 164 gal, right at the "
        "house."
    )
    first, water, *_ = guest_steps(seen)
    for step in (first, water):
        for block in step.blocks:
            words = getattr(block, "text", "")
            assert not THE_CREWS.search(words), words


def test_all_of_the_rain_ends_at_one_place_or_not_all_of_it_does():
    """Of two places, one told with "all of it" leaves nothing for the other."""
    plan = raised(ground=10.4)
    for words in against_signing(plan).things:
        assert not re.search(r": .*, .*\ball of it", words.replace("nearly all of it", "")), words


@pytest.mark.parametrize(
    "seed", [2, 26, 52, *(pytest.param(seed, marks=pytest.mark.long) for seed in range(53, 400))]
)
def test_wild_yards_are_told_in_the_homeowners_words(seed, tmp_path):
    """Whatever a yard is, of what fails in it: names of its own stay as they were written."""
    folder = write_wild(seed, tmp_path / "site")
    try:
        plan = grading.plan(grading.read_site(folder))
    except GradingError:
        pytest.skip("no plan is made of this one")
    for each in failing(plan.checks):
        words = reason(plan, each)
        assert words.endswith((".", "?", "!"))
        assert not THE_CREWS.search(words), (each.rule, words)


def test_what_was_asked_for_and_cannot_be_is_told_by_what_it_is(tmp_path):
    """Doors far from walls and paving. Invented."""
    site = (
        SITE
        + """
[[door]]
name = "side door"
at   = [0, -22]
sill = 100.6

[[door]]
name = "cellar door"
at   = [40, 0]
sill = 100.6
"""
    )
    yard = [(x, y) for x in (-2, 5, 12, 19, 26) for y in (-1, 4, 9, 14, 19)]
    spots = "\n".join(["x,y,z", *(f"{x},{y},{100 - 0.02 * y:.2f}" for x, y in yard)])
    plan = grading.plan(grading.read_site(write_site(tmp_path, site, spots=spots)))
    told = {each.rule: reason(plan, each) for each in failing(plan.checks)}
    assert told["door-in-wall"] == (
        "side door and cellar door would stand in no wall of the house: that is measured again "
        "first."
    )
    assert told["not-used"] == (
        "The plan takes no account of side door and cellar door, though it was asked to: that is "
        "settled first."
    )


def test_a_tread_of_steps_that_have_none_is_told_as_that():
    plan = raised([{**DOWN, "tread": "12 in"}], ground=9.75)
    told = {each.rule: reason(plan, each) for each in failing(plan.checks)}
    assert told["not-used"] == (
        "The plan takes no account of the tread of the step down from patio, though it was asked "
        "to: that is settled first."
    )


def test_something_of_which_no_more_can_be_said_is_told_where_it_is():
    assert asked_otherwise("patio") == (
        "Something asked for at the patio cannot be built as it was asked: it is settled first."
    )
    assert asked_otherwise("", 2).startswith("A second thing asked for cannot be built")


def test_a_step_that_goes_up_says_so_and_has_no_sign(tmp_path):
    """The door's sill below the paving: common practice, no source."""
    plane = 'plane = {at = [4, 0], z = 100.2, fall = "2 %", bearing = 0}\n'
    site = SITE.replace("sill = 100.6", "sill = 99.5") + plane
    yard = [(x, y) for x in (-2, 5, 12, 19, 26) for y in (-1, 4, 9, 14, 19)]
    rows = [f"{x},{y},{100 - 0.02 * y:.2f}" for x, y in yard]
    spots = "\n".join(["x,y,z", *rows])
    plan = grading.plan(grading.read_site(write_site(tmp_path, site, spots=spots)))
    told = {each.rule: reason(plan, each) for each in failing(plan.checks)}
    assert "would lie 8 3/8 in above the sill of back door" in told["door-step"]
