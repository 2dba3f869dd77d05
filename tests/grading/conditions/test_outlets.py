"""Raised areas, and where the water under them can be led.

Common practice, no source, unless a source is named.
"""

import pytest
from make.plans.advised import AT_THE_WALL, advised, patio, planned, rules

from grading.conditions.outlets import outlets_of

RAISED = {**AT_THE_WALL, "z": 30.4}
FLUSH = {**AT_THE_WALL, "z": 30.0}
ALONG = [[0, 7.5], [10, 7.5]]


def first(advice, area="patio"):
    return advice.area(area).base.advised.option.name


def raised(**more):
    return [patio(base=None, plane=RAISED, **more)]


def test_a_raised_patio_with_no_outlet_named_is_on_open_graded_stone_and_told_to_add_one():
    advice = advised(raised())
    assert first(advice) == "open"
    assert advice.area("patio").base.of("panel").level == "rules out"
    assert "open-by-foundation" not in rules(advice, "open")
    (missing,) = [one for one in advice.area("patio").base.of("open").reasons
                  if one.rule == "open-raised-underdrain"]  # fmt: skip
    assert missing.level == "care"
    assert "to be added" in missing.text
    # What is so already is not told as what would come to speak against it.
    assert not any("no place lower" in near for near in advice.area("patio").base.of("open").nears)
    creek = {"kind": "outlet", "name": "creek", "at": [5, 8], "z": 29}
    nears = advised(raised(), floors=[creek]).area("patio").base.of("open").nears
    assert any("no place lower" in near for near in nears)
    assert advice.area("patio").base.caveat == ""


def test_a_raised_front_walk_is_a_raised_patio():
    meet = {
        "kind": "driveway",
        "name": "edge of the driveway",
        "at": [[9, 0], [9, 5]],
        "z": [30.4, 30.3],
    }
    walk = raised(use="front walkway")
    assert first(advised(walk)) == "open"
    with_drive = advised(walk, meets=[meet])
    assert first(with_drive) == "open"
    assert with_drive.area("patio").base.of("panel").level == "rules out"


@pytest.mark.parametrize("kind", ["swale", "street", "drain", "dry well", "lawn"])
def test_any_lower_place_that_water_can_be_led_to_is_an_outlet(kind):
    place = {"kind": kind, "name": "the low place", "at": ALONG, "z": 29.3}
    plan = planned([patio(plane=FLUSH)], outfalls=[place])
    assert outlets_of(plan, plan.areas[0], "open") == ("the low place",)
    advice = plan.advice
    assert "open-by-foundation" not in rules(advice, "open")
    (care,) = [one for one in advice.area("patio").base.of("open").reasons
               if one.rule == "open-underdrain"]  # fmt: skip
    assert care.text.endswith("an underdrain to the low place")


def test_no_water_is_led_onto_a_neighbour():
    lot = {"kind": "neighbour", "name": "next door", "at": ALONG, "z": 29.0}
    assert "open-by-foundation" in rules(advised([patio(plane=FLUSH)], outfalls=[lot]), "open")


@pytest.mark.parametrize(("below", "reached"), [(0.02, False), (0.04, True)])
def test_an_outlet_lies_lower_by_the_fall_of_its_pipe(below, reached):
    """1/8 in per foot (1:96, a city's plumbing code) over 2.5 m from the end of the underdrain,
    which lies below the low corner of the paving: 26 mm."""
    corner = max(x for x, _ in patio(plane=FLUSH)["outline"])
    # The finish falls 2 % over 5 m, and the build-up is 9 3/8 in.
    subgrade = 30.0 - 0.1 - 9.375 * 0.0254
    place = {"kind": "outlet", "name": "pipe end", "at": [corner, 7.5], "z": subgrade - below}
    plan = planned([patio(plane=FLUSH)], floors=[place])
    assert outlets_of(plan, plan.areas[0], "open") == (("pipe end",) if reached else ())


def test_ground_that_was_not_surveyed_is_not_known_to_be_low():
    place = {"kind": "swale", "name": "far swale", "at": [[0, 60], [10, 60]]}
    plan = planned([patio(plane=FLUSH)], outfalls=[place])
    assert outlets_of(plan, plan.areas[0], "open") == ()
