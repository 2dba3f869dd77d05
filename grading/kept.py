"""What is kept between the plans of one site, by what it was made of.

A page plans anew at every touch of a finger, and most of what a plan is made of is as it was: the
ground where no spot was touched, the hole where no corner was, the finishes of areas that hang on
nothing that changed. What is kept is found by all that it was made of and by nothing else, so a
plan with it is the same to the last bit as a plan without.
"""

from __future__ import annotations

import struct
from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from datetime import date, time
from decimal import Decimal
from fractions import Fraction
from hashlib import blake2b
from pathlib import PurePath
from threading import Lock
from typing import Any, Protocol, TypeVar

import numpy as np
import shapely
from msgspec import Struct
from pydantic import BaseModel

Made = TypeVar("Made")

MOST = 16
"""How many of each kind are kept, those last asked for: a change made and taken back finds what
was there before it, and a day of changes takes no more room than these."""

PLANS = 0.125
"""A plan holds all that was worked out of it: the last two are kept, by the site that they are of.
What outlives them is what they were made of."""

GROUNDS = 0.25
"""Fewer grounds are kept, which are large where they come from a scan."""

AREAS = 4.0
"""As many more are kept of what each area or wall has, of which a site has several."""

DIGS = 16.0
"""And of what each area has on every base system."""

LINES = 64.0
"""And of numbers, one for each line that a fold is tried along."""


class Kept:
    """What is kept between the plans of one site; hand the same one to each of them.

    Several threads may share it: what two of them ask for at once may be made twice.

    Parameters
    ----------
    most : int
        How many of each kind are kept.
    """

    def __init__(self, most: int = MOST) -> None:
        self.most = most
        self._kinds: dict[str, OrderedDict[Hashable, Any]] = {}
        self._lock = Lock()
        self.advised: dict[str, str] = {}
        """The base system that each area was last advised to be planned on, by its name."""

    def once(self, kind: str, key: Hashable, make: Callable[[], Made], each: float = 1.0) -> Made:
        """Return what was made of this before, or make it.

        Parameters
        ----------
        kind : str
            What it is.
        key : hashable
            All that it is made of: a `fingerprint`, or objects that are told apart by identity.
        make : callable
        each : float
            How many of this kind are kept for one of others: `PLANS`, `GROUNDS`,
            `AREAS`, `DIGS` or `LINES`.
        """
        with self._lock:
            known = self._kinds.setdefault(kind, OrderedDict())
            if key in known:
                known.move_to_end(key)
                found: Made = known[key]
                return found
        made = make()
        with self._lock:
            known[key] = made
            known.move_to_end(key)
            while len(known) > max(each * self.most, 2):
                known.popitem(last=False)
        return made

    def aside(self) -> Kept:
        """Return what plans of another site share with this one's: a mend tried, another way.

        What they are made of is kept for both; their plans, and what they are advised, are not.
        """
        found = Kept(self.most)
        with self._lock:
            found._kinds = {kind: known for kind, known in self._kinds.items() if kind != "plan"}
        found._lock = self._lock  # of what they share
        return found

    def forget(self, kind: str) -> None:
        """Keep nothing of one kind that was made so far."""
        with self._lock:
            self._kinds.pop(kind, None)

    def __len__(self) -> int:
        """How many things are kept."""
        return sum(map(len, self._kinds.values()))


class _Hash(Protocol):
    def update(self, data: bytes, /) -> None: ...


_ROWS = 16_384  # own: rows of an array that are told at once


class Told:
    """What holds much and can tell all of it in few words."""

    __slots__ = ()

    def told(self) -> str:
        """Return what tells it apart from all else."""
        raise NotImplementedError


def fingerprint(*things: object) -> bytes:
    """Return what tells things apart by all that they hold, to the last bit.

    Parameters
    ----------
    *things
        Numbers, text, dates, arrays, shapes, paths, tables of a site file, structs, and lists,
        tuples and mappings of these.

    Raises
    ------
    TypeError
        One of them is nothing of this: what is not looked at would be taken for the same.
    """
    found = blake2b(digest_size=20)
    for thing in things:
        _tell(found, thing)
    return found.digest()


def _tell(to: _Hash, thing: object) -> None:
    """Tell a hash of a thing: its kind, its length where it has one, and what it holds."""
    match thing:
        case None | bool():
            to.update(b"?%d" % (2 if thing is None else thing))
        case float():
            to.update(b"f" + struct.pack("d", thing))
        case str():
            text = thing.encode("utf-8", "surrogatepass")
            to.update(b"s%d " % len(text))
            to.update(text)
        case np.ndarray():
            to.update(f"a{thing.dtype.str}{thing.shape}".encode())
            # Row by row: a large one is not copied whole to be told.
            rows = thing.reshape(1) if not thing.ndim else thing
            for first in range(0, len(rows), _ROWS):
                to.update(np.ascontiguousarray(rows[first : first + _ROWS]).tobytes())
        case tuple() | list():
            _tell_each(to, b"l", thing)
        case shapely.Geometry():
            form = shapely.to_wkb(thing)
            to.update(b"g%d " % len(form))
            to.update(form)
        case int():
            to.update(b"i%d " % thing)
        case range():
            to.update(b"r%d %d %d " % (thing.start, thing.stop, thing.step))
        case Told():
            _tell(to, thing.told())
        case bytes():
            to.update(b"b%d " % len(thing))
            to.update(thing)
        case BaseModel():
            to.update(type(thing).__qualname__.encode())
            # What was written counts beside what it says: a key left out may not be its default.
            _tell(to, sorted(thing.model_fields_set))
            _tell_each(to, b"d", [getattr(thing, name) for name in type(thing).model_fields])
        case Mapping():
            to.update(b"m%d " % len(thing))
            for name, each in thing.items():
                _tell(to, name)
                _tell(to, each)
        case np.generic():
            to.update(thing.dtype.str.encode() + thing.tobytes())
        case Fraction() | Decimal() | date() | time():
            _tell(to, repr(thing))
        case PurePath():
            _tell(to, str(thing))
        case Struct():
            to.update(type(thing).__qualname__.encode())
            _tell_each(to, b"d", [getattr(thing, name) for name in thing.__struct_fields__])
        case _:
            raise TypeError(f"a {type(thing).__name__} cannot be told by what it holds")


_PLAIN = {str, int, float, bool, type(None)}


def _tell_each(to: _Hash, kind: bytes, things: Sequence[object]) -> None:
    """Tell a hash of several things, in one go where Python writes them out to the last bit."""
    kinds = set(map(type, things))
    if kinds in ({str}, {type(None)}) and things.count(things[0]) == len(things):
        # such as the one file of a million spots
        to.update(b"e" + kind + b"%d " % len(things))
        _tell(to, things[0])
        return
    if kinds <= _PLAIN:
        written = repr(things).encode("utf-8", "surrogatepass")
        to.update(b"p" + kind + b"%d " % len(written))
        to.update(written)
        return
    to.update(kind + b"%d " % len(things))
    for each in things:
        _tell(to, each)
