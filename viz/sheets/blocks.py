"""What a page of the crew's sheet is made of: words, tables, drawings, boxes to write in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Literal

from msgspec import Struct

from viz.sheets.compile import printable

MARGIN = 12.0
"""Beside the text of the crew's sheet. [mm]"""

Block = dict[str, Any]
Kind = Literal["words", "name", "figure", "rod", "box", "tick"]
"""What stands in a column: words or a short name from the left, a figure from the right, a rod that
is read at arm's length, an empty box to write in, a box to tick."""


class Page(Struct, frozen=True):
    """A part of the sheet: its title, and what stands under it, in order.

    One that `flows` begins wherever room is left for its head; any other begins a page, but where
    it fits whole under the last.
    """

    title: str
    blocks: tuple[Block, ...]
    flows: bool = False

    def data(self) -> dict[str, Any]:
        """Return it as the template reads it."""
        return {"title": self.title, "blocks": list(self.blocks), "flows": self.flows}


class Column(Struct, frozen=True):
    """A column of a table: its head, its width, what stands in it.

    Words share what is left of the width, `share` each; a box or a tick is `share` mm wide; figures
    and rods take what they need. `strong` sets it bold, a rod on a tint that a copy keeps.
    """

    head: str
    share: float = 1.0
    kind: Kind = "figure"
    strong: bool = False


def words(text: str, *, bold: bool = False, small: bool = False) -> Block:
    """Return a paragraph."""
    return {"kind": "words", "text": printable(text, len(text)), "bold": bold, "small": small}


def heading(text: str, aside: str = "") -> Block:
    """Return a heading, with what is said beside it in small letters."""
    return {"kind": "heading", "text": printable(text, 140), "aside": printable(aside, len(aside))}


def listed(
    items: Iterable[str], *, boxes: bool = False, numbered: bool = False, columns: int = 1
) -> Block:
    """Return a list, with a box to tick before each item where it is one to work through."""
    return {
        "kind": "list", "items": [printable(item, len(item)) for item in items], "boxes": boxes,
        "numbered": numbered, "columns": columns,
    }  # fmt: skip


def boxed(blocks: Iterable[Block], *, heavy: bool = False) -> Block:
    """Return blocks within a frame, which a copy keeps."""
    return {"kind": "boxed", "blocks": list(blocks), "heavy": heavy}


def beside(*columns: Sequence[Block], shares: Sequence[float]) -> Block:
    """Return blocks in columns that stand beside each other."""
    return {"kind": "beside", "columns": [list(each) for each in columns], "shares": list(shares)}


def together(blocks: Iterable[Block], *, parts: bool = False, whole: bool = False) -> Block:
    """Return blocks that no end of a page parts; a long table that `parts` goes on on the next.

    What is short, and says nothing without its beginning, stays `whole` where a sheet is set so
    close that others are parted.
    """
    return {"kind": "together", "blocks": list(blocks), "parts": parts, "whole": whole}


def blanks(labels: Sequence[str]) -> Block:
    """Return lines to write on, each after what belongs there."""
    return {"kind": "blanks", "labels": list(labels)}


def drawing(found: dict[str, Any]) -> Block:
    """Return a drawing at its own size."""
    return {"kind": "drawing", "drawing": found}


def sketch(title: str, aside: str, elsewhere: str) -> Block:
    """Return squared paper to draw on, as high as what is left of the page.

    Parameters
    ----------
    title, aside : str
        Stand over it.
    elsewhere : str
        Stands in its place where too little of the page is left.
    """
    return {"kind": "sketch", "text": title, "aside": aside, "elsewhere": elsewhere}


def elsewhere(text: str) -> Block:
    """Return what stands in place of squared paper, beside what is above it, on a closer sheet."""
    return {"kind": "elsewhere", "text": text}


def stated(reading: str, mark: str) -> Block:
    """Return the sum that corrects every reading for today's instrument, with room to write it.

    Parameters
    ----------
    reading : str
        What was stated for the benchmark.
    mark : str
        What the rod is held on.
    """
    return {"kind": "stated", "reading": reading, "mark": printable(mark, len(mark))}


def table(
    columns: Sequence[Column], rows: Iterable[Sequence[str]], *, total: bool = False,
    gap: float = 0.9, whole: bool = False,
) -> Block:  # fmt: skip
    """Return a table.

    Parameters
    ----------
    columns : sequence of Column
    rows : iterable of sequence of str
        A cell for each column but boxes and ticks, which are empty.
    total : bool
        Whether the last row is a total.
    gap : float
        Above and below what stands in a row. [mm]
    whole : bool
        Whether no end of a page parts it.
    """
    return {
        "kind": "table",
        "columns": [
            {
                "head": each.head, "share": each.share, "kind": each.kind, "strong": each.strong,
            }
            for each in columns
        ],
        "rows": [[printable(cell, len(cell)) for cell in row] for row in rows],
        "total": total,
        "gap": gap,
        "whole": whole,
    }  # fmt: skip
