"""What must move one way only, whatever the numbers."""

from __future__ import annotations

from math import inf

import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from make.plans.advised import advised, patio, planned
from make.sites.situations import planned as stated

from grading.catalogue.bases import base_systems
from grading.catalogue.verdicts import Option, Reason, Verdict
from grading.conditions.features import wedge_under
from grading.conditions.frost import (
    Stratum,
    berggren_factor,
    modified_berggren,
    stefan,
    strata_of,
    stratum,
)
from grading.conditions.load import Load, corner_influence
from grading.design.underfoot import dug_under
from grading.site.model import Feature, GroundSpec
from grading.units import DAY

PLAN = planned()
AREA = PLAN.areas[0]
BASES = ("dense", "open", "panel")

winters = st.floats(1e5, 2e8)  # K s
parts = st.tuples(
    st.floats(0.01, 0.6), st.floats(500, 2200), st.floats(0.005, 0.4), st.floats(0.03, 2.5)
)


def levels(advice):
    return {verdict.option.name: verdict for verdict in advice.area("patio").base.verdicts}


@given(st.lists(parts, max_size=4), winters, st.floats(1.01, 3))
def test_a_colder_winter_goes_deeper(layers, winter, more):
    strata = [*(Stratum("", *part) for part in layers), Stratum("", inf, 1600, 0.2, 1.5)]
    assert stefan(strata, winter * more) > stefan(strata, winter)


@given(st.lists(parts, max_size=4), winters, st.floats(5, 400), st.floats(0, 20))
def test_berggren_is_never_deeper_than_stefan(layers, winter, days, mean):
    strata = [*(Stratum("", *part) for part in layers), Stratum("", inf, 1600, 0.2, 1.5)]
    depth, factor = modified_berggren(strata, winter, days * DAY, mean)
    assert 0 < factor <= 1
    assert 0 < depth <= stefan(strata, winter) * (1 + 1e-9)


@given(st.floats(0, 20), st.floats(1e-6, 20), st.floats(1.01, 5))
def test_warmer_ground_lowers_the_factor(alpha, mu, more):
    assert berggren_factor(alpha * more + 1e-3, mu) <= berggren_factor(alpha, mu) + 1e-9


@given(winters, st.floats(0.005, 0.1), st.sampled_from(["gravel", "sand", "loam", "clay"]))
def test_a_panel_under_the_pavers_never_takes_frost_deeper_into_the_soil(winter, thick, soil):
    strata = strata_of(base_systems(())["dense"], soil)
    panel = stratum("panel", "panel", thick)
    with_panel = [strata[0], panel, *strata[1:]]
    assert stefan(with_panel, winter) - thick <= stefan(strata, winter) + 1e-9


@given(st.floats(0.01, 3), st.floats(0.01, 3), st.floats(0.05, 3), st.floats(1.01, 3))
def test_stress_falls_with_depth_and_never_exceeds_the_pressure(length, width, depth, more):
    load = Load("", 1000.0, (length, width), wheels=False, source="")
    assert load.boussinesq(depth * more) < load.boussinesq(depth) <= load.pressure * (1 + 1e-9)
    assert load.two_to_one(depth * more) < load.two_to_one(depth) < load.pressure


@given(st.floats(0.01, 50), st.floats(0.01, 50), st.floats(1.001, 2))
def test_a_larger_load_stresses_its_corner_more(m, n, more):
    assert 0 < corner_influence(m, n) <= corner_influence(m * more, n) + 1e-12 < 0.25 + 1e-9


@given(st.floats(0.3, 3), st.floats(0.2, 1), st.floats(0, 360), st.floats(1.01, 1.5))
def test_a_longer_thing_has_a_thicker_wedge(length, width, bearing, more):
    def wedge(long):
        thing = Feature(kind="other", at=(5, 2.5), size=(long, width), bearing=bearing)
        return wedge_under(AREA, thing.polygon, 0.0), thing.polygon.area

    (one, area), (longer, _) = wedge(length), wedge(length * more)
    assert longer.greatest >= one.greatest - 1e-12
    assert one.least <= one.volume / area <= one.greatest + 1e-12


@given(st.floats(0, 2), st.floats(0.001, 1), st.floats(1.5, 4.5))
def test_a_lower_bottom_never_digs_less(depth, more, x):
    where = shapely.box(x, 1, x + 2, 3)

    def dug(low):
        bottom = dug_under(
            PLAN.ground, AREA, AREA.chosen_dig, where, lambda xy: 30.0 - low + 0 * xy[:, 0]
        )
        return bottom.bank

    assert 0 <= dug(depth) <= dug(depth + more) <= dug(depth) + 4 * more + 1e-9


@settings(max_examples=15)
@given(st.floats(0, 0.4), st.floats(0, 0.4), st.sampled_from(BASES))
def test_deeper_organics_never_speak_more_for_panels(one, other, base):
    less, more = sorted((one, other))
    shallow, deep = (
        levels(advised([patio(base=base)], ground=GroundSpec(organics=depth)))["panel"]
        for depth in (less, more)
    )
    assert deep.count("against") >= shallow.count("against")


@settings(max_examples=15)
@given(st.floats(29.9, 30.6), st.floats(0.001, 0.4))
def test_a_higher_finish_never_speaks_more_for_panels(z, more):
    low, high = (
        levels(advised([patio(plane={"at": [1, 0], "z": level, "fall": 0.02, "bearing": 0})]))
        for level in (z, z + more)
    )
    assert [high["panel"].count(level) for level in ("rules out", "against")] >= [
        low["panel"].count(level) for level in ("rules out", "against")
    ]


held = st.tuples(st.sampled_from(["against", "care", "for"]), st.booleans())
minor = st.sampled_from([("care", False), ("for", False)])


def judged_of(reasons):
    """Return a verdict on these reasons, each its level and whether it is strong."""
    told = tuple(
        Reason(str(k), level, "", "common practice", "", "", "", strong=strong)
        for k, (level, strong) in enumerate(reasons)
    )
    return Verdict(Option("one", "one", frozenset()), told, (), ())


@given(st.lists(held, max_size=4), st.lists(held, max_size=4), st.lists(minor), st.lists(minor))
def test_no_number_of_minor_reasons_outweighs_a_strong_one(one, other, more, still_more):
    def strongly(reasons):
        """Weigh all but what is minor, by itself: strong against, against, strong for."""
        against = [strong for level, strong in reasons if level == "against"]
        return sum(against), len(against), -sum(s for level, s in reasons if level == "for")

    ranks = judged_of([*one, *more]).rank, judged_of([*other, *still_more]).rank
    if strongly(one) != strongly(other):
        assert (ranks[0] < ranks[1]) is (strongly(one) < strongly(other))


@given(st.lists(held, max_size=4), st.lists(minor))
def test_a_minor_care_never_makes_a_base_better(reasons, more):
    assert judged_of([*reasons, *more, ("care", False)]).rank > judged_of([*reasons, *more]).rank


LADDER = ("patio", "walkway", "front walkway")


@settings(max_examples=12)
@given(
    st.floats(0, 15), st.floats(0, 15), st.sampled_from(LADDER), st.booleans(), st.booleans(),
    st.sampled_from(["sand", "loam", "clay"]), st.sampled_from([0, 20]),
)  # fmt: skip
def test_deeper_topsoil_never_favours_panels_more(one, other, use, outlet, let_in, soil, off):
    """Neither their place among the bases, nor what speaks for them."""
    way_in = {"gate": "10 ft", "machine": "mini loader"} if let_in else {"gate": "36 in"}
    row = {"use": use, "outlet": outlet, "soil": soil, "from_house": off, "path": "80 ft", **way_in}
    shallow, deep = (
        stated({**row, "topsoil": f"{depth:.3f} in"}).advice.areas[0].base
        for depth in sorted((one, other))
    )

    def place(choice):
        return [verdict.option.name for verdict in choice.verdicts].index("panel")

    assert place(deep) >= place(shallow)
    assert deep.of("panel").rank[:4] >= shallow.of("panel").rank[:4]


@settings(max_examples=8)
@given(st.floats(0, 20), st.sampled_from(["none", "waited", "strip", "stone"]))
def test_treating_the_backfill_never_speaks_against_a_base(age, treatment):
    house = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3], "age": age}
    as_it_is = levels(advised(house=house))
    treated = levels(advised(house=house, backfill={"treatment": treatment}))
    # How a base compares with another changes when the other may be built again.
    beside_others = {"more-dig", "more-cost", "much-more-cost"}

    def count(verdict, level):
        return sum(
            reason.level == level and reason.rule not in beside_others for reason in verdict.reasons
        )

    for name in BASES:
        for level in ("against", "care"):
            assert count(treated[name], level) <= count(as_it_is[name], level)


@settings(max_examples=8)
@given(st.sampled_from(["patio", "walkway", "front walkway", "driveway"]), st.floats(29.8, 30.6))
def test_the_first_is_advised_and_none_that_is_ruled_out(use, z):
    plane = {"at": [1, 0], "z": z, "fall": 0.02, "bearing": 0}
    choice = advised([patio(use=use, base=None, plane=plane)]).area("patio").base
    assert {verdict.option.name for verdict in choice.verdicts} == set(BASES)
    best = choice.advised
    assert best is not None
    assert best.level != "rules out"
    if use == "driveway":
        assert best.option.name != "panel"
    assert all(best.count("against") <= one.count("against") or one.level == "rules out"
               for one in choice.verdicts)  # fmt: skip
