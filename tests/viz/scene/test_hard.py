"""What lies hard beside the paving is no lawn: the driveway that the front walk meets."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.drawn import planned

from grading.order.sequence import PAVER_STEPS, build_ups
from viz.building.stages import staged, view
from viz.desk.model.bodies import bodies_of, stand_for
from viz.scene.backdrop import backdrop_of
from viz.scene.lawn import HARD, REACH, hard_in
from viz.scene.staging import stage
from viz.scene.yard import yard_of

FOOT = 0.3048


def test_the_driveway_goes_on_along_its_crease_away_from_the_walk():
    """As the site is written: its edge runs along x = 0 from y = 0.6 to 21 ft, the walk beyond."""
    plan = planned("front-walk")
    drive = hard_in(plan, shapely.box(-50, -50, 50, 50))
    assert drive.bounds == pytest.approx((-REACH, 0.6 * FOOT, 0.0, 21 * FOOT), abs=1e-6)
    assert not drive.intersects(plan.areas[0].outline.buffer(-1e-6))
    assert hard_in(planned("back-patio"), shapely.box(-50, -50, 50, 50)).is_empty


def test_it_is_drawn_as_concrete_on_soil_and_no_turf_lies_over_it():
    plan = planned("front-walk")
    (area,) = plan.areas
    scene = stage(plan, area, area.chosen)
    drive = hard_in(plan, yard_of(plan)).buffer(-0.02)
    for seen in ("today", "dig", "layers", "finished", "slice", "apart"):
        shown = [body for body in scene.bodies if seen in body.shown and not body.pattern]
        assert {body.material for body in shown if body.name == HARD} == {"concrete", "subsoil"}
        for body in (body for body in shown if body.name == "turf"):
            corners = (body.vertices + scene.origin)[body.faces].mean(axis=1)[:, :2]
            assert not np.any(shapely.contains_xy(drive, *corners.T)), seen


def test_the_film_and_the_model_of_the_page_draw_it_too():
    """As the site is written the drive lies at x < 0: concrete is drawn there, and no turf."""
    plan = planned("front-walk")
    (area,) = plan.areas
    back = backdrop_of(plan, area)
    bands = back.cutaway.bands(area.outline, PAVER_STEPS)
    for built in build_ups(plan.order, area, bands, plan.site.unit):
        scene = staged(built, back)
        for number, _ in enumerate(built.steps):
            shown = [body for body in scene.bodies if view(number) in body.shown]
            assert_parted_at_the_drive(
                {kind: [body.vertices + back.origin for body in shown
                        if body.material == kind and not body.pattern]
                 for kind in ("concrete", "turf")}
            )  # fmt: skip
    model = bodies_of(plan, area, area.chosen, stand_for(plan, area))
    assert_parted_at_the_drive(
        {kind: [part.solid.vertices + model.stand.origin for part in model.parts
                if part.look.kind == kind] for kind in ("concrete", "turf")}
    )  # fmt: skip


def assert_parted_at_the_drive(found):
    """Between y = 0.6 and 21 ft, where the drive's edge runs along x = 0, corners (n, 3) given."""
    hard, lawn = (np.concatenate(found[kind]) for kind in ("concrete", "turf"))
    assert np.ptp(hard[:, 0]) > 1 * FOOT
    assert hard[:, 0].max() == pytest.approx(0.0, abs=1e-6)
    beside = lawn[(lawn[:, 1] > 0.61 * FOOT) & (lawn[:, 1] < 20.9 * FOOT), 0]
    assert beside.min() > -1e-6


def test_where_water_ends_is_named_on_what_is_shown():
    """A walk beside the patio goes on beyond the picture of the patio, and water runs along it."""
    plan = planned("flush-walk")
    for area in plan.areas:
        scene = stage(plan, area, area.chosen)
        ground = [body for body in scene.bodies if body.name in ("turf", "other paving, walk",
                  "other paving, patio") or body.material == "paver"]  # fmt: skip
        for label in scene.labels:
            if label.text.startswith("water to: "):
                seen = [body for body in ground if body.shown & label.shown]
                whole = shapely.MultiPoint(np.concatenate([b.vertices for b in seen])[:, :2])
                assert whole.convex_hull.buffer(0.01).covers(shapely.Point(label.at[:2]))
