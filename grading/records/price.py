"""A price as plain data: SI and money, what is told as it is told."""

from __future__ import annotations

from typing import Any

from msgspec import to_builtins

from grading.pipeline import Plan
from grading.price.blanks import blanks_of, checklist_of
from grading.price.model import Price, price_of
from grading.price.sums import steps_of
from grading.records.fields import each, fields
from grading.records.seal import seal_of

SCHEMA = "fallaway/quote/1"


def _sums(price: Price) -> dict[str, Any]:
    sums = price.sums
    return {
        **fields(sums, "direct_cost tax_in_cost contingency overhead cost margin markup price"),
        "direct": fields(sums.direct, "material haul hours time total"),
        "steps": to_builtins(list(steps_of(sums))),
    }


def price_in_plan(made: Plan) -> dict[str, Any] | None:
    """Return the price of a plan as it stands in the JSON of the plan; None where none is made.

    Parameters
    ----------
    made : Plan
    """
    price = price_of(made)
    if price is None:
        return None
    return {
        **fields(price, "currency price tax total"),
        "tax_on": price.terms.tax_on if price.terms.tax else None,
        "lines": [line._asdict() for line in price.lines],
        "payments": each(price.payments, "when amount share"),
        "valid_days": price.terms.valid,
        "built_in": [entry.name for entry in price.built_in],
        "blanks": list(blanks_of(made.crew)),
    }


def price_record(price: Price, number: str, date: str) -> dict[str, Any]:
    """Return a price as plain data, ready for JSON.

    Parameters
    ----------
    price : Price
    number : str
        Of the paper.
    date : str
        Of the paper, ISO; empty where it is written in by hand.

    Returns
    -------
    dict
        Lengths in m, volumes in m3, time in s of one person, money in `currency`; unit prices are
        money for each m2, m3, s or piece.
    """
    made, ground = price.plan, price.ground
    return {
        "schema": SCHEMA,
        "site": made.site.name,
        "number": number,
        "date": date or None,
        "plan": seal_of(made),
        **(price_in_plan(made) or {}),
        "days": fields(price.days, "people mean low high"),
        "sums": _sums(price),
        "options": [
            {
                **fields(offered, "kind=option.kind title=option.title price more"),
                "days": offered.option.days,
                "plan": seal_of(offered.option.plan),
                "cost": offered.option.sums.cost,
            }
            for offered in price.options
        ],
        "refused": each(price.refused, "title why"),
        "allowances": [one._asdict() for one in price.allowances],
        "ground": None
        if ground is None
        else {
            "deeper": [
                {**fields(step, "more dug filled price"), "cost": step.cost.total}
                for step in ground.steps
            ],
            **fields(ground, "by_volume hour next_bin"),
        },
        "extra": each(price.extras, "what each price"),
        "checklist": [held._asdict() for held in checklist_of(made.crew, bool(date))],
    }
