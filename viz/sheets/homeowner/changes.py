"""What could change the price: deeper topsoil, step by step, and what is found underground."""

from __future__ import annotations

from typing import Any

from grading.answers.card import deeper_of
from grading.answers.card_words import advice_turned, depth_words, topsoil_words
from grading.order.days import days_of
from grading.order.model import Order
from grading.order.telling import money
from grading.pipeline import Plan
from grading.price.model import price_of
from grading.units import Unit, volume
from viz.sheets.compile import printable
from viz.sheets.head import Job
from viz.words.plain import table
from viz.words.price import band_words


def changes_told(job: Job) -> dict[str, Any]:
    """Return what deeper topsoil takes, as a table, and what else could change the price.

    Parameters
    ----------
    job : Job
    """
    plan, unit = job.plan, job.unit
    deeper = deeper_of(plan)
    rows = [_row(f"{topsoil_words(plan)}, as planned", job.order, unit)]
    rows += [_row(f"{depth_words(one.more, unit)} deeper", one.over.order, unit) for one in deeper]
    turned = advice_turned(plan, deeper)
    said = str(table("changes")["found"])
    return {
        "heads": ["Topsoil", "to dig", "bins", "days"],
        "rows": rows,
        "said": [
            printable(each, len(each))
            for each in (price_told(plan, plan.crew.card.show_prices), turned, said)
            if each
        ],
    }


def price_told(plan: Plan, asked: bool) -> str:
    """Say the price where it is asked for, and a quote of it can be signed; else nothing."""
    price = price_of(plan) if asked else None
    if price is None or band_words(price):
        return ""
    return f"The price is {money(price.total, price.currency)} in all; the quote says what of."


def _row(name: str, order: Order, unit: Unit) -> list[str]:
    total = order.total
    return [name, volume(total.cut, unit), str(total.haul.bins.count), days_of(order, total).words]
