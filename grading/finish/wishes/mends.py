"""What each wish of a finish may give where wishes conflict, how far, and how that is done.

No mend eases a limit beyond the floor of its rule: a patio that falls to the house is none,
whatever conflict it would end. A sill that is too high for one step is given more risers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.rules import RULES, Limits, Rule
from grading.finish.wishes.model import Wish
from grading.geometry.tolerances import SAME, whole_down, whole_up
from grading.units import size

_SHAPES = frozenset({"fold", "straight-fall"})
"""What the person drew, and no limit: the limits stand whatever it gives."""
LOCAL_CODE = "only if the local code allows it"
"""What is said of a published limit that is eased, wherever that is offered."""
LANDING = "with a landing at the sill where the local code asks for one"
"""What is said beside steps down from a door."""

_LANDING = 2
"""Risers outside a door that may need no landing at its sill: IRC R311.3.2, exception, from memory;
not at the door that the code counts as the way out, nor where it swings over them."""
FEWEST_WITH_LANDING = _LANDING + 1
"""Risers at a door that are built with a landing at its sill."""
_MOST_RISERS = 8
"""More is a stair, which is drawn and not offered; common practice, no source."""


class Mend(Struct, frozen=True):
    """One way in which a wish may give.

    Attributes
    ----------
    wish : Wish
        The one that gives.
    most : float
        How far it may be eased; 0 where it is put in another way. [m or ratio]
    told : callable
        Says it, from how far it is eased.
    swapped : Wish or None
        What takes its place, where it is put in another way.
    published : float or None
        A published limit that may then not be kept: only the local code can allow that. What the
        site itself asks for may be tighter, and gives before it falls short. [m or ratio]
    """

    wish: Wish
    most: float
    told: Callable[[float], str]
    swapped: Wish | None = None
    published: float | None = None

    def short(self, by: float) -> bool:
        """Say whether a published limit is not kept when the wish gives so far. [m or ratio]"""
        return self.published is not None and _beyond(self.wish, by, self.published)

    def given(self, by: float) -> Wish:
        """Return what is wished when it gives so far. [m or ratio]"""
        return self.wish.eased(by) if self.swapped is None else self.swapped


def mends_of(wish: Wish, limits: Limits) -> Iterator[Mend]:
    """Yield the ways in which a wish may give; none where it gives nothing.

    Parameters
    ----------
    wish : Wish
    limits : Limits
        Those of the site.
    """
    most_riser = limits.pair("riser")[1]
    match wish.rule:
        case "given-plane":
            words = f"leave out the plane given for {wish.about}, and one is fitted"
            yield Mend(wish, 0.0, lambda by: words, _nothing(wish))
        case "shared-edge":
            yield from _step_between(wish, limits)
        case "riser":
            yield from _risers(wish, limits)
        case "door-step" if not wish.at_least:
            most = _MOST_RISERS * most_riser - wish.limit
            yield Mend(wish, most, lambda by: _steps_at_door(wish, by, most_riser))
        case rule if rule in _SHAPES:
            yield Mend(wish, wish.most, wish.told)
        case rule if rule in RULES:
            most, published = _reach(wish, RULES[rule]), _published(wish, RULES[rule])
            if most > 0:
                yield Mend(
                    wish, most, lambda by: _as_the_rule_says(wish, by, limits), published=published
                )


def _nothing(wish: Wish) -> Wish:
    return replace(wish, rows=wish.rows[:0], lower=wish.lower[:0], upper=wish.upper[:0], discs=())


def _reach(wish: Wish, rule: Rule) -> float:
    """Return how far a rule lets a wish give. [m or ratio]"""
    if rule.move is not None:
        return rule.move
    if rule.floor is None:
        return 0.0
    pair = rule.floor if isinstance(rule.floor, tuple) else (rule.floor, rule.floor)
    floor = pair[0 if wish.at_least else 1]
    return max(wish.limit - floor if wish.at_least else floor - wish.limit, 0.0)


def _published(wish: Wish, rule: Rule) -> float | None:
    """Return the limit that is published, where a wish may be eased beyond it. [m or ratio]"""
    if rule.floor is None or rule.kind != "published" or rule.limit is None:
        return None
    pair = rule.limit if isinstance(rule.limit, tuple) else (rule.limit, rule.limit)
    return pair[0 if wish.at_least else 1]


def _beyond(wish: Wish, by: float, published: float) -> bool:
    eased = wish.limit - by if wish.at_least else wish.limit + by
    return eased < published - SAME if wish.at_least else eased > published + SAME


def _as_the_rule_says(wish: Wish, by: float, limits: Limits) -> str:
    rule = RULES[wish.rule]
    words = wish.told(by)
    if rule.mend:
        words = f"{words}: {rule.mend}"
    if wish.rule == "door-step":
        least = size(wish.limit - by, wish.unit)
        words = f"{words}: a step of {least} there, not {size(wish.limit, wish.unit)}"
    published = _published(wish, rule)
    if published is not None and _beyond(wish, by, published) and not rule.mend:
        source = limits.source(wish.rule).partition(":")[0]
        words = f"{words} (short of what {source} asks: {LOCAL_CODE})"
    return words


def _steps_at_door(wish: Wish, by: float, most: float) -> str:
    drop, unit = wish.limit + by, wish.unit
    count = max(whole_up(drop / most), 1)
    told = size(wish.limit + wish.rounded(by), unit)
    if count == 1:
        return f"{wish.told(by)}: a step of {told} there"
    landing = LANDING if count <= _LANDING else "with a landing at the sill"
    return (
        f"{wish.told(by)}: a step at the door, {count} risers of {size(drop / count, unit)} in "
        f"place of one, {landing} (its step in the site file is then up to {told})"
    )


def _risers(wish: Wish, limits: Limits) -> Iterator[Mend]:
    """Yield a step between areas of as many risers as it takes, each within its limits."""
    least, most = limits.pair("riser")

    def count(by: float) -> int:
        drop = wish.limit - by if wish.at_least else wish.limit + by
        return max(whole_down(drop / least) if wish.at_least else whole_up(drop / most), 1)

    def told(by: float) -> str:
        drop = wish.limit - by if wish.at_least else wish.limit + by
        risers = count(by)
        each = size(drop / risers, wish.unit)
        return f"{wish.told(by)}: {risers} riser{'s' if risers > 1 else ''} of {each} there"

    reach = wish.limit - least if wish.at_least else _MOST_RISERS * most - wish.limit
    if reach > 0:
        yield Mend(wish, reach, told)


def _step_between(wish: Wish, limits: Limits) -> Iterator[Mend]:
    """Yield a step of one riser, either way, where two areas were to be flush."""
    least, most = limits.pair("riser")
    count = len(wish.rows)
    words = (
        f"edge of {wish.about}: a step of {size(least, wish.unit)} to {size(most, wish.unit)} "
        "there, declared as [[step]]"
    )
    for sign in (1, -1):
        low, high = sorted((sign * least, sign * most))
        swapped = replace(wish, lower=np.full(count, low), upper=np.full(count, high))
        yield Mend(wish, 0.0, lambda by: words, swapped)
