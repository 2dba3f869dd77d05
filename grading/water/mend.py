"""How to mend what the water of a site is held to: what to raise, turn, cut or drain, and where."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.places import Places
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import LEVEL
from grading.units import FOOT, length, percent, run, size
from grading.water.course import FOUNDATION
from grading.water.destinations import Destination
from grading.water.model import AreaWater, Water

_BESIDE = FOOT  # of where it ends at the wall: paving that lets go of its water there is at it


def led_to(water: Water, z: float, at: Floats, places: Places) -> str:
    """Say where water can be led from a level [m] at a place (2,): the nearest named place below.

    A lawn that the finish only stays above, and a neighbour's lot, are no such places.
    """
    point = shapely.Point(at)
    lower = [
        place
        for place in water.destinations
        if place.meant and place.kind != "neighbour"
        and place.z is not None and place.z < z - LEVEL
    ]  # fmt: skip
    if not lower:
        return f"to a place below {length(z, places.unit)}: the site names none, add an [[outfall]]"
    best = min(lower, key=lambda place: float(shapely.distance(place.shape, point)))
    return f"to {best.name}"


def foundation(water: Water, area: AreaWater, fall: float, places: Places) -> str:
    """Say how the rain on an area is kept from the foundation.

    Parameters
    ----------
    water : Water
    area : AreaWater
        Of whose rain some reaches it.
    fall : float
        Least fall of paving away from a wall. [ratio]
    places : Places
    """
    over = next((edge for edge in area.edges if edge.kind == FOUNDATION), None)
    end = area.at_house
    at_wall = "" if end is None else f", {places.at(end)}"
    if over is not None and end is not None and np.hypot(*(over.at - end)) > _BESIDE:
        # It leaves the paving well out from the wall, and the ground carries it back.
        return (
            f"cut a swale along the low edge, {places.at(over.at)}, led "
            f"{led_to(water, over.z, over.at, places)}; or raise the ground between there and the "
            f"house{at_wall}, so that it falls away; or turn the paving to another side"
        )
    z = _level_at(water, end)
    led = "" if z is None or end is None else f", led {led_to(water, z, end, places)}"
    if end is not None and not _paved(water, end):
        # It leaves the paving by its side, and the ground there carries it to the wall.
        return (
            f"raise the ground beside the paving{at_wall}, so that it falls away from the house; "
            f"or cut a swale there{led}"
        )
    return (
        f"raise the paving at the wall{at_wall}, or turn its fall, so that it falls "
        f"{percent(fall)} away; or set a channel drain between it and the wall{led}"
    )


def _paved(water: Water, at: Floats) -> bool:
    cell = int(water.relief.cells(np.asarray(at)[None])[0])
    return cell >= 0 and bool(water.relief.kind.ravel()[cell] >= 0)


def _level_at(water: Water, at: Floats | None) -> float | None:
    if at is None:
        return None
    cell = int(water.relief.cells(np.asarray(at)[None])[0])
    z = float(water.relief.z.ravel()[cell]) if cell >= 0 else np.nan
    return z if np.isfinite(z) else None


def low_spot(water: Water, at: Floats, spill: Floats, depth: float, level: float, paved: float,
             places: Places) -> str:  # fmt: skip
    """Say how a low spot is given a way out; `paved` is how deep it is on paving, 0 on none. [m]"""
    first = (
        f"raise the paving there by {size(paved, places.unit)}, or turn its fall"
        if paved > 0
        else f"fill it up by {size(depth, places.unit)}"
    )
    bottom = level - depth
    return (
        f"{first}; or cut a swale out of it over where it spills, {places.at(spill)}, "
        f"{size(depth, places.unit)} deep there; or set a drain in it, {places.at(at)}, led "
        f"{led_to(water, bottom, at, places)}"
    )


def place_too_high(above: float, name: str, at: Floats, places: Places) -> str:
    """Say how water gets to a place that stands above the edge that drains to it."""
    by = size(above, places.unit)
    return (
        f"raise the low edge, {places.at(at)}, by {by} and more, or lower {name} by as much, or "
        "turn the fall to a place that is lower"
    )


def beyond_the_survey(at: Floats | None, places: Places) -> str:
    """Say how it becomes known where water ends that leaves the survey."""
    where = f" from {places.at(at)}" if at is not None else ""
    return (
        f"measure on{where} to where the water ends and name that place as an [[outfall]], or turn "
        "the fall, or cut a swale, to a place that is named"
    )


def neighbour(water: Water, at: Floats | None, places: Places) -> str:
    """Say how water is kept off the neighbour's lot."""
    z = _level_at(water, at)
    led = f", led {led_to(water, z, at, places)}" if z is not None and at is not None else ""
    where = f" below the low edge, {places.at(at)}" if at is not None else " along the lot line"
    return f"cut a swale{where}{led}, or turn the fall away from the lot line"


def fall_short(fall: float, least: float, over: float, places: Places) -> str:
    """Say how much higher paving has to lie at a wall to fall enough."""
    up = size((least - fall) * over, places.unit)
    return (
        f"raise the paving at the wall by {up}, or lower its far end, {run(over, places.unit)} "
        f"out, by as much; or turn its fall so that it falls {percent(least)} away"
    )


def ground_to_wall(
    water: Water, wall: str, at: Floats, least: float, reach: float, places: Places
) -> str:
    """Say how the ground is kept from sending its water to a wall."""
    z = _level_at(water, at)
    led = f", led {led_to(water, z, at, places)}" if z is not None else ""
    return (
        f"raise the ground along {wall}, {places.at(at, wall)}, so that it falls "
        f"{percent(least)} away over {run(reach, places.unit)}; or cut a swale "
        f"across the slope before it reaches the house{led}; or set a drain along the wall"
    )


def run_on(water: Water, at: Floats, places: Places) -> str:
    """Say how water of the ground around is kept off the paving."""
    z = _level_at(water, at)
    led = f", led round the paving {led_to(water, z, at, places)}" if z is not None else ""
    return (
        f"cut a swale, or set a drain, along the edge of the paving that it comes over, "
        f"{places.at(at)}{led}; or turn the paving to carry it away from the house"
    )


def downspout(least: float, destinations: Sequence[Destination], places: Places) -> str:
    """Say where a downspout is to let its water go."""
    meant = [place.name for place in destinations if place.meant and place.kind != "neighbour"]
    to = (
        f", to {meant[0]}" if len(meant) == 1 else f", to {' or '.join(meant[:3])}" if meant else ""
    )
    return (
        f"lead it on in a pipe or an extension, {run(least, places.unit)} or more from the house"
        f"{to}"
    )
