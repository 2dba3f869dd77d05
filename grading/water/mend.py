"""How to mend what the water of a site is held to: what to raise, turn, cut or drain, and where."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from grading.design.places import Places
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import LEVEL
from grading.units import FOOT, length, run, size
from grading.units.writing import rate_of
from grading.water.course import FOUNDATION
from grading.water.destinations import Destination
from grading.water.model import AreaWater, Water
from grading.worded import Said, Worded

_BESIDE = FOOT  # of where it ends at the wall: paving that lets go of its water there is at it


def led_to(water: Water, z: float, at: Floats, places: Places) -> Said:
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
        none = Worded("the site names none, add an [[outfall]]",
                      "none is named, settle one before you dig")  # fmt: skip
        return f"to a place below {length(z, places.unit)}: " + none
    best = min(lower, key=lambda place: float(shapely.distance(place.shape, point)))
    return f"to {best.name}"


def foundation(water: Water, area: AreaWater, fall: float, places: Places) -> tuple[Said, ...]:
    """Say in which ways the rain on an area is kept from the foundation.

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
            + led_to(water, over.z, over.at, places),
            f"raise the ground between there and the house{at_wall}, so that it falls away",
            "turn the paving to another side",
        )
    led = _led(water, end, places)
    if end is not None and not _paved(water, end):
        # It leaves the paving by its side, and the ground there carries it to the wall.
        return (
            f"raise the ground beside the paving{at_wall}, so that it falls away from the house",
            "cut a swale there" + led,
        )
    return (
        f"raise the paving at the wall{at_wall}, or turn its fall, so that it falls "
        + rate_of(fall, places.unit)
        + " away",
        "set a channel drain between it and the wall" + led,
    )


def _led(water: Water, at: Floats | None, places: Places, round_it: str = "") -> Said:
    """Say where water is led from a place; empty where its level is not known."""
    z = _level_at(water, at)
    return "" if z is None or at is None else f", led {round_it}" + led_to(water, z, at, places)


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
             places: Places) -> tuple[Said, ...]:  # fmt: skip
    """Say in which ways a low spot is given a way out; `paved` is how deep it is on paving. [m]"""
    first = (
        f"raise the paving there{_by(paved, places)}, or turn its fall"
        if paved > 0
        else f"fill it up{_by(depth, places)}"
    )
    bottom, deep = level - depth, _by(depth, places, ", {} deep there")
    return (
        first,
        f"cut a swale out of it over where it spills, {places.at(spill)}{deep}",
        f"set a drain in it, {places.at(at)}, led " + led_to(water, bottom, at, places),
    )


def _by(metres: float, places: Places, words: str = " by {}") -> str:
    """Say by how much, where that is more than nothing as it is told."""
    told = size(metres, places.unit)
    return "" if told == size(0.0, places.unit) else words.format(told)


def place_too_high(above: float, name: str, at: Floats, places: Places) -> str:
    """Say how water gets to a place that stands above the edge that drains to it."""
    by = size(above, places.unit)
    return (
        f"raise the low edge, {places.at(at)}, by {by} and more, or lower {name} by as much, or "
        "turn the fall to a place that is lower"
    )


def beyond_the_survey(at: Floats | None, places: Places) -> Said:
    """Say how it becomes known where water ends that leaves the survey."""
    where = f" from {places.at(at)}" if at is not None else ""
    return (
        f"measure on{where} to where the water ends and "
        + Worded("name that place as an [[outfall]]", "have that place named in the plan")
        + ", or turn the fall, or cut a swale, to a place that is named"
    )


def neighbour(water: Water, at: Floats | None, places: Places) -> Said:
    """Say how water is kept off the neighbour's lot."""
    where = f" below the low edge, {places.at(at)}" if at is not None else " along the lot line"
    led = _led(water, at, places)
    return f"cut a swale{where}" + led + ", or turn the fall away from the lot line"


def fall_short(fall: float, least: float, over: float, places: Places) -> tuple[Said, ...]:
    """Say how much higher paving has to lie at a wall to fall enough."""
    up = size((least - fall) * over, places.unit)
    return (
        f"raise the paving at the wall by {up}, or lower its far end, {run(over, places.unit)} "
        "out, by as much",
        "turn its fall so that it falls " + rate_of(least, places.unit) + " away",
    )


def ground_to_wall(
    water: Water, wall: str, at: Floats, least: float, reach: float, places: Places
) -> tuple[Said, ...]:
    """Say in which ways the ground is kept from sending its water to a wall."""
    return (
        f"raise the ground along {wall}, {places.at(at, wall)}, so that it falls "
        + rate_of(least, places.unit)
        + f" away over {run(reach, places.unit)}",
        "cut a swale across the slope before it reaches the house" + _led(water, at, places),
        "set a drain along the wall",
    )


def run_on(water: Water, at: Floats, places: Places) -> tuple[Said, ...]:
    """Say in which ways water of the ground around is kept off the paving."""
    return (
        f"cut a swale, or set a drain, along the edge of the paving that it comes over, "
        f"{places.at(at)}" + _led(water, at, places, "round the paving "),
        "turn the paving to carry it away from the house",
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
