"""The pocket cards of a set-out: stakes by tape and rod, strings, black on white, for gloves."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from grading.setout.model import AreaStakes, SetOut
from grading.setout.words import LOWER, SQUARE, instrument_words
from grading.units import size
from viz.export.stakes import write_stakes_dxf
from viz.files import write_with
from viz.sheets.compile import Compiled, printable
from viz.signature import not_for_signature
from viz.table import csv_text
from viz.tables.stakes import (
    Told,
    diagonals_table,
    stakes_sheet,
    stakes_table,
    strings_table,
)
from viz.words.cautions import DRAWING

_ROWS = 6
"""Stakes on one card, so that a figure is read at arm's length."""


def cards_data(found: SetOut, told: Told) -> dict[str, Any]:
    """Return what the template reads.

    Parameters
    ----------
    found : SetOut
    told : Told
    """
    sight = found.instrument
    return {
        # Index cards: 8 by 5 in, or A5.
        "card": {"ft": [203.2, 127.0], "m": [210.0, 148.0]}[told.unit],
        "site": printable(found.design.site.name, 60),
        "band": not_for_signature(found.design),
        "caution": DRAWING,
        "sight": "elevations, no reading told"
        if sight is None
        else instrument_words(sight, told.rod, told.unit, told.step),
        "rod": "" if sight is None else f"rod in {told.rod}",
        "lower": LOWER if sight is not None else "",
        "held": [f"{each.name}: {each.where}" for each in found.references],
        "cards": [card for each in found.areas for card in _cards(found, each, told)],
    }


def _cards(found: SetOut, each: AreaStakes, told: Told) -> Iterator[dict[str, Any]]:
    table = stakes_table(found, each, told)
    title = printable(each.area.area.name, 40)
    notes = {stake.name: list(found.notes(stake)) for stake in each.stakes}
    for first in range(0, len(table.rows), _ROWS):
        rows = table.rows[first : first + _ROWS]
        yield {
            "title": title,
            "heads": [*table.headers],
            "tapes": 3 if found.references else 2,
            "rows": [[str(cell) for cell in row] for row in rows],
            "notes": [f"{row[0]}: {note}" for row in rows for note in notes[str(row[0])]],
            "lines": [],
        }
    yield {"title": title, "heads": [], "tapes": 0, "rows": [], "notes": [],
           "lines": _lines(found, each, told)}  # fmt: skip


def _lines(found: SetOut, each: AreaStakes, told: Told) -> list[list[str]]:
    """Return the strings of an area, a row of words each, with what checks them."""
    rows = [[str(cell) for cell in row] for row in strings_table(found, each, told).rows]
    if each.strings:
        over = size(each.strings[0].over, told.unit)
        rows.insert(0, [f"Strings {over} above the finish, everywhere."])
    diagonals = diagonals_table(each, told).rows
    if diagonals:
        said = "; ".join(f"{corners} {far}" for corners, far in diagonals)
        rows.append([f"Diagonals: {said}."])
    return [*rows, [SQUARE[told.unit]]]


def write_stakes(
    found: SetOut,
    told: Told,
    folder: Path,
    say: Callable[[str], None],
    beside: Mapping[str, str] | None = None,
) -> list[Path]:
    """Write pocket cards, a spreadsheet and a drawing of a set-out, and return the files.

    Parameters
    ----------
    found : SetOut
    told : Told
    folder : Path
    say : callable
        Told what is being done.
    beside : mapping of str to str, optional
        Further files with their texts.

    Raises
    ------
    SiteError
        The folder cannot be written.
    """

    def make(made: Path) -> None:
        say("setting the pocket cards ...")
        with Compiled("stakes") as sheet:
            (made / "stakes.pdf").write_bytes(sheet.pdf(cards_data(found, told)))
        text = csv_text(stakes_sheet(found, told))
        (made / "stakes.csv").write_text(text, encoding="utf-8-sig")
        write_stakes_dxf(found, made / "stakes.dxf")
        for name, words in (beside or {}).items():
            (made / name).write_text(words, encoding="utf-8")

    return write_with(folder, make, found.design.site)
