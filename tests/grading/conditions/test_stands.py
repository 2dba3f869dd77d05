"""What a level thing stands on where the site does not say: what is advised for it, throughout.

Which things ask for a base of their own is common practice, no source: gas alone burns on panels,
and bedding is at most 1 1/2 in thick.
"""

from __future__ import annotations

import pytest
from make.plans.advised import AT_THE_WALL, patio, planned

from grading.conditions.seats import stands_words, why_words
from grading.crew.model import default_crew
from grading.order.model import order_of
from grading.order.restrained import restrained_edges, standing_in
from grading.order.takeoff import takeoffs_of
from grading.records.advice import advice_record
from grading.units import FOOT, INCH
from viz.words.advice import area_lines
from viz.words.paving.structures import structures_in
from viz.words.uncounted import not_counted

PIT = {"name": "pit", "kind": "wood fire", "at": [6, 2.8], "size": [1.0, 1.0]}
TABLE = {"name": "table", "kind": "gas fire feature", "at": [6, 2.8],
         "size": ["4 ft", "4 ft"], "height": "16 in"}  # fmt: skip
WALL = {"name": "bench", "kind": "seat wall", "at": [6, 2.5], "size": ["16 ft", "18 in"],
        "height": "16 in"}  # fmt: skip


def of(plan, name):
    (found,) = (seat for seat in plan.advice.features if seat.name == name)
    return found


def checks(plan, name):
    return [check for check in plan.checks if check.where == name]


def test_a_wood_fire_on_panels_stands_on_the_base_that_is_advised_for_it():
    """The pad is 1 m and 12 in round it: what the paving has less of is just that."""
    bare, made = planned(), planned(features=[PIT])
    pit = of(made, "pit")
    assert (pit.stands, pit.given, pit.advised, pit.why) == (
        "own base",
        False,
        "own base",
        ("fire",),
    )
    assert made.areas[0].chosen == "panel"
    assert not [check for check in checks(made, "pit") if check.status == "fail"]
    without, job = (takeoffs_of(each, each.areas[0], default_crew())["panel"]
                    for each in (bare, made))  # fmt: skip
    pad = (1.0 + 24 * INCH) ** 2
    for whole, less in zip(without.layers, job.layers, strict=True):
        out = 1.0 if whole.layer.role == "paver" else pad
        assert whole.area - less.area == pytest.approx(out)
    assert without.panels.covered - job.panels.covered == pytest.approx(pad, abs=1e-3)
    assert without.pavers.area - job.pavers.area == pytest.approx(1.0)


def test_that_it_was_advised_and_not_given_is_told_wherever_it_is_told():
    made = planned(features=[PIT])
    said = "on a base of its own, as advised, for the site does not say"
    why = "it burns wood, and panels are plastic"
    assert (stands_words(of(made, "pit")), why_words(of(made, "pit"), "m")) == (said, why)
    (check,) = [check for check in checks(made, "pit") if check.rule == "feature-wedge"]
    assert (check.status, check.text) == ("pass", f"pit stands {said}; {why}")
    lines = "\n".join(area_lines(made.advice, "patio", "m"))
    assert f"stands {said}; {why}" in lines
    (built,) = [one.said for one in structures_in(made.order) if one.said.startswith("pit ")]
    assert "a base of its own, advised, for the site does not say" in built
    assert "of compacted base" in built
    assert not [words for words in not_counted(made) if "under pit" in words]


def test_bedding_that_a_person_wrote_stays_theirs_and_fails_with_the_way_to_mend_it():
    made = planned(features=[{**PIT, "stands": "bedding"}])
    pit = of(made, "pit")
    assert (pit.stands, pit.given, pit.advised) == ("bedding", True, "own base")
    (check,) = [check for check in checks(made, "pit") if check.rule == "panel-fire"]
    assert check.status == "fail"
    assert 'leave `stands = "bedding"` out, or write "own base"' in check.text
    assert stands_words(pit) == ("on bedding, as the site says, where a base of its own is advised")
    bare, job = (order_of(each, default_crew()).areas[0].bases["panel"]
                 for each in (planned(), made))  # fmt: skip
    of_the_paving = [line.net for _, line in job.lines if line.title != "wedge under pit"]
    assert of_the_paving == pytest.approx([line.net for _, line in bare.lines])


def test_a_gas_fire_of_four_feet_stays_on_bedding():
    made = planned(features=[TABLE])
    table = of(made, "table")
    assert (table.stands, table.given, table.advised, table.why) == (
        "bedding", False, "bedding", ()
    )  # fmt: skip
    assert table.wedge.greatest == pytest.approx(0.02 * 4 * FOOT)
    (built,) = [one.said for one in structures_in(made.order) if one.said.startswith("table ")]
    assert "a wedge of sand up to 24 mm thick" in built
    assert not [words for words in not_counted(made) if "wedge" in words]
    assert standing_in(made, made.areas[0]).none


@pytest.mark.parametrize("base", ["panel", "dense", "open"])
def test_a_seat_wall_of_sixteen_feet_stands_on_its_own_base(base):
    """Closed form: on a fall of 2.8 % its wedge would be 16 ft x 0.028, some 5 3/8 in."""
    steep = {**AT_THE_WALL, "fall": "2.8 %", "z": 30.15}
    made = planned([patio(base=base, plane=steep)], features=[WALL])
    wall = of(made, "bench")
    assert wall.wedge.greatest == pytest.approx(0.028 * 16 * FOOT)
    assert (wall.stands, wall.given, wall.why) == ("own base", False, ("wedge",))
    assert made.areas[0].chosen == base
    assert not [check for check in checks(made, "bench") if check.status in ("fail", "warn")]
    feet = standing_in(made, made.areas[0]).feet
    assert feet.area == pytest.approx(16 * FOOT * 18 * INCH)


def test_on_each_base_a_thing_is_counted_as_it_would_stand_there():
    """A wood fire asks for a base of its own on panels alone: stone goes on under it."""
    made = planned(features=[PIT])
    jobs = takeoffs_of(made, made.areas[0], default_crew())
    assert {name: job.standing.none for name, job in jobs.items()} == {
        "panel": False, "dense": True, "open": True
    }  # fmt: skip
    own = planned(features=[{**PIT, "stands": "own base"}])
    jobs = takeoffs_of(own, own.areas[0], default_crew())
    assert not any(job.standing.none for job in jobs.values())


def test_what_is_advised_for_the_paving_does_not_hinge_on_what_it_is_planned_on():
    """The same yard planned on every base hears the same of panels."""
    heard = {
        tuple(reason.text for reason in made.advice.area("patio").base.of("panel").reasons)
        for made in (planned([patio(base=base)], features=[PIT, WALL])
                     for base in ("panel", "dense", "open"))
    }  # fmt: skip
    assert len(heard) == 1
    assert any("wood is burned in" in text for text in heard.pop())


def test_the_edge_that_a_thing_on_its_own_base_holds_depends_on_the_base_too():
    """A wood fire at the outer edge, 1 m along it: no restraint there on panels alone."""
    made = planned(features=[{**PIT, "at": [5, 4.5]}])
    area = made.areas[0]
    held, free = (sum(line.length for line in restrained_edges(made, area, base))
                  for base in ("panel", "dense"))  # fmt: skip
    assert free - held == pytest.approx(1.0)


def test_the_record_says_whether_it_was_given_or_advised():
    made = planned(features=[PIT, {**TABLE, "at": [3, 2.5], "stands": "bedding"}])
    told = {row["name"]: row for row in advice_record(made.advice, "patio")["features"]}
    assert (told["pit"]["stands"], told["pit"]["stands_as"]) == ("own base", "advised")
    assert told["pit"]["why"] == ["fire"]
    assert (told["table"]["stands"], told["table"]["stands_as"]) == ("bedding", "given")


def test_a_thing_that_takes_the_whole_patio_leaves_nothing_to_lay():
    """A wood fire with 12 in round it on 8 m by 5 m, over-dug 6 in."""
    made = planned(features=[{**PIT, "at": [5, 2.5], "size": [5.0, 8.0]}])
    job = takeoffs_of(made, made.areas[0], default_crew())["panel"]
    assert job.panels.units == 0
    assert [part.area for part in job.layers] == pytest.approx([0.0] * len(job.layers), abs=1e-9)
    order_of(made, default_crew())


@pytest.mark.parametrize(
    ("thing", "idle"),
    [({**PIT, "bedding": 0.01}, "bedding"), ({**TABLE, "base": "6 in"}, "base")],
)
def test_a_key_of_the_way_that_it_does_not_stand_is_told_as_not_used(thing, idle):
    made = planned(features=[thing])
    (check,) = [check for check in made.checks if check.rule == "not-used"]
    assert check.status == "fail"
    assert f"its `{idle}` is of no use: it stands on" in check.text
    assert "for the site does not say" in check.text
    other = "own base" if idle == "base" else "bedding"
    assert f'write stands = "{other}"' in check.text
