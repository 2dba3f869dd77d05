"""The first page of the crew's sheet: what to look at, and where everything is set out by tape."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from math import degrees

from grading.design.levels import grid_of
from grading.geometry.tolerances import TOGETHER
from grading.pipeline import Plan
from grading.setout.instrument import rounding_of
from grading.setout.model import AreaStakes, SetOut, Stake
from grading.setout.words import SQUARE, grid_words, tape_words, tie_words
from grading.units import Unit, run, size
from viz.paper.page import Scale
from viz.sheets.blocks import (
    Block,
    Column,
    Page,
    beside,
    blanks,
    boxed,
    drawing,
    heading,
    listed,
    table,
    together,
    words,
)
from viz.sheets.compile import Compiled
from viz.sheets.crew.rods import NO_RODS, rod_of
from viz.sheets.crew.set_out_plan import (
    WIDE,
    height_of,
    set_out_plan,
    stated_scales,
    width_of,
)
from viz.sheets.head import Job, area_title
from viz.words.lookouts import forbidden, lookouts

_TAPED = ("corner", "end of a fold", "middle of an arc", "centre")
"""Kinds of stakes whose tapes stand on the page; grid points lie on lines between them."""

_FREE = 28.0  # mm of the page's height in its margins
_HEAD, _ROW, _TICKED, _LINE = 12.5, 4.4, 4.75, 3.7  # mm: title and blanks; rows; a line of words
_LETTERS, _SMALL = 108, 125  # of a line of words, of one in small letters
_STOP, _BESIDE = 20.0, 80  # mm of its frames; letters of a line beside "not to be built"
_HEADING = 6.3  # mm: heading of an area, and what stands between it and the plan
_BETWEEN = 6.0  # mm between columns
_READ = 150.0  # a plan at a smaller scale is hard to read on a tailgate


def plans_page(job: Job, found: SetOut, sheet: Compiled) -> Page:
    """Return the page that everything is set out from.

    Parameters
    ----------
    job : Job
    found : SetOut
    sheet : Compiled
        Takes the drawings.
    """
    blocks: list[Block] = [blanks(("Date", "Foreman", "Locate ticket", "Weather"))]
    said = list(lookouts(job.plan))
    if said:
        blocks.append(boxed([words("Look out on this job", bold=True),
                             listed(said, numbered=True)]))  # fmt: skip
    against = forbidden(job.plan)
    if against:
        blocks.append(boxed([words(NO_RODS, bold=True)]))
    blocks.append(words(_common(job, found), small=True))
    own = [_caption(job, found, each) for each in found.areas]
    below = [list(_below(job, found, each)) for each in found.areas]
    first = _HEAD + _tall([blocks[-1]]) + _looked(said)
    if against:
        first += _STOP + sum(math.ceil(len(each) / _BESIDE) * _LINE for each in against)
    scale = _scale(job, found, first, list(zip(own, below, strict=True)))
    for each, told, tables in zip(found.areas, own, below, strict=True):
        made = set_out_plan(job.plan, found, each, scale)
        name = area_title(each.area)
        alt = f"{name} as one faces the house: points lettered and numbered, hubs, tapes, strings"
        blocks.append(together([
            heading(
                f"{name}, as you face the house" if job.plan.site.house else name,
                f"{scale.words.partition(' (')[0]}, true scale",
            ),
            *_set(made.page.width, drawing(sheet.drawing(made, alt)), told, tables),
        ]))  # fmt: skip
    return Page("Set out", tuple(blocks))


def _set(wide: float, made: Block, told: str, tables: Sequence[Block]) -> list[Block]:
    """Return a plan with its tapes under it, or beside it where it is narrow enough."""
    if wide == WIDE:
        return [made, words(told, small=True), *tables]
    return [beside([made], [words(told, small=True), *_stacked(tables)],
                   shares=(wide, WIDE - wide - _BETWEEN))]  # fmt: skip


def _stacked(tables: Sequence[Block]) -> Iterator[Block]:
    """Yield what stands in columns one under the other."""
    for each in tables:
        if each["kind"] == "beside":
            yield from (block for column in each["columns"] for block in column)
        else:
            yield each


def _scale(
    job: Job, found: SetOut, first: float, told: Sequence[tuple[str, Sequence[Block]]]
) -> Scale:
    """Return the scale of the plans: the largest that takes the fewest pages, and is still read.

    Parameters
    ----------
    job : Job
    found : SetOut
    first : float
        How high what stands above all plans is set. [mm]
    told : sequence of (str, blocks)
        What stands with the plan of each area.
    """
    page = job.page.height - _FREE
    scales = stated_scales(job.plan, found)
    read = [scale for scale in scales if scale.ratio <= _READ] or scales[:1]

    def pages(scale: Scale) -> int:
        count, filled = 1, first
        for each, (said, tables) in zip(found.areas, told, strict=True):
            high = _high(job.plan, found, each, scale, said, tables)
            if filled + high > page:
                count, filled = count + 1, 0.0
            filled += high
        return count

    return min(read, key=lambda scale: (pages(scale), scale.ratio))


def _high(
    plan: Plan, found: SetOut, each: AreaStakes, scale: Scale, said: str, tables: Sequence[Block]
) -> float:
    """Return about how high the plan of an area is set, with all that stands with it. [mm]"""
    wide, high = width_of(plan, found, each, scale), height_of(plan, found, each, scale)
    if wide == WIDE:
        return _HEADING + high + math.ceil(len(said) / _SMALL) * _LINE + _tall(tables)
    letters = _SMALL * (1 - wide / WIDE)
    aside = math.ceil(len(said) / letters) * _LINE + _tall(list(_stacked(tables)))
    return _HEADING + max(high, aside)


def _looked(said: Sequence[str]) -> float:
    """Return about how high the box of what is looked at is set. [mm]"""
    lines = sum(math.ceil(len(each) / _LETTERS) for each in said)
    return lines * (_LINE + 0.3) + len(said) * 0.9 + 9.0 if said else 0.0


def _tall(*areas: Sequence[Block]) -> float:
    """Return about how high what stands below the plans is set. [mm]"""
    high = 0.0
    for block in (block for blocks in areas for block in blocks):
        if block["kind"] == "beside":
            high += max(_rows(column) for column in block["columns"]) + 1.0
        elif block["kind"] == "table":
            high += _rows([block]) + 1.0
        else:
            high += math.ceil(len(block["text"]) / _SMALL) * _LINE + 0.5
    return high


def _rows(blocks: Sequence[Block]) -> float:
    """Return about how high tables are set, those with boxes to tick a little higher. [mm]"""
    high = 0.0
    for block in blocks:
        if block["kind"] == "table":
            ticked = any(column["kind"] == "tick" for column in block["columns"])
            high += _LINE + 0.8 + len(block["rows"]) * (_TICKED if ticked else _ROW)
    return high


def _common(job: Job, found: SetOut) -> str:
    """Say what holds for every area: what tapes are held to, how a corner is proved square."""
    unit = job.unit
    said = [SQUARE[unit]]
    if found.references:
        used = {tie.to for each in found.areas for stake in each.stakes for tie in stake.tied.ties}
        held = "; ".join(f"{ref.name} {ref.where}" for ref in found.references if ref.name in used)
        said.insert(0, f"Tapes level, from the face of the foundation: {held}.")
    return " ".join(said)


def _caption(job: Job, found: SetOut, each: AreaStakes) -> str:
    """Say how the plan of an area is read: dig line, hubs, strings, grid, diagonals."""
    unit = job.unit
    step = rounding_of(None, unit)
    over = each.area.chosen_dig.system.over_dig(job.plan.limits)
    said = [f"Dig line {size(over, unit)} outside the paving, dashed."]
    beyond = sorted({round(board.beyond, 4) for string in each.strings if not string.chalked
                     for board in (string.start, string.end) if not board.on_house})  # fmt: skip
    if beyond:
        said.append(f"Hubs {tape_words(beyond[0], unit, step)} past the corners.")
    if each.strings:
        said.append(f"Strings {size(each.strings[0].over, unit)} over the finish.")
    said.append(f"Grid {run(each.grid.spacing, unit)}, {grid_words(each.area)}"
                f"{_thinned(each, unit)}.")  # fmt: skip
    diagonals = "; ".join(
        f"{one}-{other} {tape_words(far, unit, step)}" for one, other, far in each.diagonals
    )
    if diagonals:
        said.append(f"Diagonals: {diagonals}.")
    return " ".join(said)


def _thinned(each: AreaStakes, unit: Unit) -> str:
    usual = grid_of(each.area, unit, each.points.xy).spacing
    return (
        "" if each.grid.spacing <= usual + TOGETHER else " (closer on the cards of fallaway stakes)"
    )


def _below(job: Job, found: SetOut, each: AreaStakes) -> Iterator[Block]:
    """Yield the tapes of an area beside its strings, then its arcs, then what is to be known."""
    taped = [
        stake for stake in each.stakes if stake.kind in _TAPED and not _is_flat_centre(each, stake)
    ]
    yield beside([_ties(job, found, taped)], [_strings(job, found, each)], shares=(1.62, 1.0))
    yield from _curves(job, each)
    notes = [f"{stake.name}: {stake.note}" for stake in taped if stake.note]
    if notes:
        yield words(f"{'; '.join(notes)}.", small=True)


def _is_flat_centre(each: AreaStakes, stake: Stake) -> bool:
    """Whether a stake is the centre of an arc of the outline, which is marked from a string."""
    return stake.kind == "centre" and not each.round_hole(stake)


def _ties(job: Job, found: SetOut, taped: Sequence[Stake]) -> Block:
    step = rounding_of(None, job.unit)
    rows = []
    most = max((len(stake.tied.ties) for stake in taped), default=0)
    for stake in taped:
        if found.references:
            ties = [tie_words(tie, job.unit, step) for tie in stake.tied.ties]
            ties += [""] * (most - len(ties))
            angle = stake.tied.angle
            told = "" if angle is None else f"{degrees(angle):.0f}°"
            if angle is None and stake.tied.wall:
                told = "wall"
            rows.append([stake.name, *ties, told])
        else:
            rows.append([stake.name, *(tape_words(far, job.unit, step) for far in stake.measured)])
    heads = (*("tape", "tape", "check")[:most], "angle") if found.references else ("along", "out")
    return table(
        [Column("Point", kind="name", strong=True), *(Column(head) for head in heads),
         Column("set", 9.0, "tick")],
        rows,
    )  # fmt: skip


def _strings(job: Job, found: SetOut, each: AreaStakes) -> Block:
    if not each.strings:
        return words("No straight edge is long enough for a string.", small=True)
    step = rounding_of(None, job.unit)
    rods = not forbidden(job.plan)
    rows = []
    for string in each.strings:
        ends = [rod_of(job, found, board.z) for board in (string.start, string.end)]
        far = tape_words(string.length, job.unit, step)
        rows.append([string.name, far, *(ends if rods else ())])
    heads = ("long", "rod, 1st end", "rod, 2nd end") if rods else ("long",)
    return table(
        [Column("String", kind="name", strong=True), *(Column(head) for head in heads)], rows
    )


def _curves(job: Job, each: AreaStakes) -> Iterator[Block]:
    """Yield how arcs are marked: so far along a string, so far off it; alike ones in one table."""
    unit = job.unit
    step, word = rounding_of(None, unit), f" {'in' if unit == 'ft' else 'mm'}"
    left = sorted(each.curves, key=lambda bent: -len(bent.marks))
    while left:
        along = [_along(mark.along, unit) for mark in left[0].marks]
        alike = [
            bent for bent in left
            if [_along(mark.along, unit) for mark in bent.marks] == along[: len(bent.marks)]
        ]  # fmt: skip
        left = [bent for bent in left if bent not in alike]
        rows = [
            [f"{bent.start}-{bent.end}", tape_words(bent.length, unit, step),
             "outward" if bent.outward else "inward",
             *(size(mark.off, unit, 8).removesuffix(word) for mark in bent.marks),
             *[""] * (len(along) - len(bent.marks))]
            for bent in alike
        ]  # fmt: skip
        yield table(
            [Column("Arc", kind="name", strong=True), Column("string"),
             Column(f"off it,{word}, at"), *(Column(far) for far in along)],
            rows,
        )  # fmt: skip


def _along(metres: float, unit: Unit) -> str:
    return run(metres, unit).removesuffix(' 0"')
