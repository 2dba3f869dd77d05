"""Sentences for two readers: who writes the files of a site, and who stands in its yard.

The terminal and the page say by which key of a file a thing is mended, for that is where it is
mended. A crew with a paper in its hand writes no file: where all that can be done is to plan
otherwise, it is told to have that settled before it digs. Who makes such a sentence gives both.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

from msgspec import Struct

SETTLED = "have that settled in the plan before you dig"
"""What is done in a yard about what only a changed plan mends."""


class Worded(Struct, frozen=True):
    """A sentence, or a part of one, that is not the same to both; it is added to others by `+`.

    file : to who writes the files of a site.
    yard : to who stands in the yard.
    """

    file: str
    yard: str

    def __add__(self, more: Said) -> Worded:
        return Worded(self.file + of_file(more), self.yard + of_yard(more))

    def __format__(self, _: str) -> str:
        raise TypeError("a sentence in two wordings is added to others, not filled into them")

    def __radd__(self, before: str) -> Worded:
        return Worded(before + self.file, before + self.yard)


Said: TypeAlias = str | Worded


def in_plan(words: str) -> Worded:
    """Return how a thing is mended in a file of the site, and that a yard has it settled there."""
    return Worded(words, SETTLED)


def of_file(said: Said) -> str:
    """Return what who writes the files of a site is told."""
    return said.file if isinstance(said, Worded) else said


def of_yard(said: Said) -> str:
    """Return what who stands in the yard is told."""
    return said.yard if isinstance(said, Worded) else said


def joined(parts: Iterable[Said], mark: str) -> Worded:
    """Return parts with a mark between them."""
    given = list(parts)
    return Worded(mark.join(map(of_file, given)), mark.join(map(of_yard, given)))
