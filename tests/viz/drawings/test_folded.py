"""Finishes that fold: exact in section, closed as solids, told plane by plane."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.by_lot import by_lot
from make.plans.drawn import inks, planned
from make.plans.folded import FOLDED
from measure.dug_solids import assert_dig, parts_over

from grading.design.folds import folds_of, panes_of, warped
from grading.design.steps import shared_edges
from grading.structures.pads import left_out_for
from grading.units import percent, slope
from viz.paper.compose import words_of
from viz.scene.staging import stage
from viz.tables.plan import plan_tables
from viz.terminal import report
from viz.words.paving.edges import step_words

NAMES = list(FOLDED)
WITH_FOLDS = ["valley", "fan of two", "fan of three", "ridge"]


@pytest.mark.parametrize("name", NAMES)
def test_every_solid_closes_and_weighs_what_the_plan_says(name):
    for area in planned(name).areas:
        for dig in area.digs.values():
            assert_dig(dig)


@pytest.mark.parametrize("name", WITH_FOLDS)
def test_layers_go_on_across_a_fold_as_one_solid(name):
    (area,) = planned(name).areas
    for dig in area.digs.values():
        assert len(parts_over(dig.formation, dig.polygon)) == 1
        for _, solid in assert_dig(dig).layers:
            assert solid.mesh().body_count == 1


@pytest.mark.parametrize("name", WITH_FOLDS)
def test_some_section_has_a_vertex_where_it_crosses_a_fold(name):
    made = planned(name)
    (area,) = made.areas
    lines = shapely.union_all([shapely.LineString(fold.line) for fold in folds_of(area)])
    crossed = 0
    for which in ("down", "across"):
        cut = made.sections.of(area, which)
        for _, end, _ in cut.finish.stretches(*cut.paving)[:-1]:
            assert lines.distance(shapely.Point(cut.plan_point(end))) < 1e-9
            crossed += 1
    assert crossed


@pytest.mark.parametrize(
    ("name", "kinds"),
    [
        ("valley", ["valley"]), ("fan of two", ["ridge"]), ("fan of three", ["ridge", "ridge"]),
        ("ridge", ["ridge"]), ("three areas", []),
    ],
)  # fmt: skip
def test_a_fold_is_called_what_water_makes_of_it(name, kinds):
    area = planned(name).areas[0]
    folds = folds_of(area)
    assert [fold.kind for fold in folds] == kinds
    for fold in folds:
        middle = fold.line.mean(axis=0)
        along = (fold.line[1] - fold.line[0]) / np.hypot(*(fold.line[1] - fold.line[0]))
        across = np.array([-along[1], along[0]]) * 0.02
        sides = area.finish.surface.at(np.array([middle + across, middle - across]))
        here = float(area.finish.surface.at(middle[None])[0])
        assert (sides.mean() < here) == (fold.kind == "ridge")
        assert area.finish.surface.at(fold.line) == pytest.approx(fold.levels, abs=1e-9)
        assert fold.levels[0] >= fold.levels[1]


@pytest.mark.parametrize("name", NAMES)
def test_the_planes_share_out_the_paving(name):
    for area in planned(name).areas:
        panes = panes_of(area)
        assert sum(pane.region.area for pane in panes) == pytest.approx(area.outline.area)
        for pane in panes:
            assert pane.region.covers(shapely.Point(pane.place))


@pytest.mark.parametrize("name", WITH_FOLDS)
def test_plans_tell_the_fall_of_every_plane_and_the_name_of_every_fold(name):
    (area,) = planned(name).areas
    text = [w.words for w in words_of(inks(name, f"{area.area.name} levels"))]
    for pane in panes_of(area):
        assert slope(pane.plane.fall, planned(name).site.unit) in text
    for fold in folds_of(area):
        assert f"{fold.kind}, falls {slope(fold.fall, planned(name).site.unit)}" in text


def test_a_warp_is_told_by_its_gentlest_and_steepest_fall():
    (area,) = planned("warp").areas
    panes = panes_of(area)
    assert warped(panes)
    falls, unit = [pane.plane.fall for pane in panes], planned("warp").site.unit
    scene = stage(planned("warp"), area, area.chosen)
    assert f"{percent(min(falls))} to {percent(max(falls))}" in scene.fall
    assert f"falls {percent(min(falls))} to {slope(max(falls), unit)}" in report.text(
        planned("warp")
    )


@pytest.mark.parametrize("name", by_lot(NAMES))
def test_pavers_in_the_scene_lie_on_the_finish(name):
    made = planned(name)
    for area in made.areas:
        scene = stage(made, area, area.chosen)
        top = [body for body in scene.bodies if body.name == "paver" and body.pattern]
        assert top
        for body in top:
            corners = body.vertices[body.faces]
            middle = corners.mean(axis=1) + scene.origin
            above = middle[:, 2] - area.finish.surface.at(middle[:, :2])
            # Between its corners no face dips under the paving or stands off it.
            assert above.min() > 0
            assert above.max() < 3e-3


def test_other_paving_is_cut_beside_the_edge_and_needs_no_restraint_there():
    made = planned("three areas")
    patio, _, low = made.areas
    cut = made.sections.of(patio, "down")
    (other,) = cut.others
    assert other.name == "low"
    s = np.linspace(*other.paving, 5)
    xy = np.array([cut.plan_point(v) for v in s])
    assert other.finish.at(s) == pytest.approx(low.finish.surface.at(xy), abs=1e-12)
    # Where steps stand neither pavers nor what is below them is laid.
    line = shapely.LineString([cut.plan_point(v) for v in other.paving])
    feet, pads = (line.difference(shape).length for shape in left_out_for(made, low))
    assert pads < line.length
    for layer, solid in zip(other.system.layers, other.solids, strict=False):
        if not layer.spreads:
            long = feet if layer.role == "paver" else pads
            assert solid.shape.area == pytest.approx(long * layer.thickness)
    scene = stage(made, patio, patio.chosen)
    assert {"other paving, low", "other paving, walk"} <= {body.name for body in scene.bodies}


@pytest.mark.parametrize("name", by_lot(NAMES))
def test_the_report_tells_planes_folds_edges_and_other_finishes(name):
    made = planned(name)
    text, tables = report.text(made), plan_tables(made)
    planes = [len(panes_of(area)) for area in made.areas]
    assert len(tables["finish-planes"].rows) == sum(planes)
    assert ("folds" in tables) == any(folds_of(area) for area in made.areas)
    assert ("shared-edges" in tables) == (len(made.areas) > 1)
    for area in made.areas:
        panes = panes_of(area)
        if 1 < len(panes) <= 6:
            for number, pane in enumerate(panes, start=1):
                assert f"plane {number}: falls {slope(pane.plane.fall, made.site.unit)}" in text
        assert ("The inside corner" in text) == bool(area.corner_ways)
    for group in made.groups:
        for outcome in group.outcomes:
            assert outcome.objective in text
        assert len(tables["finishes"].rows) == len(group.outcomes)


def test_the_plan_of_levels_says_how_areas_meet():
    made = planned("three areas")
    edges = {(edge.upper, edge.lower): edge for edge in shared_edges(made)}
    step = edges["patio", "low"]
    words = step_words(step, "m")
    assert words == f"1 riser of {step.drop[1] * 1000:.0f} mm"
    text = [w.words for w in words_of(inks("three areas", "patio levels"))]
    assert "flush with walk" in text
    assert f"{words} down to low" in text
