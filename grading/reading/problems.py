"""What of a site cannot all be true: paving in the house, levels of another yard, areas dug."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from grading.errors import Problem
from grading.files.fields import Table
from grading.files.toml_text import nearest, shown_value
from grading.reading.suspicions import other_unit
from grading.site.house import HOUSE_STRIP, House, overlap_with
from grading.site.step_tables import Door
from grading.site.tables import Area, FinishTable
from grading.units import FOOT, INCH, Unit, length, number
from grading.worded import Said, Worded


def done_problems(written: Mapping[str, Any], areas: Sequence[str], file: str) -> Iterator[Problem]:
    """Give a problem for each part that is dug in no area of the site, or in none that is named.

    Parameters
    ----------
    written : mapping
        The site file as it was read; what is wrong in it otherwise is passed over.
    areas : sequence of str
        The names of its areas.
    file : str
        Its name in messages.
    """
    done = written.get("done")
    listed = done.get("dug") if isinstance(done, Mapping) else None
    if isinstance(done, Mapping) and not any(done.get(key) for key in ("dug", "bought", "bins")):
        mend = "Say what is dug, bought or standing there, or leave [done] out."
        yield Problem(f"{file}, key done", "nothing done", "something that is done", mend)
    known = ", ".join(map(shown_value, areas))
    for place, dug in enumerate(listed if isinstance(listed, list) else [], start=1):
        if not isinstance(dug, Mapping):
            continue
        where = f"{file}, key done.dug[{place}].area"
        name = dug.get("area")
        if name is None and len(areas) > 1:
            mend = "Add `area`: a hole is one area's."
            yield Problem(where, "nothing", f"the name of an area: {known}", mend)
        elif isinstance(name, str) and " ".join(name.split()) not in areas:
            mend = nearest(name, areas)
            yield Problem(where, shown_value(name), f"the name of an area: {known}", mend)


IMPOSSIBLY_FAR = 15.0
"""No yard that is paved has a level so far above or below all its spots. Common practice, no
source. [m]"""

LONGEST_WALL = 1000 * FOOT
"""No house that has a patio has a longer wall. Common practice, no source. [m]"""


def house_problems(
    house: House | None, areas: Mapping[str, Area], unit: Unit, file: str
) -> Iterator[Problem]:
    """Give a problem for each wall that no house has, and each area drawn over the house.

    Parameters
    ----------
    house : House or None
    areas : mapping of str to Area
        By their keys in the file.
    unit : "ft" or "m"
        What the sentences are written in.
    file : str
        Its name in messages.
    """
    if house is None:
        return
    for place, (start, end, _) in enumerate(house.segments(), start=1):
        long = float(np.hypot(*(end - start)))
        if long > LONGEST_WALL:
            what = f"a wall of {length(long, unit)} (number {place})"
            expected = f"walls of {length(LONGEST_WALL, unit)} at the most"
            again = "Read its two corners again."
            yield Problem(f"{file}, key house.walls", what, expected, again)
    for key, area in areas.items():
        overlap = overlap_with(house, area.polygon)
        if overlap is None:
            continue
        if overlap.other_side:
            what = "paving on the side of the wall where the house is said to be"
            out = " the paving out of the house."
            mend: Said = "Move" + Worded(f" `inside` to the other side of the wall, or{out}", out)
        else:
            more = " or more" if overlap.depth > HOUSE_STRIP - INCH / 16 else ""
            what = f"paving {length(overlap.depth, unit)}{more} inside the foundation line"
            mend = "End the paving at the foundation line."
        yield Problem(f"{file}, key {key}.outline", what, "paving outside the house", mend)


def level_problems(
    spots: NDArray[np.float64], tables: Mapping[str, Table], unit: Unit, file: str
) -> Iterator[Problem]:
    """Give a problem for each table with a level that no yard of these spots has.

    Parameters
    ----------
    spots : (n,) float
        Levels of the spots. [m]
    tables : mapping of str to Table
        By their keys in the file.
    unit : "ft" or "m"
        What the sentences are written in.
    file : str
        Its name in messages.
    """
    low, high = float(spots.min()), float(spots.max())
    for key, table in tables.items():
        name = {Door: "sill", FinishTable: "elevation"}.get(type(table), "z")
        level = getattr(table, name)
        for z in level if isinstance(level, tuple) else (level,):
            off = 0.0 if z is None else max(low - z, z - high)
            if off > IMPOSSIBLY_FAR:
                side = "above" if z > high else "below"
                ends = f"{number(low, unit)} to {number(high, unit)}"
                found = f"{number(z, unit)}, {length(off, unit)} {side} every spot ({ends})"
                mend = other_unit(z, low, high) or "Is it from the same benchmark as the spots?"
                yield Problem(f"{file}, key {key}.{name}", found, "a level of this yard", mend)
                break
