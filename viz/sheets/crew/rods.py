"""The second page of the crew's sheet: what is read on the rod, for a stated reading.

What stands level on the falling finish is set by rod and sand at each of its corners.
"""

from __future__ import annotations

from collections.abc import Iterator

from grading.conditions.level_words import beside_words
from grading.conditions.seats import stands_words
from grading.crew.lines import STONES
from grading.design.area import AreaPlan
from grading.setout.instrument import rod_marks, rod_words, rounding_of
from grading.setout.model import AreaStakes, Layer, SetOut, Stake
from grading.setout.stated import made_to, rod_step
from grading.setout.words import LOWER, grid_words
from grading.units import Unit, length, size
from grading.units.writing import run
from grading.worded import of_yard
from viz.sheets.blocks import Block, Column, Page, heading, stated, table, together, words
from viz.sheets.compile import printable
from viz.sheets.head import Job, area_title
from viz.words.figures import DIRT
from viz.words.known import area_known
from viz.words.lookouts import forbidden
from viz.words.plain import opened, stopped

NO_RODS = (
    "No rod is told before what stands at the head of this sheet is settled: then print it again."
)

_ROOM, _ROD, _HEAD = 160.0, 4.2, 4  # mm for all rows, a row, rows that the head of an area takes

_CALLED = {"base": "Base top", "bedding": "Bed top", "panel": "Panel top", "finish": "Paver top"}


def rods_page(job: Job, found: SetOut) -> Page:
    """Return the page of rods.

    Parameters
    ----------
    job : Job
    found : SetOut
        With the instrument that its rods are stated for.
    """
    title = "Levels: what to read on the rod"
    blocks: list[Block] = [_stated(job, found)]
    notes = [list(_notes(job, each)) for each in found.areas]
    # What holds for several areas alike is said once, under the last.
    common = [said for said in notes[0] if notes[1:] and all(said in told for told in notes)]
    for each, told in zip(found.areas, notes, strict=True):
        blocks.append(together([
            heading(
                f"{area_title(each.area)}, on {each.area.chosen_dig.system.called}",
                _how(job, each.area),
            ),
            _table(job, found, each),
            *(words(said, small=True) for said in told if said not in common),
        ], parts=True))  # fmt: skip
    blocks += [words(f"Every area: {said}", small=True) for said in common]
    return Page(title, tuple(blocks), flows=True)


def rod_of(job: Job, found: SetOut, z: float, layer: Layer | None = None) -> str:
    """Write the rod at a level for the stated reading: of a surface to what it is made to."""
    assert found.instrument is not None
    unit = job.unit
    step = rounding_of(None, unit) if layer is None else rod_step(layer, unit)
    told = rod_words(found.instrument.at(z), rod_marks(None, job.plan.site), step)
    return told.removesuffix('"')


def level_rod(job: Job, found: SetOut, z: float, material: str) -> str:
    """Write the rod at a level of something of a material: stone to what a plate leaves."""
    assert found.instrument is not None
    step = made_to(material in STONES, job.unit)
    told = rod_words(found.instrument.at(z), rod_marks(None, job.plan.site), step)
    return told.removesuffix('"')


def _stated(job: Job, found: SetOut) -> Block:
    sight = found.instrument
    assert sight is not None
    marks = rod_marks(None, job.plan.site)
    told = rod_words(sight.reading, marks, rounding_of(None, job.unit))
    where = sight.benchmark or "a mark of yours"
    mark = f"{where}, {length(sight.z, job.unit)}; the line of sight stands at " + length(
        sight.height, job.unit
    )
    return {**stated(told, mark), "lower": LOWER}


def _how(job: Job, area: AreaPlan) -> str:
    said = {"ft-in": "feet and inches", "ft": "feet and tenths", "m": "metres",
            "cm": "centimetres", "mm": "millimetres"}[rod_marks(None, job.plan.site)]  # fmt: skip
    return f"rods in {said}; points as in 1, {grid_words(area)}"


def _table(job: Job, found: SetOut, each: AreaStakes) -> Block:
    unit = job.unit
    stakes = [stake for stake in each.stakes if stake.layers]
    filled = any(layer.role == "hole" for stake in stakes for layer in stake.layers)
    surfaces = [layer for layer in stakes[0].layers if layer.role not in ("hole", "subgrade")]
    columns = [Column("", 7.0, "words", strong=True), Column("Where", 24.0, "words"),
               Column("Dig to", kind="rod", strong=True), Column("is", 12.0, "box")]  # fmt: skip
    if filled:
        columns.append(Column("Fill top", kind="rod"))
    firm = next((layer.name for layer in surfaces if layer.role == "base"), "")
    if not firm:
        firm = next((layer.name for layer in surfaces if layer.role == "bedding"), "")
    for layer in surfaces:
        last = layer.role == "finish"
        columns.append(Column(_CALLED.get(layer.role, layer.name), kind="rod", strong=last))
        if last or layer.name == firm:
            columns.append(Column("is", 12.0, "box"))
    columns.append(Column(f"dig, {'in' if unit == 'ft' else 'mm'}"))
    rows = []
    for stake in stakes:
        lowest = stake.layers[0]
        row = [stake.name, _where(stake, unit), rod_of(job, found, lowest.z, lowest)]
        if filled:
            row.append(_at(job, found, stake, "subgrade"))
        row += [_at(job, found, stake, layer.name) for layer in surfaces]
        row.append(_dug(stake, unit))
        rows.append(row)
    return table(columns, rows, gap=_gap(job, found))


def _gap(job: Job, found: SetOut) -> float:
    """Return how far rows lie apart: wide where there are few of them. [mm]"""
    rows = sum(len(each.stakes) + _HEAD for each in found.areas)
    rows += sum(len(thing.corners) + _HEAD for thing in job.plan.advice.levels)
    return min(max((_ROOM / rows - _ROD) / 2, 0.8), 1.7)


def _at(job: Job, found: SetOut, stake: Stake, name: str) -> str:
    layer = next((each for each in stake.layers if each.name == name), None)
    return "" if layer is None else rod_of(job, found, layer.z, layer)


def _where(stake: Stake, unit: Unit) -> str:
    along, out = (round(far, 6) + 0.0 for far in stake.measured)
    return f"{run(along, unit, 8)}, {run(out, unit, 8)}"


def _dug(stake: Stake, unit: Unit) -> str:
    if stake.cut is None:
        return "?"
    told = size(abs(stake.cut), unit, 4 if unit == "ft" else 1).removesuffix(" in")
    return told.removesuffix(" mm") if stake.cut >= 0 else f"fill {told}"


def _notes(job: Job, each: AreaStakes) -> Iterator[str]:
    if any(layer.role == "hole" for stake in each.stakes for layer in stake.layers):
        yield (
            "Dig to is the bottom of the topsoil where that lies below the base, as the test holes "
            "tell it: stop there only where the soil is firm and free of roots; else go on and "
            "write it down. It is filled up to Fill top in lifts."
        )
    known = area_known(job.plan, each.area)
    if known:
        yield f"{known} At the worst of these points the ground is known to {_either(job, each)}."


def _either(job: Job, each: AreaStakes) -> str:
    worst = max((stake.either_way or 0.0) for stake in each.stakes)
    return f"\N{PLUS-MINUS SIGN}{size(worst, job.unit, DIRT)}"


def level_blocks(job: Job, found: SetOut) -> Iterator[Block]:
    """Yield how what stands level is set: the rod and the sand at each of its corners."""
    unit, rods = job.unit, not forbidden(job.plan)
    for thing in job.plan.advice.levels:
        masonry = any(corner.lost is not None for corner in thing.corners)
        bedded = thing.seat.stands == "bedding"
        rows = []
        for corner in thing.corners:
            under = corner.sand if bedded else corner.base_below
            cells = [under, *([corner.lost] if masonry else []), corner.shows]
            rows.append([
                corner.name, printable(corner.where, 200),
                *([rod_of(job, found, corner.finish)] if rods else []),
                *("" if each is None else size(each, unit) for each in cells),
            ])  # fmt: skip
        columns = [
            Column("", kind="name", strong=True), Column("Where", kind="words"),
            *([Column("finish, rod", strong=True)] if rods else []),
            Column("sand under it" if bedded else "base below finish"),
            *([Column("or off its course")] if masonry else []),
            Column("shows above"), Column("set", 9.0, "tick"),
        ]  # fmt: skip
        yield together([
            heading(
                f"Set level: {printable(thing.seat.name, 60)}",
                f"it stands {stands_words(thing.seat)}",
            ),
            table(columns, rows),
            *(words(opened(stopped(of_yard(said))), small=True)
              for said in beside_words(thing, unit)),
        ], whole=True)  # fmt: skip
