"""Stakes and strings as printed in the terminal."""

from __future__ import annotations

from grading.records.stakes import stakes_record
from grading.setout.model import SetOut
from grading.setout.words import LOWER, SQUARE, instrument_words
from grading.units import size
from viz.signature import not_for_signature
from viz.tables.stakes import Told, diagonals_table, stakes_table, strings_table
from viz.terminal.lines import in_json
from viz.words.cautions import REPORT

NO_SIGHT = (
    "Levels are elevations above the site's datum. With today's reading they are rods: "
    '--benchmark NAME --reading "3\' 2 1/2\\"".'
)


def text(found: SetOut, told: Told) -> str:
    """Return a set-out as it is printed: what tapes are held to, stakes, strings, diagonals."""
    site = found.design.site
    parts = [site.name, *filter(None, [not_for_signature(found.design)]), ""]
    if found.instrument is None:
        parts.append(NO_SIGHT)
    else:
        sight = instrument_words(found.instrument, told.rod, told.unit, told.step)
        parts += [f"Instrument: {sight}.", LOWER]
    parts += ["", *references(found, told)]
    for each in found.areas:
        parts += ["", f"{each.area.area.name}, on {each.area.chosen_dig.system.called}"]
        parts.append(stakes_table(found, each, told).grid())
        for stake in each.stakes:
            parts += [f"Look: {stake.name}: {note}" for note in found.notes(stake)]
        if each.strings:
            over = size(each.strings[0].over, told.unit)
            parts += ["", f"Strings {over} above the finish, everywhere:"]
            parts.append(strings_table(found, each, told).grid())
        diagonals = diagonals_table(each, told)
        if diagonals.rows:
            said = "; ".join(f"{corners} {far}" for corners, far in diagonals.rows)
            parts.append(f"Diagonals: {said}.")
        parts.append(SQUARE[told.unit])
    return "\n".join((*parts, "", REPORT))


def references(found: SetOut, told: Told) -> list[str]:
    """Say what tapes are held to, a line each."""
    if not found.references:
        return ["No house is drawn: stakes are told along and out from the first line of the grid."]
    said = [f"{each.name}, {each.where}" for each in found.references]
    return [f"Tapes are held to: {'; '.join(said)}."]


def as_json(found: SetOut, told: Told) -> str:
    """Return a set-out as JSON, in SI."""
    return in_json(stakes_record(found, told.rod, told.step))
