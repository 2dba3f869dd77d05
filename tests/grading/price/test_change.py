"""What a change costs: by the prices that were agreed, as quotes and unit prices have it."""

from __future__ import annotations

import pytest
from make.plans.jobs import level_yard
from msgspec.structs import replace

from grading.comparison.figures import JOB, PRICE, figures_of
from grading.crew.model import default_crew
from grading.crew.price_table import PriceTable
from grading.price.change import change_price
from grading.price.ground import ground_of
from grading.price.model import price_of
from grading.units import INCH


def terms(**written):
    given = {"margin": "30 %", "overhead": "18 %", "tax": "none", "deposit_most": "none"}
    return PriceTable.model_validate(given | written)


def yard(inches, crew=None, base="dense", **written):
    made = level_yard(organics=inches * INCH, base=base)
    crew = crew or replace(default_crew(), pricing=terms(**written))
    return replace(made, crew=crew)


@pytest.mark.parametrize("inches", [1, 3, 6])
def test_deeper_topsoil_costs_what_was_signed_for_it(inches):
    before, after = yard(4), yard(4 + inches)
    found = change_price(before, after)
    signed = ground_of(before.order, before.crew.pricing).steps[inches - 1].price
    assert found.more == round(signed)
    assert found.after == found.before + found.more
    assert found.last_payment == found.agreed.payments[-1].amount + found.more
    assert sum(due.amount for due in found.agreed.payments) == found.before
    back = change_price(after, before)
    assert back.more == -found.more
    assert found.more >= 0


RESERVE = {"overhead": 0.0, "contingency": "5 %", "overhead_hour": 9, "tax": "7 %",
           "tax_on": "total"}  # fmt: skip


def test_a_swap_costs_what_the_two_quotes_say_bins_and_packages_whole():
    """By hand, from what each is bought for and how long it takes.

    Cost and 5 % of it, 9 for each hour, over 1 less the margin of 30 %, told to ten; 7 % of tax to
    one.
    """
    told = []
    for made in (yard(4, **RESERVE), swapped := yard(4, base="panel", **RESERVE)):
        cost = made.order.total.cost
        price = 10 * round((1.05 * cost.total + 9 * cost.time.mean / 3600) / 0.7 / 10)
        told.append(price + round(0.07 * price))
    found = change_price(yard(4, **RESERVE), swapped)
    assert [found.before, found.after] == told
    assert found.more < 0


def test_ground_that_a_reserve_stands_for_asks_nothing_more_and_a_swap_with_it_its_own():
    before = yard(4, **RESERVE)
    assert change_price(before, yard(12, **RESERVE)).more == 0
    swap = change_price(before, yard(4, base="panel", **RESERVE)).more
    assert change_price(before, yard(12, base="panel", **RESERVE)).more == swap


def test_a_swap_over_ground_that_was_not_reckoned_with_is_both():
    swapped, before = yard(4, base="panel"), yard(4)
    found = change_price(before, yard(7, base="panel"))
    signed = ground_of(swapped.order, swapped.crew.pricing).steps[2].price
    assert (found.asked, found.found) == (change_price(before, swapped).more, round(signed))


def test_neither_a_reserve_nor_unit_prices_is_what_a_quote_of_the_deeper_yard_says():
    plain = {"unit_prices": False}
    found = change_price(yard(4, **plain), yard(12, **plain))
    assert found.after == price_of(yard(12, **plain)).total


def test_what_became_dearer_meanwhile_is_no_part_of_it():
    before, after = yard(10), yard(13)
    dearer = after.crew.having(after.crew.prices["dense-graded"], 99.0)
    assert (
        change_price(before, replace(after, crew=dearer)).more == change_price(before, after).more
    )


def test_tax_beside_the_price_is_on_the_change_too():
    taxed = {"tax": "7 %", "tax_on": "total"}
    plain, with_tax = (change_price(yard(10, **each), yard(13, **each)) for each in ({}, taxed))
    assert with_tax.more == pytest.approx(1.07 * plain.more, abs=1)


def test_terms_that_were_agreed_hold_and_later_ones_where_there_were_none():
    before, after = yard(10), yard(13, margin="50 %")
    assert change_price(before, after).more == change_price(before, yard(13)).more
    none = replace(before, crew=default_crew())
    assert change_price(none, after).more > change_price(before, after).more
    assert change_price(none, replace(after, crew=default_crew())) is None


def test_what_is_taken_off_more_than_the_last_payment_holds_is_not_said_to_come_off_it():
    small = terms(payments=[{"when": "first", "share": "99 %"}, {"when": "last", "share": "1 %"}])
    crew = replace(default_crew(), pricing=small)
    found = change_price(yard(20, crew), yard(4, crew))
    assert found.more < 0
    assert found.last_payment is None


def test_the_price_stands_among_the_figures_where_one_is_made():
    before, after = yard(10), yard(13)
    price = next(one for one in figures_of(before, after) if one.key == PRICE)
    found = change_price(before, after)
    assert (price.area, price.before, price.after) == (JOB, found.before, found.after)
    bare = [replace(each, crew=default_crew()) for each in (before, after)]
    assert PRICE not in {one.key for one in figures_of(*bare)}
