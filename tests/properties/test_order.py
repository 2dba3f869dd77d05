"""What must hold of every order: more of one thing is never less of another."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from make.plans.jobs import crew, level_yard, patio

from grading.crew.estimate import Spread
from grading.crew.model import default_crew
from grading.order.edge_lines import spikes
from grading.order.laid.panels import lay_panels
from grading.order.laid.units import lay
from grading.order.model import order_of
from grading.order.takeoff import fabric_over
from grading.units import FOOT, INCH

PATTERNS = ["running", "stack", "herringbone 90", "herringbone 45"]
BASES = ["dense", "open", "panel"]
# Topsoil that weighs and swells as the soil under it: deeper alone is what is asked.
SAME = {"loam-bank": "3000 lb/yd3", "organics-bank": "3000 lb/yd3"}

sides = st.floats(0.3, 4.0)
more = st.floats(0.0, 1.5)


@cache
def deep(inches):
    order = order_of(level_yard((12, 9), organics=inches * INCH, soil="loam"), crew(materials=SAME))
    return {base: patio(order, base) for base in BASES}


@settings(max_examples=40)
@given(st.integers(0, 32), st.integers(0, 32))
def test_deeper_organics_never_cost_less(one, other):
    """In half inches."""
    less, deeper = (deep(half / 2) for half in sorted((one, other)))
    for base in BASES:
        assert deeper[base].cost.total >= less[base].cost.total - 1e-6
        assert deeper[base].haul.out.count >= less[base].haul.out.count
        assert deeper[base].haul.bins.count >= less[base].haul.bins.count
        assert deeper[base].time.mean >= less[base].time.mean - 1e-6


WASTES = ["dense-graded-waste", "open-graded-waste", "chips-waste", "bedding-sand-waste",
          "paver-breakage", "panel-breakage", "edging-waste", "joint-sand-waste", "sod-waste",
          "paver-spare"]  # fmt: skip


@cache
def small():
    return order_of(level_yard((12, 9), organics=0.1), default_crew())


@settings(max_examples=60)
@given(st.sampled_from(WASTES), st.floats(0, 0.4), st.floats(0, 0.4), st.sampled_from(BASES))
def test_more_waste_never_orders_less(name, one, other, base):
    order = small()
    entry = order.crew.materials[name]
    scale = 100 if name == "paver-spare" else 1
    jobs = [patio(order.having(order.crew.having(entry, share * scale)), base)
            for share in sorted((one, other))]  # fmt: skip
    for less, more_ in zip(jobs[0].supplies, jobs[1].supplies, strict=True):
        assert more_.item == less.item
        assert more_.count >= less.count
        assert more_.cost >= less.cost
    assert jobs[1].cost.total >= jobs[0].cost.total - 1e-6


@settings(max_examples=80)
@given(sides, sides, more, more, st.sampled_from(PATTERNS), st.sampled_from([0.0, 0.003]))
def test_larger_area_never_needs_fewer_units(wide, high, wider, higher, pattern, joint):
    size = (0.2, 0.1)
    one = lay(shapely.box(0, 0, wide, high), pattern, size, joint)
    other = lay(shapely.box(0, 0, wide + wider, high + higher), pattern, size, joint)
    assert other.units >= one.units
    assert other.covered >= one.covered - 1e-6


@settings(max_examples=60)
@given(sides, sides, more, more)
def test_larger_hole_never_needs_fewer_panels(wide, high, wider, higher):
    paving = shapely.box(0, 0, 9, 1)
    holes = [shapely.box(0, 0, wide, high), shapely.box(0, 0, wide + wider, high + higher)]
    one, other = (lay_panels(hole, paving, (36 * INCH, 24 * INCH)) for hole in holes)
    assert other.units >= one.units


@settings(max_examples=80)
@given(st.sampled_from(PATTERNS), st.integers(3, 9), st.integers(0, 10_000))
def test_units_cover_what_is_laid(pattern, corners, seed):
    """Whatever the shape: no fewer units than faces laid, and joints are the rest of the area."""
    rng = np.random.default_rng(seed)
    turns = np.sort(rng.uniform(0, 2 * np.pi, corners))
    ring = rng.uniform(0.5, 1.5, corners)[:, None] * np.column_stack([np.cos(turns), np.sin(turns)])
    shape = shapely.Polygon(ring)
    if not shape.is_valid or shape.area < 0.05:
        return
    laid = lay(shape, pattern, (0.2, 0.1), 0.0)
    assert laid.units * laid.face >= laid.covered - 1e-6
    # Without joints everything is covered but what is narrower than a millimetre.
    assert laid.covered == pytest.approx(shape.area, abs=2e-3 * shape.length + 1e-6)
    assert laid.whole + laid.cut == len(laid.boxes)


@given(st.floats(0.5, 30), st.floats(0.5, 20), st.floats(0, 1), st.floats(0.3, 2))
def test_fabric_covers_the_hole(wide, high, up, more_):
    hole, paving = shapely.box(0, 0, wide, high), shapely.box(0, 0, 40, 1)
    fabric = fabric_over(hole, paving, up, 1.8, 0.3)
    assert fabric.length * 1.8 >= fabric.covered - 1e-6
    wider = fabric_over(shapely.box(0, 0, wide, high + more_), paving, up, 1.8, 0.3)
    assert wider.length >= fabric.length - 1e-9


@given(st.floats(0.2, 60), st.floats(0, 20), st.booleans())
def test_longer_edge_never_takes_fewer_spikes(long, longer, closed):
    count = [spikes(((length, closed),), 8 * FOOT, default_crew())
             for length in (long, long + longer)]  # fmt: skip
    assert count[1] >= count[0]


parts = st.tuples(st.floats(0, 50), st.floats(0, 30), st.floats(0, 30)).map(
    lambda p: (p[0], p[0] + p[1], p[0] + p[1] + p[2])
)


@settings(max_examples=60)
@given(st.lists(parts, min_size=1, max_size=6), st.floats(0, 1), st.floats(0, 1))
def test_quantiles_rise_and_stay_in_bounds(estimate, one, other):
    spread = Spread(tuple(estimate))
    low, high = (spread.quantile(share) for share in sorted((one, other)))
    assert spread.low - 1e-9 <= low <= high + 1e-9 <= spread.high + 1e-6
    assert spread.low - 1e-9 <= spread.mean <= spread.high + 1e-9


def test_a_spread_too_small_to_divide_by_is_none():
    for parts in ([(0.0, 0.0, 5e-324)], [(0.0, 0.0, 1.0), (0.0, 0.0, 5e-324)]):
        spread = Spread(tuple(parts))
        assert spread.low <= spread.quantile(0.5) <= spread.high
