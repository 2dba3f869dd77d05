"""The finish at a corner as a person asks for it: typed as a level, or moved up and down by a hand.

It is written as what any other fixed point is that the paving meets, at the place of the corner.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.geometry.outline import Arc
from grading.reading.partly import Partly
from grading.units import INCH, Unit
from viz.desk.blocks import Change
from viz.desk.plan.areas import corner_names
from viz.desk.plan.held import held_at
from viz.desk.plan.typed import read_typed, written_length
from viz.desk.seen import Seen

STEP: Mapping[Unit, float] = {"ft": INCH / 4, "m": 0.005}
"""By how much a hand moves a corner at a time. [m]"""


def corner_level(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the changes that hold the finish at a corner to a level, or let it go.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `at`, the way to the corner; `held`, that to what holds it as it is kept, empty where
        nothing does; `z`, a level as it is typed, empty to let it go; `by`, so many steps of a hand
        above that.

    Raises
    ------
    SiteError
        The level cannot be read, or the corner is none of paving.
    """
    unit, (name, xy, place) = seen.partly.unit, _corner(seen, str(told["at"]))
    # What is looked at while a hand slides has a point there that nobody keeps yet.
    way = str(told.get("held", ""))
    if way not in seen.partly.meets:
        way = ""
    words = str(told["z"]).strip()
    if not words:
        gone = [Change(way, do="remove")] if way else []
        return {"changes": [each.record() for each in gone], "said": f"let {name} go", "level": ""}
    steps = int(told.get("by", 0))
    level = read_typed(words, unit, place=True) + steps * STEP[unit]
    z = written_length(level, unit) if steps else words
    change = (
        Change(f"{way}/z", z) if way else Change("meet", _table(seen, name, xy, place, z), do="add")
    )
    return {"changes": [change.record()], "said": f"finish at {name}", "level": str(z)}


def moved_along(partly: Partly, moved: Iterator[tuple[Floats, Any]]) -> Iterator[Change]:
    """Yield the changes that keep what holds corners at these, wherever they are moved.

    Parameters
    ----------
    partly : Partly
    moved : iterator of ((2,) float, object)
        Where a corner was [m], and its new place as it is written.
    """
    for xy, place in moved:
        way = held_at(partly, xy)
        if way:
            yield Change(f"{way}/at", place)


def _table(seen: Seen, name: str, xy: Floats, place: Any, z: Any) -> dict[str, Any]:
    own = held_at(seen.partly, xy)
    names = {meet.name for way, meet in seen.partly.meets.items() if way != own}
    called, number = name, 2
    while called in names:
        called, number = f"{name} {number}", number + 1
    return {"name": called, "at": place, "z": z}


def _corner(seen: Seen, at: str) -> tuple[str, Floats, Any]:
    """Return what a corner of an outline is called, where it is [m], and its place as written."""
    way, _, last = at.rpartition("/")
    area = seen.partly.areas.get(way.removesuffix("/outline"))
    edges = () if area is None or not way.endswith("/outline") else area.outline
    if area is None or not last.isdigit() or int(last) >= len(edges):
        raise SiteError([Problem(at, "another", "a corner of paving that can be read")])
    k = int(last)
    edge = edges[k]
    xy = np.array(edge.end if isinstance(edge, Arc) else edge, float)
    letter = corner_names(area, seen.plan)[k]
    name = f"corner {letter or k + 1}"
    if len(seen.partly.areas) > 1:
        name += f" of {area.name}"
    written = seen.document["area"][int(way.split("/")[1])]["outline"][k]
    return name, xy, written["arc"][1] if isinstance(written, Mapping) else written
