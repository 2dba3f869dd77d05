"""What the page asks of the bases by name: where the advice turns, over which topsoil."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from grading.answers.card import card_of, deeper_of
from grading.answers.card_words import (
    FINISH_STAYS,
    advised_words,
    cheapest_words,
    crew_deeper_words,
)
from grading.order.margins.break_even import break_evens_of
from grading.order.margins.sensitivity import swings_of
from grading.order.telling import telling_of
from grading.worded import of_page
from viz.desk.seen import Seen
from viz.tables.order import break_even_words, swung
from viz.words.plain import opened, stopped

NO_PLAN = "There is no plan yet that could turn."


def turns(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return over which topsoil which base is advised, and what deeper topsoil takes.

    Parameters
    ----------
    seen : Seen
    told : mapping
        Nothing of it is used.
    """
    if seen.plan is None:
        return {"words": NO_PLAN}
    card = card_of(seen.plan)
    words = list(advised_words(card))
    if seen.asked.prices:
        words += [cheapest_words(card)]
        words += [stopped(crew_deeper_words(seen.plan, deeper_of(seen.plan)))]
    return {"words": "\n".join([*words, FINISH_STAYS])}


_SHOWN = 6


def swings(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return which figures move the comparison of the bases most, and where one stops paying.

    Parameters
    ----------
    seen : Seen
    told : mapping
        Nothing of it is used.
    """
    plan = seen.plan
    if plan is None or not seen.asked.prices:
        return {"words": NO_PLAN}
    unit, telling = plan.site.unit, telling_of(plan.order)
    words = []
    for each in swings_of(plan.order)[:_SHOWN]:
        first, last = (swung(each.entry, value, unit, telling) for value in each.values)
        saves = " and ".join(telling.words(margin) for margin in each.margins)
        turns = "; another base is then the cheapest" if each.turns else ""
        words.append(
            f"{opened(each.entry.title)}, from {first} to {last}: the cheapest base saves {saves}"
            f"{turns}."
        )
    if not telling.priced:
        words.append(stopped(of_page(telling.why)))
    words += [break_even_words(found, unit, telling) for found in break_evens_of(plan.order)]
    return {"words": "\n".join(words)}
