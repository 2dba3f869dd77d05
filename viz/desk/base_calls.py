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
from viz.desk.seen import Seen
from viz.words.plain import stopped

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
