"""How it is built: bottom up, every cubic foot of the plan moved once, all base systems in step."""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from measure.dug_solids import holes_of, layer_of
from msgspec.structs import replace

import grading
import sample_sites
from grading.order.footprints import footprint_of
from grading.order.model import order_of
from grading.order.sequence import (
    DUG_OUT,
    MOST_LIFT_STEPS,
    PAVER_STEPS,
    UNTOUCHED,
    build_ups,
    counted,
    surface_of,
)
from grading.site.model import GroundSpec
from grading.units import FOOT, INCH
from viz.building.in_step import PHASES, in_step
from viz.building.stages import left_of, staged, view
from viz.scene.backdrop import backdrop_of
from viz.scene.frame import frame_of
from viz.scene.layers.cutaway import cutaway_of
from viz.scene.shell import EMPTY, between, joined
from viz.scene.solids import local_origin

SITES = (*sample_sites.names(), "own bases")

LIFT = 4 * INCH
"""The thickest lift of stone: common practice, no source."""

OWN = [
    {"name": "thick", "layers": [
        {"name": "clay paver", "thickness": "65 mm"},
        {"name": "bedding sand", "thickness": "30 mm"},
        {"name": "woven fabric", "thickness": "2 mm"},
        {"name": "open-graded base", "thickness": "450 mm"},
        {"name": "crusher run", "thickness": "150 mm"},
    ]},
    {"name": "on the slab", "over": "sound concrete", "layers": [
        {"name": "paver", "thickness": "60 mm"},
        {"name": "bedding sand", "thickness": "20 mm"},
    ]},
]  # fmt: skip


@cache
def plan_of(name):
    if name != "own bases":
        return sampled(name)
    spots = grid_of_spots(lambda x, y: 10 - 0.03 * y + 0.03 * np.sin(1.7 * x))
    ground = GroundSpec(soil="loam", organics=0.12)
    return grading.plan(site_of(spots, [PATIO], house=WALL, bases=OWN, ground=ground))


@cache
def built_of(name):
    """Return each area of a site with its build-ups."""
    plan = plan_of(name)
    order = order_of(plan, plan.crew)
    return [
        (area, order.areas[k], build_ups(order, area, bands_of(plan, area), plan.site.unit))
        for k, area in enumerate(plan.areas)
    ]


def bands_of(plan, area):
    return cutaway_of(frame_of(plan, area), area.outline).bands(area.outline, PAVER_STEPS)


def every(name):
    for area, ordered, built in built_of(name):
        for each in built:
            yield area, ordered.bases[each.base], each


def level_of(hole, dug):
    return surface_of(hole.ground, hole.organics, hole.floor, dug)


def earth(holes, before, after):
    """Return what is dug out between two stages."""
    return joined(
        [between(part.sheet, level_of(part, before), level_of(part, after)) for part in holes]
    )


def solid_of(found, finish, holes, origin):
    """Return a piece as a closed solid; geotextile has no volume and gives an empty one."""
    if found.kind == "refill":
        return joined([part.filled(*found.share) for part in holes])
    if found.kind == "geotextile":
        return EMPTY
    return layer_of(found.footprint, finish, found.top, found.thickness, origin)


def pieces_of(built):
    return [found for step in built.steps for found in step.pieces]


@pytest.mark.parametrize("name", SITES)
def test_every_base_system_is_built_from_the_bottom_up(name):
    for area, _, built in every(name):
        phases = [step.phase for step in built.steps]
        assert phases == sorted(phases, key=list(PHASES).index)
        assert phases[0] == "today"
        assert phases[-1] == "finish"
        laid = [each for each in pieces_of(built) if each.kind == "layer"]
        bottoms = [each.top + each.thickness for each in laid]
        assert bottoms == sorted(bottoms, reverse=True), "no layer goes in under another"
        assert bottoms[0] == pytest.approx(area.digs[built.base].build_up)
        assert laid[-1].top == 0
        # Each layer lies on the one before it.
        for below, above in pairwise(laid):
            if above.footprint is not below.footprint and above.top == below.top:
                continue  # the next courses of pavers
            assert above.top + above.thickness == pytest.approx(below.top)


@pytest.mark.parametrize("name", SITES)
def test_the_earth_that_is_dug_is_that_of_the_plan_by_the_volume_of_its_solid(name):
    for area, _, built in every(name):
        dig = area.digs[built.base]
        holes = holes_of(dig, local_origin(dig))
        dug, before, left = 0.0, UNTOUCHED, []
        for step in built.steps:
            if step.dug != before:
                solid = earth(holes, before, step.dug).mesh()
                assert solid.is_watertight
                assert solid.volume > 0
                dug += solid.volume
                before = step.dug
            assert step.figures.dug == pytest.approx(dug, rel=1e-9, abs=1e-9)
            left.append(sum(each.volume for part in holes for each in left_of(part, step.dug)))
            assert left[-1] == pytest.approx(dig.cut - dug, rel=1e-9, abs=1e-9)
        assert dug == pytest.approx(dig.cut, rel=1e-9, abs=1e-9)
        assert left == sorted(left, reverse=True), "earth only leaves"


@pytest.mark.parametrize("name", SITES)
def test_every_layer_weighs_area_times_thickness(name):
    for area, job, built in every(name):
        dig = area.digs[built.base]
        origin = local_origin(dig)
        holes = holes_of(dig, origin)
        shoulder = job.jobs[0].shoulder.area
        stands = shapely.union_all([each.stands for each in job.jobs[0].structures])
        stands = stands.difference(dig.outline)
        made: dict[str, float] = {}
        for found in pieces_of(built):
            solid = solid_of(found, area.finish.surface, holes, origin)
            assert solid.volume == pytest.approx(found.volume, rel=1e-8, abs=1e-9), found.name
            made[found.name] = made.get(found.name, 0.0) + solid.volume
        for layer in dig.system.layers:
            region = dig.polygon if layer.spreads else dig.outline
            clean = layer.material == "open-graded"
            # What stands beside the paving takes the place of base, and so does its drain stone.
            region = region.difference(stands)
            # No paver over a grate or its channel, nothing else in the concrete round it.
            takes = ("channel", "grate") + (() if layer.role == "paver" else ("concrete",))
            drains = [each for each in job.jobs[0].structures
                      if any(one.material == "grate" for one in each.solids)]  # fmt: skip
            let_in = [one.footprint for each in drains for one in each.solids
                      if one.material in takes]  # fmt: skip
            region = region.difference(shapely.union_all(let_in))
            if layer.role == "base" and not clean:
                drained = [each.drained for each in job.jobs[0].structures]
                region = region.difference(shapely.union_all(drained))
            wanted = (region.area - shoulder * clean) * layer.thickness
            assert made[layer.name] == pytest.approx(wanted, rel=1e-8), layer.name
        wanted = shoulder * job.jobs[0].shoulder_height
        assert made.get("shoulder of the edge", 0.0) == pytest.approx(wanted, rel=1e-8)
        assert made.get("refill", 0.0) == pytest.approx(dig.fill, rel=1e-8, abs=1e-3)
        # No soil is put back where a channel runs on beyond the paving.
        bodies = shapely.union_all([
            one.footprint for each in job.jobs[0].structures for one in each.solids
            if one.material in ("channel", "grate")
        ])  # fmt: skip
        beside = dig.beside.difference(stands.union(bodies))
        wanted = beside.area * dig.system.above_edge
        assert made.get("backfill", 0.0) == pytest.approx(wanted, rel=1e-8, abs=1e-3)


@pytest.mark.parametrize("name", SITES)
def test_a_layer_lies_where_the_order_counts_it(name):
    for area, job, built in every(name):
        takeoff = job.jobs[0]
        for part in takeoff.layers:
            region = footprint_of(takeoff, part.layer)
            if part.layer.material == "open-graded":
                region = region.difference(takeoff.shoulder)
            wanted = region.area * part.layer.thickness
            assert part.volume == pytest.approx(wanted, rel=1e-8), (area.area.name, built.base)


def test_what_holds_the_edge_stands_before_stone_is_laid_behind_it():
    for area, job, built in every("raised-patio"):
        structures = [each for each in job.jobs[0].structures if each.solids]
        assert structures, "its edge stands some 15 in over the lawn"
        told = [(k, each) for k, step in enumerate(built.steps) for each in step.structures]
        assert [each for _, each in told] == structures
        laid = next(k for k, step in enumerate(built.steps) if step.phase == "base" and step.pieces)
        assert max(k for k, _ in told) < laid
        back = backdrop_of(plan_of("raised-patio"), area)
        scene = staged(built, back)
        for k, structure in told:
            bodies = [body for body in scene.bodies if body.name == structure.name]
            # A pipe on the low side lies before the cut.
            assert {body.material for body in bodies} == {
                solid.material
                for solid in structure.solids
                if solid.footprint.intersection(back.cutaway.kept).area > 0
            }
            for body in bodies:
                assert view(k) in body.shown
                assert view(k - 1) not in body.shown
                assert view(len(built.steps) - 1) in body.shown


@pytest.mark.parametrize("name", SITES)
def test_lifts_add_up_and_none_is_thicker_than_four_inches(name):
    for area, _, built in every(name):
        for layer in area.digs[built.base].system.layers:
            lifts = [each for each in pieces_of(built) if each.name == layer.name]
            if layer.role != "base":
                assert len({each.top for each in lifts}) == 1
                continue
            assert sum(each.thickness for each in lifts) == pytest.approx(layer.thickness)
            assert max(each.thickness for each in lifts) <= LIFT + 1e-9
            # One lift fewer would not do.
            assert layer.thickness / max(len(lifts) - 1, 1e-9) > LIFT
        refill = [each for each in pieces_of(built) if each.kind == "refill"]
        assert all(each.thickness <= LIFT + 1e-9 for each in refill)


def test_a_thick_base_goes_several_lifts_to_a_step_and_loses_none():
    built = next(each for _, _, each in every("own bases") if each.base == "thick")
    steps = [step for step in built.steps if "open-graded base" in step.title]
    assert len(steps) == MOST_LIFT_STEPS
    lifts = [[each for each in step.pieces if each.name in step.title] for step in steps]
    assert sum(map(len, lifts)) == np.ceil(0.45 / LIFT)
    titles = [step.title for step, of in zip(steps, lifts, strict=True) if len(of) > 1]
    assert titles == ["open-graded base, lifts 3 and 4 of 5: 180 mm"]


def test_a_sites_own_layers_come_in_their_own_order():
    built = next(each for _, _, each in every("own bases") if each.base == "thick")
    order = list(dict.fromkeys(each.name for each in pieces_of(built)))
    order.remove("refill") if "refill" in order else None
    assert order == [
        "crusher run", "open-graded base", "shoulder of the edge", "woven fabric",
        "bedding sand", "clay paver", "backfill",
    ]  # fmt: skip
    assert not any(each.kind == "geotextile" for each in pieces_of(built)), "it is a layer here"


@pytest.mark.parametrize("name", SITES)
def test_the_count_only_grows_and_ends_at_the_plan_and_the_order(name):
    for area, job, built in every(name):
        dig, haul = area.digs[built.base], job.haul
        for before, after in pairwise(step.figures for step in built.steps):
            for key in ("depth", "dug", "out", "stone", "bins", "deliveries"):
                assert getattr(after, key) >= getattr(before, key) - 1e-12, key
        first, last = built.steps[0].figures, built.steps[-1].figures
        assert (first.depth, first.dug) == (0, 0)
        if dig.cut > 1e-3:
            assert (first.out, first.bins) == (0, 0)
        assert last.depth == dig.max_dig
        assert last.dug == dig.cut
        assert (last.out, last.stone) == (haul.out.count, haul.stone.count)
        assert (last.bins, last.deliveries) == (haul.bins.count, haul.deliveries.count)
        for step in built.steps:
            if step.dug == DUG_OUT:
                assert step.figures.bins == haul.bins.count, "all soil is out with the dig"


@pytest.mark.parametrize("name", SITES)
def test_depth_at_each_stage_is_the_greatest_between_ground_and_surface(name):
    for area, _, built in every(name):
        dig = area.digs[built.base]
        holes = holes_of(dig, local_origin(dig))
        for step in built.steps:
            deepest = max(
                float((part.ground - level_of(part, step.dug))[used].max())
                for part in holes
                for used in [np.unique(part.sheet.faces)]
            )
            assert step.figures.depth == pytest.approx(deepest, abs=1e-9)


def test_loads_are_counted_when_they_are_begun():
    assert counted(2, 0.0) == 0
    assert counted(2, 1e-6) == 1
    assert counted(2, 0.5) == 1
    assert counted(2, 0.500001) == 2
    assert counted(7, 1.0) == 7


@pytest.mark.parametrize("name", SITES)
def test_all_base_systems_are_at_the_same_part_of_the_work(name):
    for _, _, built in built_of(name):
        frames = in_step(built)
        assert all(len(frame.moments) == len(built) for frame in frames)
        for k, each in enumerate(built):
            shown = [frame.moments[k] for frame in frames]
            numbers = [moment.step for moment in shown]
            assert numbers == sorted(numbers)
            assert set(numbers) == set(range(len(each.steps))), "no step is left out"
            for frame, moment in zip(frames, shown, strict=True):
                if moment.waits:
                    assert list(PHASES).index(each.steps[moment.step].phase) <= list(PHASES).index(
                        frame.phase
                    )
                else:
                    assert each.steps[moment.step].phase == frame.phase
        for before, after in pairwise(frames):
            moved = [one.step != two.step for one, two in zip(before.moments, after.moments,
                                                               strict=True)]  # fmt: skip
            assert any(moved), "something happens in every frame"


def test_a_base_over_concrete_waits_while_the_others_dig():
    _, _, built = built_of("own bases")[0]
    k = next(k for k, each in enumerate(built) if each.base == "on the slab")
    cut = built[k].dig.cut
    digging = [frame for frame in in_step(built) if frame.phase == "dig"]
    waits = [bool(frame.moments[k].waits) for frame in digging]
    assert waits == [cut < 1e-4] * len(digging)


@pytest.mark.parametrize("name", SITES)
def test_the_pavers_are_laid_in_parts_that_make_up_the_whole(name):
    for area in plan_of(name).areas:
        bands = bands_of(plan_of(name), area)
        assert len(bands) == PAVER_STEPS
        assert sum(band.area for band in bands) == pytest.approx(area.outline.area, rel=1e-9)
        joined = shapely.union_all(bands).symmetric_difference(area.outline)
        assert joined.area < 1e-6
        kept = cutaway_of(frame_of(plan_of(name), area), area.outline).kept
        seen = [band.intersection(kept).area for band in bands]
        assert min(seen) > 0.15 * sum(seen), "every part is seen"


@pytest.mark.parametrize("name", SITES)
def test_what_is_drawn_ends_at_the_cut_and_stands_in_one_place(name):
    plan = plan_of(name)
    for area, _, built in built_of(name):
        back = backdrop_of(plan, area)
        kept = back.cutaway.kept.buffer(0.05)
        scenes = [staged(each, back) for each in built]
        for each, scene in zip(built, scenes, strict=True):
            assert (scene.origin == scenes[0].origin).all()
            assert scene.exaggeration == scenes[0].exaggeration
            for body in scene.bodies:
                used = body.vertices[np.unique(body.faces), :2] + scene.origin[:2]
                assert shapely.contains_xy(kept, used).all(), body.name
            views = set().union(*(body.shown for body in scene.bodies))
            assert views == {view(k) for k in range(len(each.steps))}
            marked = {label.number for label in scene.labels}
            hidden = {
                number
                for number, step in enumerate(each.steps, start=1)
                if step.structures
                and not any(
                    solid.footprint.intersection(back.cutaway.kept).area
                    for structure in step.structures
                    for solid in structure.solids
                )
            }
            wanted = set(range(1, len(each.steps) + 1)) - hidden
            assert marked == wanted, "every step that is seen is pointed at"


def test_what_is_left_of_the_earth_covers_the_dug_surface_less_and_less():
    plan = plan_of("back-patio")
    area, _, built = built_of("back-patio")[0]
    scene = staged(built[0], backdrop_of(plan, area))
    high = []
    for k, step in enumerate(built[0].steps):
        if step.phase == "dig" and step.dug != DUG_OUT:
            tops = [
                body.vertices[:, 2].max()
                for body in scene.bodies
                if body.shown == {view(k)} and body.material in ("topsoil", "subsoil")
            ]
            high.append(max(tops))
    assert high == sorted(high, reverse=True)
    assert len(high) == 2


def test_thin_paving_is_shown_in_a_piece_and_it_is_said():
    plan = plan_of("side-walkway")
    area = plan.areas[0]
    cut = cutaway_of(frame_of(plan, area), area.outline)
    assert "piece" in cut.words
    shown = area.outline.intersection(cut.kept)
    assert 2 * 4 * FOOT < np.sqrt(shown.area / (4 * FOOT)) ** 2 < 0.6 * 36 * FOOT
    plan = plan_of("back-patio")
    whole = plan.areas[0]
    assert "piece" not in cutaway_of(frame_of(plan, whole), whole.outline).words
    assert replace(cut, start=-cut.reach).words != cut.words
