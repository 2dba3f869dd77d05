"""What a section of the crew's sheet is made of: words, tables, drawings, a page of its own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from viz.sheets.compile import printable

MARGIN = 12.0
"""Beside the text of the crew's sheet. [mm]"""

Cell = str | tuple[str, str]
"""Words; or the figure in the site's unit and in the other, one under the other."""

Block = dict[str, Any]


@dataclass(frozen=True)
class Section:
    """A part of the crew's sheet: its title, and what stands under it, in order.

    fresh : whether it begins on a page of its own.
    """

    title: str
    blocks: tuple[Block, ...]
    fresh: bool = False

    def data(self) -> dict[str, Any]:
        """Return it as the template reads it."""
        return {"title": self.title, "blocks": list(self.blocks), "fresh": self.fresh}


def words(text: str, *, bold: bool = False) -> Block:
    """Return a paragraph."""
    return {"kind": "words", "text": printable(text, len(text)), "bold": bold}


def listed(items: Iterable[str], *, boxes: bool = False) -> Block:
    """Return a list, with a box to tick before each item where it is one to work through."""
    return {"kind": "list", "items": [printable(item, len(item)) for item in items], "boxes": boxes}


def drawing(found: dict[str, Any], about: str = "") -> Block:
    """Return a drawing at its own size, with what is said of it."""
    return {"kind": "drawing", "drawing": found, "about": about}


def sketch() -> Block:
    """Return squared paper to draw on."""
    return {"kind": "sketch"}


def page(found: dict[str, Any], title: str) -> Block:
    """Return a drawing that fills a page of its own, turned where it is wider than high."""
    return {"kind": "page", "drawing": found, "title": title}


def table(
    heads: Sequence[str], rows: Iterable[Sequence[Cell]], shares: Sequence[float], *,
    left: int = 1, pencil: int = 0, large: bool = False, last_bold: bool = False,
) -> Block:  # fmt: skip
    """Return a table.

    Parameters
    ----------
    heads : sequence of str
    rows : iterable of sequence of Cell
    shares : sequence of float
        Of the width, one for each column, the pencil boxes included.
    left : int
        How many first columns are set from the left; figures stand at the right.
    pencil : int
        How many empty boxes to write in stand at the end of each row.
    large : bool
        Whether it is read at arm's length.
    last_bold : bool
        Whether the last row is a total.
    """
    cells = [[_cell(cell) for cell in row] for row in rows]
    return {
        "kind": "table", "heads": list(heads), "rows": cells, "shares": list(shares),
        "left": left, "pencil": pencil, "large": large, "last_bold": last_bold,
    }  # fmt: skip


def _cell(cell: Cell) -> list[str]:
    pair = (cell, "") if isinstance(cell, str) else cell
    # Whole, however long: how a check is mended stands at its end.
    return [printable(part, len(part)) for part in pair]
