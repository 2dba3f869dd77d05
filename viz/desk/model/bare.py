"""The model of a yard before anything is planned in it: ground, spots and house, as they exist."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.ground.model import Ground
from grading.units import FOOT, INCH, length
from viz.desk.model.around import add_lawn, ground_in
from viz.desk.model.bodies import FAR, ROUND, UNDER, Stand
from viz.desk.model.parts import Part
from viz.desk.model.quick import SHOWN, Quick
from viz.desk.plan.view import turn_of
from viz.desk.seen import Seen
from viz.desk.survey.settling import ground_of
from viz.scene.model import Label
from viz.scene.shell import Shape, between, polygons, triangulate
from viz.scene.surroundings import HEAD, WALL, add_house, covered, door_frame, largest

MARK = 4 * INCH
"""How wide the mark of a spot is, and how high it stands as drawn. [m]"""

FEW = 400
"""Of more spots than that every so many is marked, so that the ground is seen between them."""

FLAT, STEEP = 1.0, 5.0
"""How many times larger heights are drawn than lengths, at the least and at the most."""

SEEN = 0.12
"""The ground is to rise and fall by such a part of its breadth, as drawn."""

AROUND = 8 * FOOT
"""Ground that is drawn before a house where nothing was shot yet. [m]"""


class Bare(Struct, frozen=True, eq=False):
    """A yard as far as it is measured.

    Attributes
    ----------
    stand : Stand
        Of no area.
    near : (2,) float
        From what is looked at to the eye, in plan: away from the house.
    line : (2, 2) float
        Where it is cut unless somebody says where: from the house through its middle. [m]
    parts : tuple of Part
    labels : tuple of Label
    said : str
        What there is.
    """

    stand: Stand
    near: Floats
    line: Floats
    parts: tuple[Part, ...]
    labels: tuple[Label, ...]
    said: str


def bare_of(seen: Seen, last: Stand | None = None) -> Bare | None:
    """Return a yard as far as it is measured; None where it has neither house nor spot.

    Parameters
    ----------
    seen : Seen
        Without a plan.
    last : Stand, optional
        Of the model before: where that will do it stays.
    """
    partly, ground = seen.partly, ground_of(seen)
    spots = np.zeros((0, 3)) if partly.spots is None else partly.spots.xyz
    window = _window(seen, ground, spots)
    if window is None:
        return None
    low, high = _levels(seen, spots)
    stand = _stand(window, low, high, last)
    found = Quick(stand.origin)
    bottom = float(np.floor((low - stand.origin[2] - UNDER) / ROUND) * ROUND)
    if ground is not None:
        drawn = ground_in(ground, window)
        region: Shape = covered(drawn, window)
        if partly.house is not None:
            region = region.difference(partly.house.polygon(FAR))
        add_lawn(found, drawn, polygons(region), bottom)
    _add_spots(found, spots, stand.factor)
    _add_house(seen, found, window, low, high)
    parts = found.gathered.parts()
    if not parts:
        return None
    near, middle = near_of(seen), np.asarray(window.centroid.coords[0])
    reach = 0.5 * float(np.hypot(*np.subtract(window.bounds[2:], window.bounds[:2])))
    line = np.array([middle - near * reach, middle + near * reach])
    return Bare(stand, near, line, parts, tuple(found.labels), _said(seen, ground, len(spots)))


def near_of(seen: Seen) -> Floats:
    """Return the way from the house out to the yard, in plan, as the plan of the page is turned."""
    angle = np.radians(-90.0 - turn_of(seen.partly))
    return np.round(np.array([np.cos(angle), np.sin(angle)])) + 0.0


def _window(seen: Seen, ground: Ground | None, spots: Floats) -> shapely.Polygon | None:
    """Return the part of the yard that is drawn; None where there is nothing in it. [m]"""
    house = seen.partly.house
    found: list[shapely.Geometry] = []
    if ground is not None:
        found.append(shapely.MultiPoint(ground.points[:, :2]))
    elif len(spots):
        found.append(shapely.MultiPoint(spots[:, :2]).buffer(FOOT))
    if house is not None:
        found.append(house.yard(AROUND))
    if not found:
        return None
    window = shapely.envelope(shapely.union_all(found))
    return largest(window) if window.geom_type == "Polygon" and window.area > 0 else None


def _levels(seen: Seen, spots: Floats) -> tuple[float, float]:
    """Return the lowest and the highest level of all that is measured; the datum where none is."""
    z = [float(door.sill) for door in seen.partly.doors.values()]
    z += [float(spots[:, 2].min()), float(spots[:, 2].max())] if len(spots) else []
    return (min(z), max(z)) if z else (0.0, 0.0)


def _stand(window: shapely.Polygon, low: float, high: float, last: Stand | None) -> Stand:
    middle = np.asarray(window.centroid.coords[0])
    origin = np.round(np.append(middle, low))
    if last is not None and float(np.abs(last.origin - origin).max()) < FAR:
        origin = last.origin
    wide = float(np.sqrt(window.area))
    factor = float(np.clip(round(SEEN * wide / max(high - low, FOOT / 2)), FLAT, STEEP))
    if last is not None and last.area == "":
        factor = last.factor  # it does not jump while spots are typed
    return Stand(origin, factor, "")


def _add_spots(found: Quick, spots: Floats, factor: float) -> None:
    """Add a small block at each spot, on the ground that goes through it."""
    marks = found.of("thing", {"spot": "a spot of the survey"})
    for x, y, z in spots[:: max(1, -(-len(spots) // FEW))]:
        half = MARK / 2
        sheet, _ = triangulate(marks.near(shapely.box(x - half, y - half, x + half, y + half)))
        foot = np.full(len(sheet.xy), float(z) - float(found.origin[2]))
        marks.add_solid("spot", "ink", between(sheet, foot + MARK / factor, foot), SHOWN)


def _add_house(seen: Seen, found: Quick, window: shapely.Polygon, low: float, high: float) -> None:
    house, doors = seen.partly.house, tuple(seen.partly.doors.values())
    if house is None:
        return
    foundation = min([high + INCH, *(float(door.sill) - INCH for door in doors)])
    around = window.buffer(WALL, join_style="mitre")
    levels = low - UNDER, foundation, high + HEAD
    add_house(found.of("house"), house, doors, around, levels, SHOWN)
    unit = seen.partly.unit
    for door in doors:
        at = np.append(door_frame(house, door).at, door.sill) - found.origin
        words = f"{door.name or 'door'}\nsill {length(door.sill, unit)}"
        found.labels.append(Label(words, at, "house", frozenset(SHOWN), 0, 20))


def _said(seen: Seen, ground: Ground | None, count: int) -> str:
    return " and ".join(_things(seen, ground, count))


def _things(seen: Seen, ground: Ground | None, count: int) -> Iterator[str]:
    if ground is not None:
        yield f"The ground through {count:,} spots"
    elif count:
        yield f"{count} spot{'' if count == 1 else 's'}, too few for a surface"
    if seen.partly.house is not None:
        yield "the house" if ground is not None or count else "The house, no ground yet"
