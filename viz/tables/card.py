"""A decision card as it is shown, and the sentences that it comes to."""

from __future__ import annotations

from msgspec import Struct

from grading.answers.card import Card, Deeper, card_of, deeper_of
from grading.answers.card_words import advised_words, cheapest_words, crew_deeper_words
from grading.order.telling import telling_of
from grading.pipeline import Plan
from viz.tables.order import break_even_words


class CardSheet(Struct, frozen=True):
    """A decision card, with what deeper topsoil takes more on the bases chosen."""

    card: Card
    deeper: tuple[Deeper, ...]


def sheet_of(plan: Plan) -> CardSheet:
    """Return the decision card of a plan.

    Parameters
    ----------
    plan : Plan
    """
    return CardSheet(card_of(plan), deeper_of(plan))


def verdicts(sheet: CardSheet) -> tuple[str, ...]:
    """Return where the advice and the cost turn, and what deeper topsoil takes, a sentence each.

    Parameters
    ----------
    sheet : CardSheet
    """
    card, plan = sheet.card, sheet.card.plan
    said = [*advised_words(card), cheapest_words(card)]
    if card.break_even is not None:
        said.append(break_even_words(card.break_even, plan.site.unit, telling_of(plan.order)))
    return (*said, f"{crew_deeper_words(plan, sheet.deeper)}.")
