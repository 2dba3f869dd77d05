"""The yard table by table: house, doors, paving, what bounds it, water, things, the way in."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from msgspec.structs import replace

from grading.reading.partly import Partly
from grading.site.feature_tables import Access, Feature, Frost
from grading.site.house import House
from grading.site.step_tables import Door, Step
from grading.site.tables import Along, Area, Ceiling, Floor, Meet
from grading.site.walls import named_walls
from grading.units import area as area_words
from grading.units import counted, length, run
from viz.desk.blocks import Block, Change, Fold, Item, Items, Offer, Tool
from viz.desk.places import place
from viz.desk.plan.areas import corner_names
from viz.desk.plan.typed import written_place
from viz.desk.seen import Seen
from viz.desk.written.document import table_at
from viz.desk.yard.examples import such_as
from viz.desk.yard.outlets import drain_tool, outfall_row, spout_row
from viz.desk.yard.rows import Row, Written, choice, corners, field, listed, places, switch
from viz.words.figures import DIRT
from viz.words.plain import opened

Told = tuple[str, str, list[Block]]


def house_blocks(seen: Seen) -> Iterator[Block]:
    """Yield the foundation line corner by corner, its walls, and which side of it the house is."""
    written, house = table_at(seen.document, "house"), seen.partly.house
    walls = written.get("walls")
    if not isinstance(walls, list):
        yield Tool("draw-walls", "Draw the house walls")
        return
    told = "cannot be read yet"
    if house is not None:
        unit = seen.partly.unit
        told = ", ".join(
            f"{name} {run(float(np.hypot(*(end - start))), unit)}"
            for name, start, end, _ in named_walls(house)
        )
    rows: list[Block] = [
        places("house/walls", walls, "Corner"),
        Tool("draw-walls", "Draw the walls anew"),
    ]  # fmt: skip
    if house is not None:
        rows.append(_other_side(seen.partly, house))
    rows.append(field(seen, House, "house", written, "age", "How many years ago it was built"))
    yield Items("house", "", [Item("house", "Walls", told, rows, called="the walls")])


def _other_side(partly: Partly, house: House) -> Offer:
    """Return what puts the house on the other side of its wall: its inside point, reflected."""
    wall = house.wall_of(house.inside)
    other = house.inside - 2 * ((house.inside - wall.foot) @ wall.outward) * wall.outward
    to = written_place(other, partly.unit)
    return Offer("The house is on the other side", [Change("house/inside", to)])


def door_blocks(seen: Seen) -> Iterator[Block]:
    """Yield the doors, each with its sill."""

    def row(at: str, door: Written) -> Told:
        read, unit = seen.partly.doors.get(at), seen.partly.unit
        told = f"sill {length(read.sill, unit)}" if read else "cannot be read yet"
        return door.get("name") or "Door", told, [
            field(seen, Door, at, door, "name", "What it is called", "text"),
            field(seen, Door, at, door, "sill", "Level of the top of its sill"),
            places(f"{at}/at", door.get("at")),
            field(seen, Door, at, door, "steps", "Steps down from it"),
        ]  # fmt: skip

    yield from listed(seen, "door", "", row)
    yield Tool("place-door", "Place a door")


def area_blocks(seen: Seen) -> Iterator[Block]:
    """Yield the areas of paving, each with its outline corner by corner."""

    def row(at: str, area: Written) -> Told:
        read = seen.partly.areas.get(at)
        told = "cannot be read yet"
        if read is not None:
            paved = area_words(read.polygon.area, seen.partly.unit)
            told = paved if read.use == read.name else f"{read.use}, {paved}"
        names = [] if read is None else corner_names(read, seen.plan)
        holes = area.get("holes")
        return str(area.get("name") or "Paving"), told, [
            field(seen, Area, at, area, "name", "What it is called", "text"),
            choice(Area, at, area, "use", "What it is used for"),
            corners(f"{at}/outline", area.get("outline"), names),
            Tool("draw-outline", "Draw its outline anew", {"at": f"{at}/outline"}),
            *_holes(at, holes),
            Tool("draw-pocket", "Draw a planting pocket in it",
                 {"at": f"{at}/holes", "holes": holes or []}),
            switch(f"{at}/accessible", "Must a wheelchair get over it?",
                   area.get("accessible") is True, "yes, an accessible route", "no"),
        ]  # fmt: skip

    yield from listed(seen, "area", "", row)
    more = "Draw more paving" if seen.document.get("area") else "Draw the outline of the paving"
    yield Tool("draw-outline", more)


def _holes(at: str, holes: Any) -> list[Block]:
    if not isinstance(holes, list) or not holes:
        return []
    items = []
    for k, hole in enumerate(holes):
        way, called = f"{at}/holes/{k}", f"pocket {k + 1}"
        items.append(Item(way, opened(called), "", [corners(way, hole, ())], called=called))
    return [Items(f"{at}/holes", "Planting pockets", items)]


def bound_blocks(seen: Seen) -> Iterator[Block]:
    """Yield what the paving stays below, stays above, and meets."""
    walls = table_at(seen.document, "house").get("walls")
    yield from listed(seen, "ceiling", "It must stay below", _along(seen, Ceiling, "clearance"))
    if seen.partly.house is not None and isinstance(walls, list):
        along = [place(xy, seen.partly.unit) for xy in seen.partly.house.walls]
        told = {"to": {"kind": "siding"}, "points": along, "answers": {"name": "siding"}}
        yield Tool("draw-ceiling", "Add siding along the house wall", told)
    yield Tool("draw-ceiling", "Add weep holes or a vent", {"to": {"kind": "weep holes"}})
    yield from listed(seen, "floor", "It must stay above", _along(seen, Floor, "above"))
    yield Tool("draw-floor", "Add lawn that it stays above", {"to": {"kind": "lawn"}})
    yield from listed(seen, "meet", "It must meet", _along(seen, Meet, "base"))
    yield Tool("draw-meet", "Add a walk that it meets", {"to": {"kind": "walk"}})
    yield Tool("draw-meet", "Add a driveway that it meets", {"to": {"kind": "driveway"}})


def _along(seen: Seen, model: type[Along], gap: str) -> Row:
    """Return what makes the row of a line with levels along it."""
    key = {Ceiling: "ceilings", Floor: "floors", Meet: "meets"}[model]
    labels = {
        "clearance": "How far below it the finish stays",
        "above": "How far above it the finish stays",
        "base": "The base that it stands on",
    }

    def row(at: str, table: Written) -> Told:
        read = getattr(seen.partly, key).get(at)
        told = "cannot be read yet"
        if read is not None:
            level = "the ground as it lies"
            if read.z is not None:
                level = length(float(np.min(read.z)), seen.partly.unit, DIRT)
            told = f"{read.kind}, {level}" if read.kind else level
        return str(table.get("name") or table.get("kind") or "Line"), told, [
            field(seen, model, at, table, "name", "What it is called", "text"),
            choice(model, at, table, "kind", "What it is"),
            field(seen, model, at, table, "z", "Its level", "list"
                  if isinstance(table.get("z"), list) else "number"),
            field(seen, model, at, table, gap, labels[gap], "text" if gap == "base" else "number"),
            field(seen, model, at, table, "area", "Which paving it bounds, empty for all", "text"),
            places(f"{at}/at", table.get("at")),
        ]  # fmt: skip

    return row


def water_blocks(seen: Seen) -> Iterator[Block]:
    """Yield where water is meant to go, and the downspouts that bring it."""
    yield from listed(seen, "outfall", "Water is to go to", outfall_row(seen))
    yield Tool("draw-swale", "Draw a swale")
    yield Tool("draw-lawn", "Draw a lawn that may take it")
    yield Tool("draw-outfall", "Add the street", {"to": {"kind": "street"}})
    yield drain_tool(seen)
    yield Tool("draw-outfall", "Add the neighbour's line", {"to": {"kind": "neighbour"}})
    yield from listed(seen, "downspout", "Downspouts", spout_row(seen))
    yield Tool("place-downspout", "Place a downspout")


THINGS = {
    "gas fire feature": "fire feature on gas", "wood fire": "wood fire", "seat wall": "seat wall",
    "pergola post": "pergola post", "kitchen": "kitchen", "hot tub": "hot tub",
}  # fmt: skip
"""What a tool places, and what it is called on the page."""


def thing_blocks(seen: Seen) -> Iterator[Block]:
    """Yield what stands on the paving, and steps."""

    sized = f"Or its diameter alone; {such_as('12 ft, 18 in', seen.partly.unit)}"

    def thing(at: str, table: Written) -> Told:
        size = table.get("size")
        told = " by ".join(map(str, size)) if isinstance(size, list) else str(size or "")
        return str(table.get("name") or table.get("kind") or "Thing"), told, [
            field(seen, Feature, at, table, "name", "What it is called", "text"),
            choice(Feature, at, table, "kind", "What it is"),
            replace(
                field(seen, Feature, at, table, "size", "Its length and width", "list"), hint=sized
            ),
            field(seen, Feature, at, table, "bearing", "The way that its length runs"),
            field(seen, Feature, at, table, "height", "How high it stands"),
            places(f"{at}/at", table.get("at")),
        ]  # fmt: skip

    def step(at: str, table: Written) -> Told:
        down = table.get("down")
        title = " down to ".join(map(str, down)) if isinstance(down, list) else "To the lawn"
        told = f"{table['risers']} risers" if "risers" in table else ""
        own = ("risers", "How many risers", "number"), ("riser", "Height of a riser", "list")
        lawn = ("width", "How wide they are", "number"), ("at", "Their middle, x, y", "list")
        rows = own if isinstance(down, list) else (*own, *lawn)
        fields = [field(seen, Step, at, table, key, label, takes)  # type: ignore[arg-type]
                  for key, label, takes in rows]  # fmt: skip
        return title, told, [*fields, choice(Step, at, table, "sides", "What closes their sides")]

    yield from listed(seen, "feature", "Things on the paving", thing)
    yield Fold("Place a thing on the paving", [
        *(Tool("place-feature", f"Place a {called}", {"to": {"kind": kind}})
          for kind, called in THINGS.items()),
        Tool("place-feature", "Place something else", {"to": {"kind": "other"}}),
    ])  # fmt: skip
    yield from listed(seen, "step", "Steps", step)
    names = [area.name for area in seen.partly.areas.values()]
    yield from (
        Offer(f"Steps from {name} down to the lawn",
              [Change("step", {"area": name, "to": "lawn"}, "add")], said="add steps")
        for name in names
    )  # fmt: skip


def winter_blocks(seen: Seen) -> Iterator[Block]:
    """Yield the winter that the frost depth is reckoned for."""
    written = table_at(seen.document, "frost")
    yield field(seen, Frost, "frost", written, "index", "How cold the winter is", "text")
    if written:  # a depth of the code is held against what the winter comes to
        label = "How deep the local code has footings go"
        yield field(seen, Frost, "frost", written, "code", label, "text")


def access_blocks(seen: Seen) -> Iterator[Block]:
    """Yield the way into the yard."""
    written = table_at(seen.document, "access")
    yield field(seen, Access, "access", written, "gate", "How wide the narrowest gate is", "text")
    yield field(
        seen, Access, "access", written, "path", "How far it is to the bin and the stone", "text"
    )
    yield field(seen, Access, "access", written, "slope", "The steepest slope of the way", "text")
    yield choice(Access, "access", written, "machine", "The machine at hand")
    yield choice(Access, "access", written, "over", "What the way goes over")
    yield choice(Access, "access", written, "repair", "How worn lawn is put right")


def parts_told(seen: Seen) -> str:
    """Say what there is of a yard, in a few words."""
    walls = 0 if seen.partly.house is None else len(seen.partly.house.segments())
    said = [counted(walls, "wall")] if walls else []
    doors = len(seen.document.get("door") or [])
    said += [counted(doors, "door")] if doors else []
    said += [area.name for area in seen.partly.areas.values()][:2]
    more = len(seen.partly.areas) - 2
    return ", ".join([*said, *([f"{more} more"] if more > 0 else [])])
