"""The bodies of the live model: closed, in their places, and as large as the plan says."""

from __future__ import annotations

import re
import shutil

import numpy as np
import pytest
import shapely
from make.plans.looked_at import copied
from make.plans.sampled import sampled
from msgspec.structs import replace

import grading
import sample_sites
from grading.design.door_steps import door_steps
from grading.units import size
from viz.desk.model.bodies import FAR, bodies_of, laid_of, stand_for
from viz.desk.model.telling import _box
from viz.scene.layers.treads import legend_of, treads_of
from viz.scene.shell import about


def assert_watertight(solid, name):
    """Every edge belongs to two triangles that run along it in turn: trimesh looks."""
    mesh = solid.mesh()
    assert mesh.is_watertight, name
    assert mesh.is_winding_consistent, name
    assert solid.volume > 0, name


SITES = ("back-patio", "front-walk", "side-walkway", "raised-patio", "drained-patio")


def made(name, base=None):
    plan = sampled(name)
    area = plan.areas[0]
    return bodies_of(plan, area, base or area.chosen, stand_for(plan, area))


@pytest.fixture(scope="module", params=SITES)
def bodies(request):
    return made(request.param)


@pytest.fixture(scope="module")
def court():
    return made("garden-court")


def layers(bodies):
    return {part.look.brief: part for part in bodies.parts if part.look.number}


def test_a_layer_is_as_large_as_the_plan_counts_it(bodies):
    """Takeoff counts outlines and thicknesses; a mesh knows neither."""
    found, counted = layers(bodies), 0
    laid = laid_of(bodies.plan, bodies.area, bodies.base)
    for layer in laid.layers:
        built = any(each.solids for each in laid.structures)
        if layer.volume <= 0 or (built and layer.layer.role == "paver"):
            continue  # a grate in the paving takes the place of pavers that are counted whole
        volume = found[layer.layer.name].solid.volume
        assert volume == pytest.approx(layer.volume, rel=1e-6), layer.layer.name
        counted += 1
    assert counted >= 2


@pytest.mark.parametrize("base", ["dense", "open", "panel"])
def test_a_layer_lies_where_it_is_laid_and_what_takes_its_place_beside_it(base):
    bodies = made("back-patio", base)
    dig, laid = bodies.area.digs[base], laid_of(bodies.plan, bodies.area, base)
    assert laid.standing.none
    found = layers(bodies)
    for layer in dig.layers:
        volume, shape = layer.volume, dig.polygon if layer.layer.spreads else dig.outline
        if layer.layer.material == "open-graded":
            # A shoulder that the edge is spiked into takes a part of the stone's place.
            assert laid.shoulder_area > 0
            shoulder = found["shoulder of the edge"].solid.volume
            assert shoulder == pytest.approx(laid.shoulder_area * laid.shoulder_height, rel=1e-6)
            volume -= shoulder
        part = found[layer.layer.name]
        assert part.solid.volume == pytest.approx(volume, rel=1e-6), layer.layer.name
        bounds = np.array(about(shape, bodies.stand.origin).bounds).reshape(2, 2)
        points = part.solid.vertices[:, :2]
        if part.look.kind == "open-graded":
            beside = found["shoulder of the edge"].solid.vertices[:, :2]
            points = np.concatenate([points, beside])
        np.testing.assert_allclose([points.min(axis=0), points.max(axis=0)], bounds, atol=1e-9)


def test_refill_is_as_large_as_the_dig_says():
    bodies = made("raised-patio")
    dig = bodies.area.digs[bodies.base]
    assert dig.fill > 0.1
    assert layers(bodies)["refill"].solid.volume == pytest.approx(dig.fill, rel=1e-6)


def test_no_part_has_a_hole_in_it(bodies):
    for part in bodies.parts:
        assert_watertight(part.solid, part.look.name)


def test_two_areas_stand_side_by_side_and_have_no_hole(court):
    for part in court.parts:
        assert_watertight(part.solid, part.look.name)
    low, high = _box(court, looked_at=False)
    (x0, y0), (x1, y1) = np.add([low[:2], high[:2]], court.stand.origin[:2])
    drawn = shapely.box(x0, y0, x1, y1).buffer(0.02)
    assert all(drawn.contains(area.outline) for area in court.plan.areas)
    assert np.ptp(_box(court, looked_at=True), axis=0)[0] < high[0] - low[0]
    pavers = [part for part in court.parts if part.look.kind == "paver"]
    assert len(pavers) == 2
    for part, area in zip(pavers, court.plan.areas, strict=True):
        thick = area.digs[area.chosen].system.layers[0].thickness
        assert part.solid.volume == pytest.approx(area.outline.area * thick, rel=1e-6)


def test_lawn_is_all_round_the_hole_and_not_over_it(bodies):
    lawn = [part for part in bodies.parts if part.look.role == "lawn"]
    (turf,) = (part for part in lawn if part.look.kind == "turf")
    faces = turf.solid.vertices[turf.solid.faces]
    corners = faces[:, :, :2]
    one, two = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    up = (one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]) / 2
    hole = about(bodies.area.digs[bodies.base].polygon, bodies.stand.origin)
    above = corners[up > 1e-12].mean(axis=1)
    assert not shapely.contains_xy(hole.buffer(-1e-6), above).any()
    region = shapely.union_all(shapely.polygons(corners[up > 1e-12]))
    assert shapely.difference(hole.boundary, region.buffer(1e-6)).length < hole.boundary.length
    assert region.area == pytest.approx(float(up[up > 0].sum()), rel=1e-9)


def test_wave_one_is_enough_for_it():
    """Money, water and advice take seconds; the model waits for none of them."""
    plan = sampled("side-walkway")
    asked = {"order", "advice", "water", "checks"} & set(vars(plan))
    area = plan.areas[0]
    fresh = grading.plan(replace(plan.site))
    for name in asked:
        vars(fresh).pop(name, None)
    bodies_of(fresh, fresh.areas[0], area.chosen, stand_for(fresh, fresh.areas[0]))
    assert not {"order", "advice", "water", "checks"} & set(vars(fresh))


def test_what_is_said_of_a_layer_is_what_the_legend_says(bodies):
    laid = laid_of(bodies.plan, bodies.area, bodies.base)
    legend = legend_of(treads_of(laid), laid, bodies.plan.site.unit)
    said = {part.look.number: part.look.said for part in bodies.parts if part.look.number}
    for entry in legend:
        if entry.name != "shoulder of the edge":
            assert said[entry.number].endswith(entry.words)
    assert set(said) == {entry.number for entry in legend}


def test_a_door_tells_the_step_that_every_other_paper_tells():
    bodies = made("back-patio")
    steps = door_steps(bodies.area)
    assert len(steps) == 2
    for step in steps:
        (door,) = (part for part in bodies.parts if part.look.kind == "door"
                   and part.look.brief == step.door.name)  # fmt: skip
        assert f"{size(step.step, 'ft')} step" in door.look.said
        assert any(label.text.startswith(step.door.name) for label in bodies.labels)


def changed(tmp_path, name, old, new):
    folder = tmp_path / name
    if not folder.exists():
        shutil.copytree(sample_sites.path(name), folder)
    file = folder / "site.toml"
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new), encoding="utf-8")
    return grading.plan(grading.read_site(folder))


def test_what_a_change_does_not_move_stays_the_same_to_the_last_bit(tmp_path):
    """A sill that is lower moves the layers; lawn, soil and the other door stay as they are."""
    before = made("back-patio")
    plan = changed(tmp_path, "back-patio", "sill = 100.00", "sill = 99.6")
    area = plan.areas[0]
    stand = stand_for(plan, area, before.stand)
    after = bodies_of(plan, area, before.base, stand)
    assert stand.origin is before.stand.origin
    assert stand.factor == before.stand.factor
    old, new = ({part.look.name: part.hash for part in each.parts} for each in (before, after))
    assert set(old) == set(new)
    same = {name for name in old if old[name] == new[name]}
    moved = {part.look.name for part in after.parts if part.look.number} - same
    assert len(moved) >= 4
    kept = {part.look.role for part in after.parts if part.look.name in same}
    assert {"lawn", "soil", "house"} <= kept


def test_the_model_stands_where_it_stood_until_that_is_far_off(court):
    plan, area = court.plan, court.area
    here = court.stand
    near = replace(here, origin=here.origin + FAR / 2)
    assert stand_for(plan, area, near).origin is near.origin
    far = replace(here, origin=here.origin + 2 * FAR)
    np.testing.assert_array_equal(stand_for(plan, area, far).origin, here.origin)
    assert stand_for(plan, area, replace(here, factor=100.0)).factor == here.factor
    assert stand_for(plan, area, replace(here, factor=here.factor * 1.3)).factor != here.factor
    elsewhere = replace(here, factor=here.factor * 1.3, area="another")
    assert stand_for(plan, area, elsewhere).factor == here.factor


def test_what_is_laid_on_the_foundation_gives_way_with_the_house():
    """Who looks out of the house would see a black strip instead of what lies behind it."""
    raised = made("raised-patio")
    membranes = [part for part in raised.parts if part.look.kind == "membrane"]
    assert membranes
    house = raised.plan.site.house.polygon(0.01)
    for part in membranes:
        at = part.solid.vertices[:, :2] + raised.stand.origin[:2]
        assert shapely.distance(shapely.points(at), house).max() < 0.05
        assert part.look.role == "house"
    others = {part.look.kind for part in raised.parts if part.look.role == "built"}
    assert others
    assert "membrane" not in others


def test_the_model_says_where_the_survey_ends_under_it(tmp_path):
    """Where paving reaches past the spots the ground goes on past them, and creases along them."""
    site = copied("back-patio", tmp_path)
    spots = (site / "spots.csv").read_text(encoding="utf-8").splitlines(keepends=True)
    few = [line for line in spots if not re.match(r"27\.3,|(2[89]|3\d)\.", line)]
    (site / "spots.csv").write_text("".join(few), encoding="utf-8")
    text = (site / "site.toml").read_text(encoding="utf-8")
    (site / "site.toml").write_text(re.sub(r"(?m)^breaklines = .*$", "", text), encoding="utf-8")
    plan = grading.plan(grading.read_site(site))
    (area,) = plan.areas
    assert not plan.ground.surveyed.covers(area.outline)
    bodies = bodies_of(plan, area, area.chosen, stand_for(plan, area))
    (label,) = [each for each in bodies.labels if each.kind == "ground"]
    assert label.text.startswith("the survey ends here")
    place = shapely.Point(*(label.at + bodies.stand.origin)[:2])
    assert plan.ground.surveyed.exterior.distance(place) < 1e-9
    whole = made("back-patio")
    assert not [each for each in whole.labels if each.kind == "ground"]
