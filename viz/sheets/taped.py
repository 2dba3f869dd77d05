"""What is set out by tape on the crew's sheet: corners from the house, strings and their boards."""

from __future__ import annotations

from collections.abc import Iterator

from grading.setout.instrument import benchmarks_of, rod_marks, rounding_of
from grading.setout.model import AreaStakes, SetOut, set_out
from grading.setout.words import SQUARE
from grading.units import Unit, length, size
from viz.sheets.blocks import Block, Cell, Section, table, words
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, section_title
from viz.tables.stakes import Told, diagonals_table, stakes_table, strings_table
from viz.words.figures import run

_TAPED = ("corner", "end of a fold", "centre")
"""Kinds of stakes whose tapes stand on the sheet; the grid stands on the pocket cards."""


def taping(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield how each area is set out by tape: its corners, its strings, its diagonals."""
    site = job.plan.site
    found = set_out(job.plan)
    told = Told(rod_marks(None, site), rounding_of(None, job.unit), job.unit)
    held = "; ".join(f"{each.name}, {each.where}" for each in found.references)
    for each in found.areas:
        blocks: list[Block] = []
        if found.references:
            blocks += [_ties(found, each, told), words(f"Tapes are held to {held}.")]
            notes = [
                f"{stake.name}: {stake.note}"
                for stake in each.stakes
                if stake.note and stake.kind in _TAPED
            ]
            blocks += [words(f"{'; '.join(notes)}.")] if notes else []
        blocks += _centres(each, job.unit)
        blocks += _strings(found, each, told, job.unit)
        blocks.append(words(_rods(job)))
        yield Section(section_title(job, each.area, "set out by tape and string"), tuple(blocks))


def _ties(found: SetOut, each: AreaStakes, told: Told) -> Block:
    kept = {stake.name for stake in each.stakes if stake.kind in _TAPED}
    rows: list[list[Cell]] = [
        [str(cell) for cell in row[:4]]
        for row in stakes_table(found, each, told).rows
        if row[0] in kept
    ]
    heads = ("Corner", "First tape", "Second tape", "Check", "Is")
    return table(heads, rows, (16, 48, 48, 48, 26), left=4, pencil=1)


def _centres(each: AreaStakes, unit: Unit) -> Iterator[Block]:
    """Give where the centre of each arc lies, and its radius: of the outline, and of holes."""
    if not each.radii:
        return
    measured = {stake.name: stake.measured for stake in each.stakes}
    rows: list[list[Cell]] = []
    for name, radius in each.radii:
        along, out = (run(round(v, 6) + 0.0, unit) for v in measured[name])
        rows.append([name, f"{along} along", f"{out} out", run(radius, unit)])
    yield table(("Centre of an arc", "Where", "", "Radius"), rows, (34, 50, 50, 50), left=3)


def _strings(found: SetOut, each: AreaStakes, told: Told, unit: Unit) -> Iterator[Block]:
    if each.strings:
        over = size(each.strings[0].over, unit)
        yield words(f"Strings {over} above the finish, everywhere: measure down from them.")
        rows: list[list[Cell]] = [
            [str(row[0]), *(printable(str(cell), 80) for cell in (row[2], row[3], row[4], row[5]))]
            for row in strings_table(found, each, told).rows
        ]
        heads = ("Line", "From", "To", "Length", "Fall")
        yield table(heads, rows, (14, 56, 56, 22, 48), left=3)
    diagonals = "; ".join(f"{corners} {far}" for corners, far in diagonals_table(each, told).rows)
    said = f"Diagonals: {diagonals}. " if diagonals else ""
    yield words(f"{said}{SQUARE[unit]}")


def _rods(job: Job) -> str:
    """Say how elevations become rods of today's instrument."""
    marks = [f"{name} {length(z, job.unit)}" for name, z in benchmarks_of(job.plan.site).items()]
    on = f" ({'; '.join(marks)})" if marks else ""
    return (
        f"Rods: hold the rod on a benchmark{on}; its height and the reading together are the line "
        "of sight, ______________ today, and every rod is the line of sight less the elevation. "
        "The command fallaway stakes prints them on pocket cards."
    )
