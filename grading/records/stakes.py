"""Stakes and strings as plain data: lengths and levels in m, angles in degrees."""

from __future__ import annotations

import math
from typing import Any

from grading.design.model import Design
from grading.records.fields import each, fields, maybe
from grading.setout.instrument import Instrument, rod_marks, rod_words, rounding_of
from grading.setout.model import AreaStakes, SetOut, Stake
from grading.setout.stated import by_rod, rod_step
from grading.setout.strings import String
from grading.units.rods import RodUnit

SCHEMA = "fallaway/stakes/1"


def stakes_record(found: SetOut, rod: RodUnit, step: float | None) -> dict[str, Any]:
    """Return a set-out as plain data, ready for JSON.

    Parameters
    ----------
    found : SetOut
    rod : "ft-in", "ft", "m", "cm" or "mm"
        What the rod is marked in.
    step : float or None
        What rods are told to the nearest of; None: of what the surface is made to. [m]
    """
    sight = found.instrument
    return {
        "schema": SCHEMA,
        "site": found.design.site.name,
        "hi": None if sight is None else sight.height,
        "benchmark": maybe(sight, "name=benchmark z reading"),
        "rod": rod,
        "references": each(found.references, "name at where"),
        "areas": [_area(found, area, rod, step) for area in found.areas],
    }


def rods_record(design: Design) -> dict[str, Any]:
    """Return what the crew's sheet tells of rods and tapes, as plain data.

    Parameters
    ----------
    design : Design
    """
    return stakes_record(by_rod(design), rod_marks(None, design.site), None)


def _area(found: SetOut, area: AreaStakes, rod: RodUnit, step: float | None) -> dict[str, Any]:
    return {
        **fields(area, "name=area.area.name base=area.chosen"),
        "stakes": [_stake(found, stake, rod, step) for stake in area.stakes],
        "strings": [_string(found, string, rod, step) for string in area.strings],
        "radii": dict(area.radii),
        "diagonals": [
            {"corners": [one, other], "length": far} for one, other, far in area.diagonals
        ],
        "curves": [
            {**fields(bent, "from=start to=end length outward"),
             "marks": each(bent.marks, "along off")}
            for bent in area.curves
        ],
    }  # fmt: skip


def _stake(found: SetOut, stake: Stake, rod: RodUnit, step: float | None) -> dict[str, Any]:
    tied, unit = stake.tied, found.design.site.unit
    return {
        **fields(stake, "name kind at"),
        "along": stake.measured[0],
        "out": stake.measured[1],
        "ties": each(tied.ties, "to length"),
        "angle": None if tied.angle is None else math.degrees(tied.angle),
        "wall": tied.wall or None,
        **fields(stake, "existing existing_either_way=either_way"),
        "layers": [
            fields(layer, "name z")
            | _rod(found.instrument, layer.z, rod, step or rod_step(layer, unit))
            for layer in stake.layers
        ],
        "cut": stake.cut,
        "note": "; ".join(found.notes(stake)),
    }


def _rod(sight: Instrument | None, z: float, rod: RodUnit, step: float) -> dict[str, Any]:
    if sight is None:
        return {"rod": None, "rod_text": None}
    reading = sight.at(z)
    return {"rod": reading, "rod_text": rod_words(reading, rod, step)}


def _string(found: SetOut, string: String, rod: RodUnit, step: float | None) -> dict[str, Any]:
    step = step or rounding_of(None, found.design.site.unit)
    return {
        "name": string.name,
        "kind": "chalk line" if string.chalked else "string",
        **fields(string, "over_finish=over length drop"),
        "ends": [
            fields(board, "corner beyond at z above_ground=above on_house")
            | _rod(found.instrument, board.z, rod, step)
            for board in (string.start, string.end)
        ],
    }
