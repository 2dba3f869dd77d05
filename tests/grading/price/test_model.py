"""The price as it is told: its lines, other ways to build it, and what is not offered."""

from __future__ import annotations

from functools import cache

import pytest
from hypothesis import given
from hypothesis import strategies as st
from make.plans.jobs import crew
from make.plans.mixed_yard import FIRE, PATIO, mixed
from make.plans.sampled import sampled
from msgspec.structs import replace

from grading.crew.price_table import PriceTable
from grading.errors import NoFinish
from grading.pipeline import Plan, plan
from grading.price.model import in_steps, price_of
from grading.price.options import options_of

GIVEN = {"margin": "30 %", "overhead": "18 %", "tax": "none", "deposit_most": ["10 %", 1000]}


def terms(**written):
    return PriceTable.model_validate(GIVEN | written)


def of_crew(made: Plan, **written) -> Plan:
    """Return the plan of the same site by a crew that makes a price."""
    return replace(made, crew=replace(made.crew, pricing=terms(**written)))


@cache
def raised() -> Plan:
    return of_crew(sampled("raised-patio"))


@cache
def with_things() -> Plan:
    return of_crew(mixed({**PATIO, "base": "dense"}))


def by_hand(made: Plan) -> float:
    """Return a price without the arithmetic under test: 18 % on the cost, 30 % of the price."""
    return made.order.total.cost.total * 1.18 / 0.7


def test_a_crew_that_says_nothing_of_it_has_no_price():
    assert price_of(mixed(PATIO)) is None


def test_the_price_is_the_sum_of_its_lines_to_ten():
    for made in (raised(), with_things()):
        price = price_of(made)
        assert price.price == sum(line.price for line in price.lines)
        assert abs(price.price - by_hand(made)) <= 5
        assert all(line.price >= 0 and line.price % 10 == 0 for line in price.lines)
        assert sum(line.amount or 0.0 for line in price.lines) == pytest.approx(
            sum(area.area.outline.area for area in made.order.areas)
        )
        assert sum(each.amount for each in price.payments) == price.total


@given(
    st.lists(st.floats(0, 1e5), min_size=1, max_size=9).filter(lambda each: sum(each) > 1),
    st.integers(0, 9000),
)
def test_parts_of_a_whole_add_up_and_lie_within_a_step_of_their_share(weights, tens):
    parts = in_steps(weights, 10 * tens)
    assert sum(parts) == 10 * tens
    for part, weight in zip(parts, weights, strict=True):
        assert abs(part - weight / sum(weights) * 10 * tens) <= 10 + 1e-6
        assert part % 10 == 0


def test_tax_stands_beside_the_price_where_the_customer_pays_it():
    made = with_things()
    for on, taxed in (("cost", False), ("materials", True), ("total", True)):
        price = price_of(of_crew(made, tax="7 %", tax_on=on))
        assert (price.tax > 0) == taxed
        assert price.total == price.price + price.tax
    assert price.tax == round(0.07 * price.price)


def test_another_base_is_priced_by_a_plan_of_the_whole_site_on_it():
    made = with_things()
    told = {each.option.title: each for each in price_of(made).options}
    bases = [each for each in told.values() if each.option.kind == "base"]
    assert len(bases) >= 1
    for each in bases:
        base = each.option.plan.areas[0].chosen
        site = made.site
        areas = tuple(area.model_copy(update={"base": base}) for area in site.areas)
        again = plan(replace(site, areas=areas))
        assert abs(each.price - by_hand(again)) <= 5
        assert each.more == each.price - price_of(made).price
        assert each.option.plan.order.total.cut == pytest.approx(again.order.total.cut)


def test_a_step_lower_is_a_step_lower_and_a_whole_plan():
    """On dense-graded base: open stone a step lower would have no way out for its water."""
    site = raised().site
    areas = tuple(area.model_copy(update={"base": "dense"}) for area in site.areas)
    made = replace(plan(replace(site, areas=areas)), crew=raised().crew)
    lower = [each for each in price_of(made).options if each.option.kind == "lower"]
    assert len(lower) == 1
    found = lower[0].option.plan
    assert found.site.doors[0].steps > (made.site.doors[0].steps or 0)
    middle = found.areas[0].outline.centroid
    levels = [
        float(each.areas[0].finish.surface.at([[middle.x, middle.y]])[0]) for each in (made, found)
    ]
    assert levels[1] < levels[0] - 0.05
    assert not found.failed
    assert abs(lower[0].price - by_hand(found)) <= 5


def test_without_the_seat_wall_all_else_stays():
    made = with_things()
    without = [each for each in price_of(made).options if each.option.kind == "without"]
    assert [each.option.title for each in without] == ["without seat wall"]
    names = [thing.name for thing in without[0].option.plan.site.features]
    assert names == [FIRE["name"]]


def test_what_cannot_be_planned_or_fails_a_check_is_not_offered():
    made = raised()

    def none(site):
        raise NoFinish("no plane meets them")

    offered, refused = options_of(made, none)
    assert not offered
    assert {each.why for each in refused} == {"no plane meets them"}

    failing = replace(made.checks[0], status="fail")

    class Failing:
        def __init__(self, site):
            found = plan(site)
            self.areas, self.order = found.areas, found.order
            self.checks = (failing, *found.checks)

    offered, refused = options_of(made, Failing)
    assert not offered
    assert all(failing.text in each.why for each in refused)
    assert len(refused) >= 2


def test_what_the_customer_picks_has_its_allowance():
    price = price_of(with_things())
    pavers = next(each for each in price.allowances if each.title == "pavers")
    each = price.plan.crew.price("pavers")
    assert pavers.price == pytest.approx(each * 1.18 / 0.7)


def test_a_reserve_stands_in_place_of_unit_prices_never_beside_them():
    made = with_things()
    assert price_of(made).ground is not None
    assert price_of(of_crew(made, contingency="5 %")).ground is None
    assert price_of(of_crew(made, unit_prices=False)).ground is None


def test_it_says_what_is_priced_by_figures_that_are_not_the_crew_s_own():
    made = with_things()
    own = crew(prices={"pavers": "5 /ft2", "labour": "60 /h"})
    own = replace(own, pricing=terms())
    told = price_of(replace(made, crew=own)).built_in
    before = price_of(made).built_in
    assert {each.name for each in before} - {each.name for each in told} == {"pavers", "labour"}
    assert {each.name for each in told} <= {each.name for each in before}
