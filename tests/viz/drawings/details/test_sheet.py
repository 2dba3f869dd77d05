"""Details: a step is the sill less the finish, a wedge the fall times the length under a thing."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from make.by_lot import by_lot
from make.plans.advised import patio
from make.plans.advised import planned as yard
from make.plans.drawn import ALL, planned
from make.plans.furnished import NAMES
from measure.on_paper import outside, overlaps

import sample_sites
from grading.design.door_steps import door_steps
from grading.units import FOOT, INCH, size
from viz.drawings.details.sheet import details_of, details_sheets
from viz.drawings.homeowner.door_to_lawn import door_to_lawn
from viz.drawings.listed import sheets_of
from viz.paper.compose import Words, compose, words_of
from viz.paper.drawing import Polyline
from viz.paper.ink import Ink
from viz.paper.page import page_for
from viz.words.figures import run, small


@cache
def sheets(name, number=0, paper=None):
    made = planned(name)
    page = page_for(made.site.unit, paper)
    return [(sheet, compose(sheet)) for sheet in details_sheets(made, made.areas[number], page)]


def text_of(name, number=0):
    return " ".join(w.words for _, inks in sheets(name, number) for w in words_of(inks))


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("name", by_lot([*ALL, *NAMES], 0.3))
def test_no_words_overlap_and_nothing_leaves_the_page(name, paper):
    for number in range(len(planned(name).areas)):
        for sheet, inks in sheets(name, number, paper):
            assert not overlaps(inks), sheet.title
            assert not outside(inks, sheet.page), sheet.title


@pytest.mark.parametrize("name", [*sample_sites.names(), "in feet", "in metres", "stepped"])
def test_the_step_at_a_door_is_the_sill_less_the_finish(name):
    made = planned(name)
    for number, area in enumerate(made.areas):
        for step in door_steps(area):
            views = [view for sheet, _ in sheets(name, number) for view in sheet.views
                     if view.drawing.name == f"Step at the {step.door.name}"]  # fmt: skip
            (view,) = views
            lines = [part.points[0][1] for part in view.drawing.of("extension")]
            assert max(lines) == pytest.approx(step.door.sill)
            at = shapely.shortest_line(area.outline, shapely.Point(step.door.at)).coords[0]
            finish = float(area.finish.surface.at(np.array([at]))[0])
            assert min(lines) == pytest.approx(finish, abs=2e-3)
            figure = small(step.step, made.site.unit)
            assert figure in text_of(name, number)


@pytest.mark.parametrize("bearing", [0, 30, 45])
@pytest.mark.parametrize("fall", ["1 %", "2 %", "3.5 %"])
def test_a_wedge_is_the_fall_times_the_length_along_it(bearing, fall):
    """Closed form: a rectangle reaches a |cos| + b |sin| along the fall, a circle its diameter."""
    plane = {"at": [1, 0], "z": 30.1, "fall": fall, "bearing": 0}
    things = [
        {"kind": "gas fire feature", "name": "table", "at": [4, 2.5], "bearing": bearing,
         "size": [1.2, 0.8], "stands": "bedding"},
        {"kind": "gas fire feature", "name": "bowl", "at": [7, 2.5], "size": [0.9],
         "stands": "bedding"},
    ]  # fmt: skip
    made = yard([patio(plane=plane)], features=things)
    ratio = float(fall.split()[0]) / 100
    turn = np.radians(bearing)
    long = 1.2 * abs(np.cos(turn)) + 0.8 * abs(np.sin(turn))
    (sheet,) = details_sheets(made, made.areas[0], page_for("m"))
    text = " ".join(w.words for w in words_of(compose(sheet)))
    for seat, reach in zip(made.advice.features, (long, 0.9), strict=True):
        view = next(v for v in sheet.views if v.drawing.name == seat.name)
        (measured,) = view.drawing.of("dimensions")
        drawn = measured.end[0] - measured.start[0]
        assert drawn == pytest.approx(reach, abs=1e-3)
        assert run(drawn, "m") in text
        assert seat.wedge.greatest == pytest.approx(ratio * reach, abs=2e-5)
        (wedge,) = view.drawing.of("wedge")
        z = np.array(wedge.rings[0])
        thick = [np.ptp(z[np.isclose(z[:, 0], s), 1]) for s in (measured.start[0], measured.end[0])]
        assert thick == pytest.approx([seat.wedge.least, seat.wedge.greatest], abs=2e-5)
        assert small(seat.wedge.greatest, "m").split(" (")[0] in text
        # It lies on what carries the pavers, which are cut round the thing.
        below = made.areas[0].chosen_dig.system.layers[1].name
        (carrying,) = view.drawing.of(below)
        top = shapely.Polygon(carrying.rings[0]).boundary
        low = [corner for corner in z if corner[1] < z[:, 1].max() - 1e-9 or seat.fall < 1e-9]
        assert shapely.distance(shapely.points(low), top).max() < 1e-9
        assert z[:, 1].max() - min(corner[1] for corner in low) == pytest.approx(
            seat.wedge.greatest, abs=2e-5
        )


def test_what_is_planned_on_a_base_of_its_own_stands_on_it_and_not_on_bedding():
    made = planned("two terraces")
    tub, wall = made.advice.features
    views = {view.drawing.name: view for sheet, _ in sheets("two terraces") for view in sheet.views}
    own, drawing = tub.own_base, views["tub"].drawing
    assert (tub.stands, tub.given) == ("own base", True)
    assert (wall.stands, wall.given, wall.advised) == ("bedding", True, "own base")
    (pad,) = drawing.of("own base")
    z = np.array(pad.rings[0])[:, 1]
    assert (z.min(), z.max()) == pytest.approx((own.bottom, own.top))
    assert pad.material == "dense-graded"
    assert not drawing.of("wedge")
    foot = min(z for part in drawing.of("thing") if hasattr(part, "points") for _, z in part.points)
    assert foot == pytest.approx(own.top)
    # The pavers end at the thing, and what lies below them beside its base.
    low, _, high, _ = shapely.Polygon(pad.rings[0]).bounds
    (measured,) = drawing.of("dimensions")
    for layer in made.areas[0].chosen_dig.system.layers:
        ends = low, high
        if layer.role == "paver":
            ends = measured.start[0], measured.end[0]
            assert ends[0] - low == pytest.approx(high - ends[1])
            assert ends[0] - low >= 12 * INCH
        column = shapely.box(ends[0], -1e6, ends[1], 1e6)
        for part in drawing.of(layer.name):
            assert shapely.Polygon(part.rings[0]).intersection(column).area < 1e-9
    text = text_of("two terraces").replace("\n", " ")
    assert f"{small(own.top - own.bottom, 'm')} thick" in text
    # What is planned on bedding has its wedge, and what is advised instead dashed.
    drawing = views["seat wall"].drawing
    assert drawing.of("wedge")
    assert all(isinstance(part, Polyline) for part in drawing.of("own base"))
    # A tub of 2.1 m that stands 20 degrees askew reaches farther along the fall.
    long = 2.1 * (np.cos(np.radians(20)) + np.sin(np.radians(20)))
    (measured,) = views["tub"].drawing.of("dimensions")
    assert measured.words == f"{run(long, 'm')} along the fall"


def test_the_step_shows_what_is_dug_and_laid_for_the_lower_area():
    made = planned("two terraces")
    lower = made.areas[1]
    (view,) = (v for s, _ in sheets("two terraces") for v in s.views
               if v.drawing.name.startswith("Step from upper"))  # fmt: skip
    draw = view.drawing
    assert not draw.of("topsoil")
    treads = shapely.union_all([shapely.Polygon(part.rings[0]) for part in draw.of("tread")])
    s = treads.bounds[2] + 0.16  # beyond the pad of the steps, 6 in wider than they are
    rod = shapely.LineString([(s, 0.0), (s, 99.0)])
    for layer in lower.chosen_dig.system.layers:
        (part,) = draw.of(f"other {layer.name}")
        met = shapely.Polygon(part.rings[0]).intersection(rod)
        assert met.length == pytest.approx(layer.thickness, abs=1e-6)
    soil = shapely.union_all([shapely.Polygon(part.rings[0]) for part in draw.of("soil")])
    assert soil.intersection(rod).bounds[3] == pytest.approx(met.bounds[1], abs=1e-6)


def test_steps_between_areas_are_drawn_as_built_and_no_grass_lies_on_what_they_go_down_to():
    """By the site as it is written: two risers, so two caps, and paving from y = 5 to 8.5 m."""
    made = planned("two terraces")
    (step,) = (v.drawing for s, _ in sheets("two terraces") for v in s.views
               if v.drawing.name.startswith("Step from upper"))  # fmt: skip
    (view,) = door_to_lawn(made).sheet.views
    for part_of, layer in ((step, "built"), (view.drawing, "structure")):
        caps = [part for part in part_of.of(layer) if part.material == "cap"]
        tops = sorted(max(z for _, z in part.rings[0]) for part in caps)
        assert len(tops) == 2
        assert tops[1] - tops[0] == pytest.approx(0.13, abs=0.02)
        # Nothing of a tread is seen but what it is built of.
        built = shapely.union_all([shapely.Polygon(part.rings[0]) for part in part_of.of(layer)])
        for tread in part_of.of("tread"):
            assert shapely.Polygon(tread.rings[0]).difference(built.buffer(1e-3)).area < 1e-3
    assert not view.drawing.of("sod")


@pytest.mark.parametrize("name", by_lot([*ALL, *NAMES], 0.3))
def test_every_detail_has_its_scale_bar(name):
    made = planned(name)
    kind = f"scale-bar-{made.site.unit}"
    for number in range(len(made.areas)):
        for sheet, inks in sheets(name, number):
            assert any(isinstance(ink, Ink) and ink.name == kind for ink in inks)
            starts = [ink for ink in inks if isinstance(ink, Words) and ink.words == "0"]
            assert len(starts) == len(sheet.views)
            assert not any(isinstance(ink, Ink) and ink.name.startswith("scale-bar")
                           and ink.name != kind for ink in inks)  # fmt: skip


def test_each_thing_tells_its_wedge_its_limit_and_what_is_advised():
    made = planned("in feet")
    text = text_of("in feet")
    assert len(made.advice.features) == 3
    for seat in made.advice.features:
        assert f"Under the {seat.name}" in text
        assert small(seat.wedge.greatest, "ft") in text
        assert small(seat.limit, "ft") in text
    folded = text.replace("\n", " ")
    assert "more than the" in folded
    # The wall's wedge grows too thick, and nobody wrote `stands`.
    (wall,) = (seat for seat in made.advice.features if seat.why == ("wedge",))
    assert (wall.stands, wall.given) == ("own base", False)
    assert "stands on a base of its own, as advised, for the site does not say" in folded
    assert "stands on bedding, as advised, for the site does not say" in folded
    assert "Base of its own (dashed)" not in folded


def test_a_person_s_bedding_is_drawn_with_what_is_advised_instead_dashed():
    text = text_of("two terraces").replace("\n", " ")
    assert "Base of its own (dashed)" in text
    assert "It stands on bedding, as the site says, where a base of its own is advised" in text


def test_risers_between_areas_are_told_and_drawn_alike():
    made = planned("stepped")
    text = text_of("stepped")
    # 300 mm at the edge; two feet out, where the treads end, the lower area is 4 % of them higher,
    # and the two treads fall 1/8 in/ft: (300 - 24.4 - 6.4) / 3.
    assert "3 risers of 90 mm" in text
    (view,) = (v for s, _ in sheets("stepped") for v in s.views
               if v.drawing.name.startswith("Step from patio"))  # fmt: skip
    ends = sorted(part.points[0][1] for part in view.drawing.of("extension"))
    marks = [(round(p.end[0], 6), round(p.end[1], 6)) for p in view.drawing.of("riser height")]
    pairs = sorted({tuple(sorted((marks[k][1], marks[k + 1][1]))) for k in (0, 2, 4)})
    rises = [high - low for low, high in pairs]
    # Each is as high as the others, but for what the finish falls away from where it was reckoned.
    assert np.ptp(rises) < 0.01
    # The treads lie on the lower area, a foot deep each, and fall outward a little.
    shapes = [shapely.Polygon(part.rings[0]) for part in view.drawing.of("tread")]
    assert [np.ptp(shape.bounds[::2]) for shape in shapes] == pytest.approx([FOOT, FOOT])
    for shape in shapes:
        x, z = np.array(shape.exterior.coords).T
        back, front = (z[np.isclose(x, end)].max() for end in (x.min(), x.max()))
        assert FOOT / 96 - 1e-6 <= back - front <= FOOT / 48 + 1e-6
    for rise in rises:
        assert f"riser {small(rise, 'm')}" in text
    assert f"tread, going {small(FOOT, 'm')}" in text
    upper, lower = made.areas
    at = np.array([[1.1, 5.0]])
    drop = float((upper.finish.surface.at(at) - lower.finish.surface.at(at))[0])
    assert ends[-1] - ends[0] == pytest.approx(drop, abs=2e-3)
    assert not [m for m in details_of(made, lower) if m is None]


@pytest.mark.parametrize("name", [*sample_sites.names(), "in feet"])
def test_the_high_edge_is_as_high_as_the_plan_says(name):
    made = planned(name)
    for number, area in enumerate(made.areas):
        views = [view for sheet, _ in sheets(name, number) for view in sheet.views
                 if view.drawing.name.startswith("Edge")]  # fmt: skip
        (view,) = views
        levels = [part.points[0][1] for part in view.drawing.of("extension")]
        high, _ = area.edge_heights
        if view.drawing.name.endswith("drains"):
            # Steps or a drain stand where it is higher, and are drawn by themselves.
            assert max(levels) - min(levels) < high
            continue
        # At a corner it is cut a hand's breadth beside it.
        assert max(levels) - min(levels) == pytest.approx(high, abs=5e-3)
        run_, k = area.edge_extremes[1]
        assert float(run_.height[k]) == pytest.approx(high)
        # What is told is the corner's own, as it is in every other paper.
        assert size(high, made.site.unit) in text_of(name, number)


def test_the_lawn_leaves_an_edge_at_its_slope():
    area = planned("in feet").areas[0]
    view = next(v for s, _ in sheets("in feet") for v in s.views if v.drawing.of("lawn tied in"))
    (x0, z0), (x1, z1) = view.drawing.of("lawn tied in")[0].points
    assert (z0 - z1) / (x1 - x0) == pytest.approx(area.tie_in.slope)


def test_there_is_no_sheet_where_there_is_nothing_to_show():
    sunk = {"at": [1, 0], "z": 29.7, "fall": "2 %", "bearing": 0}
    made = yard([patio(plane=sunk)], house=None)
    area = made.areas[0]
    assert area.edge_heights[0] < 0
    assert not list(details_sheets(made, area, page_for("m")))
    names = [name for name, _ in sheets_of(made, area, page_for("m"))]
    assert not [name for name in names if name.startswith("details")]


def test_many_details_take_more_than_one_sheet():
    found = sheets("in feet")
    assert [sheet.name for sheet, _ in found] == ["details-1", "details-2"]
    assert found[0][0].title.endswith("(1 of 2)")
    assert sum(len(sheet.views) for sheet, _ in found) == 7
