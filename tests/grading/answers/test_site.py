"""A mixed site is one answer: what stands on what and why, where bases meet, what it all takes."""

import pytest
from make.plans.advised import AT_THE_WALL, patio, planned
from make.plans.mixed_yard import DRIVE, PATIO, SIDE_WALK, mixed

from grading.answers.site import TOTAL, join_words, joins_words, site_answer
from grading.order.model import order_of
from grading.records.plan import record
from grading.units import HOUR, INCH
from viz.tables.answer import answer_tables
from viz.terminal.report import parts_text, text


@pytest.fixture(scope="module")
def yard():
    return mixed()


def test_each_area_stands_on_its_base_with_the_reason_that_leads(yard):
    answer = site_answer(yard)
    assert [(one.area, one.base) for one in answer.areas] == [
        ("patio", "panel"),
        ("side walk", "panel"),
        ("drive", "dense"),
    ]
    rules = [one.leading.reason.rule for one in answer.areas]
    assert rules == ["panel-tight-access", "panel-beside-house", "dense-driveway"]
    for one in answer.areas:
        leading = yard.advice.area(one.area).base.leading
        assert (one.why, one.why_plain) == (leading.text, leading.plain)
    (wall, fire), *others = (one.standing for one in answer.areas)
    assert (wall.stands, fire.stands) == ("own base", "bedding")
    assert others == [(), ()]


def test_what_it_takes_is_what_the_order_counts(yard):
    answer, order = site_answer(yard), order_of(yard, yard.crew)
    for one, each in zip(answer.areas, order.areas, strict=True):
        job = each.bases[one.base]
        assert (one.takes.cut, one.takes.trips) == (job.cut, job.haul.trips)
        assert (one.takes.time, one.takes.cost) == (job.time.mean, job.cost.total)
    assert answer.takes.cut == pytest.approx(sum(one.takes.cut for one in answer.areas))
    assert answer.takes.cost == order.total.cost.total
    # Loads are rounded up once for all; setting out and cleaning up is in the whole alone.
    assert answer.takes.trips <= sum(one.takes.trips for one in answer.areas)
    assert answer.takes.time > sum(one.takes.time for one in answer.areas)


def test_every_edge_where_bases_differ_is_a_join_and_no_other(yard):
    (join,) = site_answer(yard).joins
    assert (join.areas, join.bases) == (("patio", "drive"), ("panel", "dense"))
    assert join.length == pytest.approx(16 * 12 * INCH, abs=0.01)
    words = join_words(1, join, "ft")
    assert words.startswith("Join 1: patio (panel) meets drive (dense) over 16' 0\", from 60' 0\"")
    assert "16' 0\" out" in words
    assert "taper the 5 1/4 in" in words


def test_the_part_of_the_bases_begins_with_it(yard):
    printed = text(yard)
    head = parts_text(yard, ["base"]).partition("Advised: ")[0]
    answer = site_answer(yard)
    lines = " ".join(head.split())
    for one in answer.areas:
        row = next(line for line in head.splitlines() if line.startswith(one.area))
        assert one.title in row
        assert f"{one.takes.trips} " in row
        assert f"{one.takes.time / HOUR:.0f} " in row
    standing = "seat wall on a base of its own; fire table on bedding"
    for words in (standing, *joins_words(answer, "ft")):
        assert words in lines
    assert TOTAL in head
    # Told once: an area refers to the join by its number.
    assert printed.count("taper the 5 1/4 in between the two subgrades") == 2  # and in the checks
    assert "Join 1: panel meets dense beside drive" in printed
    assert "Join 1: panel meets dense beside patio" in printed


def test_the_record_holds_it_in_si(yard):
    found = record(yard)["answer"]
    answer = site_answer(yard)
    assert [one["base"] for one in found["areas"]] == ["panel", "panel", "dense"]
    assert found["areas"][0]["cut"] == answer.areas[0].takes.cut
    assert found["areas"][0]["leading"]["rule"] == "panel-tight-access"
    assert found["areas"][0]["standing"][0] == {
        "name": "seat wall",
        "kind": "seat wall",
        "stands": "own base",
    }
    assert found["joins"][0]["number"] == 1
    assert found["joins"][0]["length"] == answer.joins[0].length
    assert found["whole_job"]["time"] == answer.takes.time
    tables = answer_tables(yard)
    assert [row[0] for row in tables["what-stands-on-what"].rows] == [
        "patio",
        "side walk",
        "drive",
        TOTAL,
    ]
    assert len(tables["joins"].rows) == 1


def test_a_base_that_the_site_chose_is_said_to_be_that():
    areas = {**PATIO, "base": "dense", "reason": "the neighbour's is on stone"}, SIDE_WALK
    one = site_answer(mixed(*areas)).areas[0]
    assert one.leading is None
    assert one.why == "chosen where panel base would be advised: the neighbour's is on stone"
    plain = site_answer(mixed({**PATIO, "base": "dense"})).areas[0]
    assert plain.why == "chosen where panel base would be advised, and no reason is given"


def test_one_area_alone_is_told_the_same_way():
    plan = mixed(PATIO, features=())
    answer = site_answer(plan)
    assert not answer.mixed
    assert answer.joins == ()
    assert "patio" in text(plan).split("Ground: ")[0]
    assert site_answer(mixed(PATIO)).mixed


EDGE = {"at": [[9, 0], [9, 5]], "z": [30.1, 30.0]}


@pytest.mark.parametrize(
    ("base", "kind", "joins"),
    [("panel", "slab", 0), ("dense", "slab", 1), ("dense", "walk", 1), (None, "slab", 0)],
)
def test_paving_that_is_there_on_another_base_is_a_join(base, kind, joins):
    """Common practice, no source: what is there moves as its own base does."""
    meet = {"name": "old terrace", "kind": kind, **EDGE, **({"base": base} if base else {})}
    advice = planned([patio(plane=AT_THE_WALL)], meets=[meet]).advice
    assert len(advice.joins) == joins
    for join in advice.joins:
        assert join.there
        assert join.areas == ("patio", "old terrace")
        assert join.bases == ("panel", base)
        assert join.length == pytest.approx(5)
        assert "which is there already," in join_words(1, join, "m")


def test_joins_are_numbered_as_the_plan_is_read():
    plan = mixed({**PATIO, "base": "panel"}, DRIVE, {**SIDE_WALK, "base": "dense"})
    assert [line.split(":")[0] for line in joins_words(site_answer(plan), "ft")] == [
        "Join 1",
        "Join 2",
    ]
