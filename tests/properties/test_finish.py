"""What must hold of the fitted finish whatever the yard and its wishes."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from make.sites.yards import Yard, put, stay, yards
from msgspec.structs import replace

from grading.catalogue.rules import RULES, Limits
from grading.design.area import AreaPlan
from grading.errors import NoFinish
from grading.finish.layout import Block
from grading.finish.shapes import plane_shape
from grading.finish.together import centre_of
from grading.finish.wishes.model import joined
from grading.finish.wishes.of_site import standing_of
from grading.ground.model import survey_to_ground
from grading.pipeline import plan
from grading.site.model import Site
from grading.site.walls import walls_in_reach

LEAST_FALL = RULES["least-fall"].limit
many = settings(
    max_examples=50,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


def planned(site: Site) -> AreaPlan | None:
    """Return the plan of the patio, None where no plane meets every wish."""
    try:
        return plan(site).areas[0]
    except NoFinish:
        return None


def fitted(yard: Yard) -> AreaPlan:
    """Return the plan of the yard's patio; a yard whose wishes conflict is passed over."""
    area = planned(yard.site())
    assume(area is not None)
    assert area is not None
    return area


def earth_of(area: AreaPlan, unknowns: np.ndarray) -> float:
    """Earth moved in the outline under a finish, from the volumes alone. [m3]"""
    paved = area.chosen_dig.paved
    level, dzdx, dzdy = unknowns
    z0 = level - paved.centre @ [dzdx, dzdy] - area.chosen_dig.build_up
    volumes = paved.volumes(z0, dzdx, dzdy)
    return volumes.cut + volumes.fill


def allowed(area: AreaPlan, unknowns: np.ndarray) -> bool:
    """Say whether a finish meets every wish, and drains where no wall says which way."""
    if not area.walls and np.hypot(*unknowns[1:]) < LEAST_FALL:
        return False
    return all(wish.margin(unknowns) >= 0 for wish in area.wishes)


@many
@given(yards(), st.integers(0, 2**32 - 1))
def test_no_other_allowed_plane_moves_less(yard, seed):
    area = fitted(yard)
    best = area.unknowns
    assert area.finish.moved == pytest.approx(earth_of(area, best), rel=1e-9, abs=1e-9)
    rng = np.random.default_rng(seed)
    for size in np.repeat([1.0, 0.1, 0.01, 0.001], 50):
        way = rng.normal(size=3) * [0.3, 0.02, 0.02]
        # Some keep one of the best plane's slopes: bounds that hold it leave no other way.
        way *= rng.random(3) < 0.6
        other = best + size * way
        if allowed(area, other):
            assert earth_of(area, other) >= area.finish.moved - area.finish.gap - 1e-7


@many
@given(yards())
def test_the_fitted_plane_meets_every_wish_and_proves_itself(yard):
    area = fitted(yard)
    for wish in area.wishes:
        assert wish.margin(area.unknowns) >= -1e-7, wish.text
    if not area.walls:
        assert area.finish.plane.fall >= LEAST_FALL - 1e-7
    assert 0 <= area.finish.gap <= 1e-6 * max(1.0, area.finish.moved)


@many
@given(yards())
def test_a_plane_is_refused_only_where_there_is_none(yard):
    """SciPy's linear programming says the same. The disc of slopes is taken as a polygon of 720
    sides: a plane for one within it proves that there is one, none for one round it that there
    is none."""
    from scipy.optimize import linprog

    site = yard.site()
    ground = survey_to_ground(site)
    patio = site.areas[0]
    walls = walls_in_reach(site.house, patio.polygon, Limits({})["foundation-reach"])
    assume(walls)  # else the least fall may run any way, which is no linear program
    block = Block(patio, plane_shape(patio.polygon), centre_of(patio), 0, 3)
    asked = standing_of(site, block, ground, walls)
    bounds = joined((*asked.falls, *asked.of_doors(site, {}), *asked.levels), 3)
    (disc,) = bounds.discs
    turns = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    tangents = np.column_stack([np.zeros(720), np.cos(turns), np.sin(turns)])
    rows = np.vstack([bounds.rows, -bounds.rows])
    limits = np.concatenate([bounds.upper, -bounds.lower])
    finite = np.isfinite(limits)

    def has_plane(radius: float, slack: float) -> bool:
        answer = linprog(
            np.zeros(3),
            A_ub=np.vstack([rows[finite], tangents]),
            b_ub=np.concatenate([limits[finite] + slack, np.full(720, radius)]),
            bounds=[(None, None)] * 3,
            method="highs-ds",
        )
        return bool(answer.status == 0)

    found = planned(site) is not None
    if has_plane(disc.radius * np.cos(np.pi / 720), -1e-7):
        assert found
    if not has_plane(disc.radius, 1e-6):
        assert not found


@many
@given(yards(), st.floats(-180, 180), st.floats(-300, 300), st.floats(-300, 300))
def test_a_turned_and_shifted_yard_has_the_same_finish(yard, turn, east, north):
    here = fitted(yard)
    there = planned(yard.site(put(turn, east, north)))
    assert there is not None
    assert there.finish.moved == pytest.approx(here.finish.moved, rel=1e-6, abs=1e-6)
    # What moves the same earth need not be the same plane; where a wall binds, its fall is.
    for one, other in zip(here.walls, there.walls, strict=True):
        if one.fall_away <= LEAST_FALL * (1 + 1e-6):
            assert other.fall_away == pytest.approx(one.fall_away, abs=1e-4)


@many
@given(yards(), st.floats(-180, 180), st.floats(-300, 300), st.floats(-300, 300))
def test_a_turned_and_shifted_yard_lies_as_near_to_the_lawn(yard, turn, east, north):
    here, there = (
        planned(yard.site(place, grade="as it lies")) for place in (stay, put(turn, east, north))
    )
    assume(here is not None)
    assert there is not None
    departures = [each.group.solved.held.departure(each.unknowns) for each in (here, there)]
    assert departures[1] == pytest.approx(departures[0], abs=2e-5)
    assert there.finish.work == pytest.approx(here.finish.work, abs=5e-3)


@many
@given(yards())
def test_feet_or_metres_in_the_same_plan_out(yard):
    metric = fitted(yard)
    # Layers are of round sizes in either: here of the same ones.
    imperial = planned(replace(yard.site(unit="ft"), nominal="m"))
    assert imperial is not None
    assert imperial.finish.moved == pytest.approx(metric.finish.moved, rel=1e-6, abs=1e-6)


@many
@given(yards(), st.floats(-200, 200))
def test_the_datum_does_not_matter(yard, raised):
    here = fitted(yard)
    there = planned(yard.site(raised=raised))
    assert there is not None
    assert there.finish.moved == pytest.approx(here.finish.moved, rel=1e-6, abs=1e-6)


@many
@given(yards(), st.floats(0.001, 0.2))
def test_easing_a_wish_never_moves_more(yard, eased):
    """A lower lawn or a higher siding allows all that was allowed before."""
    here = fitted(yard)
    easier = replace(
        yard,
        siding=None if yard.siding is None else yard.siding + eased,
        lawn=None if yard.lawn is None else yard.lawn - eased,
    )
    there = planned(easier.site())
    assert there is not None
    # What was found may be above the least by its own gap, and no farther.
    assert there.finish.work <= here.finish.work + there.finish.gap + 1e-7
