"""The homeowner's questions: figures as in the plan, drawings to scale, nothing promised."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

import numpy as np
import pytest
import shapely
from make.by_lot import by_lot
from make.plans.drawn import ALL, planned
from make.plans.furnished import NAMES, furnished
from measure.on_paper import bar_ratio, outside, overlaps

import sample_sites
from grading.conditions.frost import bare_frost, stratum
from grading.design.door_steps import door_steps
from grading.order.model import order_of
from grading.structures.flights import flights_of
from grading.structures.holding.holds import holding_of
from grading.units import DAY, FAHRENHEIT, FOOT, INCH, inches, millimetres, percent
from viz.drawings.answers import answers_of
from viz.drawings.listed import write_drawings
from viz.paper.compose import compose, words_of
from viz.paper.drawing import Arrow, Polyline
from viz.paper.ink import Ink
from viz.words.figures import DIRT, earth, small

KEYS = ["water", "step", "under", "heave", "dirt", "edge"]
SITES = (*ALL, *NAMES)


@cache
def answers(name):
    """Return every answer of a site, by area and key."""
    plan = planned(name)
    return {
        (area.area.name, answer.key): (area, answer, compose(answer.sheet))
        for area in plan.areas
        for answer in answers_of(plan, area)
    }


def answer(name, key, number=0):
    area = planned(name).areas[number]
    return answers(name)[(area.area.name, key)]


def said(inks):
    return " ".join(words.words for words in words_of(inks))


@pytest.mark.parametrize("name", by_lot(SITES))
def test_all_six_questions_are_answered_on_a_small_page(name):
    plan = planned(name)
    for area in plan.areas:
        found = [key for of, key in answers(name) if of == area.area.name]
        assert found == KEYS
    for _, one, inks in answers(name).values():
        assert one.question.endswith("?")
        assert one.words.endswith(".")
        assert (one.sheet.page.width, one.sheet.page.height) == (180.0, 75.0)
        assert "Estimate; check on site." in said(inks)
        assert "Units:" in said(inks)


@pytest.mark.parametrize("name", by_lot(SITES))
def test_no_words_overlap_and_nothing_leaves_the_page(name):
    for key, (_, one, inks) in answers(name).items():
        assert not overlaps(inks), key
        assert not outside(inks, one.sheet.page), key


@pytest.mark.parametrize("name", [*sample_sites.names(), "in feet"])
def test_a_scale_bar_is_as_long_as_the_scale_says(name):
    unit = planned(name).site.unit
    for key in ("water", "step", "under", "heave", "edge"):
        _, one, inks = answer(name, key)
        bars = [ink for ink in inks if isinstance(ink, Ink) and ink.name == f"scale-bar-{unit}"]
        assert bars, key
        ratio = bar_ratio(inks, unit)
        view = next(v for v in one.sheet.views if abs(v.scale.ratio - ratio) < 1e-6 * ratio)
        assert f"Scale {view.scale.words}" in said(inks)


@pytest.mark.parametrize("name", sample_sites.names())
def test_the_fall_from_a_wall_is_that_of_the_finish_between_two_points(name):
    plan = planned(name)
    for number, area in enumerate(plan.areas):
        _, one, inks = answer(name, "water", number)
        for fall in area.walls:
            # Straight out from the wall, from where the paving begins to where it ends.
            start = np.asarray(fall.wall.start)
            ends = start + np.outer([fall.near, fall.distance], fall.wall.outward)
            high, low = area.finish.surface.at(ends)
            assert fall.drop == pytest.approx(high - low, abs=1e-9)
            assert small(high - low, plan.site.unit) in said(inks).replace("\n", " ")
        least = min(area.walls, key=lambda fall: fall.fall_away)
        # The least is told over ten feet, or a metre, and no more of it than there is.
        rise = re.search(r"(?:at least|only) ([\d/ ]+) (?:in per 10 ft|mm per metre)", one.words)[1]
        over, mark = (3.048, 0.0254) if plan.site.unit == "ft" else (1.0, 1e-3)
        told = float(sum(Fraction(part) for part in rise.split())) * mark
        assert -1e-4 <= least.fall_away * over - told < 0.0254 / 8


def test_a_number_of_a_wall_does_not_run_into_its_figure():
    for name in ("raised-patio", "two terraces"):
        area, _, inks = answer(name, "water")
        rows = [words.words for words in words_of(inks)]
        assert any(row.startswith("wall 1: ") for row in rows)
        assert not [row for row in rows if re.match(r"\d+  \d", row)]
        # A figure keeps its unit.
        assert not [row for row in rows if re.match(r"(mm|in)\b", row)]
        assert area.walls


def arrows(sheet):
    return [part for view in sheet.views for part in view.drawing.of("away from the wall")
            if isinstance(part, Arrow)]  # fmt: skip


def test_arrows_point_away_from_the_wall_or_back_where_it_falls_back():
    for name, sign in (("raised-patio", 1.0), ("falls to the house", -1.0)):
        area, one, _ = answer(name, "water")
        outward = area.walls[0].wall.outward
        ways = [np.subtract(part.end, part.start) @ outward for part in arrows(one.sheet)]
        assert ways
        assert all(way * sign > 0 for way in ways)
    _, one, inks = answer("falls to the house", "water")
    assert "falls back towards wall 1" in one.words
    assert "BACK" in said(inks)
    assert not one.words.startswith("Not from")
    _, one, _ = answer("level finish", "water")
    assert not arrows(one.sheet)
    assert "only 0 mm per metre" in one.words
    assert "less than is asked for" in one.words


def test_water_that_stands_or_is_lost_is_said_plainly():
    assert "low spot" in answer("hill behind", "water")[1].words
    assert "names no place" in answer("no house", "water")[1].words
    assert "reaches the house" in answer("falls to the house", "water")[1].words


@pytest.mark.parametrize("name", [*sample_sites.names(), "in feet", "in metres"])
def test_a_step_is_the_sill_less_the_finish_in_words_and_on_paper(name):
    plan = planned(name)
    for number, area in enumerate(plan.areas):
        _, one, inks = answer(name, "step", number)
        views = {view.drawing.name: view for view in one.sheet.views}
        for step in door_steps(area):
            nearest = shapely.shortest_line(area.outline, shapely.Point(step.door.at)).coords[0]
            height = step.door.sill - float(area.finish.surface.at(np.array([nearest]))[0])
            assert step.step == pytest.approx(height, abs=1e-12)
            assert small(height, plan.site.unit) in one.words
            if step.door.name not in views:
                continue
            view = views[step.door.name]
            (sill,) = view.drawing.of("sill")
            finish = min(part.points[0][1] for part in view.drawing.of("level")
                         if isinstance(part, Polyline) and part.pen.width == 0.5)  # fmt: skip
            rise = view.paper((0, sill.points[0][1]))[1] - view.paper((0, finish))[1]
            assert rise * view.scale.ratio / 1000 == pytest.approx(height)
            figure = inches(height) if plan.site.unit == "ft" else millimetres(height)
            assert figure in said(inks)
    assert len({view.scale.ratio for view in one.sheet.views}) == 1


def test_steps_between_areas_are_told():
    assert "3 risers" in answer("stepped", "step")[1].words


@pytest.mark.parametrize("name", [*sample_sites.names(), "two terraces"])
def test_build_ups_stand_side_by_side_to_one_scale_with_what_they_dig(name):
    plan = planned(name)
    area, one, inks = answer(name, "under")
    assert len({view.scale.ratio for view in one.sheet.views}) == 1
    assert len(one.sheet.views) == len(area.digs)
    text = said(inks)
    assert text.count("chosen") == 1
    for view, dig in zip(one.sheet.views, [area.chosen_dig, *(
        dig for key, dig in area.digs.items() if key != area.chosen)], strict=True):  # fmt: skip
        drawn = [view.drawing.of(layer.name)[0] for layer in dig.system.layers]
        thick = [np.ptp(np.array(part.rings[0])[:, 1]) for part in drawn]
        assert thick == pytest.approx([layer.thickness for layer in dig.system.layers])
        assert sum(thick) == pytest.approx(dig.build_up)
        refill = view.drawing.of("compacted refill")
        assert len(refill) == (dig.refill is not None)
        if dig.refill is not None:
            z = np.array(refill[0].rings[0])[:, 1]
            assert (z.max(), np.ptp(z)) == pytest.approx((-dig.build_up, dig.refill.mean))
            assert f"up to {small(dig.refill.greatest, plan.site.unit, DIRT)}" in text
        assert f"digs {earth(dig.cut, plan.site.unit)}" in text


def test_strips_stand_on_refill_where_topsoil_goes_deeper():
    """At a door of the terraces: 180 mm of topsoil under ground 18 mm lower for each 0.9 m."""
    area, one, inks = answer("two terraces", "step")
    assert area.chosen_dig.build_up < 0.18
    view = next(view for view in one.sheet.views if view.drawing.name == "studio door")
    (refill,) = view.drawing.of("refill")
    z = np.array(refill.rings[0])[:, 1]
    step = next(one for one in door_steps(area) if one.door.name == "studio door")
    formation = step.finish - area.chosen_dig.build_up
    assert z.max() == pytest.approx(formation)
    thick = formation - (step.ground - 0.18)
    frame = min(z for part in view.drawing.of("frame") for _, z in part.points)
    assert z.min() == pytest.approx(max(formation - thick, frame))
    soil = [np.array(part.rings[0])[:, 1].max() for part in view.drawing.of("soil")]
    assert all(top == pytest.approx(z.min()) for top in soil)
    assert f"compacted refill here {small(thick, 'm', DIRT)}" in said(inks)


def test_the_step_between_areas_is_drawn_with_its_risers_from_both_sides():
    plan = planned("two terraces")
    upper, lower = plan.areas
    at = np.array([[1.0, 5.0], [9.0, 5.0]])
    levels = np.array([one.finish.surface.at(at) for one in (upper, lower)])
    # The plan makes it 260 mm all along: which end is drawn is left to rounding.
    assert levels[0] - levels[1] == pytest.approx([0.26, 0.26], abs=1e-6)
    for number, way in ((0, "down to lower"), (1, "up to upper")):
        _, one, inks = answer("two terraces", "step", number)
        (view,) = (v for v in one.sheet.views if v.drawing.name.startswith(way))
        faces = [np.array(part.rings[0])[:, 1] for part in view.drawing.of("riser")]
        ends = sorted({round(float(z), 9) for face in faces for z in face})
        low, high = ends[0], ends[-1]
        # Down to the foot of the steps: the lower finish has fallen on, or risen, by then.
        (flight,) = flights_of(plan)
        assert high - low == pytest.approx(flight.drop)
        assert abs(flight.drop - 0.26) <= 0.04 * flight.going + 1e-9
        text = said(inks)
        for figure in (high - low, flight.riser):
            assert millimetres(figure) in text
            assert f"({inches(figure)})" not in text
            assert small(figure, "m") in one.words
        assert "2 risers of" in text
        # What is under the lower one's finish is the lower one's.
        tops = [np.array(part.rings[0])[:, 1].max() for part in view.drawing.of("layer")]
        assert max(tops) == pytest.approx(low, abs=1e-6)


FORBIDDEN = ("frost-proof", "frost proof", "never heave", "will not heave", "not heave",
             "no heave", "guarantee", "equivalent to", "does not move")  # fmt: skip


@pytest.mark.parametrize("name", by_lot(SITES))
def test_nothing_is_promised_about_heave(name):
    for (_, key), (_, one, inks) in answers(name).items():
        if key == "heave":
            text = f"{one.words} {said(inks)}".lower()
            assert not [phrase for phrase in FORBIDDEN if phrase in text]
            assert "small seasonal movement is normal" in one.words


@pytest.mark.parametrize("name", ["raised-patio", "front-walk", "garden-court"])
def test_an_inch_at_the_outer_edge_takes_an_inch_over_the_run(name):
    area, one, inks = answer(name, "heave")
    least = min(area.walls, key=lambda fall: fall.fall_away - INCH / fall.distance)
    left = least.fall_away - INCH / least.distance
    assert f"{percent(left)} would be left" in one.words
    assert f"{percent(left)} left" in said(inks)
    # The lines of the drawing: as laid, and lifted by an inch at its outer end.
    (view,) = (v for v in one.sheet.views if v.exaggeration > 1)
    (laid,), (lifted,) = view.drawing.of("finish line"), view.drawing.of("heaved")
    assert lifted.points[1][1] - laid.points[1][1] == pytest.approx(INCH)
    fall = -laid.points[1][1] / laid.points[1][0]
    assert fall == pytest.approx(least.fall_away, abs=1e-6)
    assert f"{view.exaggeration:g} times as large" in said(inks)


def test_frost_in_bare_soil_is_stefans_closed_form():
    """sqrt(2 k I / L): UFC 3-130-06 (from memory)."""
    plan = furnished("stepped")
    soil = stratum("soil", "soil loam", np.inf)
    index = 800 * DAY * 0.75
    depth = np.sqrt(2 * soil.conductivity * index / soil.latent)
    assert bare_frost(plan) == pytest.approx(depth, rel=1e-9)
    _, one, inks = answer("stepped", "heave")
    assert small(depth, "m", 1) in one.words
    assert "estimates for comparing build-ups, no promise" in said(inks).replace("\n", " ")
    assert plan.site.frost.index == pytest.approx(800 * DAY)
    assert furnished("in feet").site.frost.index == pytest.approx(1500 * DAY * FAHRENHEIT)


def test_frost_lines_lie_as_deep_as_the_plan_says():
    plan = furnished("in metres")
    _, one, _ = answer("in metres", "heave")
    depths = [-view.drawing.of("frost line")[0].points[0][1] for view in one.sheet.views
              if view.drawing.of("frost line")]  # fmt: skip
    under = next(d for d in plan.advice.frost if d.base == plan.areas[0].chosen)
    assert depths == pytest.approx([bare_frost(plan), under.depth])


@pytest.mark.parametrize("name", [*sample_sites.names(), "hill behind", "three areas"])
def test_bins_are_as_many_and_as_full_as_the_order_says(name):
    plan = planned(name)
    order = order_of(plan, plan.crew)
    for number, area in enumerate(plan.areas):
        _, one, inks = answer(name, "dirt", number)
        jobs = next(job for job in order.areas if job.area.area.name == area.area.name)
        bins = [p for p in one.sheet.paper.parts if p.layer == "bin"]
        shown = list(jobs.bases.values())
        assert len(bins) == sum(job.haul.bins.count for job in shown)
        room = np.ptp(np.array(bins[0].points), axis=0).prod() if bins else 1.0
        brown = sum(np.ptp(np.array(p.rings[0]), axis=0).prod()
                    for p in one.sheet.paper.parts if p.layer == "spoil")  # fmt: skip
        loose = sum(job.haul.spoil.loose for job in shown)
        assert brown / room * order.crew["bin-volume"] == pytest.approx(loose, abs=0.05)
        for job in shown:
            assert f"{job.haul.out.count} trip" in said(inks)
        chosen = jobs.bases[area.chosen]
        if chosen.haul.bins.count:
            assert f"{chosen.haul.out.count} trip" in one.words
            assert earth(chosen.haul.spoil.loose, plan.site.unit) in one.words
        else:
            assert one.words.startswith("No earth leaves")


@pytest.mark.parametrize("name", by_lot(SITES))
def test_the_edge_is_the_free_edge_with_its_heights(name):
    plan = planned(name)
    for number, area in enumerate(plan.areas):
        _, one, inks = answer(name, "edge", number)
        free = shapely.union_all(area.free_edges)
        assert sum(r.length for r in area.edge_runs) == pytest.approx(free.length, abs=1e-6)
        high, low = area.edge_heights
        heights = []
        for edge in area.edge_runs:
            assert edge.finish == pytest.approx(area.finish.surface.at(edge.points))
            ground = plan.ground.elevation(edge.points)
            assert np.allclose(edge.ground, ground, equal_nan=True)
            assert shapely.distance(free, shapely.points(edge.points)).max() < 1e-6
            heights.append(edge.finish - ground)
        if not heights:
            continue
        known = np.concatenate(heights)
        assert high == pytest.approx(np.nanmax(known))
        assert low == pytest.approx(-np.nanmin(known))
        unit, text = plan.site.unit, said(inks)
        assert small(high, unit) in one.words or high <= 0
        assert f"highest: {small(abs(high), unit)}" in text
        level = small(abs(low), unit) == small(0.0, unit)
        least = "level\nwith the ground" if level else small(abs(low), unit)
        assert f"lowest: {least}".replace("\n", " ") in text.replace("\n", " ")
        view = next(v for v in one.sheet.views if v.drawing.of("finish line"))
        if view.exaggeration > 1:
            assert f"heights {view.exaggeration:g} times as large" in text


@pytest.mark.parametrize("name", by_lot(SITES))
def test_marks_of_the_edge_do_not_cross_words_and_words_stay_on_the_strip(name):
    plan = planned(name)
    for number in range(len(plan.areas)):
        inks = answer(name, "edge", number)[2]
        words = [w for w in words_of(inks) if w.rotation == 0]
        boxes = [shapely.Polygon(w.corners) for w in words]
        for ink in inks:
            if isinstance(ink, Ink) and ink.name == "lead":
                line = shapely.LineString(ink.rings[0])
                nearest = int(np.argmin(shapely.distance(shapely.Point(ink.rings[0][-1]), boxes)))
                assert not line.intersects(boxes[nearest]), words[nearest].words
        finish = [
            ink.rings[0] for ink in inks if isinstance(ink, Ink) and ink.name == "finish line"
        ]
        for w, box in zip(words, boxes, strict=True):
            if "a wall" in w.words or "held by the" in w.words or "or a slope here" in w.words:
                left, _, right, _ = box.bounds
                strips = [(ring[:, 0].min(), ring[:, 0].max()) for ring in finish]
                assert any(a <= left and right <= b for a, b in strips if b - a > right - left + 2)


def test_what_is_planned_to_hold_an_edge_is_drawn_where_it_stands():
    """Caps and blocks as the wall's own segments have them, over the ground, under the finish."""
    area, one, inks = answer("raised-patio", "edge")
    plan = planned("raised-patio")
    assert "The block wall that holds it where it stands high is drawn as it is" in one.words
    assert "held by the block wall here" in said(inks)
    assert {"block", "cap"} <= set(said(inks).split())
    (view,) = (view for view in one.sheet.views if view.drawing.of("block wall"))
    drawn = [shapely.Polygon(each.rings[0]) for each in view.drawing.of("block wall")]
    (wall,) = holding_of(plan, area, area.chosen).walls
    tops = {round(shape.bounds[3], 6) for shape in drawn}
    assert {round(float(each.cap), 6) for each in wall.segments} <= tops
    (run,) = area.edge_runs
    for shape in drawn:
        s, z = np.array(shape.exterior.coords).T
        start = view.drawing.of("finish line")[0].points[0][0]
        assert (z >= np.interp(s - start, run.along, run.ground) - 1e-6).all()
        assert (z <= np.interp(s - start, run.along, run.finish) + INCH / 8).all()
    assert "hold it" not in answer("back-patio", "edge")[1].words
    _, one, inks = answer("raised-patio", "step")
    assert [view for view in one.sheet.views if view.drawing.of("block wall")]


def test_the_lawn_is_told_as_it_is_brought_to_the_paving():
    area, one, _ = answer("in feet", "edge")
    assert area.tie_in.edge == "bevelled"
    assert "brought to 1/2 in below it" in one.words
    view = next(v for v in one.sheet.views if v.drawing.of("lawn tied in"))
    lawn, finish = view.drawing.of("lawn tied in")[0], view.drawing.of("finish line")[0]
    drop = np.array(finish.points)[:, 1] - np.array(lawn.points)[:, 1]
    assert drop == pytest.approx(INCH / 2)
    assert "stays as it lies" in answer("stepped", "edge")[1].words


def test_edges_far_from_their_corners_are_told_where_they_are():
    """The height at the places marked is that of the plan, foot by foot."""
    area, one, _ = answer("raised-patio", "edge")
    view = next(v for v in one.sheet.views if v.drawing.of("finish line"))
    marks = [part.at for part in view.drawing.of("height") if hasattr(part, "kind")]
    runs = area.edge_runs
    assert len(marks) == 2
    for s, z in marks:
        finish = float(np.interp(s, runs[0].along, runs[0].finish))
        assert z == pytest.approx(max(finish, z))
    assert max(r.length for r in runs) > 10 * FOOT


def test_answers_are_written_beside_the_sheets(tmp_path):
    files = write_drawings(planned("garden-court"), tmp_path, ("svg",))
    names = {file.name for file in files}
    for area in ("court", "studio-path"):
        for key in KEYS:
            assert f"{area}-answer-{key}.svg" in names
    svg = (tmp_path / "court-answer-step.svg").read_text(encoding="utf-8")
    assert "<image" not in svg
    assert re.search(r'width="510(\.\d+)?pt"', svg)  # 180 mm
