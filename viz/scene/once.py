"""What is made once of a plan, or of a part of one, however many outputs ask for it."""

from __future__ import annotations

from collections.abc import Callable, MutableMapping
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar
from weakref import WeakKeyDictionary

Of = TypeVar("Of")
Rest = ParamSpec("Rest")
Made = TypeVar("Made")


def once(make: Callable[Concatenate[Of, Rest], Made]) -> Callable[Concatenate[Of, Rest], Made]:
    """Let a function make each of its results once, and keep it as long as what it is made of.

    What it is made of comes first, is frozen and equal to itself alone; the result must not hold
    it, or neither would ever be let go. Whatever else it takes is told apart by equality.
    """
    kept: MutableMapping[Of, dict[tuple[Any, ...], Made]] = WeakKeyDictionary()

    @wraps(make)
    def made(of: Of, /, *rest: Rest.args, **named: Rest.kwargs) -> Made:
        own, key = kept.setdefault(of, {}), (rest, tuple(named.items()))
        if key not in own:
            own[key] = make(of, *rest, **named)
        return own[key]

    return made
