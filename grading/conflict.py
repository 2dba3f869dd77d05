"""Which wishes cannot be had together, and the least that each would have to give."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations
from math import comb

import numpy as np
from numpy.typing import NDArray

from grading.convex import feasible
from grading.wish import Wish, joined

Floats = NDArray[np.float64]

_HALVINGS = 60
_MOST_SETS = 3000
_ROOM = 1e-5  # m or ratio: the least easing leaves a single finish, too little to look for


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


def least_easing(wish: Wish, others: Sequence[Wish], scale: Floats) -> float | None:
    """Return the least that one wish must give for all to hold; None where that is no help.

    Parameters
    ----------
    wish : Wish
        The one that gives.
    others : sequence of Wish
        Those that stand.
    scale : (n,) float
        What one unit of each unknown is worth.

    Returns
    -------
    float or None
        In the wish's own terms. [m or ratio]
    """
    if not _hold([*others, wish.eased(wish.most)], scale):
        return None
    low, high = 0.0, wish.most
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        if _hold([*others, wish.eased(middle)], scale):
            high = middle
        else:
            low = middle
    return high


def explained(
    areas: Sequence[str],
    wishes: Sequence[Wish],
    scale: Floats,
    cost: Callable[[Sequence[Wish]], float | None],
) -> str:
    """Tell which wishes conflict, and the least easing of each that would mend it.

    Parameters
    ----------
    areas : sequence of str
        Names of the areas that are solved together.
    wishes : sequence of Wish
        Wishes that no finish meets together.
    scale : (n,) float
        What one unit of each unknown is worth.
    cost : callable
        Gives the earth moved where wishes hold. [m3] Changes are told with the cheapest first.
    """
    conflict = smallest_conflict(wishes, scale)
    names = " and ".join(repr(name) for name in areas)
    what = "area" if len(areas) == 1 else "areas"
    lines = [f"{what} {names}: no finish plane has all of these together:"]
    lines += [f"  - {wish.text}{_of(wish, areas)}" for wish in conflict]
    whole: list[tuple[float, str]] = []
    partial = []
    for wish in conflict:
        others = [other for other in wishes if other is not wish]
        ease = least_easing(wish, others, scale)
        if ease is not None:
            moved = cost([*others, wish.eased(ease + _ROOM)])
            whole.append((np.inf if moved is None else moved, wish.told(ease)))
            continue
        rest = [other for other in conflict if other is not wish]
        ease = least_easing(wish, rest, scale)
        if ease is not None:
            partial.append(f"{wish.told(ease)} (and another conflict is left after that)")
    lines.append("Any one of these would mend it, the one that moves the least earth first:")
    lines += [f"  - {told}" for _, told in sorted(whole)]
    lines += [f"  - {told}" for told in partial]
    return "\n".join(lines)


def _of(wish: Wish, areas: Sequence[str]) -> str:
    """Name the area of a wish where there are several."""
    return f" ({wish.area})" if len(areas) > 1 and wish.area else ""
