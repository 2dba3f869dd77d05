"""The views of a scene beside the opened one: apart, cut across, dig depth, whole yard, things."""

from __future__ import annotations

from functools import cache
from itertools import combinations

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled
from make.sites.site_folder import write_site

import grading
import sample_sites
from grading.order.restrained import restrained_edges
from grading.units import FOOT, INCH
from viz.drawings.plan.cut_and_fill import shade
from viz.pictures.explained import labels_in, stage_of
from viz.pictures.pointed import BEND, pointed
from viz.pictures.stills import shot_of
from viz.scene.layers.laid import takeoff_of
from viz.scene.parts import CAP, only, parts_of
from viz.scene.shell import Solid
from viz.scene.slicing import STOPS, sliced
from viz.scene.staging import stage
from viz.scene.yard import yard_of

SITES = sample_sites.names()


@cache
def scene_of(name, index=0, base=None):
    plan = sampled(name)
    area = plan.areas[index]
    return sliced(stage(plan, area, base or area.chosen))


def every_area():
    for name in SITES:
        for index, area in enumerate(sampled(name).areas):
            yield pytest.param(name, index, id=f"{name}, {area.area.name}")


def flat_area(body):
    a, b, c = np.moveaxis(body.vertices[body.faces], 1, 0)
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


# ---------------------------------------------------------------- layers apart


@pytest.mark.parametrize(("name", "index"), list(every_area()))
def test_layers_float_in_order_and_clear_of_one_another(name, index):
    scene = scene_of(name, index)
    parts = {}
    for body in scene.bodies:
        if (
            "apart" in body.shown
            and not body.pattern
            and body.name in {entry.name for entry in scene.legend}
        ):
            high = scene.drawn(body.vertices)[:, 2] + body.lift
            parts[body.name] = (high.min(), high.max(), body.lift)
    order = [entry.name for entry in scene.legend]
    assert set(order) == set(parts)
    lifts = [parts[each][2] for each in order]
    assert lifts == sorted(lifts, reverse=True)
    assert lifts[-1] == 0.0
    assert len(set(lifts)) == len(lifts)


def test_the_pavers_float_as_high_on_every_base_system():
    area = sampled("garden-court").areas[0]
    found = {
        body.lift
        for base in area.digs
        for body in scene_of("garden-court", 0, base).bodies
        if body.name == "paver" and "apart" in body.shown
    }
    assert len(found) == 1


def test_only_the_view_apart_is_lifted():
    scene = scene_of("back-patio")
    parts = parts_of([scene])
    top = {
        view: max(part.points[:, 2].max() for part in only(parts, (0, view)) if not part.house)
        for view in ("apart", "dig")
    }
    assert top["apart"] > top["dig"] + 1.0


# ---------------------------------------------------------------- cut across


@pytest.mark.parametrize(("name", "index"), list(every_area()))
def test_a_cut_shows_each_layer_as_thick_as_it_is(name, index):
    """A plane square to the house cuts a layer of even upright thickness in an area of that
    thickness times the length of the cut: in closed form from the outline alone."""
    scene = scene_of(name, index)
    area = sampled(name).areas[index]
    dig = area.digs[scene.base]
    direction = scene.slices.direction
    across = np.array([-direction[1], direction[0]])
    for at in range(STOPS):
        station = float(scene.slices.stations[at]) + float(direction @ scene.origin[:2])
        ends = np.array([direction * station + across * 1e3, direction * station - across * 1e3])
        line = shapely.LineString(ends)
        laid = takeoff_of(sampled(name), area, scene.base)
        for layer in dig.system.layers:
            footprint = dig.polygon if layer.spreads else area.outline
            if layer.material == "open-graded":
                footprint = footprint.difference(laid.shoulder)
            elif layer.role == "base":
                footprint = footprint.difference(
                    shapely.union_all([each.drained for each in laid.structures])
                )
            # A wall takes the place of what would lie beside the paving.
            stands = shapely.union_all([each.stands for each in laid.structures])
            footprint = footprint.difference(stands.difference(area.outline))
            # A grate comes up between the pavers, with the channel that it lies in; what lies
            # under pavers ends at the concrete round it.
            let_in = [
                solid.footprint
                for each in laid.structures
                for solid in each.solids
                if solid.material in ("channel", "grate", "concrete")
                and (layer.role != "paver" or solid.material != "concrete")
                and any(one.material == "grate" for one in each.solids)
            ]
            footprint = footprint.difference(shapely.union_all(let_in))
            wanted = footprint.intersection(line).length * layer.thickness
            faces = [
                body
                for body in scene.bodies
                if body.cap
                and body.name == layer.name
                and abs(body.vertices[0, :2] @ direction - scene.slices.stations[at]) < 1e-3
            ]
            assert sum(map(flat_area, faces)) == pytest.approx(wanted, rel=1e-5), layer.name


@pytest.mark.parametrize("name", SITES)
def test_a_cut_is_as_large_as_a_general_library_cuts_it(name):
    """Every closed body, at every stop: trimesh's section of the same mesh."""
    import trimesh

    scene = scene_of(name)
    direction = np.append(scene.slices.direction, 0.0)
    ours, theirs = {}, {}
    for body in scene.bodies:
        if body.cap:
            ours[body.name] = ours.get(body.name, 0.0) + flat_area(body)
        elif not body.pattern and "slice" in body.shown:
            mesh = trimesh.Trimesh(body.vertices, body.faces, process=False)
            for station in scene.slices.stations:
                cut = mesh.section(plane_normal=direction, plane_origin=direction * station)
                found = 0.0 if cut is None else cut.to_2D()[0].area
                theirs[body.name] = theirs.get(body.name, 0.0) + found
    for each, area in theirs.items():
        assert ours.get(each, 0.0) == pytest.approx(area, rel=1e-5, abs=1e-5), each


def test_faces_of_the_cut_lie_in_its_plane_and_are_cut_out_alone():
    scene = scene_of("raised-patio")
    shown = only(parts_of([scene]), (0, "slice"), scene.slices, 4)
    station = float(scene.slices.stations[4])
    for part in shown:
        direction, low, high = part.clip
        assert (direction == scene.slices.direction).all()
        assert high == pytest.approx(station + (0.004 if part.cap else 0.0))
        assert (low > -np.inf) == part.cap
    for body in scene.bodies:
        if body.cap:
            reach = body.vertices[:, :2] @ scene.slices.direction
            assert np.ptp(reach) < 1e-9
            assert np.abs(scene.slices.stations - reach[0]).min() < CAP


def test_the_stops_run_from_one_end_of_the_paving_to_the_other_and_say_where():
    scene = scene_of("back-patio")
    step = np.diff(scene.slices.stations)
    assert step == pytest.approx(25 * FOOT / STOPS)
    assert len(scene.slices.words) == STOPS
    assert scene.slices.words[STOPS // 2].startswith("12' 6\"")


def test_labels_of_what_is_cut_away_go_with_it():
    scene = scene_of("back-patio")
    counts = [len(labels_in(scene, f"slice:{at}")) for at in (0, STOPS - 1)]
    assert counts[0] < counts[1]
    numbers = [
        label.number for label in labels_in(scene, f"slice:{STOPS // 2}") if label.kind == "layer"
    ]
    assert set(numbers) >= {1, 2, 3}


# ---------------------------------------------------------------- what numbers point at


@pytest.mark.parametrize(("name", "index"), [*every_area(), ("larch-lane", 0), ("larch-lane", 1)])
@pytest.mark.parametrize("kind", ["layers", "apart", "slice"])
def test_every_layer_that_is_seen_has_a_leader_and_no_leader_crosses_another(name, index, kind):
    """Held by shapely, as lines from the column to the dots."""
    scene = scene_of(name, index)
    view = f"slice:{STOPS // 2}" if kind == "slice" else kind
    eye = shot_of(scene, parts_of([scene]), 0, view, stage_of(view)[2:])[1]
    labels = [label for label in labels_in(scene, view) if label.kind == "layer"]
    dots, rows = pointed(scene, labels, view, eye)
    assert set(dots) == {entry.number for entry in scene.legend}
    leaders = [
        shapely.LineString([(BEND, rows.middle(row)), dots[entry.number]])
        for row, entry in enumerate(scene.legend)
    ]
    assert not any(one.intersects(other) for one, other in combinations(leaders, 2))


# ---------------------------------------------------------------- dig depth


@pytest.mark.parametrize(("name", "index"), list(every_area()))
def test_bands_of_depth_cover_the_dig_in_plan_and_lie_on_its_floor(name, index):
    area = sampled(name).areas[index]
    scene = scene_of(name, index)
    bands = [body for body in scene.bodies if body.material == "depth"]
    covered = 0.0
    for body in bands:
        flat = body.vertices * [1, 1, 0]
        a, b, c = np.moveaxis(flat[body.faces], 1, 0)
        covered += float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)
    assert covered == pytest.approx(area.chosen_dig.dig_area, rel=1e-4)
    assert len({body.colour for body in bands}) >= 2
    assert {label.text.rpartition(" ")[2] for label in scene.labels
            if label.kind == "depth"} <= {"deep", "fill"}  # fmt: skip
    # Middles of triangles lie on the dug surface: ground less depth, read off the plan itself.
    dig, ground = area.chosen_dig, sampled(name).ground
    for body in bands:
        middle = body.vertices[body.faces].mean(axis=1) + scene.origin
        known = np.isfinite(ground.elevation(middle[:, :2]))
        level = ground.elevation(middle[known, :2]) - ground.organics_at(middle[known, :2])
        floor = np.minimum(level, dig.formation.at(middle[known, :2]))
        assert middle[known, 2] == pytest.approx(floor, abs=0.004)


def test_deeper_is_browner():
    assert [shade(depth, 0.3) for depth in (0.02, 0.15, 0.3)] == sorted(
        (shade(depth, 0.3) for depth in (0.02, 0.15, 0.3)), reverse=True
    )


# ---------------------------------------------------------------- whole yard


@pytest.mark.parametrize("name", SITES)
def test_the_yard_is_all_that_was_surveyed_outside_the_house(name):
    plan = sampled(name)
    region = yard_of(plan)
    spots = shapely.points(plan.site.spots.xyz[:, :2])
    house = plan.site.house
    inside = house.polygon(5.0) if house is not None else shapely.Polygon()
    outside = spots[~shapely.intersects(inside.buffer(1e-6), spots)]
    assert shapely.intersects(region.buffer(0.01), outside).all()
    assert region.intersection(inside).area < 1e-6


def test_the_yard_shows_the_paving_of_every_area():
    scene = scene_of("garden-court")
    names = {body.name for body in scene.bodies if "yard" in body.shown}
    assert {"paver", "other paving, studio path", "house wall", "turf"} <= names


# ---------------------------------------------------------------- what stands on the paving


def test_a_fire_stands_level_down_to_the_paving_and_at_its_true_height():
    plan = sampled("back-patio")
    scene = scene_of("back-patio")
    seat = plan.advice.features[0]
    bodies = [body for body in scene.bodies if body.name == seat.name and not body.cap]
    low = min(body.vertices[:, 2].min() for body in bodies if body.material == "block")
    high = max(body.vertices[:, 2].max() for body in bodies if body.material == "cap")
    assert high - low == pytest.approx(seat.feature.height)
    drawn = [scene.drawn(body.vertices, body.stands)[:, 2] for body in bodies]
    assert scene.exaggeration > 1
    body_drawn = max(d.max() for d in drawn) - scene.exaggeration * low
    assert body_drawn == pytest.approx(seat.feature.height + 0.01, abs=1e-6)
    # Between the level and the finish there is as much of it as there is bedding below.
    foot = [b for b in scene.bodies if b.name == f"foot of {seat.name}" and not b.cap]
    volume = sum(Solid(body.vertices, body.faces).volume for body in foot)
    assert volume == pytest.approx(seat.wedge.volume, rel=1e-6)
    assert not [b for b in scene.bodies if b.name.startswith("wedge")]
    assert "true height" in scene.exaggeration_words


def test_edge_restraint_lies_along_the_free_edges_only():
    plan = sampled("back-patio")
    scene = scene_of("back-patio")
    along = shapely.union_all(list(restrained_edges(plan, plan.areas[0])))
    found = [b for b in scene.bodies if b.name == "edge restraint" and not b.cap]
    assert found
    for body in found:
        points = shapely.points(body.vertices[:, :2] + scene.origin[:2])
        assert shapely.distance(points, along).max() < 3 * INCH
    upright = max(np.ptp(body.vertices[:, 2]) for body in found)
    assert upright > 1.5 * INCH


def test_a_step_of_two_risers_has_a_tread_half_way_down(tmp_path):
    spots = [(x, y, 9.9 - 0.05 * y) for x in range(-3, 9, 2) for y in range(-3, 12, 2)]
    write_site(
        tmp_path,
        """
name = "Two terraces"
unit = "m"
spots = "spots.csv"
[[area]]
name = "upper"
outline = [[0, 0], [4, 0], [4, 3], [0, 3]]
base = "open"
plane = {at = [0, 0], z = 100.0, fall = "2 %", bearing = 0}
[[area]]
name = "lower"
outline = [[0, 3], [4, 3], [4, 6], [0, 6]]
base = "open"
plane = {at = [0, 3], z = 99.64, fall = "2 %", bearing = 0}
[[step]]
down = ["upper", "lower"]
risers = 2
""",
        **{"spots.csv": "x,y,z\n" + "\n".join(",".join(map(str, spot)) for spot in spots)},
    )
    plan = grading.plan(grading.read_site(tmp_path))
    scene = stage(plan, plan.areas[1], "open")
    treads = [b for b in scene.bodies if b.material == "cap" and not b.cap and "yard" in b.shown]
    tops = sorted(tread.vertices[:, 2].max() + scene.origin[2] for tread in treads)
    # Upper finish at the edge 100 - 0.02 * 3, lower 99.64: half way between, in closed form, and
    # the cap of the top course, which goes 0.3 m back into the upper paving.
    assert tops == pytest.approx([(99.94 + 99.64) / 2, 100 - 0.02 * 2.7], abs=0.005)
    low = min(treads, key=lambda tread: tread.vertices[:, 2].max())
    assert np.ptp(low.vertices[:, 1]) == pytest.approx(0.3, abs=1e-6)


def test_geotextile_is_drawn_where_the_order_has_it():
    for base, wanted in (("panel", True), ("dense", True), ("open", True)):
        scene = scene_of("back-patio", 0, base)  # on clay
        assert ("geotextile" in {entry.name for entry in scene.legend}) == wanted
    assert "geotextile" not in {entry.name for entry in scene_of("front-walk", 0, "dense").legend}


@pytest.mark.parametrize("view", ["layers", "finished"])
def test_nothing_is_painted_where_a_thing_would_hide_it(view):
    plan = sampled("back-patio")
    scene = scene_of("back-patio")
    thing = plan.advice.features[0].feature.polygon.buffer(1 * INCH)
    painted = [body for body in scene.bodies if body.material == "paint" and view in body.shown]
    assert painted
    for body in painted:
        triangles = shapely.polygons(body.vertices[body.faces][:, :, :2] + scene.origin[:2])
        assert not shapely.intersects(thing, triangles).any()
