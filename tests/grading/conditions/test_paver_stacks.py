"""Panels may be walked on while pavers are laid, a screeded bed may not: where these stand."""

import numpy as np
import pytest
import shapely
from make.plans.advised import AT_THE_WALL, advised, patio, planned, rules
from make.plans.jobs import crew, level_yard
from msgspec.structs import replace

from grading.conditions.paver_stacks import paver_stacks
from grading.order.model import order_of
from grading.records.advice import advice_record
from grading.units import HOUR
from viz.words.advice import area_lines

HYBRID = {
    "name": "hybrid",
    "layers": [
        {"name": "paver", "thickness": 0.06},
        {"name": "bedding sand", "thickness": 0.02},
        {"name": "panel", "thickness": 0.02},
        {"name": "open-graded base", "thickness": 0.15},
    ],
}


def reason(advice, base="panel"):
    found = advice.area("patio").base.of(base).reasons
    return next((one for one in found if one.rule == "panel-walked-on"), None)


def test_panels_may_be_walked_on_and_that_is_a_reason_for_them():
    """Common practice, no source."""
    advice = advised([patio(base=None)])
    said = reason(advice)
    assert said.level == "for"
    assert said.text.startswith("panels may be walked on while pavers are laid")
    assert "a screeded bed may not" in said.text
    assert "screeded" not in said.plain
    assert not any("panel-walked-on" in rules(advice, base) for base in ("dense", "open"))


def test_the_hours_that_it_saves_are_told_and_in_the_order():
    """By the rates, worked out here: 280 ft2 at a mean of 52 and of 62 ft2 in an hour."""
    plan = level_yard((20, 14), base="panel")
    text = reason(plan.advice).text
    jobs = order_of(plan, plan.crew).areas[0].bases
    mean = {}
    for base, low, likely, high in (("dense", 30, 52, 75), ("panel", 36, 62, 85)):
        # A rate's three times have the mean of a beta spread: (low + 4 likely + high) / 6.
        mean[base] = 280 * (1 / low + 4 / likely + 1 / high) / 6
        laid = next(task for task in jobs[base].tasks if task.rate.startswith("lay-pavers"))
        assert laid.mean / HOUR == pytest.approx(mean[base], rel=1e-6)
    assert (
        f": {mean['panel']:.1f} hours of one person to lay them, {mean['dense']:.1f} from" in text
    )


def test_what_is_dearer_all_the_same_has_lost_what_it_saves():
    """Its hours are in the cost already: they are not weighed twice."""
    plan = level_yard(base="panel")
    advice = replace(plan, crew=crew(prices={"panels": 65.0})).advice
    assert reason(advice) is None
    assert "more-cost" in rules(advice, "panel")


def test_a_bed_on_panels_is_no_more_to_be_walked_on_than_one_on_stone():
    advice = advised([patio(base="hybrid")], bases=[HYBRID])
    assert reason(advice, "hybrid") is None
    plan = planned([patio(base="hybrid")], bases=[HYBRID])
    assert not paver_stacks(plan, plan.areas[0], "hybrid").walked_on
    (task,) = [
        each.rate
        for each in order_of(plan, crew()).areas[0].chosen.tasks
        if each.rate.startswith("lay-pavers")
    ]
    assert task == "lay-pavers"


def test_pavers_stand_on_panels_or_beside_the_bed_along_an_open_edge():
    plan = planned()
    area = plan.areas[0]
    on_panels, beside = (paver_stacks(plan, area, base) for base in ("panel", "dense"))
    assert on_panels.walked_on
    assert on_panels.at is None
    assert "stacked on the panels" in on_panels.words
    assert not beside.walked_on
    # Three sides of the patio of 8 m by 5 m are open: 5 + 8 + 5.
    assert beside.edge.length == pytest.approx(18, abs=0.06)
    assert beside.at == pytest.approx([5, 5], abs=0.06)
    assert "along 18.00 m of open edge, its middle 6 m from the left end of wall 1, 5 m out" in (
        beside.words.replace("18 m", "18.00 m")
    )
    assert "not to be walked on" in beside.words
    assert "begin there" in beside.words


def test_nobody_stacks_pavers_below_a_raised_edge():
    """The outer half of it stands more than a course above the ground: they come in by the wall."""
    plan = planned([patio(base="open", plane={**AT_THE_WALL, "z": 30.05})],
                   height=lambda x, y: 30 - 0.12 * y + 0 * x)  # fmt: skip
    stacks = paver_stacks(plan, plan.areas[0], "open")
    # The finish falls 2 % and the ground 12 %: 0.05 + 0.1 y above it, 6 in from y = 1.02 m out.
    assert stacks.edge.length == pytest.approx((0.1524 - 0.05) / 0.1, abs=0.05)
    assert stacks.at[1] < 0.6


def test_where_no_edge_is_near_the_ground_that_is_said():
    plan = planned([patio(base="open", plane={**AT_THE_WALL, "z": 30.4})])
    stacks = paver_stacks(plan, plan.areas[0], "open")
    assert stacks.edge is None
    assert "no open edge near the ground" in stacks.words


def test_nobody_stacks_pavers_in_a_planting_pocket():
    ring = [[2, 0.4], [8.4, 0.4], [8.4, 4.4], [2, 4.4]]  # longer round than the open edge is
    plan = planned([patio(base="dense", holes=[ring])])
    edge = paver_stacks(plan, plan.areas[0], "dense").edge
    assert edge.distance(shapely.Polygon(ring)) > 0.3


def test_it_is_in_the_report_and_the_record():
    plan = planned([patio(base="dense")])
    one = plan.advice.area("patio")
    (line,) = [each for each in area_lines(plan.advice, "patio", "m") if each.startswith("Laying")]
    assert line == f"Laying: {one.stacks.words}"
    record = advice_record(plan.advice, "patio")
    assert record["paver_stacks"]["walked_on"] is False
    assert record["paver_stacks"]["at"] == pytest.approx([5, 5], abs=0.06)
    assert record["paver_stacks"]["text"] == one.stacks.words
    laying = {each["base"]: each["laying"] for each in record["weighed"]}
    assert laying["panel"] < laying["dense"] == laying["open"]


def test_the_crew_is_told():
    from viz.paper.page import page_for
    from viz.sheets.crew.work import places
    from viz.sheets.head import Job

    plan = planned([patio(base="dense")])
    job = Job(plan, order_of(plan, plan.crew), page_for("m"))
    assert plan.advice.area("patio").stacks.words.lower() in " ".join(places(job)).lower()


# ---------------------------------------------------------------- the film


def built_on(**kwargs):
    from grading.order.sequence import PAVER_STEPS, build_ups
    from viz.scene.backdrop import backdrop_of

    plan = planned([patio(base="panel", **kwargs)])
    area = plan.areas[0]
    back = backdrop_of(plan, area)
    bands = back.cutaway.bands(area.outline, PAVER_STEPS)
    built = build_ups(order_of(plan, plan.crew), area, bands, "m")
    return plan, back, {each.base: each for each in built}


def test_the_film_shows_where_pavers_stand_while_they_are_laid():
    from viz.building.stacked import CLEAR, stacks_of
    from viz.building.stages import staged, view

    _, back, built = built_on()
    for base, each in built.items():
        laying = [k for k, step in enumerate(each.steps) if step.phase == "pavers"]
        boxes = {k: stacks_of(each, back, k) for k in range(len(each.steps))}
        # Some stand there while some are left to lay, and none before or after.
        assert all(bool(found) == (k in laying[:-1]) for k, found in boxes.items())
        told = "stacked on the panels" if base == "panel" else "bed not walked on"
        assert all(told in each.steps[k].title for k in laying)
        for k in laying[:-1]:
            laid = shapely.union_all(
                [piece.footprint for step in each.steps[laying[0] : k + 1] for piece in step.pieces]
            )
            for box in boxes[k]:
                if base == "panel":
                    assert each.dig.outline.contains(box)
                    assert box.intersection(laid).area < 1e-9
                else:
                    assert box.distance(each.dig.polygon) >= CLEAR - 1e-9
                    assert box.distance(each.stacks.edge) < 2
        scene = staged(each, back)
        shown = {
            name for body in scene.bodies if body.name == "stacked pavers" for name in body.shown
        }
        assert shown == {view(k) for k in laying[:-1]}


def test_laying_begins_where_the_pavers_stand():
    """On a bed from the open edge, so that one stands on what is laid; on panels from the wall."""
    _, _, built = built_on()
    for base, each in built.items():
        first, *_, last = [step for step in each.steps if step.phase == "pavers"]
        (begins,), (ends,) = (
            [np.array(piece.footprint.centroid.coords[0]) for piece in step.pieces]
            for step in (first, last)
        )
        assert bool(begins[1] < ends[1]) is (base == "panel")
        # All of the pavers all the same.
        area = sum(piece.footprint.area for step in each.steps if step.phase == "pavers"
                   for piece in step.pieces)  # fmt: skip
        assert area == pytest.approx(40, rel=1e-6)
