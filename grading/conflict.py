"""Which wishes cannot be had together, and the least that each would have to give."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations

from grading.convex import feasible
from grading.wish import Wish, joined

_HALVINGS = 50


def _hold(wishes: Sequence[Wish], length: float) -> bool:
    return feasible(joined(wishes), length)


def smallest_conflict(wishes: Sequence[Wish], length: float) -> tuple[Wish, ...]:
    """Return a smallest set of wishes that no plane meets.

    Parameters
    ----------
    wishes : sequence of Wish
        Wishes that no plane meets together.
    length : float
        About how long the area is. [m]

    Notes
    -----
    Each wish is a convex set in three unknowns, so by Helly's theorem some four of them at
    most conflict. Dropping wishes one by one leaves a set that cannot be made smaller; the
    smaller sets are then tried outright.
    """
    kept = list(wishes)
    for wish in wishes:
        others = [other for other in kept if other is not wish]
        if not _hold(others, length):
            kept = others
    for size in range(1, len(kept)):
        for some in combinations(wishes, size):
            if not _hold(some, length):
                return some
    return tuple(kept)


def least_easing(wish: Wish, others: Sequence[Wish], length: float) -> float | None:
    """Return the least that one wish must give for all to hold; None where that is no help.

    Parameters
    ----------
    wish : Wish
        The one that gives.
    others : sequence of Wish
        Those that stand.
    length : float
        About how long the area is. [m]

    Returns
    -------
    float or None
        In the wish's own terms. [m or ratio]
    """
    if not _hold([*others, wish.eased(wish.most)], length):
        return None
    low, high = 0.0, wish.most
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if _hold([*others, wish.eased(middle)], length):
            high = middle
        else:
            low = middle
    return high


def explained(area: str, wishes: Sequence[Wish], length: float) -> str:
    """Tell which wishes conflict and the least easing of each that would mend it.

    Parameters
    ----------
    area : str
        Name of the area.
    wishes : sequence of Wish
        Wishes that no plane meets together.
    length : float
        About how long the area is. [m]
    """
    conflict = smallest_conflict(wishes, length)
    lines = [f"area {area!r}: no finish plane has all of these together:"]
    lines += [f"  - {wish.text}" for wish in conflict]
    lines.append("Any one of these would mend it:")
    for wish in conflict:
        others = [other for other in wishes if other is not wish]
        ease = least_easing(wish, others, length)
        if ease is not None:
            lines.append(f"  - {wish.told(ease)}")
            continue
        rest = [other for other in conflict if other is not wish]
        ease = least_easing(wish, rest, length)
        if ease is not None:
            lines.append(f"  - {wish.told(ease)} (and another conflict is left after that)")
    return "\n".join(lines)
