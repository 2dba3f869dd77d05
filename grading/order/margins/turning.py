"""Where what is found along a range changes: each place, and what it is on both sides of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise
from typing import Generic, TypeVar

from msgspec import Struct

T = TypeVar("T")


class Turn(Struct, Generic[T], frozen=True):
    """One place where it changes: the value there, and what is found below and above it."""

    value: float
    before: T
    after: T


def turns_along(
    found: Callable[[float], T], steps: Sequence[float], fine: float
) -> Iterator[Turn[T]]:
    """Give each place along a range where what is found changes, from its low end up.

    Parameters
    ----------
    found : callable
        What is found at a value; asked for a value more than once.
    steps : sequence of float
        Rising; between two at which the same is found nothing is looked for.
    fine : float
        How finely a place is found.
    """
    for low, high in pairwise(steps):
        start, last = low, found(high)
        while (first := found(start)) != last:
            end = high
            while end - start > fine:
                middle = (start + end) / 2
                if found(middle) == first:
                    start = middle
                else:
                    end = middle
            yield Turn((start + end) / 2, first, found(end))
            start = end
