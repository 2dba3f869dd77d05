"""Sentences for three readers: of a site's files, of the page that writes them, of its yard.

The terminal says by which key of a file a thing is mended, for that is where it is mended. On the
page every key is a field, and nobody there need know that there is a file. A crew with a paper in
its hand writes nothing: where all that can be done is to plan otherwise, it is told to have that
settled before it digs. Who makes such a sentence gives all of them.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

from msgspec import Struct

SETTLED = "have that settled in the plan before you dig"
"""What is done in a yard about what only a changed plan mends."""


class Worded(Struct, frozen=True):
    """A sentence, or a part of one, that is not the same to all; it is added to others by `+`.

    file : to who writes the files of a site.
    yard : to who stands in the yard.
    page : to who writes them by the page; as in the yard where it is left out.
    """

    file: str
    yard: str
    page: str | None = None

    def __add__(self, more: Said) -> Worded:
        page = of_page(self) + of_page(more)
        return Worded(self.file + of_file(more), self.yard + of_yard(more), page)

    def __format__(self, _: str) -> str:
        raise TypeError("a sentence in several wordings is added to others, not filled into them")

    def __radd__(self, before: str) -> Worded:
        return Worded(before + self.file, before + self.yard, before + of_page(self))


Said: TypeAlias = str | Worded


def in_plan(words: str, page: str | None = None) -> Worded:
    """Return how a thing is mended in a file of the site, and that a yard has it settled there.

    Parameters
    ----------
    words : str
    page : str, optional
        How it is mended on the page, where the file's words name a key.
    """
    return Worded(words, SETTLED, words if page is None else page)


def of_file(said: Said) -> str:
    """Return what who writes the files of a site is told."""
    return said.file if isinstance(said, Worded) else said


def of_yard(said: Said) -> str:
    """Return what who stands in the yard is told."""
    return said.yard if isinstance(said, Worded) else said


def of_page(said: Said) -> str:
    """Return what who writes them by the page is told."""
    if isinstance(said, Worded):
        return said.yard if said.page is None else said.page
    return said


def joined(parts: Iterable[Said], mark: str) -> Worded:
    """Return parts with a mark between them."""
    given = list(parts)
    return Worded(*(mark.join(map(of, given)) for of in (of_file, of_yard, of_page)))
