import json
import re

import numpy as np
import pytest
from make.plans.advised import AT_THE_WALL, advised, patio, planned, rules

from grading.catalogue.bases import tags_of
from grading.catalogue.rules import RULES, Limits
from grading.catalogue.suitability import (
    Condition,
    Fact,
    judged,
    options,
    suitability_rules,
    verdict,
)
from grading.catalogue.verdicts import Choice, Option, Reason, Verdict
from grading.checks.advice import advice_checks
from grading.choice.compared import dig_facts
from grading.choice.facts import area_facts, system_facts
from grading.records.advice import advice_record
from grading.site.model import GroundSpec
from grading.structures.holding.hold_facts import hold_facts
from grading.structures.holding.wall_unit import unit_of
from grading.units import INCH, nominal
from grading.worded import of_file

SIDE = [[1, 0], [9, 0], [9, 1.2], [1, 1.2]]
FAR = {"walls": [[-1, -20], [11, -20]], "inside": [5, -30]}


def base(advice, area="patio"):
    return advice.area(area).base.advised.option.name


def sentence(advice, option, rule, area="patio"):
    reasons = advice.area(area).base.of(option).reasons
    return next(reason.text for reason in reasons if reason.rule == rule)


def test_a_patio_in_the_ground_is_advised_panels():
    advice = advised([patio(base=None)])
    assert base(advice) == "panel"
    assert rules(advice, "panel") == {"least-dig", "least-cost", "panel-walked-on"}
    assert "more-dig" in rules(advice, "dense")
    assert "m³ more dug" in sentence(advice, "dense", "more-dig")


def test_deep_organics_speak_against_panels_with_what_was_measured():
    advice = advised(ground=GroundSpec(organics=7 * INCH), unit="ft", areas=[feet()])
    assert rules(advice, "panel") >= {"panel-organics"}
    text = sentence(advice, "panel", "panel-organics")
    assert text.startswith(
        "organics 7 in deep at the most, deeper than 5 in over all of the area: the hole is dug "
        "anyway"
    )
    assert base(advice) != "panel"


def feet():
    outline = [[3, 0], [30, 0], [30, 16], [3, 16]]
    plane = {"at": [3, 0], "z": 98.75, "fall": "2 %", "bearing": 0}
    return {"name": "patio", "outline": outline, "base": "panel", "plane": plane}


def test_organics_over_a_part_of_the_area_are_a_share_of_it():
    # As deep on one side as it is shallow on the other: half the patio is beyond the middle.
    probes = np.array([[1, -1, 0], [1, 9, 0], [9, -1, 0.254], [9, 9, 0.254]])
    advice = advised(ground=GroundSpec(probes=probes))
    assert "over 50 % of the area" in sentence(advice, "panel", "panel-organics")
    probes[2:, 2] = 0.15
    plan = planned(ground=GroundSpec(probes=probes))
    paved = plan.areas[0].chosen_dig.paved
    grid = (np.arange(200) + 0.5) / 200
    u, v = (axis.ravel() for axis in np.meshgrid(grid, grid))
    inside = u + v < 1
    weights = np.stack([1 - u - v, u, v], axis=-1)[inside]
    share = paved.areas @ (paved.organics @ weights.T > 5 * INCH).mean(axis=1) / paved.area
    assert 0.02 < share < 0.25
    advice = plan.advice
    assert "panel-organics" not in rules(advice, "panel")
    (said,) = [near for near in advice.area("patio").base.of("panel").nears if "organics" in near]
    (now,) = re.findall(r"now ([0-9.]+) %", said)
    assert float(now) == pytest.approx(100 * share, abs=0.6)


@pytest.mark.parametrize(("organics", "against"), [(0.126, False), (0.128, True)])
def test_five_inches_of_organics_is_the_line(organics, against):
    advice = advised(ground=GroundSpec(organics=organics))
    assert ("panel-organics" in rules(advice, "panel")) == against


def test_a_site_moves_the_line():
    advice = advised(ground=GroundSpec(organics=0.128), limits={"deep-organics": 0.2})
    assert "panel-organics" not in rules(advice, "panel")


def test_a_raised_area_is_built_up_on_open_graded_stone():
    outlet = {"kind": "outlet", "name": "daylight", "at": [5, 8], "z": 29}
    raised = patio(base=None, plane={**AT_THE_WALL, "z": 30.4})
    advice = advised([raised], floors=[outlet])
    assert base(advice) == "open"
    assert "panel-raised" in rules(advice, "panel")
    assert "dense-raised" in rules(advice, "dense")
    assert rules(advice, "open") >= {"open-raised", "open-underdrain"}
    assert "400 mm above the ground" in sentence(advice, "panel", "panel-raised")
    assert advice.area("patio").edge.advised.option.name == "wall"


def test_a_driveway_is_never_on_panels():
    advice = advised([patio(use="driveway", base=None)])
    panel = advice.area("patio").base.of("panel")
    assert panel.level == "rules out"
    assert base(advice) == "dense"
    assert advice.area("patio").base.verdicts[-1] is panel
    assert any("producers allow" in said for said in advice.area("patio").disagreements)


def test_a_side_walkway_is_on_panels_and_not_on_open_stone():
    advice = advised([patio(use="walkway", outline=SIDE, base=None)])
    assert base(advice) == "panel"
    assert "panel-beside-house" in rules(advice, "panel")
    assert "open-side-walkway" in rules(advice, "open")
    away = advised([patio(use="walkway", outline=SIDE, base=None)], house=FAR)
    assert "open-side-walkway" not in rules(away, "open")
    assert "open-by-foundation" not in rules(away, "open")


def test_a_front_walkway_that_meets_a_driveway_matches_its_base():
    drive = {
        "name": "drive", "use": "driveway", "base": "dense",
        "outline": [[9, 0], [12, 0], [12, 5], [9, 5]], "plane": AT_THE_WALL,
    }  # fmt: skip
    walk = patio(use="front walkway", base=None)
    advice = advised([walk, drive])
    assert base(advice) == "dense"
    said = "that ties into a driveway (drive) on dense-graded base:"
    assert said in sentence(advice, "panel", "panel-meets-driveway")
    meet = {
        "kind": "driveway",
        "name": "edge of the driveway",
        "at": [[9, 0], [9, 5]],
        "z": [30.1, 30.0],
    }
    assert base(advised([walk], meets=[meet])) == "dense"
    assert base(advised([walk])) == "panel"


def test_open_stone_by_a_foundation_needs_an_outlet():
    outlet = {"kind": "outlet", "name": "creek", "at": [5, 8], "z": 29}
    assert "open-by-foundation" in rules(advised(), "open")
    drained = advised(floors=[outlet])
    assert "open-by-foundation" not in rules(drained, "open")
    assert sentence(drained, "open", "open-underdrain").endswith("an underdrain to creek")
    assert rules(advised(house=FAR), "open").isdisjoint({"open-by-foundation", "open-underdrain"})


def test_a_long_wall_on_the_slope_is_judged_on_a_base_of_its_own_and_the_patio_on_panels():
    """Common practice, no source: the patio stays on panels, the wall's pad is cut out of it."""
    wall = {"name": "wall", "kind": "seat wall", "at": [5, 2.5], "size": [4, 0.3], "height": 0.4}
    advice = advised([patio(base=None)], features=[wall])
    text = sentence(advice, "panel", "panel-wall")
    assert "falls 2.0 %" in text
    assert "80 mm, more than 38 mm" in text
    assert "on a level base of its own, cut out of the panels" in text
    assert base(advice) == "panel"
    assert advice.area("patio").base.of("panel").level == "care"
    (seat,) = advised(features=[wall]).features
    assert seat.advised == "own base"
    assert "panel-wall" not in rules(advised(features=[{**wall, "size": [1, 0.3]}]), "panel")
    own = advised(features=[{**wall, "stands": "own base"}])
    assert "panel-wall" not in rules(own, "panel")
    assert sentence(own, "panel", "panel-heavy").startswith("wall: on a base of its own")
    tall = advised([patio(base=None)], features=[{**wall, "size": [1, 0.3], "height": 0.5}])
    assert sentence(tall, "panel", "panel-tall").startswith("wall up to 500 mm high")
    assert base(tall) == "panel"


def test_a_wood_fire_stands_on_a_base_of_its_own_and_the_patio_on_panels():
    """Common practice, no source: gas only on panels; they are cut out round a wood fire."""
    fire = {"name": "pit", "kind": "wood fire", "at": [5, 2.5], "size": [1]}
    advice = advised([patio(base=None)], features=[fire])
    assert base(advice) == "panel"
    text = sentence(advice, "panel", "panel-wood-fire")
    assert text.startswith("wood is burned in pit: on a base of its own")
    assert "on panels gas only" in text
    (seat,) = advised(features=[fire]).features
    assert seat.advised == "own base"


def test_a_narrow_gate_speaks_for_panels():
    gate = sentence(advised(access={"gate": "36 in"}, unit="ft", areas=[feet()]), "panel",
                    "panel-tight-access")  # fmt: skip
    assert "a gate 36 in wide" in gate
    assert "panel-tight-access" not in rules(advised(access={"gate": 1.5}), "panel")


def test_young_backfill_speaks_against_panels_unless_it_is_treated():
    young = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3], "age": 3}
    text = sentence(advised(house=young), "panel", "panel-backfill")
    assert text.startswith("the house is 3 years old and 24 % of the area lies on its backfill")
    assert "panel-backfill" not in rules(advised(house={**young, "age": 7}), "panel")
    assert "panel-backfill" not in rules(
        advised(house=young, backfill={"treatment": "stone"}), "panel"
    )


def test_what_is_not_known_is_said_and_not_guessed():
    unknown = [of_file(each) for each in advised().area("patio").unknown]
    assert "the age of the house is not given: [house] age" in unknown
    assert "the winter is not given: [frost] index" in unknown
    old = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3], "age": 30}
    known = advised(house=old, access={"gate": 1.2}, frost={"index": 500}).area("patio").unknown
    assert known == ()


def test_the_person_overrules_and_the_reason_is_kept():
    chosen = patio(base="open", reason="the crew has the stone on site")
    plan = planned([chosen])
    advice = plan.advice
    one = advice.area("patio")
    assert (one.overruled, one.built, one.reason) == (True, "open", chosen["reason"])
    (check,) = [row for row in advice_checks(plan, advice) if row.rule == "base-advised"]
    assert check.status == "pass"
    assert check.text.endswith("Kept for a reason: the crew has the stone on site")
    plan = planned([patio(base="open")])
    (check,) = [row for row in advice_checks(plan, plan.advice) if row.rule == "base-advised"]
    assert check.status == "warn"
    assert not advised().area("patio").overruled


OVER_OPEN = {
    "name": "raised panel",
    "layers": [
        {"name": "paver", "thickness": 0.06},
        {"name": "panel", "thickness": 0.02},
        {"name": "bedding", "thickness": 0.025},
        {"name": "open-graded base", "thickness": 0.3},
    ],
}


def test_panels_over_open_graded_stone_are_judged_as_both():
    raised = patio(base="raised panel", plane={**AT_THE_WALL, "z": 30.4})
    outlet = {"kind": "outlet", "name": "daylight", "at": [5, 8], "z": 29}
    advice = advised([raised], bases=[OVER_OPEN], floors=[outlet])
    hybrid = advice.area("patio").base.of("raised panel")
    assert hybrid.option.tags == {"panel", "open"}
    assert {reason.rule for reason in hybrid.reasons} >= {"open-raised", "open-underdrain"}
    assert "panel-raised" not in {reason.rule for reason in hybrid.reasons}
    drive = advised([patio(base="raised panel", use="driveway")], bases=[OVER_OPEN])
    assert drive.area("patio").base.of("raised panel").level == "rules out"


def overlay(z):
    slab = {
        "name": "overlay", "over": "sound concrete",
        "layers": [{"name": "paver", "thickness": 0.06}, {"name": "sand", "thickness": 0.025}],
    }  # fmt: skip
    return advised([patio(base="overlay", plane={**AT_THE_WALL, "z": z})], bases=[slab])


@pytest.mark.parametrize(
    ("z", "rule"),
    [(30.085, None), (30.08, None), (30.07, "overlay-cuts"), (30.13, "overlay-gap")],
)
def test_an_overlay_lies_on_its_concrete(z, rule):
    one = overlay(z).area("patio").base.of("overlay")
    said = {reason.rule for reason in one.reasons}
    assert said & {"overlay-cuts", "overlay-gap"} == ({rule} if rule else set())
    assert "overlay-sound" in said
    assert "overlay-slope" not in said
    assert "base-thin" not in said


def test_an_overlay_digs_nothing_beyond_its_edge():
    plan = planned([patio(base="overlay", plane={**AT_THE_WALL, "z": 30.085})],
                   bases=[{"name": "overlay", "over": "sound concrete",
                           "layers": [{"name": "paver", "thickness": 0.06},
                                      {"name": "sand", "thickness": 0.025}]}])  # fmt: skip
    dig = plan.areas[0].digs["overlay"]
    assert dig.dig_area == pytest.approx(40)
    assert dig.cut == pytest.approx(0, abs=1e-9)


def test_a_thin_base_is_spoken_against():
    thin = {"name": "thin", "layers": [{"name": "paver", "thickness": 0.06},
                                       {"name": "base", "thickness": 0.05}]}  # fmt: skip
    advice = advised([patio(base="thin")], bases=[thin])
    assert "50 mm of base under a patio: 52 mm short" in sentence(advice, "thin", "base-thin")


@pytest.mark.parametrize(
    ("name", "edge", "joint"),
    [
        ("panel", "panel edge", "polymeric sand"),
        ("dense", "spiked edge", "polymeric sand"),
        ("open", "dense shoulder", "polymeric sand"),
    ],
)
def test_edge_and_joint_follow_the_base(name, edge, joint):
    one = advised([patio(base=name)]).area("patio")
    assert one.edge.advised.option.name == edge
    assert one.joint.advised.option.name == joint
    if name != "dense":
        assert one.joint.of("jointing sand").level == "against"


def test_a_flat_patio_gets_no_polymeric_sand():
    flat = patio(plane={**AT_THE_WALL, "fall": "1 %"})
    assert advised([flat]).area("patio").joint.advised.option.name == "wet-laid compound"


def test_dig_and_order_decide_between_equals():
    a, b = (Verdict(Option(name, name, frozenset()), (), (), ()) for name in "ab")
    assert a.level == "for"
    assert judged("base", [a, b], {"a": 2, "b": 1}).advised is b
    assert judged("base", [a, b], {}).advised is a


def test_nothing_is_advised_where_all_is_ruled_out():
    one = advised().area("patio").edge
    only = [one.of("dense shoulder")]
    assert judged("edge", only, {}).advised is None


def test_a_condition_on_what_is_not_known_is_neither():
    condition = Condition("gate", "<", "machine-gate")
    assert condition.holds({"gate": Fact(None, "")}, Limits({})) is None
    assert condition.holds({"gate": Fact(0.9, "")}, Limits({})) is True
    assert condition.holds({"gate": Fact(0.9, "")}, Limits({"machine-gate": 0.8})) is False


@pytest.fixture(scope="module")
def every_fact():
    plan = planned()
    area = plan.areas[0]
    own = system_facts(plan, area, area.digs["panel"].system, None)
    more = dig_facts(area, "panel", ["panel"], "m")
    held = hold_facts(plan, area, None, (), (), unit_of(plan.crew))
    return {**area_facts(plan, area, [], None), **own, **more, **held}


@pytest.mark.parametrize("rule", suitability_rules(), ids=lambda rule: rule.name)
def test_every_rule_is_whole(rule, every_fact):
    tags = {"dense", "open", "panel", "overlay", "*"}
    names = tags if rule.about == "base" else {one.name for one in options(rule.about, "ft")}
    assert rule.option in {*names, "*"}
    assert rule.unless in {*names, ""}
    assert rule.standing in ("published", "common practice", "from memory")
    assert (rule.standing == "published") == ("no source" not in rule.source)
    assert rule.level == "for" or rule.change
    for text in (rule.text, rule.plain, rule.change, rule.nears):
        for word in re.findall(r"{(.*?)}", text):
            assert word in every_fact or word in RULES or nominal(word, "m") != word
    for condition in rule.when:
        fact = every_fact[condition.fact]
        assert condition.operator in "<>=!="
        if isinstance(fact.value, float):
            assert isinstance(condition.bound(fact.value, Limits({})), float)


TRADE = ("organics", "subgrade", "bedding", "graded", "underdrain", "in lifts", "in the bank")


@pytest.mark.parametrize("rule", suitability_rules(), ids=lambda rule: rule.name)
def test_every_rule_speaks_in_everyday_words_too_of_the_same_measures(rule):
    words = re.sub(r"{.*?}", "", rule.plain)
    if rule.about == "base":
        assert not [term for term in TRADE if term in words]
    assert rule.plain[0] == "{" or rule.plain[0].isupper()
    # Who pays is told a price, never by how much one cost is above another or by whose prices, and
    # of a fall no per cent.
    assert _measures(rule.plain) == _measures(rule.text) - {"more_cost", "weighed_by", "fall"}


def _measures(words):
    """What is measured in a sentence: a share is told as a part of the area in everyday words."""
    return {re.sub("_(about|over|share)$", " part", each) for each in re.findall(r"{(.*?)}", words)}


def test_a_name_that_holds_a_term_of_the_trade_is_told_letter_for_letter():
    """In plain words too: what would stand for a term never stands in a name."""
    name = "the subgrade of bedding, in lifts, along the contour"
    said = verdict(
        Option("panel", "Panel base", frozenset({"panel"})), "base",
        {**_facts_of_a_wall(name)}, Limits({}), "ft",
    )  # fmt: skip
    reasons = {reason.rule: reason for reason in said.reasons}
    assert f", {name} would need a wedge of" in reasons["panel-wall"].plain
    assert reasons["panel-heavy"].plain.startswith(f"Under {name} the panels are cut out")
    own = Option(name, name, frozenset())
    assert own.called == name
    assert Option("panel", "Panel base", frozenset()).called == "panel base"


def _facts_of_a_wall(name):
    plan = planned()
    area = plan.areas[0]
    facts = {
        **area_facts(plan, area, [], None),
        **system_facts(plan, area, area.digs["panel"].system, None),
        **dig_facts(area, "panel", ["panel"], "ft"),
    }
    return {
        **facts,
        "walls": Fact(True, name),
        "heavies": Fact(True, name),
        "heavy": Fact(True, name),
        "wall_wedge": Fact(0.2, "8 in"),
    }


def test_rules_have_names_of_their_own():
    names = [rule.name for rule in suitability_rules()]
    assert len(names) == len(set(names))


def test_a_base_systems_tags_are_its_layers():
    plan = planned(bases=[OVER_OPEN])
    tags = {name: set(tags_of(dig.system)) for name, dig in plan.areas[0].digs.items()}
    assert tags == {
        "dense": {"dense"}, "open": {"open"}, "panel": {"panel"}, "raised panel": {"panel", "open"},
    }  # fmt: skip


def test_the_record_is_plain_data_with_what_scripts_read():
    wall = {"kind": "seat wall", "at": [5, 2.5], "size": [4, 0.3], "height": 0.4}
    frost = {"index": 500, "mean": 8, "season": 100}
    advice = advised([patio(base="dense")], features=[wall], frost=frost)
    record = json.loads(json.dumps(advice_record(advice, "patio"), allow_nan=False))
    assert record["base"] == "panel"
    assert record["chosen"] == "dense"
    assert record["overruled"] is True
    for reason in record["reasons"]:
        assert set(reason) >= {"rule", "text", "standing", "source", "change"}
    assert {one["name"] for one in record["others"]} == {"open", "dense"}
    assert record["features"][0]["wedge"]["greatest"] == pytest.approx(0.08)
    assert len(record["frost"]) == 3
    assert {one["load"] for one in record["loads"]} >= {"car wheel"}


def test_sizes_in_sentences_are_told_in_the_unit_of_the_site():
    titles = {unit: {one.name: one.title for one in options("edge", unit)} for unit in ("ft", "m")}
    assert titles["ft"] == titles["m"]
    said = json.dumps(advice_record(advised([patio(base="open")]), "patio"))
    assert "joints 3 to 10 mm wide and at least 25 mm deep" in said
    assert "lapped 300 mm or 450 to 900 mm" in said
    assert "3.05 m (10 ft) from foundations" in said  # published in feet: both
    assert not re.search(r"[0-9] in\\b", said)
    house = {"walls": [[0, 0], [36, 0]], "inside": [16, -10]}
    said = json.dumps(advice_record(advised([feet()], house=house, unit="ft"), "patio"))
    assert "joints 1/8 to 3/8 in wide and at least 1 in deep" in said


def test_what_must_be_said_beside_an_advised_base_that_something_speaks_against():
    def one(name, *levels):
        reasons = tuple(Reason("", level, "", "", "", "", "") for level in levels)
        return Verdict(Option(name, f"{name.title()} base", frozenset()), reasons, (), ())

    a, b, c = one("a", "against"), one("b", "against", "against"), one("c", "rules out")
    free = one("d", "care")
    assert Choice("base", (a, b, c)).caveat == (
        "every base has something against it here, and the one advised the least: "
        "1 reason against a base, 2 reasons against b base, c base cannot be built"
    )
    assert ", and the one advised the least" not in Choice("base", (a, one("b", "against"))).caveat
    strong = Reason("", "for", "", "", "", "", "", strong=True)
    firm = Verdict(Option("e", "E base", frozenset()), (*a.reasons, strong), (), ())
    assert Choice("base", (firm, a)).caveat == (
        "every base has something against it here, and what speaks for the one advised decides: "
        "1 reason against e base, 1 reason against a base"
    )
    led = Choice("base", (a, b)).led_by("b", "it is one piece with the walk")
    assert led.advised is b
    assert led.caveat == (
        "every base has something against it here (it is one piece with the walk): "
        "2 reasons against b base, 1 reason against a base"
    )
    assert Choice("base", (free, a)).caveat == ""
    assert Choice("base", (free, a)).led_by("a", "it is one piece with the walk").caveat == (
        "all the same a base is advised: it is one piece with the walk"
    )
    assert Choice("base", (c,)).caveat == ""


def test_a_base_is_called_by_its_title_and_an_own_one_as_it_was_written():
    """A homeowner reads it: no name of ours that stands for a base."""
    plan = planned([patio(base="dense")])
    area = plan.areas[0]
    assert dig_facts(area, "dense", ["dense", "panel"], "ft")["least_dig"].text == "panel base"
    told = " ".join(
        reason.plain for one in plan.advice.area("patio").base.verdicts for reason in one.reasons
    )
    assert "more digging than panel base" in told
    assert not re.search(r"than (on )?(panel|dense|open)\b(?! base|-graded)", told)
    own = [{"name": "Gravel Mat", "layers": [{"name": "paver", "thickness": 0.05},
                                             {"name": "base", "thickness": 0.03}]}]  # fmt: skip
    area = planned([patio(base="dense")], bases=own).areas[0]
    found = dig_facts(area, "dense", ["dense", "Gravel Mat"], "ft")["least_dig"]
    assert found.text == "Gravel Mat"
