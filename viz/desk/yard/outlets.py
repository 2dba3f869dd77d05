"""Where water is meant to go, as the page offers it: a drain never without a place to be led to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from grading.reading.outlets_named import Places
from grading.reading.partly import Partly
from grading.site.water_tables import OutfallKind
from grading.units import METRES
from viz.desk.blocks import Change, Choice, Option, Tool
from viz.desk.seen import Seen
from viz.desk.written.document import tables

KINDS: tuple[str, ...] = get_args(OutfallKind)

WITH_OUTLET = "with a low lawn that its pipe comes out on, to be dragged where it is"
"""What comes with a drain in a yard that has no place for its water yet."""


def kind_choice(seen: Seen, at: str, written: Mapping[str, Any], label: str) -> Choice:
    """Return what a place that water is meant to reach may be.

    A drain is refused where it has no outlet, so that choosing it brings one.

    Parameters
    ----------
    seen : Seen
    at : str
        The way to the place.
    written : mapping
        It, as it is written.
    label : str
    """
    options = [Option(each, each) for each in KINDS]
    if _would_be_unled(seen.partly, at):
        both = [Change(f"{at}/kind", "drain"), Change("outfall", new_place(seen), "add")]
        drain = KINDS.index("drain")
        options[drain] = Option("drain", "drain", WITH_OUTLET, changes=both)
    return Choice(f"{at}/kind", label, written.get("kind"), options)


def _would_be_unled(partly: Partly, at: str) -> bool:
    place = partly.outfalls.get(at)
    if place is None:
        return False
    drain = place.model_copy(update={"kind": "drain", "existing": False})
    places = Places({**partly.outfalls, at: drain}, partly.floors, partly.areas)
    return places.for_one_without(at) == ()


def drain_tool(seen: Seen) -> Tool:
    """Return what draws a drain: with its outlet where the yard has no place for its water yet.

    Parameters
    ----------
    seen : Seen
    """
    partly = seen.partly
    if Places(partly.outfalls, partly.floors, partly.areas).known():
        return Tool("draw-outfall", "Add a drain", {"to": {"kind": "drain"}})
    to = {"kind": "lawn", "name": _new_name(seen)}
    return Tool("draw-drain", "Add a drain, and where its pipe comes out", {"outlet": to})


def new_place(seen: Seen) -> dict[str, Any]:
    """Return a new place: at the low side of the paving, to be dragged where it is.

    Parameters
    ----------
    seen : Seen
    """
    return {"name": _new_name(seen), "kind": "lawn", "at": _beside(seen)}


def _new_name(seen: Seen) -> str:
    taken = {str(each.get("name", "")) for each in tables(seen.document, "outfall")}
    count = 1 + len(taken)
    return next(f"low lawn {k}" for k in range(count, count + 99) if f"low lawn {k}" not in taken)


def _beside(seen: Seen) -> list[float]:
    """Return a point beside the paving, in the unit of the site: where it is lowest."""
    plan, one = seen.plan, METRES[seen.partly.unit]
    if plan is None or not plan.areas:
        areas = list(seen.partly.areas.values())
        if not areas:
            return [0.0, 0.0]
        x0, y0, x1, y1 = areas[0].polygon.bounds
        return [round(x1 / one, 2), round(y1 / one, 2)]
    plane = plan.areas[0].finish.plane
    x0, y0, x1, y1 = plan.areas[0].outline.bounds
    dx, dy = plane.downhill
    reach = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5 * 0.6
    x, y = (x0 + x1) / 2 + dx * reach, (y0 + y1) / 2 + dy * reach
    return [round(float(x) / one, 2), round(float(y) / one, 2)]
