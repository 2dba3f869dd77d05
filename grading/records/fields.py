"""Attributes as plain data: their names are written once, in the order that the JSON has them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from fractions import Fraction
from operator import attrgetter
from typing import Any, TypeVar

import numpy as np

T = TypeVar("T")


def fields(of: object, names: str) -> dict[str, Any]:
    """Return attributes of an object as plain data, by name and in order.

    Parameters
    ----------
    of : object
    names : str
        Words apart by blanks: an attribute's own name, or `key=attribute` where the key in the
        JSON is another; an attribute of an attribute has a dot. Arrays and tuples become lists,
        fractions numbers.
    """
    words = (word.partition("=") for word in names.split())
    return {key: _plain(attrgetter(path or key)(of)) for key, _, path in words}


def each(of: Iterable[object], names: str) -> list[dict[str, Any]]:
    """Return attributes of each of some objects: see `fields`."""
    return [fields(one, names) for one in of]


def maybe(of: T | None, told: Callable[[T], Any] | str) -> Any:
    """Return what is told of something, by a function or by names, and None of nothing."""
    if of is None:
        return None
    return fields(of, told) if isinstance(told, str) else told(of)


def finite(value: float | None) -> float | None:
    """Return a number as JSON has it: null where it is not known, or has no end."""
    return None if value is None or not math.isfinite(value) else value


def _plain(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, Fraction):
        return float(value)
    return [_plain(one) for one in value] if isinstance(value, tuple) else value
