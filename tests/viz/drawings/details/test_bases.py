"""A mixed site is drawn as one: what stands on what in plan, and a section across every join."""

from functools import cache

import numpy as np
import pytest
import shapely
from make.plans.mixed_yard import DRIVE, PATIO, SIDE_WALK, mixed
from measure.blocked import kinds
from measure.on_paper import outside, overlaps

from grading.answers.site import join_plain, joins_words, site_answer
from grading.order.model import order_of
from grading.setout.stated import by_rod
from grading.units import FOOT, INCH
from viz.drawings.details.bases import bases_sheets, join_details
from viz.drawings.plan.levels import levels_sheet
from viz.paper.compose import compose, words_of
from viz.paper.drawing import Polyline
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.crew.build import build_page
from viz.sheets.head import Job
from viz.sheets.homeowner.paper import homeowner_data
from viz.words.plain import stopped

THREE = {
    "a drive": (PATIO, SIDE_WALK, DRIVE),
    "three bases": ({**PATIO, "base": "panel"}, {**SIDE_WALK, "base": "open"}, DRIVE),
    "stone beside stone": ({**PATIO, "base": "open"}, SIDE_WALK, DRIVE),
    "one base": (PATIO, SIDE_WALK),
}


@cache
def yard(name):
    return mixed(*THREE[name])


def sheets(name, paper=None):
    return {sheet.name: sheet for sheet in bases_sheets(yard(name), page_for("ft", paper))}


def text_of(sheet):
    return " ".join(words.words for words in words_of(compose(sheet)))


def lines(drawing, layer):
    return [part for part in drawing.of(layer) if isinstance(part, Polyline)]


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", THREE)
def test_no_words_overlap_and_nothing_leaves_the_page(name, paper):
    for sheet in sheets(name, paper).values():
        inks = compose(sheet)
        assert not overlaps(inks), sheet.title
        assert not outside(inks, sheet.page), sheet.title


@pytest.mark.parametrize("name", THREE)
def test_the_plan_names_every_area_with_its_base_and_says_why(name):
    plan, said = yard(name), " ".join(text_of(sheets(name)["bases"]).split())
    answer = site_answer(plan)
    for one in answer.areas:
        assert f"{one.area} on {one.title}" in said
        assert " ".join(one.why.split()) in said
    for words in joins_words(answer, "ft"):
        assert words in said


def test_joins_lie_on_the_plan_where_the_areas_meet_with_their_numbers():
    plan = yard("three bases")
    answer = site_answer(plan)
    assert len(answer.joins) == 2
    (view,) = sheets("three bases")["bases"].views
    drawn = [shapely.LineString(part.points) for part in lines(view.drawing, "join")]
    wanted = {("patio", "side walk"): ([20, 0], [20, 4]), ("patio", "drive"): ([0, 0], [0, 16])}
    for join in answer.joins:
        line = shapely.LineString(np.array(wanted[join.areas]) * FOOT)
        assert any(line.hausdorff_distance(each) < 1e-6 for each in drawn)
    marks = [part.words for part in view.drawing.of("join mark") if hasattr(part, "words")]
    assert marks == ["1", "2"]


def test_a_section_goes_square_across_each_join_through_both_build_ups():
    plan = yard("a drive")
    ((detail,), (join,)) = list(join_details(plan, site_answer(plan))), site_answer(plan).joins
    cut = detail.cut
    # Square to x = 0, from the patio towards the drive.
    assert np.allclose(cut.along, [-1, 0], atol=1e-9)
    assert cut.plan_point(0.0)[1] == pytest.approx(8 * FOOT)
    at = cut.paved[0][1]
    assert cut.plan_point(at)[0] == pytest.approx(0, abs=1e-9)
    low, _, high, _ = detail.window
    assert low < at - 3 * FOOT
    assert high > at + 0.3
    (drive,) = cut.others
    # 2 3/8 + 3/4 + 1 in on panels, 2 3/8 + 1 + 6 in on stone, off the same finish.
    finish = float(cut.finish_at(at))
    assert finish - float(cut.formation_at(at)) == pytest.approx(4.125 * INCH)
    assert float(drive.finish.at(at)) == pytest.approx(finish)
    assert finish - float(drive.formation.at(at)) == pytest.approx(9.375 * INCH)
    assert join.below == pytest.approx(5.25 * INCH)


def test_the_taper_ends_on_both_subgrades_three_feet_apart():
    """Common practice, no source: at least 3 ft, where it can be done."""
    (sheet,) = [sheets("a drive")["joins"]]
    (view,) = sheet.views
    (taper,) = lines(view.drawing, "taper")
    (s1, z1), (s2, z2) = taper.points
    assert abs(s1 - s2) == pytest.approx(3 * FOOT)
    assert abs(z1 - z2) == pytest.approx(5.25 * INCH, abs=1e-3)
    said = text_of(sheet)
    assert "taper over 3' 0\" or more" in " ".join(said.split())


def test_layers_of_both_sides_are_named_and_what_goes_on_is_named_once():
    said = " ".join(text_of(sheets("a drive")["joins"]).split())
    for words in ("panel 3/4 in", "dense-graded base 6 in", "soldier course along it"):
        assert said.count(words) == 1
    assert said.count("paver 2 3/8 in") == 1
    assert "geotextile" not in said
    stone = " ".join(text_of(sheets("stone beside stone")["joins"]).split())
    assert "geotextile on the face" in stone
    # Where both go as deep there is no taper: beside the drive, and not beside the panels.
    assert stone.count("taper over") == 1


THERE = {"name": "old terrace", "kind": "slab", "at": [[20, 2], [20, 14]]}


@pytest.mark.parametrize("base", ["dense", "open"])
def test_what_is_there_already_is_drawn_beside_it_on_the_base_that_it_is_said_to_have(base):
    level = [100.08 - 0.02 * y for y in (2, 14)]
    plan = mixed(PATIO, features=(), meets=[{**THERE, "base": base, "z": level}])
    (sheet,) = [each for each in bases_sheets(plan, page_for("ft")) if each.name == "joins"]
    inks = compose(sheet)
    assert not overlaps(inks)
    assert not outside(inks, sheet.page)
    said = " ".join(text_of(sheet).split())
    assert "patio on panel base, old terrace on" in said
    assert "which is there already" in said
    assert "taper over" in said
    ((detail,), (join,)) = list(join_details(plan, site_answer(plan))), site_answer(plan).joins
    assert join.there
    assert np.allclose(detail.cut.along, [1, 0], atol=1e-9)
    (there,) = detail.cut.others
    at = there.paving[0]
    assert detail.cut.plan_point(at)[0] == pytest.approx(20 * FOOT)
    assert float(there.finish.at(at)) == pytest.approx(float(detail.cut.finish_at(at)))
    assert float(there.finish.at(at) - there.formation.at(at)) == pytest.approx(9.375 * INCH)
    names = [solid.name for solid in there.solids]
    assert f"{base}-graded base" in names


def test_one_base_under_all_has_a_plan_and_no_joins():
    assert list(sheets("one base")) == ["bases"]
    assert not list(bases_sheets(mixed(PATIO, features=()), page_for("ft")))


def test_the_plan_of_levels_names_the_join():
    plan = yard("a drive")
    said = " ".join(text_of(levels_sheet(plan, plan.areas[0], page_for("ft"))).split())
    assert "flush with drive; join 1, panel meets dense" in said
    alike = " ".join(text_of(levels_sheet(plan, plan.areas[1], page_for("ft"))).split())
    assert "flush with patio" in alike
    assert "join 1" not in alike


def test_the_crew_and_the_homeowner_begin_with_it(no_picture):
    plan = yard("a drive")
    job = Job(plan, order_of(plan, plan.crew), page_for("ft"))
    answer = site_answer(plan)
    with Compiled("crew") as compiled:
        page = build_page(job, by_rod(plan), compiled)
        titles = [found["text"] for found in kinds(page.blocks, "heading")]
        # Patio and side walk are laid alike: their layers are told once.
        assert "patio and side walk: layers on panel base" in titles
        assert "drive: layers on dense-graded base" in titles
        (joins,) = [found for found in page.blocks if found["kind"] == "together"
                    and found["blocks"][0].get("text") == "Where two bases meet"]  # fmt: skip
        assert joins["blocks"][1]["items"][-1] == stopped(next(joins_words(answer, "ft")))
        found = homeowner_data(job, compiled, lambda _: None)
        assert [row["title"] for row in found["agreed"]["areas"]] == ["patio", "side walk", "drive"]
        assert found["joins"] == [stopped(join_plain(answer.joins[0]))]
        alone = mixed(PATIO, features=())
        lone = Job(alone, order_of(alone, alone.crew), page_for("ft"))
        assert homeowner_data(lone, compiled, lambda _: None)["joins"] == []
        said = kinds(build_page(lone, by_rod(alone), compiled).blocks, "heading")
        assert "Where two bases meet" not in [found["text"] for found in said]
