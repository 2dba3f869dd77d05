"""What is said of a price: to who pays it, of the price alone; to the crew, of how it is made."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from grading.answers.card_words import depth_words, topsoil_words
from grading.crew.price_table import Extra
from grading.order.days import RAIN
from grading.order.telling import money
from grading.pipeline import Plan
from grading.price.blanks import blanks_of
from grading.price.ground import Ground
from grading.price.model import Allowance, Line, Offered, Price, price_of
from grading.units import (
    CUBIC_YARD,
    HOUR,
    SQUARE_FOOT,
    Unit,
    counted,
    nominals,
    noun,
    size,
)
from grading.units import area as area_words
from viz.signature import not_for_signature
from viz.words import signing
from viz.words.figures import figure
from viz.words.paving.edging import restraint_words
from viz.words.paving.pavers import laid_words
from viz.words.plain import opened, stopped, table
from viz.words.uncounted import not_included

STEPS = 4
"""Rows of how much deeper topsoil may go; those that cost nothing more are one of them."""

BUILT_IN = "NOT FOR SIGNATURE: made of prices that are built in"
"""The line over a paper with a price that no crew has made its own."""

EACH = "each"
"""Of what is counted."""

_EACH: Mapping[tuple[str, Unit], tuple[float, str]] = {
    ("m2", "ft"): (SQUARE_FOOT, "ft²"),
    ("m2", "m"): (1.0, "m²"),
    ("m3", "ft"): (CUBIC_YARD, "yd³"),
    ("m3", "m"): (1.0, "m³"),
    ("m", "ft"): (0.3048, "ft"),
    ("m", "m"): (1.0, "m"),
}  # fmt: skip

_SQUARED = {f"{unit}{power}": f"{unit}{sign}" for unit in ("ft", "yd", "in", "m")
            for power, sign in (("2", "²"), ("3", "³"))}  # fmt: skip


def more_money(amount: float, currency: str) -> str:
    """Write what is added to a price, or taken off: + $640, - $1,090, no more."""
    if not round(amount):
        return "no more"
    return money(amount, currency) if amount < 0 else f"+ {money(amount, currency)}"


def each_words(measure: str, unit: Unit) -> tuple[float, str]:
    """Return how much of a measure is one of what a site is told in, and its name.

    Parameters
    ----------
    measure : "m", "m2", "m3" or anything that is counted
    unit : "ft" or "m"
    """
    return _EACH.get((measure, unit), (1.0, EACH))


def line_title(line: Line) -> str:
    """Return what a line of the price is of, as it was written or as it is called."""
    return line.area if line.kind == "paving" else opened(line.name or line.kind)


def price_rows(price: Price) -> list[list[str]]:
    """Return what each line of a price is of, over how much, its price; the tax after them."""
    unit, sign = price.plan.site.unit, price.currency
    rows = [
        [line_title(line), "" if line.amount is None else area_words(line.amount, unit),
         money(line.price, sign)]
        for line in price.lines
    ]  # fmt: skip
    return [*rows, ["", taxed_words(price), money(price.tax, sign) if price.tax else ""]]


def line_words(line: Line, made: Plan) -> str:
    """Say what a line of the price holds.

    Parameters
    ----------
    line : Line
    made : Plan
    """
    if line.kind != "paving":
        return stopped(line.said) if line.said else ""
    area = next(each for each in made.areas if each.area.name == line.area)
    unit, dig = made.site.unit, area.chosen_dig
    under = [f"{layer.name} {size(layer.thickness, unit)}" for layer in dig.system.layers[::-1]
             if layer.role != "paver"]  # fmt: skip
    if dig.refill is not None:
        under.insert(0, f"stone fill up to {size(dig.refill.greatest, unit, 8)}")
    takeoff = made.order.of(area).takeoffs[area.chosen]
    filled = made.advice.area(area.area.name).joint_plain
    held = restraint_words(dig.system)
    return stopped(
        f"Dug to firm soil, on average {size(dig.mean_dig, unit, 8)}, and hauled off; "
        f"{', '.join(under)}; pavers {laid_words(takeoff.pavers.pavers, filled, unit)}; {held}; "
        "lawn put back along the edge"
    )


def option_words(offered: Offered) -> str:
    """Say what is otherwise where a job is built another way, and what speaks against it."""
    option = offered.option
    said = stopped(opened(option.title))
    if option.kind == "base":
        advice = option.plan.advice
        against = [
            reason.plain
            for area in option.plan.areas
            for reason in advice.area(area.area.name).base.of(area.chosen).against
        ]
        said += f" {stopped(against[0])}" if against else ""
    return said


def allowance_words(found: Allowance, unit: Unit, currency: str) -> tuple[str, str]:
    """Return what an allowance is for, and what it is: $9.92 a ft²."""
    count, each = each_words(found.measure, unit)
    a = "" if each == EACH else "a "
    return opened(found.title), f"{money(found.price * count, currency, cents=True)} {a}{each}"


def extra_words(found: Extra, currency: str) -> tuple[str, str]:
    """Return what a price that no plan tells of is for, and what it is: $150.69 a m²."""
    whole = round(found.price, 2) == round(found.price)
    each = _SQUARED.get(found.each, found.each)
    return found.what, f"{money(found.price, currency, cents=not whole)} a {each}"


def found_words(made: Plan) -> str:
    """Say what depth of topsoil a price reckons with."""
    probed = made.site.ground.probes is not None
    by = "by the test holes" if probed else "by what was told us, no test hole is dug yet"
    return f"The price is of topsoil {topsoil_words(made)} deep, {by}."


def ground_rows(ground: Ground, unit: Unit, currency: str) -> Iterator[tuple[str, str]]:
    """Yield what the ground may cost more, each with its price."""
    free = next((k for k, one in enumerate(ground.steps) if round(one.price)), len(ground.steps))
    if free:
        up_to = "up to " if free > 1 else ""
        deeper = depth_words(ground.steps[free - 1].more, unit)
        yield f"Topsoil {up_to}{deeper} deeper all over", more_money(0.0, currency)
    for step in ground.steps[free : free + STEPS - bool(free)]:
        told = more_money(step.price, currency)
        yield f"Topsoil {depth_words(step.more, unit)} deeper all over", told
    if ground.by_volume is not None:
        count, each = each_words("m3", unit)
        yield (
            "Soil dug deeper than is drawn, hauled off, stone in its place",
            f"{money(ground.by_volume * count, currency)} a {each}",
        )
    yield "Other work that you ask for", f"{money(ground.hour * HOUR, currency)} a person-hour"


def bin_words(ground: Ground, unit: Unit) -> str:
    """Say where another bin opens; empty where none does within a foot."""
    if ground.next_bin is None:
        return ""
    deeper = size(ground.next_bin, unit, 8)
    return f"Topsoil {deeper} deeper needs another bin; what fills of it is in these prices."


def excluded(made: Plan) -> tuple[str, ...]:
    """Return what is not in the price, the job's own before what never is."""
    return (*not_included(made), *table("excluded", "quote")["items"])


def days_words(price: Price) -> str:
    """Say how long it takes: 2 working days for 3 people."""
    days = price.days
    return f"{days.words} working {noun(days.mean, 'day')} for {days.crew}, {RAIN}"


def taxed_words(price: Price) -> str:
    """Say what the tax is that stands beside the price, or that there is none beside it."""
    terms = price.terms
    rate = f"{100 * terms.tax:g} %"
    match terms.tax_on if terms.tax else None:
        case "total":
            return f"Sales tax, {rate} of the price"
        case "materials":
            whole = money(price.sums.listed(price.price), price.currency)
            return f"Sales tax, {rate} of {whole} of materials in it"
        case "cost":
            return "Sales tax is in the price"
    return "No sales tax is on it"


def before_tax_words(price: Price) -> str:
    """Say that what may be added to a price has its tax still to come; empty where none is."""
    if not price.tax:
        return ""
    return "Other ways, allowances and unit prices are before tax: it is added to each."


def against_signing(price: Price) -> tuple[str, ...]:
    """Return what stands against signing a price, the worst first, a sentence each."""
    against = signing.against_signing(price.plan)
    said = list(against.reasons)
    if price.built_in:
        said.append(
            f"Made of prices that are built in, for a first look: {_listed(price)}. They are "
            "nobody's offer."
        )
    blanks = blanks_of(price.plan.crew)
    if blanks:
        count = counted(len(blanks), "blank")
        said.append(f"{count} to fill in, in a dashed box each: {', '.join(blanks)}.")
    return tuple(said)


def built_in_words(price: Price) -> Iterator[str]:
    """Yield each price that is built in, by its key, in the unit of the job."""
    unit = price.plan.site.unit
    for each in price.built_in:
        yield f"{each.name}: {nominals(each.title, unit)}, {figure(each, each.likely, unit)}"


def _listed(price: Price) -> str:
    titles = [each.title for each in price.built_in]
    more = len(titles) - 4
    return ", ".join(titles[:4]) + (f" and {more} more" if more > 0 else "")


def plan_band(plan: Plan) -> str:
    """Return the one line that keeps a plan from being signed; empty where nothing does."""
    if band := not_for_signature(plan):
        return band
    if plan.failed:
        return "NOT FOR SIGNATURE: a check fails"
    if signing.against_signing(plan).any:
        return "NOT FOR SIGNATURE: nothing holds a raised edge yet"
    return ""


def band_words(price: Price) -> str:
    """Return the one line that keeps a price from being signed; empty where nothing does."""
    if band := plan_band(price.plan):
        return band
    if price.built_in:
        return BUILT_IN
    blanks = blanks_of(price.plan.crew)
    return f"NOT FOR SIGNATURE YET: {len(blanks)} to fill in" if blanks else ""


def screen_words(made: Plan) -> str:
    """Say the price to the crew, with what it holds; empty where the crew makes none."""
    price = price_of(made)
    if price is None:
        return ""
    sign, sums = price.currency, price.sums
    built_in = "; of prices that are built in" if price.built_in else ""
    return (
        f"{money(price.total, sign)} in all, {100 * price.terms.margin:g} % margin over "
        f"{money(sums.cost, sign)} of cost, {money(sums.direct_cost, sign)} of it direct{built_in}"
    )


def placeholder_words(made: Plan) -> str:
    """Say what a job costs by prices that are built in, with what keeps that from being a price."""
    cost = money(made.order.total.cost.total, made.crew.currency)
    own = "your prices, and by others that are" if made.crew.priced else "prices that are"
    return (
        f"none, write [price] in crew.toml; {cost} of cost by {own} built in: placeholders, "
        "nobody's offer, not for signature"
    )


def cancel_words(price: Price) -> str:
    """Say how long nothing is ordered or dug after signing; empty where that is no day."""
    days = price.terms.cancel
    if not days:
        return ""
    first = counted(days, "business day")
    return f"Nothing is ordered and nothing is dug in the first {first} after signing."


def blank_of(key: str) -> str:
    """Return what goes into a blank."""
    return str(table("blank", "quote")[key])
