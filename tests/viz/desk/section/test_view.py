"""The section of the page: what the drawings cut, where it lies and in the same words."""

from __future__ import annotations

import json
from functools import cache

import numpy as np
import pytest
import shapely
from make.plans import jobs
from make.plans.looked_at import SAMPLES, looked

import sample_sites
from grading.section.line import down_and_across
from grading.units import METRES, length, size, volume
from viz.desk.section.bases import area_at, bases_record, usual_place
from viz.desk.section.cuts import cut_record, line_through, ways_of
from viz.desk.section.view import MISSED, NONE_YET, section
from viz.drawings.section.built import built_of
from viz.paper.hatch import OTHER, TONES
from viz.words.paving.edging import restraint_words

EDGES = ("edge restraint", "edge of concrete", "border unit")
"""What the layers of a drawing are called that the edge is drawn on."""


@cache
def seen(name):
    return looked(sample_sites.path(name), view="section")


def of(name):
    plan = seen(name).plan
    return plan, plan.areas[0]


@pytest.mark.parametrize("name", SAMPLES)
def test_every_way_that_is_offered_is_cut(name):
    plan, _ = of(name)
    for area in plan.areas:
        ways = list(ways_of(plan, area))
        assert ways
        assert len({way.words for way in ways}) == len(ways)
        for way in ways:
            found, line = line_through(plan, way.line, area)
            assert found is area
            record = cut_record(plan, area, line)
            low, floor, high, roof = record["window"]
            for part in record["parts"]:
                rings = part.get("rings", [part.get("points", [])])
                points = np.array([point for ring in rings for point in ring])
                assert (points >= np.array([low, floor]) - 1e-3).all()
                assert (points <= np.array([high, roof]) + 1e-3).all()
            json.dumps(record, allow_nan=False)


@pytest.mark.parametrize("name", SAMPLES)
def test_layers_lie_where_the_plan_has_them(name):
    """The area of every layer of the picture is that of its solid, by the shoelace of its rings."""
    plan, area = of(name)
    line = down_and_across(plan, area)[0]
    cut = plan.sections.along(area, line)
    record = cut_record(plan, area, line)
    one = METRES[plan.site.unit]
    # Where a wall or the concrete of a drain stands beside the paving nothing of them is laid.
    stands = shapely.union_all([
        shapely.box(*each.shape.bounds[:3], 1e4) for each in built_of(plan.order, cut)
        if each.material in ("block", "cap", "concrete")
    ])  # fmt: skip
    stands -= shapely.union_all([shapely.box(a, -1e4, b, 1e4) for a, b in cut.paved])
    laid = {solid.name: solid.shape.difference(stands) for solid in cut.solids}
    assert {name for name, shape in laid.items() if not shape.is_empty} <= {
        part["name"] for part in record["parts"] if part["is"] == "area"
    }
    for solid in cut.solids:
        drawn = [part["rings"] for part in record["parts"]
                 if part["is"] == "area" and part["name"] == solid.name]  # fmt: skip
        found = sum(
            abs(np.sum(ring[:-1, 0] * ring[1:, 1] - ring[1:, 0] * ring[:-1, 1])) / 2
            * (1 if k == 0 else -1)
            for rings in drawn
            for k, ring in enumerate(map(np.array, rings))
        )  # fmt: skip
        assert found * one**2 == pytest.approx(laid[solid.name].area, rel=2e-3, abs=2e-4)


@pytest.mark.parametrize("name", SAMPLES)
def test_levels_over_the_paving_are_those_of_the_finish(name):
    plan, area = of(name)
    line = down_and_across(plan, area)[0]
    cut = plan.sections.along(area, line)
    told = [each["words"][0] for each in cut_record(plan, area, line)["labels"]
            if each["kind"] == "level"]  # fmt: skip
    places = np.array([cut.plan_point(s) for s in cut.paving])
    finish = area.finish.surface.at(places)
    assert told == [length(float(z), plan.site.unit) for z in finish]


def test_a_line_is_cut_where_it_runs_longest_and_from_left_to_right_as_it_was_drawn():
    plan, _ = of("flush-walk")
    first, second = plan.areas
    middle = first.outline.centroid
    x0, _, x1, _ = first.outline.bounds
    one = ((x0 - 1.0, middle.y), (x1 + 1.0, middle.y))
    area, line = line_through(plan, one)
    assert area is first
    assert line.along == pytest.approx([1.0, 0.0])
    area, back = line_through(plan, one[::-1])
    assert back.along == pytest.approx([-1.0, 0.0])
    shared = shapely.LineString(one)
    if shapely.intersects(shared, second.outline):
        assert line_through(plan, one, second)[0] is second
    assert line_through(plan, ((1e4, 0.0), (1e4, 1.0))) is None
    assert line_through(plan, ((1.0, 1.0), (1.0, 1.0))) is None
    assert line_through(plan, ((np.nan, 1.0), (1.0, 1.0))) is None


def test_a_way_of_an_area_cuts_that_area_though_its_line_goes_on_through_another():
    plan, _ = of("garden-court")
    for area in plan.areas:
        for way in ways_of(plan, area):
            assert line_through(plan, way.line)[0] is area, way.words
    names = [way["words"] for way in section(seen("garden-court"))["ways"]]
    assert len(set(names)) == len(names)
    assert {each.name for each in plan.areas} == {name.partition(":")[0] for name in names}


def test_a_line_that_meets_no_paving_is_said_to_and_another_is_shown():
    folder = sample_sites.path("back-patio")
    told = section(looked(folder, view="section", cut=((500.0, 0.0), (500.0, 9.0))))
    assert told["missed"] == MISSED
    assert told["cut"] is not None
    assert not any(way["chosen"] for way in told["ways"])
    chosen = told["ways"][1]
    line = tuple(map(tuple, chosen["line"]))
    again = section(looked(folder, view="section", cut=line))
    assert [way["name"] for way in again["ways"] if way["chosen"]] == [chosen["name"]]
    assert again["missed"] == ""


def test_where_there_is_no_plan_the_view_says_so(tmp_path):
    (tmp_path / "site.toml").write_text('name = "a yard"\nunit = "ft"\n', encoding="utf-8")
    told = section(looked(tmp_path))
    assert told["words"] == NONE_YET
    assert told["cut"] is None


@pytest.mark.parametrize("name", SAMPLES)
def test_bases_at_a_place_have_their_layers_and_the_dig_of_the_plan_there(name):
    plan, area = of(name)
    unit, one = plan.site.unit, METRES[plan.site.unit]
    place = usual_place(plan, area)
    told = bases_record(plan, area, place)
    assert [each["base"] for each in told["columns"]] == list(area.digs)
    ground = float(plan.ground.elevation(place[None])[0])
    finish = float(area.finish.surface.at(place[None])[0])
    for column in told["columns"]:
        dig = area.digs[column["base"]]
        layers = [bed for bed in column["beds"] if bed["material"] != "refill"]
        assert [bed["name"] for bed in layers] == [each.name for each in dig.system.layers]
        assert [bed["thick"] for bed in layers] == [
            size(each.thickness, unit) for each in dig.system.layers
        ]
        assert column["ground"] * one == pytest.approx(ground - finish, abs=1e-3)
        lowest = column["beds"][-1]["bottom"]
        assert column["dug"] * one == pytest.approx(lowest * one, abs=5e-4)
        for bed in column["beds"]:
            assert bed["material"] in TONES or bed["material"] == OTHER
    planned = [each for each in told["columns"] if each["planned"]]
    assert [each["base"] for each in planned] == [area.chosen]


@pytest.mark.parametrize("given", [False, True])
def test_what_a_base_takes_is_what_the_order_counts(given):
    plan, area = of("back-patio")
    plan = jobs.priced(plan) if given else plan
    whole = plan.order.total.cost.total
    told = bases_record(plan, area, usual_place(plan, area))
    for column in told["columns"]:
        job = plan.order.site[column["base"]]
        assert column["cut"] == volume(job.cut, plan.site.unit)
        assert column["facts"][0] == f"{job.haul.trips} barrow trips"
        cost = job.cost.total
        part = f"{100 * cost / whole:.0f} % of the cost as planned"
        assert column["facts"][1] == (f"${cost:,.0f}" if given else part)
    hidden = bases_record(plan, area, usual_place(plan, area), prices=False)
    assert "$" not in json.dumps(hidden)
    early = bases_record(plan, area, usual_place(plan, area), counted=False)
    assert all(not each["facts"] and not each["why"] for each in early["columns"])


def test_a_tap_beside_the_paving_is_no_place_and_one_on_its_edge_is():
    plan, area = of("back-patio")
    assert area_at(plan, np.array([1e3, 1e3])) is None
    corner = np.asarray(area.outline.exterior.coords[0])
    found, place = area_at(plan, corner)
    assert found is area
    assert area.outline.contains(shapely.Point(place))
    bases_record(plan, found, place)


TRADE = ("subgrade", "organics", "undisturbed", "graded", "bedding", "dug surface", "refill")


@pytest.mark.parametrize("name", ["back-patio", "garden-court", "raised-patio"])
def test_a_homeowner_s_section_has_no_words_of_the_trade(name):
    plan, _ = of(name)
    for area in plan.areas:
        line = next(ways_of(plan, area)).line
        for base in area.digs:
            told = cut_record(plan, *line_through(plan, line, area), base=base, home=True)
            words = [*told["said"], told["alt"], *(each["words"] for each in told["layers"]),
                     *(row["name"] for row in told["levels"]["rows"])]  # fmt: skip
            assert not [each for each in words if any(term in each.lower() for term in TRADE)]
            crew = cut_record(plan, *line_through(plan, line, area), base=base)
            places = ([each["at"] for each in which["layers"]] for which in (told, crew))
            assert next(places) == next(places)


@pytest.mark.parametrize("name", SAMPLES)
def test_the_edge_is_named_within_what_is_drawn_of_it(name):
    """Told by the rings of the picture: the plastic, the concrete or the border unit."""
    plan, told = seen(name).plan, 0
    for area in plan.areas:
        for way in ways_of(plan, area):
            for base in area.digs:
                record = cut_record(plan, area, line_through(plan, way.line, area)[1], base=base)
                words = restraint_words(area.digs[base].system)
                for each in (each for each in record["layers"] if each["words"] == words):
                    told += 1
                    laid = [shapely.Polygon(part["rings"][0]) for part in record["parts"]
                            if part.get("name") in EDGES]  # fmt: skip
                    near = shapely.Point(each["at"]).buffer(1e-4)
                    assert any(shape.intersects(near) for shape in laid), (area.name, way, base)
    assert told or name == "raised-patio"  # it is raised all round: there the wall is named
