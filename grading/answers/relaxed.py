"""What ends a conflict, as changes of the site file: each thing that gives, written where it is.

A limit that gives is written as the site's own, for every wall that it holds at; what is moved gets
its new level. What no key of the file says is not written: the sentence alone tells it then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import product

import numpy as np
import shapely

from grading.answers.mends import Mend, number_of, slug_of
from grading.catalogue.rules import CLEARANCE_RULES, EDGE_RULES, RULES
from grading.errors import Eased, Relaxation
from grading.finish.wishes.of_site import on_ground, step_limits
from grading.geometry.arrays import Floats, distances_along
from grading.geometry.tolerances import WHOLE, whole_down, whole_up
from grading.ground.model import Ground
from grading.reading.site_edit import Edit
from grading.site.model import Site
from grading.units import size

Edits = tuple[Edit, ...]

_STRAIGHT = 2e-3
"""A lawn is written with so few points that its line lies this near to the ground: it is graded no
finer. [m]"""


def relaxing(site: Site, relaxation: Relaxation, ground: Callable[[], Ground]) -> Iterator[Mend]:
    """Yield the changes of a site file that a relaxation comes to; none where no key says it.

    Where it may be written in more than one way each is given: what is met may be laid higher or
    lower. Whether a plan can be made then is for who follows it to try.

    Parameters
    ----------
    site : Site
    relaxation : Relaxation
    ground : callable
        Gives the existing ground: a lawn that stays as it lies is cut down from there.
    """
    ways = [list(_edits(site, part, ground)) for part in relaxation.parts]
    name = "-".join(
        dict.fromkeys(slug_of(f"{part.rule} {part.about}") for part in relaxation.parts)
    )
    for chosen in product(*ways):
        edits = _once(list(zip(relaxation.parts, chosen, strict=True)))
        yield Mend(f"ease-{name}", relaxation.text, edits)


def _once(given: Sequence[tuple[Eased, Edits]]) -> Edits:
    """Return edits with one of each key: of a limit that gives at two walls the farther."""
    kept: dict[tuple[str | int, ...], tuple[float, Edit]] = {}
    for part, edits in given:
        for edit in edits:
            by, _ = kept.get(edit.way, (-1.0, edit))
            if part.by > by:
                kept[edit.way] = part.by, edit
    return tuple(edit for _, edit in kept.values())


def _edits(site: Site, part: Eased, ground: Callable[[], Ground]) -> Iterator[Edits]:
    match part.rule:
        case "given-plane":
            yield (Edit(("area", _area(site, part.area), "plane")),)
        case "straight-fall":
            yield (Edit(("area", _area(site, part.area), "toward")),)
        case "shared-edge":
            yield (_step_between(site, part),)
        case "riser":
            yield from _risers(site, part)
        case "door-step":
            yield from _door(site, part)
        case rule if rule in RULES and RULES[rule].unit == "ratio":
            to = part.limit - part.by if part.at_least else part.limit + part.by
            yield (Edit(("limits", rule), f"{100 * to:.2f} %"),)
        case rule if rule in CLEARANCE_RULES.values():
            yield from _level(site, part, "ceiling", 1.0)
        case rule if rule in EDGE_RULES.values():
            yield from _level(site, part, "floor", -1.0)
            yield from _cut_down(site, part, ground)
        case "meeting-gap":
            for sign in (1.0, -1.0):
                yield from _level(site, part, "meet", sign)


def _area(site: Site, name: str) -> int:
    return next(place for place, area in enumerate(site.areas) if area.name == name)


def _step_between(site: Site, part: Eased) -> Edit:
    other = part.about.removeprefix(f"{part.area} and ")
    down = [part.area, other] if part.upwards else [other, part.area]
    return Edit(("step", len(site.steps)), {"down": down})


def _risers(site: Site, part: Eased) -> Iterator[Edits]:
    least, most = site.in_force.pair("riser")
    for place, step in enumerate(site.steps):
        if step.down is not None and " and ".join(step.down) == part.about:
            if part.at_least:
                count = max(whole_down((part.limit - part.by) / least), 1)
            else:
                count = max(whole_up((part.limit + part.by) / most), 1)
            yield (Edit(("step", place, "risers"), count),)


def _door(site: Site, part: Eased) -> Iterator[Edits]:
    limits = site.in_force
    for place, door in enumerate(site.doors):
        if door.name != part.about:
            continue
        way = ("door", place)
        risers = door.risers or 1
        least, greatest = (each / risers for each in step_limits(door, limits))
        if part.at_least:
            least = (part.limit - part.by) / risers
            yield (Edit((*way, "step"), [size(least, site.unit), size(greatest, site.unit)]),)
            continue
        drop = part.limit + part.by
        count = max(whole_up(drop / limits.pair("riser")[1], WHOLE), 1)
        if count == 1:
            yield (Edit((*way, "step"), [size(least, site.unit), size(drop, site.unit)]),)
        elif door.step is None:
            yield (Edit((*way, "steps"), count),)
        else:
            yield Edit((*way, "steps"), count), Edit((*way, "step"))


def _level(site: Site, part: Eased, key: str, sign: float) -> Iterator[Edits]:
    """Yield a thing moved up or down, or, where it cannot be, the less that is kept clear of it."""
    rule = RULES[part.rule]
    for place, thing in enumerate(getattr(site, f"{key}s")):
        if thing.name != part.about or thing.z is None:
            continue
        if rule.move is None:
            kept = "clearance" if key == "ceiling" else "above"
            yield (Edit((key, place, kept), size(part.limit - part.by, site.unit)),)
            continue
        levels = [number_of(float(z) + sign * part.by, site.unit) for z in thing.z]
        to = levels[0] if len(set(levels)) == 1 else levels
        yield (Edit((key, place, "z"), to),)


def _cut_down(site: Site, part: Eased, ground: Callable[[], Ground]) -> Iterator[Edits]:
    """Yield a lawn that lies as the ground does, cut down: its new levels along its line."""
    for place, floor in enumerate(site.floors):
        if floor.name != part.about or floor.z is not None or RULES[part.rule].move is None:
            continue
        at, z = on_ground(ground(), np.array(floor.at, dtype=float).reshape(-1, 2))
        if not len(at):
            continue
        along = distances_along(at)
        kept = _bends(along, z)
        told = [[number_of(float(each), site.unit) for each in point] for point in at[kept]]
        levels = [number_of(float(each) - part.by - _STRAIGHT, site.unit) for each in z[kept]]
        way = ("floor", place)
        if len(told) == 1:
            yield (Edit((*way, "z"), levels[0]),)
        else:
            yield Edit((*way, "at"), told), Edit((*way, "z"), levels)


def _bends(along: Floats, z: Floats) -> list[int]:
    """Return which points of a profile are needed for it to be true within `_STRAIGHT`."""
    if len(along) < 3:
        return list(range(len(along)))
    simple = shapely.simplify(shapely.LineString(np.column_stack([along, z])), _STRAIGHT)
    places = shapely.get_coordinates(simple)[:, 0]
    return [int(np.argmin(np.abs(along - place))) for place in places]
