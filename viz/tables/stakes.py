"""Stakes and strings as tables: for the terminal, the pocket cards and a spreadsheet."""

from __future__ import annotations

from math import degrees

from msgspec import Struct

from grading.setout.instrument import rod_words
from grading.setout.model import AreaStakes, SetOut, Stake
from grading.setout.words import board_words, cut_words, string_words, tape_words, tie_words
from grading.units import METRES, Unit, length, run
from grading.units.rods import RodUnit
from viz.table import DIGITS, Table


class Told(Struct, frozen=True):
    """How figures of a set-out are told: the rod's marks, and to the nearest of what. [m]"""

    rod: RodUnit
    step: float
    unit: Unit


def surfaces_of(each: AreaStakes) -> tuple[str, ...]:
    """Return the surfaces of an area's stakes that are levelled, from the hole up to the finish."""
    names = dict.fromkeys(layer.name for stake in each.stakes for layer in stake.layers)
    # The bottom of the hole stands only where something is filled up above it.
    return tuple(sorted(names, key=lambda name: _depth(each, name), reverse=True))


def _depth(each: AreaStakes, name: str) -> float:
    found = [
        stake.layers[-1].z - layer.z
        for stake in each.stakes
        for layer in stake.layers
        if layer.name == name
    ]
    return max(found)


def level_words(found: SetOut, stake: Stake, surface: str, told: Told) -> str:
    """Write the rod at one surface of a stake, or its level where no instrument is told of."""
    z = next((layer.z for layer in stake.layers if layer.name == surface), None)
    if z is None:
        return ""
    if found.instrument is None:
        return length(z, told.unit)
    return rod_words(found.instrument.at(z), told.rod, told.step)


def stakes_table(found: SetOut, each: AreaStakes, told: Told) -> Table:
    """Return the stakes of an area as they are read in the yard.

    Parameters
    ----------
    found : SetOut
    each : AreaStakes
        One of its areas.
    told : Told
    """
    surfaces, radii = surfaces_of(each), dict(each.radii)
    rows = []
    for stake in each.stakes:
        if found.references:
            ties = [tie_words(tie, told.unit, told.step) for tie in stake.tied.ties]
            ties += [""] * (3 - len(ties))
        else:
            ties = [tape_words(each, told.unit, told.step) for each in stake.measured]
        levels = (level_words(found, stake, surface, told) for surface in surfaces)
        dig = f"radius {run(radii[stake.name], told.unit)}" if stake.name in radii else ""
        rows.append((stake.name, *ties, dig or cut_words(stake, told.unit), *levels))
    tapes = ("tie", "tie", "check") if found.references else ("along", "out")
    return Table(("stake", *tapes, "dig", *surfaces), tuple(rows))


def strings_table(found: SetOut, each: AreaStakes, told: Told) -> Table:
    """Return the strings of an area: where their boards stand, how long they are, what they fall.

    Parameters
    ----------
    found : SetOut
    each : AreaStakes
    told : Told
    """
    rows = []
    for string in each.strings:
        kind, long, falls = string_words(string, told.unit, told.step)
        ends = (
            board_words(board, told.unit, told.step, _rod(found, board.z, told))
            for board in (string.start, string.end)
        )
        rows.append((string.name, kind, *ends, long, falls))
    return Table(("line", "", "from", "to", "length", "fall"), tuple(rows))


def _rod(found: SetOut, z: float, told: Told) -> str:
    if found.instrument is None:
        return ""
    return rod_words(found.instrument.at(z), told.rod, told.step)


def diagonals_table(each: AreaStakes, told: Told) -> Table:
    """Return the diagonals that check the corners of an area."""
    rows = tuple(
        (f"{one}-{other}", tape_words(far, told.unit, told.step))
        for one, other, far in each.diagonals
    )
    return Table(("corners", "apart"), rows)


def stakes_sheet(found: SetOut, told: Told) -> Table:
    """Return every stake as numbers for a spreadsheet, in the site's unit; rods as read too."""
    per, unit = METRES[told.unit], told.unit
    surfaces = list(dict.fromkeys(name for each in found.areas for name in surfaces_of(each)))
    heads = ["area", "stake", "kind", f"x ({unit})", f"y ({unit})"]
    heads += [f"{part} {number}" for number in (1, 2, 3) for part in ("to", f"tape ({unit})")]
    heads += ["angle (degrees)", f"existing ({unit})", f"existing, plus or minus ({unit})"]
    heads += [f"dig ({unit})"]
    for name in surfaces:
        heads += [f"{name} ({unit})", f"{name} rod"]
    rows = []
    for each in found.areas:
        for stake in each.stakes:
            ties = [
                cell
                for tie in stake.tied.ties
                for cell in (tie.to, round(tie.length / per, DIGITS))
            ]
            ties += [""] * (6 - len(ties))
            angle = stake.tied.angle
            known = (stake.existing, stake.either_way, stake.cut)
            levels: list[object] = []
            for name in surfaces:
                z = next((layer.z for layer in stake.layers if layer.name == name), None)
                rod = "" if found.instrument is None else level_words(found, stake, name, told)
                levels += ["", ""] if z is None else [round(z / per, DIGITS), rod]
            rows.append(
                (
                    each.area.area.name, stake.name, stake.kind,
                    *(round(float(v) / per, DIGITS) for v in stake.at), *ties,
                    "" if angle is None else round(degrees(angle), 1),
                    *("" if v is None else round(v / per, DIGITS) for v in known), *levels,
                    "; ".join(found.notes(stake)),
                )
            )  # fmt: skip
    return Table((*heads, "note"), tuple(rows))
