"""Where water is meant to go, as the page offers it: a drain never without a place to be led to."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, get_args

from grading.reading.outlets_named import Places
from grading.reading.partly import Partly
from grading.site.water_tables import Downspout, Outfall, OutfallKind
from grading.units import METRES, area
from viz.desk.blocks import Block, Change, Choice, Option, Tool
from viz.desk.seen import Seen
from viz.desk.written.document import tables
from viz.desk.yard.rows import Row, Written, field, places, switch

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
    found = Places({**partly.outfalls, at: drain}, partly.floors, partly.areas)
    return found.for_one_without(at) == ()


def outfall_row(seen: Seen) -> Row:
    """Return what makes the row of a place that water is meant to reach.

    Parameters
    ----------
    seen : Seen
    """

    def row(at: str, table: Written) -> tuple[str, str, list[Block]]:
        blocks: list[Block] = [
            field(seen, Outfall, at, table, "name", "What it is called", "text"),
            kind_choice(seen, at, table, "What it is"),
            field(seen, Outfall, at, table, "z", "Its level"),
            places(f"{at}/at", table.get("at")),
        ]
        if table.get("kind") == "drain":
            blocks += [
                field(seen, Outfall, at, table, "outlet", "Where its pipe is led to", "text"),
                field(seen, Outfall, at, table, "fall", "The fall of its bottom"),
                field(seen, Outfall, at, table, "width", "Its inner width"),
                field(seen, Outfall, at, table, "pipe", "The inner diameter of its pipe"),
            ]
        if table.get("kind") == "dry well":
            blocks.append(field(seen, Outfall, at, table, "depth", "The depth of its stone"))
        if table.get("kind") in ("drain", "dry well"):
            blocks.append(existing(at, table, "Is it there already?"))
        kind = str(table.get("kind") or "")
        led = f", led to {table['outlet']}" if "outlet" in table else ""
        return str(table.get("name") or kind or "Place"), f"{kind}{led}", blocks

    return row


def spout_row(seen: Seen) -> Row:
    """Return what makes the row of a downspout.

    Parameters
    ----------
    seen : Seen
    """

    def row(at: str, table: Written) -> tuple[str, str, list[Block]]:
        read = seen.partly.downspouts.get(at)
        told = "cannot be read yet"
        if read is not None:
            roof = f"roof {area(read.roof, seen.partly.unit)}"
            told = roof if read.to is not None else f"{roof}, no pipe"
        blocks: list[Block] = [
            field(seen, Downspout, at, table, "name", "What it is called", "text"),
            field(seen, Downspout, at, table, "roof", "The roof that it drains", "text"),
            places(f"{at}/at", table.get("at")),
            field(seen, Downspout, at, table, "to", "Where its pipe ends", "list"),
        ]
        if "to" in table:
            blocks += [
                field(seen, Downspout, at, table, "pipe", "The inner diameter of its pipe"),
                existing(at, table, "Is its pipe there already?"),
            ]
        return str(table.get("name") or "Downspout"), told, blocks

    return row


def existing(at: str, table: Written, label: str) -> Choice:
    """Return the choice whether something is there already, or is built."""
    there = table.get("existing") is True
    return switch(f"{at}/existing", label, there, "yes", "no, it is built")


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
