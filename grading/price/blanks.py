"""What a paper with a price has to hold beside the price, and what of it is still to be filled in.

The list is of what model acts of several states ask for together. It says what is printed, and
never that this is what a place asks for: that is for someone who knows its law.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Literal, NamedTuple

from grading.crew.model import Crew
from grading.crew.price_table import NONE, text_of

Status = Literal["printed", "by hand", "blank", "left out"]
"""Whether it is printed, written in by hand, still to be filled in, or left out on purpose."""

TYPED = ("address", "licence", "insurance", "care")
"""Keys of [price] that are printed as they are typed."""

FILED = ("terms", "notice", "disputes")
"""Keys of [price] that name a text of the crew's own."""


class Held(NamedTuple):
    """One thing that the paper should hold: the key of it, and how it stands."""

    key: str
    status: Status


def typed(crew: Crew, key: str) -> str | None:
    """Return what stands on the paper under a key, "" where there is none, None of a blank.

    Parameters
    ----------
    crew : Crew
        Who says how it makes a price.
    key : str
        One of `TYPED` or `FILED`.
    """
    terms = crew.pricing
    assert terms is not None
    if key in FILED:
        return text_of(terms, key, Path(crew.file).parent)
    found: str | None = getattr(terms, key)
    if found is None and key == "licence":
        found = crew.card.registration
    return "" if found == NONE else found


def blanks_of(crew: Crew) -> tuple[str, ...]:
    """Return the keys of [price] that are still to be filled in, in the order of the paper.

    Parameters
    ----------
    crew : Crew
        Who says how it makes a price.
    """
    return tuple(key for key in (*TYPED, *FILED) if typed(crew, key) is None)


def checklist_of(crew: Crew, dated: bool) -> Iterator[Held]:
    """Yield what the paper should hold, and how each of it stands.

    Parameters
    ----------
    crew : Crew
        Who says how it makes a price.
    dated : bool
        Whether the paper has a date.
    """
    terms, card = crew.pricing, crew.card
    assert terms is not None
    yield Held("who", "printed" if card.name and card.phone else "blank")
    yield _typed(crew, "address")
    yield _typed(crew, "licence")
    yield Held("customer", "by hand")
    yield Held("date", "printed" if dated else "by hand")
    yield Held("work", "printed")
    yield Held("colour", "by hand")
    yield Held("price", "printed")
    yield Held("payments", "printed")
    yield Held("deposit", "printed" if terms.deposit_most else "left out")
    yield Held("begins", "by hand")
    yield Held("permits", "printed")
    yield Held("changes", "printed")
    yield _typed(crew, "insurance")
    yield _typed(crew, "care")
    yield _typed(crew, "terms")
    yield _typed(crew, "notice")
    yield Held("wait", "printed" if terms.cancel else "left out")
    yield _typed(crew, "disputes")
    yield Held("signatures", "by hand")


def _typed(crew: Crew, key: str) -> Held:
    found = typed(crew, key)
    return Held(key, "blank" if found is None else "printed" if found else "left out")
