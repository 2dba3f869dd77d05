"""The crew's last pages: stop rules, layers in lifts, steps in order, where things stand."""

from types import SimpleNamespace

import pytest
from make.plans.advised import planned
from make.plans.raised_yard import yard
from make.plans.sampled import sampled
from make.sites.handmade import PATIO
from measure.blocked import kinds
from msgspec.structs import replace

import grading
from grading.answers.led import led
from grading.checks.maker import Check
from grading.order.quantities import lift_count
from grading.setout.stated import by_rod
from grading.units import size, volume
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.crew.build import build_page
from viz.sheets.crew.work import places, work_page
from viz.sheets.head import Job
from viz.words.lookouts import forbidden, lookouts, stops
from viz.words.screen.told import said_of

NAMES = ("raised-patio", "side-walkway", "front-walk", "flush-walk", "garden-court")


def built(plan):
    job = Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))
    with Compiled("crew") as sheet:
        return job, build_page(job, by_rod(plan), sheet).blocks


def part_of(plan, blocks, area):
    """Return what is told of how an area is laid: areas that are laid alike share a part."""
    (part,) = [
        each["blocks"] for each in kinds(blocks, "together")
        if "ayers on" in each["blocks"][0].get("text", "")
        and (len(plan.areas) == 1 or area.name in each["blocks"][0]["text"])
    ]  # fmt: skip
    return part


@pytest.fixture(scope="module", params=NAMES)
def made(request):
    plan = sampled(request.param)
    return plan, *built(plan)


def test_every_layer_is_told_from_the_bottom_up_with_its_lifts(made):
    plan, _, blocks = made
    for area in plan.areas:
        (table,) = kinds(part_of(plan, blocks, area), "table")
        dig, unit = area.chosen_dig, plan.site.unit
        rows = table["rows"]
        if dig.fill > 5e-3:
            assert rows[0][0] == "stone fill"
            assert volume(dig.fill, unit) in rows[0][3:-2]
            rows = rows[1:]
        assert [row[0].lower() for row in rows] == [
            part.layer.name.lower() for part in reversed(dig.layers)
        ]
        for row, part in zip(rows, reversed(dig.layers), strict=True):
            assert row[1] == size(part.layer.thickness, unit)
            if part.layer.role == "base":
                count = lift_count(part.layer.thickness, part.layer.material, plan.crew)
                assert row[2] == f"{count} of {size(part.layer.thickness / count, unit)}"


def test_the_steps_of_an_area_come_in_the_order_in_which_they_are_taken(made):
    plan, _, blocks = made
    for area in plan.areas:
        (items,) = [each["items"] for each in kinds(part_of(plan, blocks, area), "list")]
        dig, unit = area.chosen_dig, plan.site.unit
        assert items[0].startswith("Dig")
        assert volume(dig.cut, unit) in items[0]
        assert items[-2].startswith("Lay pavers")
        assert items[-1].startswith("Joints filled")
        # From the bottom up: each layer under the pavers is named once, none twice.
        names = [part.layer.name for part in reversed(dig.layers)
                 if part.layer.role not in ("paver", "geotextile")]  # fmt: skip
        told = [next(k for k, item in enumerate(items) if name.lower() in item.lower())
                for name in names]  # fmt: skip
        assert told == sorted(told)
        assert len(set(told)) == len(names)


def test_the_stop_rules_stand_first_and_name_the_step_at_every_door(made):
    plan, _, blocks = made
    first = kinds(blocks, "list")[0]
    assert blocks[0]["kind"] == "boxed"
    assert first["items"] == list(stops(plan))
    for door in plan.site.doors:
        if any(door.name in step for step in first["items"]):
            break
    else:
        assert not plan.site.doors


def test_the_last_page_says_where_bin_stone_and_pavers_stand(made):
    plan, job, _ = made
    told = " ".join(places(job))
    haul = job.order.total.haul
    assert haul.way.words in told
    assert str(haul.bins.count) in told or not haul.bins.count
    for area in plan.areas:
        assert plan.advice.area(area.area.name).stacks.words in told
    blocks = work_page(job).blocks
    orders, hours, trips = kinds(blocks, "table")
    assert [row[0] for row in orders["rows"]] == [each.title for each in job.order.total.supplies]
    assert [row[0] for row in hours["rows"][:-1]] == [each.title for each in job.order.total.tasks]
    assert [row[-1] for row in trips["rows"]][:3] == [
        str(each.count) for each in (haul.out, haul.stone, haul.pavers)
    ]
    assert kinds(blocks, "sketch")


def test_the_lifts_of_a_site_in_metres_are_told_in_millimetres_with_their_source():
    site = planned([{**PATIO, "base": "dense"}]).site
    _, blocks = built(grading.plan(replace(site, nominal="m")))
    said = " ".join(block["text"] for block in kinds(blocks, "words"))
    assert "thickest lift: 100 mm" in said
    assert "75 to 100 mm under an ordinary plate, 150 mm under a reversible one" in said
    assert "{" not in said


def check(status, text, rule="", area="patio", **found):
    told = {"value": None, "limit": None, "unit": "m", "where": ""} | found
    source = "common practice"
    return Check(rule=rule or text, area=area, status=status, text="", yard=text, source=source,
                 **told)  # fmt: skip


def plan_of(checks, warnings=()):
    shots = SimpleNamespace(suspects=())
    return SimpleNamespace(
        checks=checks, warnings=warnings, areas=[], ground=SimpleNamespace(shots=shots),
        site=SimpleNamespace(
            unit="ft", areas=(), doors=(), features=(), outfalls=(), downspouts=()
        ),
        order=SimpleNamespace(areas=[]),
    )  # fmt: skip


def test_what_fails_forbids_and_what_is_to_be_looked_at_comes_the_worst_first():
    made = plan_of(
        [check("unknown", "c"), check("warn", "b"), check("pass", "d"), check("fail", "a")],
        ["spot 3 is odd."],
    )
    assert list(forbidden(made)) == ["a."]
    assert list(lookouts(made)) == ["b.", "c.", "Look again: spot 3 is odd."]


def test_where_it_is_told_on_the_ground_the_crew_has_it_as_who_stands_there_is_told():
    made = plan_of([
        check("unknown", "the ground falls away; shoot (1) here; (2) there", "ground-fall-away"),
        check("warn", "water runs onto it: cut a swale", "run-on"),
    ])  # fmt: skip
    assert list(lookouts(made)) == [
        "water runs onto it: cut a swale.",
        "the ground falls away; shoot (1) here; (2) there.",
    ]


def test_why_an_edge_lies_off_the_lawn_is_for_who_plans_it():
    plan = sampled("side-walkway")
    (sunk,) = [check for check in plan.checks if check.rule == "lawn-sunk"]
    assert "held there by" in sunk.text
    assert sunk.text.startswith(f"{sunk.yard}; ")


def test_what_holds_for_several_areas_alike_is_said_once():
    made = plan_of([
        check("warn", f"the joints of {area} need a dry day", "joint-sand", area)
        for area in ("patio", "walk", "drive")
    ])  # fmt: skip
    assert list(lookouts(made)) == ["the joints of patio, walk and drive need a dry day."]


def test_what_leads_the_plan_is_said_to_the_crew_in_the_same_words():
    """The wall that is built is named, and no sentence sends to a report that is not on paper."""
    made = yard(12)
    looked = list(lookouts(made))
    (edge,) = [told for told in led(made).looks if told.rule == "raised-edge"]
    assert said_of(edge, made) == "stands up to 12 in over the ground: wall of patio holds it"
    assert f"patio: {said_of(edge, made)}." in looked
    assert not any("which a wall or a slope has to hold" in words for words in looked)
    assert not any("--full" in words for words in [*looked, *lookouts(yard(80))])
