"""What is worked out once of a plan, and kept with it: no longer than the plan itself."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import wraps
from typing import Any, Concatenate, ParamSpec, TypeVar

Of = TypeVar("Of")
Rest = ParamSpec("Rest")
Made = TypeVar("Made")


def kept(make: Callable[Concatenate[Of, Rest], Made]) -> Callable[Concatenate[Of, Rest], Made]:
    """Let a function work out each of its results once, and keep it on what it is worked out of.

    A cache beside the plans would hold each of them, ground and all, until others came. What it is
    worked out of comes first and never changes; the result may hold it, for both are let go
    together. Whatever else it takes is hashable, and told apart by equality.
    """
    name = f"_{make.__module__}.{make.__qualname__}"

    @wraps(make)
    def made(of: Of, /, *rest: Rest.args, **named: Rest.kwargs) -> Made:
        own: dict[Hashable, Any] = vars(of).setdefault(name, {})
        key = (rest, tuple(named.items()))
        if key not in own:
            own[key] = make(of, *rest, **named)
        found: Made = own[key]
        return found

    return made
