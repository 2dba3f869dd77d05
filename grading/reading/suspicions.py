"""What a site says that is possible but hardly meant: feet for metres, a door off the wall.

Of level books these are long sights, and points that are no ground.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

import numpy as np
import shapely

from grading.geometry.tolerances import NOTHING, TOGETHER
from grading.ground import spots as survey_check
from grading.signs import listed
from grading.site.model import Area, Site
from grading.site.survey_tables import same_name
from grading.site.tables import Along
from grading.site.water_tables import Outfall
from grading.survey.booked import idle_points, levels_against
from grading.survey.closure import TOLD
from grading.survey.levels import levels_of
from grading.survey.taped import taped_of
from grading.units import FOOT, HOUR, INCH, area, length, number, percent, run, size
from grading.units.rates import soak

# The sizes below which a yard is taken as it is. Common practice, no source.
FAR_FROM_SPOTS = 3.0
"""A level this far above or below all spots is suspicious. [m]"""
LOWEST_SILL = 0.3
"""A door onto paving has its sill no farther below every spot. [m]"""
SPOUT_TO_WALL = 3.0
"""A downspout comes down no farther from the foundation line. [m]"""
LARGEST_PATIO = 150.0
"""A small crew's patio is not larger. [m2]"""
WIDEST_WALK = 3.5
"""A walkway is not wider. [m]"""
LONGEST_WALL = 25.0
"""A straight wall of a house is not longer. [m]"""
WIDE_SPACING = 2.4
"""Spots shot one by one in metres are mostly closer together; in feet, read as metres, not. [m]"""
LEAST_PAVING = 8.0
"""A job is seldom smaller, all its areas together. [m2]"""
CLOSE_SPACING = 0.75
"""Spots shot one by one in feet are mostly farther apart; in metres, read as feet, not. [m]"""
LONGEST_AREA = 100.0
"""An area of paving is not longer. [m]"""
WIDEST_SPACING = 15.0
"""Spots of a yard are not farther apart. [m]"""
CLOSEST_SPACING = 0.2
"""Spots shot one by one are not closer together. [m]"""
MOST_BY_HAND = survey_check.MOST_BY_HAND
"""More spots than this come from a scan, and may lie close together."""
STEEPEST_YARD = 0.5
"""A yard is not steeper from end to end. [ratio]"""

NARROWEST_GATE = 24 * INCH
"""No barrow goes through less. [m]"""
STEEPEST_WAY = 0.35
"""Nobody pushes a barrow up more. [ratio]"""
HEAVIEST_RAIN = 12 * INCH / HOUR
"""About the most that ever fell in an hour, from memory (Holt, Missouri, 1947). [m/s]"""
SAME_PLACE = 0.1
"""Two things that have more than this of the smaller in common stand in one place. [share]"""

LONGEST_HOUSE = 100 * FOOT
"""A foundation line that goes on this far past the survey of its yard is suspicious. [m]"""


def suspicions(site: Site) -> tuple[str, ...]:
    """Return a sentence for each thing in a site that is possible but suspicious.

    Parameters
    ----------
    site : Site
        A site that was read without error.
    """
    return (
        *_survey(site),
        *_other_unit(site),
        *_levels(site),
        *_areas(site),
        *_house(site),
        *_astray(site),
        *_things(site),
        *_way_in(site),
        *booked_suspicions(site),
    )


def _survey(site: Site) -> Iterator[str]:
    xyz, unit = site.spots.xyz, site.unit
    if len(xyz) < 3:
        return
    width, depth, height = np.ptp(xyz, axis=0).tolist()
    across = float(np.hypot(width, depth))
    spacing = _spacing(site)
    told = f'Check unit = "{unit}" against {site.spots.file}.'
    if spacing > WIDEST_SPACING:
        yield f"The spots are about {run(spacing, unit)} apart, wide for a yard. {told}"
    if spacing < CLOSEST_SPACING and len(xyz) <= MOST_BY_HAND and min(width, depth) > 0:
        yield f"The spots are about {run(spacing, unit)} apart, close for a yard. {told}"
    if height > STEEPEST_YARD * across:
        yield (
            f"The spots differ by {length(height, unit)} in elevation over {run(across, unit)}"
            f" of plan ({percent(height / across, 0)}): is z in the unit of x and y?"
        )


def _spacing(site: Site) -> float:
    """Return about how far spots are apart. [m]"""
    # A square for each spot; no search for neighbours is needed to tell feet from metres.
    width, depth = np.ptp(site.spots.xyz[:, :2], axis=0).tolist()
    return float(np.sqrt(max(width * depth, NOTHING) / len(site.spots.xyz)))


def _other_unit(site: Site) -> Iterator[str]:
    """Ask for the unit where the sizes of spots, paving and house together suit the other one."""
    count = len(site.spots.xyz)
    if count < 3 or not site.areas or max(map(_long, site.areas)) > LONGEST_AREA:
        return
    spacing = _spacing(site)
    if not CLOSEST_SPACING <= spacing <= WIDEST_SPACING:
        return  # asked of the survey itself
    apart = [f"spots about {length(spacing, site.unit)} apart"]
    if site.unit == "m":
        large, wide = list(_large(site)), spacing > WIDE_SPACING
        if len(large) > 1 or (large and wide):
            yield (
                f"{_in_words(large + apart * wide)}: are these feet? "
                f'unit = "m" reads every bare number as metres.'
            )
        return
    paved = float(sum(paving.polygon.area for paving in site.areas))
    if paved < LEAST_PAVING and spacing < CLOSE_SPACING and count <= MOST_BY_HAND:
        yield (
            f"{_in_words([f'{area(paved, site.unit)} of paving in all', *apart])}: are these "
            f'metres? unit = "ft" reads every bare number as feet.'
        )


def _in_words(parts: list[str]) -> str:
    words = listed(parts)
    return words[0].upper() + words[1:]


def _large(site: Site) -> Iterator[str]:
    """Tell what is too large for a patio, a walkway or a house."""
    for paving in site.areas:
        size, about = paving.polygon.area, f'the area "{paving.name}"'
        if paving.use == "patio" and size > LARGEST_PATIO:
            yield f"{about} of {area(size, site.unit)}"
        if paving.use in ("walkway", "front walkway"):
            wide = 2 * float(shapely.maximum_inscribed_circle(paving.polygon).length)
            if wide > WIDEST_WALK:
                yield f"{about}, a walkway {length(wide, site.unit)} wide"
    if site.house is not None:
        wall = float(np.hypot(*np.diff(site.house.walls, axis=0).T).max())
        if wall > LONGEST_WALL:
            yield f"a wall of {length(wall, site.unit)}"


def _long(paving: Area) -> float:
    west, south, east, north = paving.polygon.bounds
    return float(max(east - west, north - south))


def _levels(site: Site) -> Iterator[str]:
    levels = [(door.name, "sill", door.sill) for door in site.doors]
    for line in (*site.ceilings, *site.floors, *site.meets):
        levels += [(line.name, "level", z) for z in dict.fromkeys(line.z or ())]
    levels += [(area.name, "plane", area.plane.z) for area in site.areas if area.plane]
    low, high = site.spots.xyz[:, 2].min(), site.spots.xyz[:, 2].max()
    for name, what, z in levels:
        off = max(low - z, z - high)
        # Paving is dug below the yard in places, but a door out of a cellar has a well round it.
        if off <= (LOWEST_SILL if what == "sill" and z < low else FAR_FROM_SPOTS):
            continue
        side = "above" if z > high else "below"
        yield (
            f"The {what} of {name}, {number(z, site.unit)}, is {length(off, site.unit)} {side}"
            f" every spot ({number(low, site.unit)} to {number(high, site.unit)})."
            f" {other_unit(z, low, high)}"
        ).rstrip()


def other_unit(z: float, low: float, high: float) -> str:
    """Ask whether a level was read in the other unit, where it then were near the spots'.

    Parameters
    ----------
    z : float
        [m]
    low, high : float
        Least and greatest level of the spots. [m]
    """
    if low - FAR_FROM_SPOTS <= z / FOOT <= high + FAR_FROM_SPOTS:
        return f"Was {number(z, 'ft')} read in metres, not feet?"
    if low - FAR_FROM_SPOTS <= z * FOOT <= high + FAR_FROM_SPOTS:
        return f"Was {number(z, 'm')} read in feet, not metres?"
    return ""


def _areas(site: Site) -> Iterator[str]:
    if not site.areas:
        yield "There is no [[area]]: nothing is graded."
    xy = site.spots.xyz[:, :2]
    spots = shapely.LineString(np.concatenate([xy, xy[:1]])).convex_hull
    for paving in site.areas:
        long = _long(paving)
        if long > LONGEST_AREA:
            yield (
                f'The area "{paving.name}" is {run(long, site.unit)} long, large for paving: '
                f'is unit = "{site.unit}" meant?'
            )
        elif not paving.polygon.intersects(spots):
            gap = run(paving.polygon.distance(spots), site.unit)
            yield (
                f'The area "{paving.name}" lies {gap} away from the survey: are outline and spots '
                f"in the same unit, and from the same origin?"
            )


def _house(site: Site) -> Iterator[str]:
    house = site.house
    if house is None:
        return
    if house.courtyard:
        yield "`inside` lies outside the closed foundation line: it is taken as a courtyard."
    xy = site.spots.xyz[:, :2]
    spots = shapely.box(*xy.min(axis=0), *xy.max(axis=0))
    past = float(shapely.distance(spots, shapely.points(house.walls)).max())
    if past > LONGEST_HOUSE:
        yield (
            f"The foundation line reaches {run(past, site.unit)} past the survey: are its corners "
            "in the same unit as the spots?"
        )
    for door in site.doors:
        gap = house.wall_of(door.at).off
        if gap > TOGETHER:
            yield f"{door.name} is {run(gap, site.unit)} away from the foundation line."


def _astray(site: Site) -> Iterator[str]:
    """Tell downspouts away from the house."""
    if site.house is None:
        return
    for spout in site.downspouts:
        away = site.house.wall_of(spout.at).off
        if away > SPOUT_TO_WALL:
            yield (
                f"{spout.name} is {length(away, site.unit)} away from the foundation line: "
                "check its place."
            )


def _things(site: Site) -> Iterator[str]:
    """Ask where two things stand that take the same place."""
    for one, other in combinations(site.features, 2):
        common = float(one.polygon.intersection(other.polygon).area)
        if common > SAME_PLACE * min(one.polygon.area, other.polygon.area):
            yield (
                f"{one.name} and {other.name} stand in one place, {area(common, site.unit)} of it "
                "in common: check where they stand."
            )


def _way_in(site: Site) -> Iterator[str]:
    """Ask for what no barrow gets through or up, and for rain as it never fell."""
    gate, slope, rain = site.access.gate, site.access.slope, site.storm
    if gate is not None and gate < NARROWEST_GATE:
        yield f"No barrow goes through a gate of {size(gate, site.unit)}: check its width."
    if slope > STEEPEST_WAY:
        yield f"The way in slopes {percent(slope, 0)}, more than a barrow is pushed up: check it."
    if rain is not None and rain.intensity > HEAVIEST_RAIN:
        told = soak(rain.intensity, site.unit)
        yield f"Rain of {told} is more than was ever measured: check it."


def booked_suspicions(site: Site) -> Iterator[str]:
    """Give a sentence for each thing in the level books of a site that is worth a second look.

    Parameters
    ----------
    site : Site
        A site that was read without error.
    """
    levels = levels_of(site)
    if levels is None:
        return
    places, told = taped_of(site), _told(site)
    yield from levels.warnings
    yield from idle_points(levels, places, told)
    yield from levels_against(levels, told, site.in_force[TOLD], site.unit)
    for each in places.tied:
        yield from each.warnings(site.unit)


def _told(site: Site) -> dict[str, tuple[float, ...]]:
    """Return the levels that the site file has for things, by what a book may call them. [m]"""
    told: dict[str, tuple[float, ...]] = {}
    for door in site.doors:
        told[same_name(door.name)] = told[same_name(f"{door.name} sill")] = (door.sill,)
    things: Sequence[Along | Outfall] = (
        *site.ceilings, *site.floors, *site.meets, *site.outfalls,
    )  # fmt: skip
    for thing in things:
        if thing.z:
            z = thing.z if isinstance(thing.z, tuple) else (thing.z,)
            told[same_name(thing.name)] = (*told.get(same_name(thing.name), ()), *z)
    return told
