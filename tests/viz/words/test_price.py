"""What is said of a price: money, what the ground may cost more, tax, what stands against it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from make.plans.jobs import level_yard
from msgspec.structs import replace

from grading.crew.model import default_crew
from grading.crew.price_table import PriceTable
from grading.order.telling import telling_of
from grading.price.ground import Deeper, Ground
from grading.price.model import price_of
from grading.price.sums import Direct
from viz.words.price import (
    allowance_words,
    before_tax_words,
    bin_words,
    built_in_words,
    excluded,
    extra_words,
    ground_rows,
    money,
    more_money,
    screen_words,
    taxed_words,
)
from viz.words.uncounted import not_counted, not_included

INCH = 0.0254


def ground(*prices, next_bin=None):
    none = Direct(0.0, 0.0, 0.0, 0.0)
    steps = tuple(Deeper((k + 1) * INCH, 0.0, 0.0, none, price) for k, price in enumerate(prices))
    return Ground(steps, 635 / 0.9144**3, 89.2 / 3600, next_bin)


def priced(**written):
    given = {"margin": "28 %", "tax": "none", "deposit_most": "none"}
    crew = replace(default_crew(), pricing=PriceTable.model_validate(given | written))
    return replace(level_yard(), crew=crew)


def test_a_price_that_is_built_in_is_told_in_the_unit_of_the_job():
    """By hand: 5.50 / 0.3048² = 59.20 a m², 2.60 / 0.3048 = 8.53 a m, 32 / 0.9072 = 35.27."""
    prices = default_crew().prices
    entries = [prices[name] for name in ("pavers", "edging", "dense-graded", "panels")]

    def told(unit):
        site = SimpleNamespace(unit=unit)
        price = SimpleNamespace(plan=SimpleNamespace(site=site), built_in=entries)
        return [words.rpartition(", ")[2] for words in built_in_words(price)]

    assert told("ft") == ["5.50 /ft2", "2.60 /ft", "32 /ton", "19 /panel"]
    assert told("m") == ["59.20 /m2", "8.53 /m", "35.27 /tonne", "19 /panel"]


@pytest.mark.parametrize(
    ("amount", "sign", "told"),
    [(1234.4, "$", "$1,234"), (-0.3, "$", "$0"), (-1090, "$", "- $1,090"),
     (12, "CHF", "CHF\u00a012"), (8.5, "€", "€8")],
)  # fmt: skip
def test_money_is_written_with_its_sign(amount, sign, told):
    assert money(amount, sign) == told


def test_more_and_less_money_say_so():
    assert [more_money(each, "$") for each in (640, -20, 0.2)] == ["+ $640", "- $20", "no more"]
    assert money(9.922, "$", cents=True) == "$9.92"


@pytest.mark.parametrize(
    ("prices", "told"),
    [
        ((394, 861, 1396, 1994, 2639), ["1 in", "2 in", "3 in", "4 in"]),
        ((0, 388, 1243, 2162, 3084), ["1 in", "2 in", "3 in", "4 in"]),
        ((0, 0, 0.4, 19, 84, 263, 771), ["up to 3 in", "4 in", "5 in", "6 in"]),
        ((0, 0, 0, 0), ["up to 4 in"]),
    ],
)
def test_depths_that_cost_nothing_more_are_one_row(prices, told):
    rows = list(ground_rows(ground(*prices), "ft", "$"))
    depths = [words for words, _ in rows if words.startswith("Topsoil")]
    assert depths == [f"Topsoil {each} deeper all over" for each in told]
    for words, price in rows[: len(told)]:
        number = int(words.split(" in ")[0].split()[-1])
        assert price == more_money(prices[number - 1], "$")
    assert rows[len(told) :] == [
        ("Soil dug deeper than is drawn, hauled off, stone in its place", "$635 a yd³"),
        ("Other work that you ask for", "$89 a person-hour"),
    ]


def test_another_bin_is_told_where_one_opens():
    assert bin_words(ground(1.0), "ft") == ""
    assert "Topsoil 7 1/2 in deeper needs another bin" in bin_words(
        ground(1.0, next_bin=7.5 * INCH), "ft"
    )


def test_tax_says_what_it_is_of():
    assert taxed_words(price_of(priced())) == "No sales tax is on it"
    assert taxed_words(price_of(priced(tax="7 %", tax_on="cost"))) == "Sales tax is in the price"
    total = price_of(priced(tax="7 %", tax_on="total"))
    assert taxed_words(total) == "Sales tax, 7 % of the price"
    listed = price_of(priced(tax="7 %", tax_on="materials"))
    told = listed.sums.listed(listed.price)
    assert f"7 % of {money(told, '$')} of materials" in taxed_words(listed)
    assert listed.tax == round(0.07 * told)


def test_an_allowance_is_of_one_of_what_is_sold():
    price = price_of(priced())
    (pavers,) = (each for each in price.allowances if each.title == "pavers")
    title, told = allowance_words(pavers, "ft", "$")
    each = default_crew().price("pavers") * 0.3048**2 / 0.72
    assert (title, told) == ("Pavers", f"${each:.2f} a ft²")


@pytest.mark.parametrize(
    ("unit", "each", "price", "told", "amount"),
    [
        ("m", "ft2", 14, "$150.69 a m²", (107.639104167, 10.0)),
        ("m", "Yd3", 210, "$274.67 a m³", (13.0795061931, 10.0)),
        ("m", "foot", 8.5, "$27.89 a m", (32.8083989501, 10.0)),
        ("ft", "m²", 151, "$14.03 a ft²", (9.290304, 100.0)),
        ("ft", "tonne", 40, "$36.29 a ton", (90.718474, 100.0)),
        ("ft", "ft2", 14.7, "$14.70 a ft²", (100.0, 100.0)),
        ("ft", "yd3", 210, "$210 a yd³", (10.0, 10.0)),
        ("m", "stump", 90, "$90 a stump", (3.0, 3.0)),
    ],
)
def test_a_price_that_the_crew_typed_is_told_by_the_job_s_own_unit(unit, each, price, told, amount):
    """As much of it costs as much, to the cent: amounts by the definitions of 1959, worked by hand.

    A foot is 0.3048 m, a ton 2,000 lb of 0.45359237 kg.
    """
    made = priced(extra=[{"what": "rock", "each": each, "price": price}])
    made = replace(made, site=replace(made.site, unit=unit))
    (found,) = price_of(made).extras
    assert extra_words(found, "$") == ("rock", told)
    written, own = amount
    assert round(found.price * own, 2) == round(price * written, 2)


def test_the_crew_is_told_price_margin_and_cost_in_one_line():
    made = priced()
    price = price_of(made)
    said = screen_words(made)
    assert said.startswith(f"${price.total:,} in all, 28 % margin over ${price.sums.cost:,.0f}")
    assert screen_words(replace(made, crew=default_crew())) == ""


def test_who_pays_is_told_what_is_not_in_it_without_the_keys_of_the_site_s_file():
    made = level_yard(over="lawn")
    assert any("([access] path)" in said for said in not_counted(made))
    lawn = "Lawn worn by the way in: how far it is to the dig is not given."
    assert lawn in excluded(made)
    assert excluded(made)[: len(not_included(made))] == not_included(made)
    for said in excluded(made):
        assert "[" not in said
        assert said[0].isupper()
        assert said.endswith(".")


def test_money_is_not_said_to_be_told_nowhere_where_a_price_is_told():
    made = priced()
    assert "$" in screen_words(made)
    assert "No money is told" not in telling_of(made.order).why.file
    assert telling_of(level_yard().order).why.file.startswith("No money is told")


@pytest.mark.parametrize(
    ("tax_on", "said"), [("total", True), ("materials", True), ("cost", False)]
)
def test_what_may_be_added_is_said_to_be_before_tax_where_tax_stands_beside_the_price(tax_on, said):
    price = price_of(priced(tax="7 %", tax_on=tax_on))
    assert bool(before_tax_words(price)) is said
