"""The step "Yard": the house and its doors, the paving, what bounds it, and where water may go."""

from __future__ import annotations

from collections.abc import Iterator

from viz.desk.blocks import Block, Choice, Field, Fold, Head, Option, Say, State, Step, Tool
from viz.desk.seen import Seen
from viz.desk.yard.lists import (
    access_blocks,
    area_blocks,
    bound_blocks,
    door_blocks,
    house_blocks,
    parts_told,
    thing_blocks,
    water_blocks,
    winter_blocks,
)

KEY, TITLE = "yard", "Yard"

READ = {
    "door": "doors", "area": "areas", "ceiling": "ceilings", "floor": "floors", "meet": "meets",
    "outfall": "outfalls", "downspout": "downspouts", "feature": "features", "step": "steps",
}  # fmt: skip
"""Lists of the site file, and what of a yard in parts holds those that could be read."""


FIRST = (
    "First the house: draw the wall that the paving lies at, from its left end as you face it to "
    "its right. Tap its corners, or type its lengths."
)
SECOND = (
    "Second the doors: tap where each stands in its wall, and say how high its sill is. Where no "
    "door opens onto the paving, draw the paving."
)
THIRD = "Third the paving: draw its outline, from the wall round and back."


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    answer = parts_told(seen) or "nothing drawn yet"
    return Step(KEY, TITLE, answer, _state(seen), list(_blocks(seen)))


def _state(seen: Seen) -> State:
    for key, read in READ.items():
        held = seen.document.get(key)
        if isinstance(held, list) and len(held) != len(getattr(seen.partly, read)):
            return "fails"
    if "house" in seen.document and seen.partly.house is None:
        return "fails"
    return "settled" if seen.partly.areas else "to do"


def _blocks(seen: Seen) -> Iterator[Block]:
    yield from _next(seen)
    name = seen.document.get("name")
    yield Field("name", "What the yard is called", name, hint="A name, or an address", takes="text")
    yield from _unit(seen)
    if _has(seen, "house"):
        yield Head("House")
        yield from house_blocks(seen)
    if _has(seen, "door") or _has(seen, "area"):
        yield Head("Doors")
        yield from door_blocks(seen)
    if not _has(seen, "area"):
        return
    yield Head("Paving")
    yield from area_blocks(seen)
    yield Head("What the paving keeps to")
    yield from bound_blocks(seen)
    yield Head("Water")
    yield from water_blocks(seen)
    yield Head("Things and steps")
    yield from thing_blocks(seen)
    yield Head("The way in")
    told = seen.document.get("access")
    blocks = list(access_blocks(seen))
    yield Fold("Gate, path and machine" if told else _UNTOLD, blocks)
    yield Fold("The winter", list(winter_blocks(seen)))
    yield Tool("measure", "Measure on the plan")


_UNTOLD = "Gate, path and machine: not told yet"


def _next(seen: Seen) -> Iterator[Block]:
    """Say what to give first, second and third, while the yard is only begun."""
    outline = Tool("draw-outline", "Draw the outline of the paving")
    begun = [
        ("house", FIRST, [Tool("draw-walls", "Draw the house walls")]),
        ("door", SECOND, [Tool("place-door", "Place a door"), outline]),
        ("area", THIRD, [outline]),
    ]
    if not _has(seen, "area"):
        _, words, tools = next(each for each in begun if not _has(seen, each[0]))
        yield Say(words, "strong")
        yield from tools
        return
    if not _surveyed(seen):
        yield Say("The yard is drawn. Next the ground: how high it lies.", "strong")


def _surveyed(seen: Seen) -> bool:
    return _has(seen, "levels") or (
        seen.partly.spots is not None and len(seen.partly.spots.xyz) > 0
    )


def _has(seen: Seen, key: str) -> bool:
    return bool(seen.document.get(key))


def _unit(seen: Seen) -> Iterator[Block]:
    """Yield the choice of the unit while nothing is measured in it; then say which it is."""
    unit = seen.partly.unit
    if _surveyed(seen) or any(_has(seen, key) for key in ("house", "area", "door")):
        told = "feet" if unit == "ft" else "metres"
        words = f"A number without a unit is in {told}; any length may be typed with its own."
        yield Say(words, "quiet")
        return
    yield Choice("unit", "What a number without a unit is in", seen.document.get("unit", unit),
                 [Option("ft", "feet and inches"), Option("m", "metres")])  # fmt: skip
