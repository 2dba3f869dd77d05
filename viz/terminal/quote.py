"""`fallaway quote`: a price and how it was made, for the terminal of the crew."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tabulate import tabulate

from grading.order.days import factor_words, hours_words
from grading.order.telling import money
from grading.price.blanks import blanks_of
from grading.price.model import Price
from grading.price.sums import steps_of
from grading.records.price import price_record
from grading.units import counted
from viz.terminal.lines import in_json
from viz.words.cautions import REPORT
from viz.words.plain import opened, stopped
from viz.words.price import (
    against_signing,
    before_tax_words,
    bin_words,
    blank_of,
    built_in_words,
    days_words,
    found_words,
    ground_rows,
    more_money,
    price_rows,
)


def text(price: Price, number: str, date: str) -> str:
    """Return a price as it is printed: cost and margin too, for it is the crew that asks.

    Parameters
    ----------
    price : Price
    number, date : str
        Of the paper; no date where it is written in by hand.
    """
    made, sign, unit = price.plan, price.currency, price.plan.site.unit
    order = made.order
    dated = f", {date}" if date else ""
    parts = [
        f"Quote {number}{dated}: {made.site.name}, good for {counted(price.terms.valid, 'day')}"
    ]
    against = against_signing(price)
    if against:
        parts += ["Not for signature:", *(f"  {said}" for said in against)]
    lines = [*price_rows(price), ["", "price in all", money(price.total, sign)]]
    parts += ["", _grid(lines, "lrr"), ""]
    parts += filter(None, [before_tax_words(price), f"{opened(days_words(price))}."])
    parts += ["", "From cost to price, in this order; on the crew's page alone:", ""]
    parts.append(_grid([[step.title, step.how, money(step.amount, sign)]
                        for step in steps_of(price.sums)], "llr"))  # fmt: skip
    parts += [
        "",
        f"{opened(hours_words(order, order.total))}.",
        stopped(factor_words(made.crew).file),
    ]
    if price.options:
        rows = [
            [opened(each.option.title), more_money(each.more, sign), money(each.price, sign),
             counted(float(each.option.days), "day")]
            for each in price.options
        ]  # fmt: skip
        parts += ["", "Instead, each planned again as a whole:", "", _grid(rows, "lrrr")]
    parts += [f"Not offered: {each.title}: {each.why}" for each in price.refused]
    if price.ground is not None:
        rows = [list(row) for row in ground_rows(price.ground, unit, sign)]
        parts += ["", found_words(made), "", _grid(rows, "lr")]
        parts += [said] if (said := bin_words(price.ground, unit)) else []
    parts += ["", "Paid:", "", _grid([[due.when, f"{100 * due.share:.0f} %",
                                       money(due.amount, sign)] for due in price.payments],
                                     "lrr")]  # fmt: skip
    parts += _to_fill_in(price)
    return "\n".join((*parts, "", REPORT))


def _to_fill_in(price: Price) -> Iterator[str]:
    blanks = blanks_of(price.plan.crew)
    if blanks:
        yield "\nTo fill in, under [price] of crew.toml:"
        yield from (f"  {key}: {blank_of(key)}" for key in blanks)
    if price.built_in:
        yield "\nBuilt in, and not yours: write your own under [prices] of crew.toml:"
        yield from (f"  {said}" for said in built_in_words(price))


def _grid(rows: Sequence[Sequence[str]], sides: str) -> str:
    names = {"l": "left", "r": "right"}
    return tabulate(
        rows, tablefmt="plain", colalign=[names[side] for side in sides], disable_numparse=True
    )


def as_json(price: Price, number: str, date: str) -> str:
    """Return a price as JSON.

    Parameters
    ----------
    price, number, date : as for `text`
    """
    return in_json(price_record(price, number, date))
