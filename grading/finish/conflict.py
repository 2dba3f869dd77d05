"""Which wishes cannot be had together, and the least that each would have to give."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from itertools import combinations
from math import comb

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.rules import Limits
from grading.errors import Eased, Relaxation
from grading.finish.convex import feasible
from grading.finish.fit import Measure
from grading.finish.wishes.mends import Mend, mends_of
from grading.finish.wishes.model import Wish, joined
from grading.geometry.arrays import Floats
from grading.geometry.roots import least_that

_HALVINGS = 40
_MOST_SETS = 3000
_TOLD = 6
_ENOUGH = 2  # offers: larger sets are then not tried
_FIRST: dict[Measure, str] = {
    "dig and refill": "the one that takes the least digging and refilling",
    "earth": "the one that moves the least earth",
}
_ROOM = 1e-5  # own: m or ratio, the least easing leaves a single finish, too little to look for


def _hold(wishes: Sequence[Wish], scale: Floats) -> bool:
    return feasible(joined(wishes, len(scale)), scale)


def smallest_conflict(wishes: Sequence[Wish], scale: Floats) -> tuple[Wish, ...]:
    """Return a smallest set of wishes that no plane meets.

    Parameters
    ----------
    wishes : sequence of Wish
        Wishes that no plane meets together.
    scale : (n,) float
        What one unit of each unknown is worth.

    Notes
    -----
    Each wish is a convex set in n unknowns, so by Helly's theorem some n + 1 of them at most
    conflict. Dropping wishes one by one leaves a set that cannot be made smaller; smaller sets
    of others are then tried outright, as far as there are not too many.
    """
    kept = list(wishes)
    for wish in wishes:
        others = [other for other in kept if other is not wish]
        if not _hold(others, scale):
            kept = others
    for size in range(1, len(kept)):
        if comb(len(wishes), size) > _MOST_SETS:
            break
        for some in combinations(wishes, size):
            if not _hold(some, scale):
                return some
    return tuple(kept)


def least_easing(mend: Mend, others: Sequence[Wish], scale: Floats) -> float | None:
    """Return the least that one wish must give for all to hold; None where that is no help.

    Parameters
    ----------
    mend : Mend
        The wish that gives, and how far it may.
    others : sequence of Wish
        Those that stand.
    scale : (n,) float
        What one unit of each unknown is worth.

    Returns
    -------
    float or None
        In the wish's own terms, rounded up to what it is told in. [m or ratio]
    """
    if not _hold([*others, mend.given(mend.most)], scale):
        return None
    least = least_that(
        lambda by: _hold([*others, mend.given(by)], scale), 0.0, mend.most,
        _HALVINGS if mend.most else 0,
    )  # fmt: skip
    return min(mend.wish.rounded(least), mend.most)


class Offer(Struct, frozen=True):
    """What ends every conflict.

    Attributes
    ----------
    parts : tuple of (Mend, float)
        What gives, and how far. [m or ratio]
    cost : float
        What is counted of the earth then, infinite where it is not known. [m3]
    """

    parts: tuple[tuple[Mend, float], ...]
    cost: float

    @property
    def short(self) -> int:
        """How many published limits it falls short of."""
        return sum(mend.short(by) for mend, by in self.parts)

    @property
    def text(self) -> str:
        """The offer in words."""
        return "; and ".join(mend.told(by) for mend, by in self.parts)

    @property
    def relaxation(self) -> Relaxation:
        """The offer as who is told of the conflict may follow it."""
        return Relaxation(self.text, tuple(_eased(mend, by) for mend, by in self.parts))


def _eased(mend: Mend, by: float) -> Eased:
    wish, swapped = mend.wish, mend.swapped
    upwards = bool(swapped.lower[0] > 0) if swapped is not None and len(swapped.lower) else None
    return Eased(
        wish.rule, wish.about, wish.area, wish.limit, wish.at_least, by, upwards, mend.short(by)
    )


class _Given(Struct, frozen=True):
    """Wishes of which some give: mends and how far, by the number of the wish."""

    wishes: tuple[Wish, ...]
    scale: Floats
    given: Mapping[int, tuple[Mend, float]]

    def now(self, room: float = 0.0) -> list[Wish]:
        """Return the wishes as they stand, with room besides."""
        now = list(self.wishes)
        for number, (mend, by) in self.given.items():
            now[number] = mend.given(by + room if mend.most else 0.0)
        return now

    @property
    def holds(self) -> bool:
        """Whether all can be had."""
        return _hold(self.now(), self.scale)

    def by_share(self, share: float) -> _Given:
        """Return the same with each giving this share of what it may."""
        given = {number: (mend, share * mend.most) for number, (mend, _) in self.given.items()}
        return replace(self, given=given)

    def without(self, number: int) -> _Given:
        """Return the same with one giving nothing."""
        return replace(self, given={key: each for key, each in self.given.items() if key != number})

    def least(self) -> _Given:
        """Return the same with each giving no more than it must beside the others.

        What need not give at all is left out, a published limit before others; then all give
        the least share alike of what they may, and then one by one as little as each must.
        """
        needed = self
        for number in sorted(
            self.given, key=lambda number: self.given[number][0].published is None
        ):
            if needed.without(number).holds:
                needed = needed.without(number)
        share = least_that(lambda share: needed.by_share(share).holds, 0.0, 1.0, _HALVINGS)
        made = needed.by_share(share)
        for number, (mend, _) in needed.given.items():
            others = [each for other, each in enumerate(made.now()) if other != number]
            by = least_easing(mend, others, self.scale)
            if by is not None:
                made = replace(made, given={**made.given, number: (mend, by)})
        return made

    def offer(self, cost: Callable[[Sequence[Wish]], float | None]) -> Offer:
        """Return it as an offer."""
        volume = cost(self.now(_ROOM))
        parts = tuple(self.given[number] for number in sorted(self.given))
        return Offer(parts, np.inf if volume is None else volume)


def offers_for(
    wishes: Sequence[Wish],
    scale: Floats,
    limits: Limits,
    cost: Callable[[Sequence[Wish]], float | None],
) -> list[Offer]:
    """Return what would end every conflict: what keeps the published limits first.

    Then what takes the fewest that give, and of those the cheapest.

    Parameters
    ----------
    wishes : sequence of Wish
        Wishes that no finish meets together.
    scale : (n,) float
        What one unit of each unknown is worth.
    limits : Limits
    cost : callable
        Gives what is counted of the earth where wishes hold. [m3]

    Notes
    -----
    Sets of wishes that give together are tried by their size, each as far as it may, and then no
    farther than it must; a set of which a part does it is passed over. Two offers are enough.
    """
    mends = [
        (number, mend) for number, wish in enumerate(wishes) for mend in mends_of(wish, limits)
    ]
    nothing = _Given(tuple(wishes), scale, {})
    done: list[frozenset[int]] = []
    offers: dict[str, Offer] = {}
    for count in range(1, len(mends) + 1):
        sets = [dict(some) for some in combinations(mends, count)]
        if len(sets) > _MOST_SETS or len(offers) >= _ENOUGH:
            break
        for some in sets:
            numbers = frozenset(some)
            if len(some) < count or any(each <= numbers for each in done):
                continue
            tried = replace(nothing, given={key: (mend, mend.most) for key, mend in some.items()})
            if tried.holds:
                done.append(numbers)
                offer = tried.least().offer(cost)
                offers.setdefault(offer.text, offer)
    if not offers:
        # Too many to try every set: all that may give, less what need not.
        every = replace(nothing, given={key: (mend, mend.most) for key, mend in mends})
        if every.holds:
            offer = every.least().offer(cost)
            offers[offer.text] = offer
    return sorted(offers.values(), key=lambda each: (each.short, len(each.parts), each.cost))


def explained(
    areas: Sequence[str],
    wishes: Sequence[Wish],
    conflict: Sequence[Wish],
    scale: Floats,
    limits: Limits,
    cost: Callable[[Sequence[Wish]], float | None],
    measure: Measure,
) -> tuple[str, tuple[Relaxation, ...]]:
    """Tell which wishes conflict, and the least easing of each that would mend it.

    Given with what is offered.

    Parameters
    ----------
    areas : sequence of str
        Names of the areas that are solved together.
    wishes : sequence of Wish
        Wishes that no finish meets together.
    conflict : sequence of Wish
        A smallest set of them that conflict.
    scale : (n,) float
        What one unit of each unknown is worth.
    limits : Limits
        How far a limit may be eased is told with it.
    cost : callable
        Gives what is counted of the earth where wishes hold. [m3] Changes are told with the
        cheapest first.
    measure : "dig and refill" or "earth"
        What is counted.
    """
    names = " and ".join(repr(name) for name in areas)
    what = "area" if len(areas) == 1 else "areas"
    lines = [f"{what} {names}: no finish plane has all of these together:"]
    lines += [f"  - {wish.text}{_of(wish, areas)}" for wish in conflict]
    offers = offers_for(wishes, scale, limits, cost)
    if offers:
        alone = min(len(offer.parts) for offer in offers) == 1
        each = "Any one of these" if alone else "Nothing mends it alone. Any line of these"
        if len(offers) == 1:
            lines.append(f"{'This' if alone else 'Nothing mends it alone. This'} would mend it:")
        else:
            lines.append(f"{each} would mend it, {_first(offers, measure)} first:")
        lines += [f"  - {offer.text}" for offer in offers[:_TOLD]]
        if len(offers) > _TOLD:
            lines.append(
                f"and {len(offers) - _TOLD} more ways, each of which takes more than these"
            )
        return "\n".join(lines), tuple(offer.relaxation for offer in offers[:_TOLD])
    partial = []
    for wish in conflict:
        rest = [each for each in conflict if each is not wish]
        for mend in mends_of(wish, limits):
            by = least_easing(mend, rest, scale)
            if by is not None:
                partial.append(f"  - {mend.told(by)}")
    if partial:
        lines.append("These would end that conflict, and leave another that nothing ends:")
        lines += list(dict.fromkeys(partial))
    lines.append(
        "No limit may give enough to end it all. Two levels with a step between them, a fold, or "
        "another outline may do it"
    )
    return "\n".join(lines), ()


def _first(offers: Sequence[Offer], measure: Measure) -> str:
    """Say in which order offers are told."""
    if len({offer.short for offer in offers}) == 1:
        return _FIRST[measure]
    return f"what keeps the published limits, and of that {_FIRST[measure]},"


def _of(wish: Wish, areas: Sequence[str]) -> str:
    """Name the area of a wish where there are several."""
    return f" ({wish.area})" if len(areas) > 1 and wish.area else ""
