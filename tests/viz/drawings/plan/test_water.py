"""The water of a site, drawn: every edge, low spot, downspout and place, and what is said of it."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.drawn import inks, planned, sheets
from make.plans.furnished import furnished
from make.plans.sampled import sampled

from grading.units import FOOT, percent
from grading.water.edges import sides_of
from grading.water.words import ends_of, place_words, rain_words, verdict_words
from viz.drawings.plan.water import water_sheet
from viz.drawings.plan.water_marks import least_falls, shown_places
from viz.paper.compose import compose, words_of
from viz.paper.ink import Ink
from viz.paper.page import page_for
from viz.scene.staging import stage
from viz.tables.plan import plan_tables
from viz.terminal import report
from viz.words.figures import level, small

NAMES = ["water", "garden-court", "back-patio", "valley", "three areas"]


def said(name):
    return [w.words for w in words_of(inks(name, "water"))]


@pytest.mark.parametrize("name", NAMES)
def test_the_sheet_tells_shares_places_and_verdicts(name):
    made = planned(name)
    water, text = made.water, said(name)
    for area in water.areas:
        for end in ends_of(area):
            assert place_words(end.name, end.kind) in text
            assert end.words in text
        assert verdict_words(water, area) in " ".join(" ".join(text).split())
    for place in shown_places(water):
        assert place.name in text
        assert level(place.z, made.site.unit) in text
    for place in water.destinations:
        assert (place.name in text) == (place in shown_places(water))
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


def test_a_low_edge_is_drawn_where_water_leaves_over_it_and_never_along_the_house():
    made = planned("garden-court")
    view = sheets("garden-court")["water"].views[0]
    drawn = [shapely.LineString(part.points) for part in view.drawing.of("low edge")]
    painted = shapely.union_all(drawn)
    house = made.site.house.polygon(1.0)
    assert painted.distance(house) > 0.09
    for area, water in zip(made.areas, made.water.areas, strict=True):
        sides = shapely.union_all(sides_of(shapely.Polygon(area.outline.exterior)))
        near = painted.intersection(area.outline.buffer(1e-6))
        assert near.within(sides.buffer(1e-6))
        for edge in water.edges:
            assert near.distance(shapely.Point(edge.at)) < 2 * made.water.relief.spacing
    # The court falls to its far left: over its right side no water leaves, and none at the tree.
    assert shapely.box(7.2, 1.0, 8.1, 6.4).disjoint(painted)
    assert shapely.box(3.5, 3.5, 4.9, 4.9).disjoint(painted)


def test_only_a_place_that_water_ends_in_is_labelled_so_at_the_end_of_its_way():
    made = planned("garden-court")
    scene = stage(made, made.areas[0], made.areas[0].chosen)
    for view in ("finished", "yard"):
        labels = [label for label in scene.labels if view in label.shown]
        (label,) = [label for label in labels if label.text.startswith("water to: ")]
        assert label.text == "water to: lower lawn"
        (lawn,) = [place for place in made.water.destinations if place.name == "lower lawn"]
        at = shapely.Point(label.at[:2] + scene.origin[:2])
        assert lawn.shape.buffer(0.01).contains(at)
        (way,) = [edge.path for edge in made.water.areas[0].edges]
        assert shapely.LineString(way).distance(at) < 1e-6


def test_the_bed_round_a_tree_is_drawn_at_the_level_of_its_soil():
    made = planned("garden-court")
    area = made.areas[0]
    (pocket,) = area.pockets
    scene = stage(made, area, area.chosen)
    inner = pocket.polygon.buffer(-0.3)
    for view in ("finished", "yard"):
        tops = [
            body.vertices + scene.origin
            for body in scene.bodies
            if body.name == "turf" and body.material == "turf" and view in body.shown
        ]
        xyz = np.concatenate(tops)
        own = xyz[shapely.intersects_xy(inner.buffer(0.2), xyz[:, :2])]
        assert own[:, 2].max() == pytest.approx(pocket.level(own[:, :2]).max(), abs=0.02)


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
    text, tables = report.text(made), plan_tables(made)
    for area in made.water.areas:
        assert f"rain on {area.name}" in text
        for edge in area.edges:
            assert f" leaves {made.places.at(edge.at)}, at" in text
        assert rain_words(made.water, area) in text
    assert len(tables["water"].rows) == sum(len(area.shares) for area in made.water.areas)
    assert ("low-spots" in tables) == bool(made.water.low_spots)
    assert ("downspouts" in tables) == bool(made.water.downspouts)


def test_channels_and_pipes_that_are_built_are_drawn_where_they_are_dug():
    """The channel as its site has it, and the pipe of the downspout by its turn to its end."""
    plan = sampled("drained-patio")
    sheet = water_sheet(plan, page_for("ft"))
    drawn = [np.asarray(part.points) for view in sheet.views
             for part in view.drawing.of("built run")]  # fmt: skip
    ends = [np.sort(line[[0, -1]], axis=0) / FOOT for line in drawn]
    for asked in ([[2, 11], [16, 11]], [[20, 0.3], [25, 15]]):
        assert any(np.allclose(found, np.sort(asked, axis=0), atol=1e-6) for found in ends)
    corners = np.concatenate(drawn) / FOOT
    assert np.isclose(corners, [20.5, 6], atol=1e-6).all(axis=1).any()
    assert not any(view.drawing.of("extension of a spout") for view in sheet.views)
