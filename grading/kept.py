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
from functools import cache
from hashlib import blake2b
from pathlib import PurePath
from threading import Lock
from types import NoneType
from typing import Any, Protocol, TypeVar
from weakref import ref

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


class Same:
    """A key for the very thing itself, which is told apart by being it: it is kept with the key.

    For what was itself found among what is kept, and so is the same object where it is alike.
    """

    __slots__ = ("of",)

    def __init__(self, of: object) -> None:
        self.of = of

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and self.of is other.of

    def __hash__(self) -> int:
        return id(self.of)


@cache
def _names(kind: Any) -> tuple[str, ...]:
    """Return the names of a table's fields."""
    return tuple(kind.model_fields)


def _tell(to: _Hash, thing: Any) -> None:
    """Tell a hash of a thing: its kind, its length where it has one, and what it holds."""
    kind: Any = type(thing)
    _way(kind)(to, thing)


_Way = Callable[[_Hash, Any], None]


@cache
def _way(kind: type[Any]) -> _Way:
    """Return how things of a kind are told: looked for once, as there are few kinds."""
    for own, way in _WAYS:
        if issubclass(kind, own):
            return way
    return _tell_none


def _tell_none(_: _Hash, thing: object) -> None:
    raise TypeError(f"a {type(thing).__name__} cannot be told by what it holds")


def _tell_sign(to: _Hash, thing: bool | None) -> None:
    to.update(b"?%d" % (2 if thing is None else thing))


def _tell_float(to: _Hash, thing: float) -> None:
    to.update(b"f" + struct.pack("d", thing))


def _tell_text(to: _Hash, thing: str) -> None:
    text = thing.encode("utf-8", "surrogatepass")
    to.update(b"s%d " % len(text) + text)


def _tell_array(to: _Hash, thing: np.ndarray[Any, Any]) -> None:
    to.update(f"a{thing.dtype.str}{thing.shape}".encode())
    # Row by row: a large one is not copied whole to be told.
    rows = thing.reshape(1) if not thing.ndim else thing
    for first in range(0, len(rows), _ROWS):
        to.update(np.ascontiguousarray(rows[first : first + _ROWS]).tobytes())


def _tell_row(to: _Hash, thing: Sequence[object]) -> None:
    _tell_each(to, b"l", thing)


def _tell_shape(to: _Hash, thing: shapely.Geometry) -> None:
    form = shapely.to_wkb(thing)
    to.update(b"g%d " % len(form))
    to.update(form)


def _tell_int(to: _Hash, thing: int) -> None:
    to.update(b"i%d " % thing)


def _tell_range(to: _Hash, thing: range) -> None:
    to.update(b"r%d %d %d " % (thing.start, thing.stop, thing.step))


def _tell_told(to: _Hash, thing: Told) -> None:
    _tell(to, thing.told())


def _tell_bytes(to: _Hash, thing: bytes) -> None:
    to.update(b"b%d " % len(thing))
    to.update(thing)


_TABLES: dict[int, tuple[ref[BaseModel], bytes]] = {}
"""What tells tables apart that are still there, by their identity: they never change, and most of a
changed site is of the tables that it had."""


def _tell_table(to: _Hash, thing: BaseModel) -> None:
    known = _TABLES.get(id(thing))
    if known is None or known[0]() is not thing:
        number, told = id(thing), blake2b(digest_size=20)
        kind = type(thing)
        names, written, held = _names(kind), thing.model_fields_set, thing.__dict__
        # What was written counts beside what it says: a key left out may not be its default.
        told.update(kind.__qualname__.encode() + bytes([name in written for name in names]))
        _tell_each(told, b"d", [held[name] for name in names])
        known = ref(thing, lambda _: _TABLES.pop(number, None)), told.digest()
        if kind.model_config.get("frozen"):
            _TABLES[number] = known
    to.update(b"T" + known[1])


def _tell_mapping(to: _Hash, thing: Mapping[Any, Any]) -> None:
    to.update(b"m%d " % len(thing))
    for name, each in thing.items():
        _tell(to, name)
        _tell(to, each)


def _tell_scalar(to: _Hash, thing: np.generic) -> None:
    to.update(thing.dtype.str.encode() + thing.tobytes())


def _tell_repr(to: _Hash, thing: object) -> None:
    _tell(to, repr(thing))


def _tell_path(to: _Hash, thing: PurePath) -> None:
    _tell(to, str(thing))


def _tell_record(to: _Hash, thing: Struct) -> None:
    to.update(type(thing).__qualname__.encode())
    _tell_each(to, b"d", [getattr(thing, name) for name in thing.__struct_fields__])


_WAYS: tuple[tuple[type[Any] | tuple[type[Any], ...], _Way], ...] = (
    ((NoneType, bool), _tell_sign),
    (float, _tell_float),
    (str, _tell_text),
    (np.ndarray, _tell_array),
    ((tuple, list), _tell_row),
    (shapely.Geometry, _tell_shape),
    (int, _tell_int),
    (range, _tell_range),
    (Told, _tell_told),
    (bytes, _tell_bytes),
    (BaseModel, _tell_table),
    (Mapping, _tell_mapping),
    (np.generic, _tell_scalar),
    ((Fraction, Decimal, date, time), _tell_repr),
    (PurePath, _tell_path),
    (Struct, _tell_record),
)
"""How each kind is told; what is of two kinds is told as the first."""


_PLAIN = {str, int, float, bool, type(None)}
_POINTS = {tuple}, {list}


def _tell_each(to: _Hash, kind: bytes, things: Sequence[Any]) -> None:
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
    if kinds in _POINTS:
        # As they are, with how many each has, and then all that they have in one row.
        rows = repr((type(things[0]).__name__, [len(row) for row in things]))
        to.update(b"t" + kind + rows.encode())
        _tell_each(to, kind, [each for row in things for each in row])
        return
    # What is plain in one go, with its place kept for each thing that is not.
    plain = repr([each if type(each) in _PLAIN else ... for each in things])
    written = plain.encode("utf-8", "surrogatepass")
    to.update(b"m" + kind + b"%d " % len(written))
    to.update(written)
    for each in things:
        if type(each) not in _PLAIN:
            _tell(to, each)
