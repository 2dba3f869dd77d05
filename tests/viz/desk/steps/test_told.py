"""The middle steps of the job sheet: numbers of the record, sentences of the terminal, no money
where none is asked for, and something to say in every state that a yard can be in."""

from __future__ import annotations

import json
import math
import re
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from make.plans.looked_at import KEY_OF_A_FILE, SAMPLES, every_block, keys_shown, looked, priced
from msgspec.structs import replace

import grading
import sample_sites
from grading.answers.led import led
from grading.answers.mends import Mend
from grading.order.telling import telling_of
from grading.reading.site_edit import Edit
from grading.units import percent, size, volume
from viz.desk.blocks import Choice, Field, Fold, Items, Option, Own, Say, Table
from viz.desk.seen import Asked
from viz.desk.server.telling import offered
from viz.desk.server.telling import told as page_told
from viz.desk.sheet.offers import changes_of, offers
from viz.desk.sheet.rules import step_of
from viz.desk.steps import base, cost, finish, papers, water
from viz.desk.steps.listed import STEPS as LISTED
from viz.desk.written.document import way_of
from viz.tables import order as tables
from viz.terminal.report import parts_text

STEPS = {each.KEY: each for each in (finish, base, water, cost, papers)}


@cache
def seen(name, **asked):
    return looked(sample_sites.path(name), **asked)


@cache
def stuck(**asked):
    """A yard with a sill that no finish comes up to."""
    made = looked(sample_sites.path("back-patio"), Edit(("door", 0, "sill"), 99.0), **asked)
    assert made.conflict
    return made


def said(step):
    return [block.text for block in every_block(step.blocks) if isinstance(block, Say)]


def of_kind(step, kind):
    return [block for block in every_block(step.blocks) if isinstance(block, kind)]


@pytest.mark.parametrize("name", SAMPLES)
@pytest.mark.parametrize("key", STEPS)
def test_every_step_of_every_sample_says_itself_whole_and_so_far(name, key):
    for whole in (True, False):
        step = STEPS[key].step(seen(name, whole=whole))
        assert step.key == key
        assert step.answer
        assert step.blocks
        json.dumps([step.line(), step.opened()], allow_nan=False)
        assert (step.state == "working") <= (not whole)


@pytest.mark.parametrize("key", STEPS)
def test_every_step_says_something_of_a_conflict_and_of_an_empty_yard(key, tmp_path):
    patio = sample_sites.path("back-patio")
    assert STEPS[key].step(stuck(step=key)).blocks
    wrong = looked(patio, Edit(("door", 0, "sill"), "high"), step=key)
    assert wrong.problems
    assert STEPS[key].step(wrong).blocks
    (tmp_path / "site.toml").write_text('name = "a yard"\nunit = "m"\n', encoding="utf-8")
    step = STEPS[key].step(looked(tmp_path, step=key))
    assert step.blocks
    assert step.state == "to do"


@cache
def failing(**asked):
    """A yard whose given plane is too high at a door and whose other door is in no wall."""
    edits = (Edit(("area", 1, "plane", "z"), 10.3), Edit(("door", 1, "at"), [30, 30]))
    made = looked(sample_sites.path("garden-court"), *edits, **asked)
    assert not made.conflict
    return made


MADE = {"conflict": stuck, "fails": failing}


@pytest.mark.parametrize("name", [*SAMPLES, *MADE])
def test_no_key_of_a_file_is_shown_where_everything_is_a_field(name):
    made = MADE[name]() if name in MADE else seen(name)
    offers_made = [offered(made)] if name in MADE else []
    assert all(each["offers"] for each in offers_made)
    steps = [each.make(replace(made, asked=Asked(step=each.key))) for each in LISTED]
    told = [each.opened() | each.line() for each in steps]
    assert not keys_shown([*page_told(made), *offers_made, *told])


@pytest.mark.parametrize("name", ["booked-yard", "drained-patio"])
def test_nor_is_one_where_what_is_typed_into_a_field_is_refused(name):
    """But for the place of it, by which the file and the command know the same sentence."""
    made, folder = seen(name), sample_sites.path(name)
    steps = [each.make(replace(made, asked=Asked(step=each.key))) for each in LISTED]
    fields = [block for step in steps for block in every_block(step.blocks)
              if isinstance(block, Field)]  # fmt: skip
    kinds = {re.sub(r"/\d+", "", each.at): each.at for each in fields}
    edits = [Edit(way_of(at), "nothing of the kind") for at in kinds.values()]
    edits += [Edit(("frost", "code"), "42 in"), Edit(("house", "walls", 0), [1, 2])]
    refused = [problem for edit in edits for problem in looked(folder, edit, whole=False).problems]
    assert len(refused) > 20
    for problem in refused:
        place, found, rest = problem.page.partition(": found ")
        assert found
        assert str(problem).startswith(place + found)
        # A name of the site may be what was meant.
        assert not KEY_OF_A_FILE.search(rest.partition("Did you mean")[0]), problem.page


@pytest.mark.parametrize("name", SAMPLES)
def test_a_homeowner_sees_no_money(name):
    currency = seen(name).plan.crew.currency
    hidden = replace(seen(name), asked=Asked(prices=False, step="base"))
    for each in STEPS.values():
        told = json.dumps(each.step(hidden).opened()) + json.dumps(each.step(hidden).line())
        assert currency not in told, each.KEY


@pytest.mark.parametrize("name", SAMPLES)
def test_nothing_that_fails_or_is_to_be_looked_at_is_left_out(name):
    """Every thing that the first screen counts is told in a step, or in that of the survey."""
    told = [text for each in STEPS.values() for text in said(each.step(seen(name)))]
    lead = led(seen(name).plan)
    marked = [text for text in told if text.startswith(("Fails", "Look"))]
    own = [each for each in (*lead.fails, *lead.looks) if step_of(each.rule) != "ground"]
    assert len(marked) == len(own)
    for words in lead.plan.warnings:
        assert any(words[1:] in text for text in told)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_finish_tells_the_falls_and_steps_of_the_record(name):
    made = seen(name)
    record = grading.record(made.plan)
    step = finish.step(made)
    text = "\n".join(said(step))
    report = parts_text(made.plan, ("finish",))
    for area in record["areas"]:
        if len(area["finish"]["planes"]) == 1:
            assert percent(area["finish"]["fall"]) in text
    heads = [block.text for block in every_block(step.blocks) if hasattr(block, "text")]
    for area in made.plan.areas:
        for each in finish.door_steps(area):
            assert each.words(lambda metres: size(metres, made.plan.site.unit)) in "\n".join(heads)
    for line in report.splitlines():
        if line.strip().startswith("held by"):
            assert line.strip()[1:] in text


def test_the_arrows_beside_a_step_move_the_paving_as_they_say():
    for name, moves in (("drained-patio", (0.0127, -0.0127)), ("back-patio", (None, None))):
        field = next(each for each in of_kind(finish.step(seen(name)), Field)
                     if each.at == "door/0/step")  # fmt: skip
        before = finish.door_steps(seen(name).plan.areas[0])[0].step
        for to, by in zip((field.nudge.down, field.nudge.up), moves, strict=True):
            made = looked(sample_sites.path(name), Edit(("door", 0, "step"), to))
            if by is None:
                # Siding and lawn hold it where it is: what cannot be had is told, and what ends it.
                assert made.conflict
                assert made.relaxations
                continue
            after = finish.door_steps(made.plan.areas[0])[0].step
            assert (after - before) * np.sign(by) > abs(by) - 1e-3


@pytest.mark.parametrize("name", ["back-patio", "garden-court", "front-walk"])
def test_every_way_that_water_may_be_made_to_run_is_one_that_the_file_takes(name):
    made = seen(name)
    for choice in of_kind(finish.step(made), Choice):
        for option in choice.options:
            edits = _edits(choice, option)
            if choice.at.endswith(("toward", "shape", "grade", "objective")):
                other = looked(sample_sites.path(name), *edits, whole=False)
                words = "\n".join(map(str, other.problems))
                assert not other.problems or "elevation" in words, (choice.at, option.to, words)


def _edits(choice, option: Option):
    if option.changes is None:
        way = tuple(int(part) if part.isdigit() else part for part in choice.at.split("/"))
        return [] if option.to is None else [Edit(way, option.to)]
    return [
        Edit(tuple(int(part) if part.isdigit() else part for part in each.at.split("/")), each.to)
        for each in option.changes
        if each.to is not None
    ]


@pytest.mark.parametrize("name", SAMPLES)
def test_the_bases_have_the_digs_of_the_record_and_the_reason_of_the_report(name):
    made = seen(name)
    record, step = grading.record(made.plan), base.step(made)
    choices = {each.at: each for each in of_kind(step, Choice)}
    text = "\n".join(said(step))
    for number, area in enumerate(record["areas"]):
        options = {each.to: each for each in choices[f"area/{number}/base"].options}
        for name_of, told in area["bases"].items():
            assert options[name_of].note.startswith(volume(told["cut"], made.plan.site.unit))
    for one in led(made.plan).answer.areas:
        assert one.why[1:] in text


@pytest.mark.parametrize("name", ["back-patio", "raised-patio", "garden-court"])
def test_a_base_that_is_chosen_is_the_one_that_is_planned(name):
    choice = next(each for each in of_kind(base.step(seen(name)), Choice) if "base" in each.at)
    for option in choice.options[1:2]:
        other = looked(sample_sites.path(name), *_edits(choice, option))
        if other.plan is not None and not other.conflict and not other.problems:
            assert other.plan.areas[0].chosen == option.to


def test_the_ways_to_hold_a_raised_edge_stand_side_by_side_where_the_step_is_open():
    folder = sample_sites.path("raised-patio")
    step = base.step(looked(folder, step="base"))
    made = seen("raised-patio").plan
    ways = made.hold_ways
    table = next(each for each in of_kind(step, Table) if each.columns[0] == "way")
    assert {row[0].rstrip(" *") for row in table.rows} == {
        way.kind for way in ways if not way.refused
    }
    choice = next(each for each in of_kind(step, Choice) if each.at.startswith("hold"))
    for kind in ("grass slope", "lower finish"):
        option = next(each for each in choice.options if each.to == kind)
        again = looked(folder, *(Edit(way_of(each.at), each.to) for each in option.changes))
        assert not again.problems
        assert again.site.holds_of(made.areas[0].name)[0].kind == kind
        if kind == "grass slope":
            assert any(way.kind == kind and way.planned for way in again.plan.hold_ways)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_water_ends_where_the_report_says_with_the_shares_of_the_record(name):
    made = seen(name)
    step, record = water.step(made), grading.record(made.plan)
    report = " ".join(parts_text(made.plan, ("water",)).split())
    sentences = [text for text in said(step) if text.startswith("Rain on")]
    assert len(sentences) == len(record["areas"])
    for text in sentences:
        assert text[1:].rstrip(".") in report
    text = "\n".join(said(step))
    for spot in made.plan.water.low_spots:
        if spot.on_paving > 0:
            assert f"{size(spot.depth, made.plan.site.unit)} deep" in text
    lists = {each.at: each for each in of_kind(step, Items)}
    assert len(lists["outfall"].items) == len(made.plan.site.outfalls)
    # No list stands there with nothing in it.
    spouts = lists["downspout"].items if "downspout" in lists else None
    assert (None if spouts is None else len(spouts)) == (len(made.plan.site.downspouts) or None)


@pytest.mark.parametrize(
    ("name", "given"), [*((name, False) for name in SAMPLES), ("back-patio", True)]
)
def test_the_order_is_that_of_the_tables(name, given, tmp_path):
    made = looked(priced(name, tmp_path)) if given else seen(name)
    step, plan = cost.step(made), made.plan
    telling = telling_of(plan.order)
    wanted = tables.supplies_table(plan.order.total, plan.site.unit, telling)
    shown = next(each for each in of_kind(step, Table) if each.columns[0] == "item")
    assert [row[0] for row in shown.rows] == [str(row[0]) for row in wanted.rows]
    assert str(len(wanted.rows)) in step.answer
    if not given:
        assert not any(title.startswith(("cost", "price")) for title in shown.columns)
        return
    price = next(k for k, title in enumerate(wanted.headers) if title.startswith("cost"))
    money = next(k for k, title in enumerate(shown.columns) if title.startswith("cost"))
    for row, own in zip(shown.rows, wanted.rows, strict=True):
        assert float(row[money].replace(",", "")) == pytest.approx(own[price], abs=0.005)


def test_a_price_is_told_with_its_sums_where_the_crew_makes_one():
    made = seen("flush-walk")
    step = cost.step(made)
    record = grading.record(made.plan)
    assert f"${record['price']['total']:,.0f} in all" in step.answer
    table = next(each for each in of_kind(step, Table) if each.columns == ("for", "", "price"))
    lines = [int(row[2].replace("$", "").replace(",", "")) for row in table.rows if row[2]]
    assert sum(lines[:-1]) == lines[-1] == record["price"]["total"]


def test_an_offer_that_takes_a_table_away_or_adds_one_is_a_change_of_its_list():
    mend = Mend("it", "it", (Edit(("door", 1)), Edit(("step", 0), {"down": ["a", "b"]}),
                             Edit(("limits", "fall-away"), "1.5 %")))  # fmt: skip
    told = [each.record() for each in changes_of(mend, {"door": [{}, {}]})]
    assert told == [
        {"do": "remove", "at": "door/1", "to": None},
        {"do": "add", "at": "step", "to": {"down": ["a", "b"]}},
        {"do": "set", "at": "limits/fall-away", "to": "1.5 %"},
    ]


def test_what_is_told_shortly_and_in_full_is_one_figure_and_is_not_said_twice():
    blocks = finish.step(seen("raised-patio")).blocks
    folds = {block.text: fold.blocks for block, fold in pairwise(blocks)
             if isinstance(block, Say) and isinstance(fold, Fold)}  # fmt: skip
    (shoulder,) = [text for text in folds if "stands up to" in text]
    told = re.search(r"up to ([\d /]+ in)", shoulder)[1]
    assert any(told in block.text for block in folds[shoulder]), shoulder
    for text, full in folds.items():
        again = [each.text.lower() for each in full if isinstance(each, Say)]
        assert text.partition(": ")[2].lower() not in again


def test_what_fails_is_offered_a_mend_in_its_step():
    made = failing()
    step = finish.step(made)
    assert step.state == "fails"
    (place,) = [each for each in of_kind(step, Own) if each.module == "offered"]
    assert [each for each in offers(made) if each.about == place.data["about"]]
    # Until each is tried it is said that they come; where none is found, that none does.
    assert next(iter(page_told(replace(made, whole=False))))["offers"] is None
    assert place.data["working"] != place.data["none"]


def test_the_fall_is_turned_by_hand_from_where_it_runs_and_on_while_it_conflicts():
    """Five degrees either way; common practice, no source."""
    folder = sample_sites.path("back-patio")
    seen = looked(folder, whole=False)
    (area,) = seen.plan.areas
    east, north = area.finish.plane.downhill
    now = math.degrees(math.atan2(east, north)) % 360

    def turned(seen):
        found = [
            block for block in every_block(finish.step(seen).blocks)
            if getattr(block, "label", "") == "Turned by hand"
        ]  # fmt: skip
        (field,) = found
        assert field.at == "area/0/toward"
        return field.nudge

    assert turned(seen).down == pytest.approx(now + 5, abs=0.06)
    assert turned(seen).up == pytest.approx(now - 5, abs=0.06)
    stuck = looked(folder, Edit(("area", 0, "toward"), now + 40), whole=False)
    assert stuck.conflict
    assert turned(stuck).down == pytest.approx((now + 45) % 360, abs=0.06)
