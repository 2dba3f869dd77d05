"""From cost to price, against examples that others printed and routes of their own."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from grading.crew.price_table import PriceTable
from grading.price.model import deposit_of, payments_of
from grading.price.sums import Direct, priced, steps_of, sums_of
from grading.units import HOUR


def terms(**written):
    return PriceTable.model_validate({"margin": "20 %", "tax": "none", "deposit_most": "none"}
                                     | written)  # fmt: skip


def test_a_margin_is_a_part_of_the_price_and_no_markup():
    """A cost of 80,000: a fifth on the cost makes 96,000, a margin of a fifth 100,000.

    contractorcfo.org, "Markup vs margin explained", seen in a copy.
    """
    assert priced(80_000, 0.20) == pytest.approx(100_000)
    assert priced(80_000, 1 / 6) == pytest.approx(80_000 * (1 + 0.20))
    assert sums_of(Direct(50_000, 10_000, 20_000, 0.0), terms()).price == pytest.approx(100_000)


@pytest.mark.parametrize(
    ("margin", "markup"),
    [(10, 11.1), (15, 17.6), (20, 25), (25, 33.3), (30, 42.9), (35, 53.8), (40, 66.7), (50, 100)],
)
def test_margins_and_markups_are_those_of_the_table(margin, markup):
    """The table of margin and markup that handbooks of contractors print, from memory."""
    assert priced(100, margin / 100) - 100 == pytest.approx(markup, abs=0.05)


@given(st.fractions(0, Fraction(99, 100), max_denominator=400), st.integers(1, 10**6))
def test_a_margin_comes_back_out_of_its_price(margin, cost):
    """In fractions, exactly: of the price the cost is what the margin leaves."""
    price = Fraction(cost) / (1 - margin)
    assert priced(cost, float(margin)) == pytest.approx(float(price))
    sums = sums_of(Direct(float(cost), 0.0, 0.0, 0.0), terms(margin=f"{100 * float(margin)} %"))
    assert sums.margin / sums.price == pytest.approx(float(margin), abs=1e-12)
    assert sums.cost == pytest.approx(cost)


def test_overhead_before_contingency_and_the_margin_last():
    """3,934 + 7 % tax, haul 530, hours 3,088: 7,827; 20 %, 5 % of both, over .90 is 10,958.

    Worked by hand; the order overhead, contingency, margin is one of two that are taught.
    """
    sums = sums_of(
        Direct(3934, 530, 3088, 0.0),
        terms(margin="10 %", overhead="20 %", contingency="5 %", first="overhead", tax="7 %",
              tax_on="cost"),
    )  # fmt: skip
    assert sums.tax_in_cost == pytest.approx(275, abs=0.5)
    assert sums.direct.total + sums.tax_in_cost == pytest.approx(7827, abs=0.5)
    assert sums.overhead == pytest.approx(1565, abs=0.5)
    assert sums.contingency == pytest.approx(470, abs=0.5)
    assert sums.cost == pytest.approx(9862, abs=0.5)
    assert sums.price == pytest.approx(10_958, abs=0.5)
    assert sums.price / 7827 == pytest.approx(1.40, abs=0.005)


def test_overhead_by_the_hour_brings_the_year_s_overhead_back():
    """238,544.16 a year, 30 weeks of 5 days, 12 people of 9 hours: 1,590.29 a day, 14.72 an hour.

    A trade magazine's example, read.dmtmag.com/i/96774, page 8, seen in a copy.
    """
    hours = 30 * 5 * 12 * 9
    assert 238_544.16 / hours == pytest.approx(14.72, abs=0.005)
    year = sums_of(Direct(0.0, 0.0, 1e6, hours * HOUR), terms(overhead_hour=238_544.16 / hours))
    assert year.overhead == pytest.approx(238_544.16)
    day = sums_of(Direct(0.0, 0.0, 1e4, 108 * HOUR), terms(overhead_hour=14.72))
    assert day.overhead == pytest.approx(1590.29, rel=1e-3)


@pytest.mark.parametrize("first", ["contingency", "overhead"])
@pytest.mark.parametrize("tax_on", ["cost", "materials", "total"])
def test_each_step_is_what_it_says_it_is_of(first, tax_on):
    direct = Direct(1000.0, 200.0, 800.0, 20 * HOUR)
    sums = sums_of(
        direct, terms(margin="25 %", overhead="18 %", contingency="4 %", first=first, tax="6 %",
                      tax_on=tax_on),
    )  # fmt: skip
    base = 2000 + (60 if tax_on == "cost" else 0)
    both = base * 1.18 * 1.04
    assert sums.cost == pytest.approx(both)
    assert sums.price == pytest.approx(both / 0.75)
    told = list(steps_of(sums))
    amounts = {step.title: step.amount for step in told}
    assert ("sales tax" in amounts) == (tax_on == "cost")
    assert amounts["direct cost"] == pytest.approx(base)
    order = [step.title for step in told if step.title in ("contingency", "overhead")]
    assert order[0] == first
    # What is not a sum is a part of one: the parts add up to the whole, each once.
    parts = ("material", "sales tax", "hauling", "hours", "contingency", "overhead", "margin")
    assert sum(amounts.get(part, 0.0) for part in parts) == pytest.approx(sums.price)


def test_tax_is_paid_once_and_by_the_setting_that_was_written():
    """1,000 of material in 2,000 of cost, a price of 2,500 without tax: 7 % of which."""
    direct = Direct(1000.0, 0.0, 1000.0, 0.0)
    none, cost, materials, total = (
        sums_of(direct, terms(tax="7 %" if on else "none", **({"tax_on": on} if on else {})))
        for on in (None, "cost", "materials", "total")
    )
    assert none.price == materials.price == total.price == pytest.approx(2500)
    assert cost.price == pytest.approx(2070 / 0.8)
    assert [each.taxed(each.price) for each in (none, cost)] == [0.0, 0.0]
    assert materials.taxed(2500) == pytest.approx(0.07 * 1250)
    assert total.taxed(2500) == pytest.approx(175)


def test_the_price_of_a_difference_is_the_difference_of_prices():
    one, other = Direct(900.0, 300.0, 700.0, 9e4), Direct(500.0, 350.0, 650.0, 7e4)
    for each in (
        terms(overhead="12 %", contingency="3 %", tax="7 %", tax_on="cost"),
        terms(overhead_hour=14.72, contingency="3 %", first="overhead"),
    ):
        apart = sums_of(one, each).price - sums_of(other, each).price
        assert sums_of(one.less(other), each).price == pytest.approx(apart)


@pytest.mark.parametrize(
    ("price", "deposit", "caps", "most"),
    [
        # The lesser of 1,000 and a tenth: California, Business and Professions Code 7159.
        (24_000, "30 %", ["10 %", 1000], 1000),
        (6_000, "30 %", ["10 %", 1000], 600),
        # A third: Maryland, Business Regulation 8-617.
        (9_999, "50 %", "33.3333 %", 3332),
        (9_999, "10 %", "none", 999),
        (9_999, "10 %", 0, 0),
    ],
)
def test_a_deposit_stays_under_every_cap(price, deposit, caps, most):
    assert deposit_of(price, terms(deposit=deposit, deposit_most=caps)) == most


@given(
    st.integers(1, 400_000),
    st.integers(0, 99),
    st.one_of(st.just("none"), st.integers(0, 5000), st.integers(0, 100).map("{} %".format)),
    st.lists(st.integers(1, 9), min_size=1, max_size=5),
)
def test_payments_add_up_to_the_price(price, deposit, cap, parts):
    whole = sum(parts)
    payments = [
        {"when": f"step {k}", "share": f"{100 * part / whole} %"} for k, part in enumerate(parts)
    ]
    due = payments_of(price, terms(deposit=f"{deposit} %", deposit_most=cap, payments=payments))
    assert sum(each.amount for each in due) == pytest.approx(price)
    assert all(each.amount >= 0 for each in due)
    assert due[-1].when == payments[-1]["when"]
    if isinstance(cap, int):
        assert due[0].when != "With the signature" or due[0].amount <= cap
