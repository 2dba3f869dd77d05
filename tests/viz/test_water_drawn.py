"""The water of a site, drawn: every edge, low spot, downspout and place, and what is said of it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from drawn import inks, planned, sheets
from furnished import furnished

from grading.edges import sides_of
from grading.units import percent
from viz import report
from viz.drawings.compose import Ink, compose, words_of
from viz.drawings.figures import level, small
from viz.drawings.paper import page_for
from viz.drawings.water_marks import least_falls
from viz.drawings.water_sheet import NOT_NAMED, VERDICTS, water_sheet
from viz.layers.staging import stage
from viz.ponds import pond_of

NAMES = ["water", "garden-court", "back-patio", "valley", "three areas"]


def said(name):
    return [w.words for w in words_of(inks(name, "water"))]


@pytest.mark.parametrize("name", NAMES)
def test_the_sheet_tells_shares_places_and_verdicts(name):
    made = planned(name)
    water, text = made.water, said(name)
    for area in water.areas:
        for part in area.shares:
            if part.share >= 0.005:
                assert part.destination in text
                assert percent(part.share, 0) in text
        words = NOT_NAMED if not water.destinations else VERDICTS[area.verdict]
        assert words in text
    for place in water.destinations:
        assert place.name in text
        assert level(place.z, made.site.unit) in text
    for mark, _, _, worst in least_falls(water):
        assert any(words.startswith(f"{mark}: {percent(abs(worst.fall))}") for words in text), mark


@pytest.mark.parametrize("name", [*NAMES, "two terraces"])
def test_the_name_of_an_area_stands_on_it(name):
    made = furnished(name) if name == "two terraces" else planned(name)
    sheet = water_sheet(made, page_for(made.site.unit))
    (view,) = sheet.views
    drawn = compose(sheet)
    found = [w for w in words_of(drawn) if w.size == 2.6]
    leads = [shapely.Point(ink.rings[0][0]) for ink in drawn
             if isinstance(ink, Ink) and ink.name == "lead"]  # fmt: skip
    for area in made.areas:
        paving = shapely.Polygon(view.ring(area.outline.exterior.coords))
        rows = [w for w in found if paving.contains(shapely.Polygon(w.corners))]
        # Only where it has no room on the area a line leads to it.
        on_it = " ".join(w.words for w in rows) == area.area.name
        assert on_it or any(paving.contains(lead) for lead in leads)
        assert on_it or name == "valley"


def test_low_spots_and_downspouts_are_named_with_their_figures():
    made = planned("water")
    text = said("water")
    assert made.water.low_spots
    for number, spot in enumerate(made.water.low_spots, start=1):
        assert f"low spot {number}: {small(spot.depth, 'm')}" in text
    for spout in made.site.downspouts:
        assert spout.name in text


def test_a_low_edge_is_drawn_along_the_side_of_the_paving_round_ones_too():
    made = planned("garden-court")
    view = sheets("garden-court")["water"].views[0]
    drawn = [shapely.LineString(part.points) for part in view.drawing.of("low edge")]
    edges = [(area.name, edge) for area in made.water.areas for edge in area.edges]
    outlines = {area.area.name: area.outline for area in made.areas}
    assert len(drawn) == len(edges)
    for line, (name, edge) in zip(drawn, edges, strict=True):
        assert any(line.equals(side) for side in sides_of(outlines[name]))
        assert line.distance(shapely.Point(edge.at)) < 2 * made.water.relief.spacing


def test_a_pond_is_as_large_as_the_low_spot():
    made = planned("water")
    for spot in made.water.low_spots:
        shape = pond_of(made.water, spot)
        assert shape.area == pytest.approx(spot.area, rel=0.1)
        assert shape.covers(shapely.Point(spot.at))
        inside = made.ground.elevation(np.array([shape.representative_point().coords[0]]))
        assert inside[0] < spot.level


def test_the_finished_view_shows_ways_and_ponds_and_the_others_do_not():
    made = planned("water")
    area = made.areas[0]
    scene = stage(made, area, area.chosen)
    wet = [body for body in scene.bodies if body.material in ("water", "standing water")]
    assert {body.material for body in wet} == {"water", "standing water"}
    assert {body.shown for body in wet} == {frozenset({"finished", "slice"}), frozenset({"yard"})}
    for body in wet:
        assert np.isfinite(body.vertices).all()
        if body.material == "standing water":
            spot = made.water.low_spots[int(body.name.split()[-1]) - 1]
            level_here = body.vertices[:, 2] + scene.origin[2]
            assert level_here == pytest.approx(spot.level, abs=5e-3)
    labels = [label.text for label in scene.labels if "finished" in label.shown]
    assert any(text.startswith("low spot 1") for text in labels)


@pytest.mark.parametrize("name", NAMES)
def test_the_report_tells_the_water_and_its_tables_hold_it(name):
    made = planned(name)
    text, tables = report.text(made), report.tables(made)
    for area in made.water.areas:
        assert f"rain on {area.name}" in text
        for edge in area.edges:
            assert f"{percent(edge.share, 0)} leaves near" in text
    assert len(tables["water"].rows) == sum(len(area.shares) for area in made.water.areas)
    assert ("low-spots" in tables) == bool(made.water.low_spots)
    assert ("downspouts" in tables) == bool(made.water.downspouts)
