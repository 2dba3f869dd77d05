"""The step at each door: sill, finish and ground there, its risers, what hangs over the wall."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np
import shapely
from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.design.area import AreaPlan
from grading.finish.lawn_steps import way_out
from grading.finish.wishes.mends import FEWEST_WITH_LANDING
from grading.finish.wishes.of_site import nearest_area, step_limits
from grading.geometry.arrays import Floats, distances_along
from grading.geometry.tolerances import WHOLE, whole_up
from grading.site.model import Ceiling, Door, Site
from grading.units import FOOT

LEAST_PITCH, MOST_PITCH = 1 / 96, 1 / 48
"""How far treads fall outward: 1/8 in/ft to 1/4 in/ft; common practice, no source, and IRC R311.7.7
asks no more than 1:48 of treads and landings, from memory. [ratio]"""


BESIDE = 2 * FOOT
"""A ceiling this near to the middle of a door is told at it; common practice, no source. [m]"""


class DoorStep(Struct, frozen=True, eq=False):
    """A door onto an area, and the step down from its sill.

    Attributes
    ----------
    door : Door
    area : str
    at : (2,) float
        Where the paving is nearest to the door. [m]
    finish : float
        Its level there. [m]
    ground : float or None
        Of the existing ground there, None where it was not surveyed. [m]
    risers : int
        How many steps lead down to it: asked for, or as many as it takes.
    limit : (float, float)
        What all of them together may be, at the least and at the most. [m]
    ceilings : tuple of (Ceiling, float)
        What hangs over the wall at the door, with its level there. [m]
    riser : float
        Of each of the steps, as they are built: treads fall outward, and the finish goes on falling
        to their foot. [m]
    """

    door: Door
    area: str
    at: Floats
    finish: float
    ground: float | None
    risers: int
    limit: tuple[float, float]
    ceilings: tuple[tuple[Ceiling, float], ...]
    riser: float

    @property
    def step(self) -> float:
        """The sill above the finish. [m]"""
        return float(self.door.sill) - self.finish

    def words(self, sized: Callable[[float], str]) -> str:
        """Say the step, or how many of what height; lengths [m] are written by `sized`."""
        if self.risers == 1:
            return sized(self.step)
        return f"{self.risers} steps of {sized(self.riser)}"


def door_steps(area: AreaPlan) -> tuple[DoorStep, ...]:
    """Return the step at each door onto an area, in the order of the site."""
    return tuple(_door_steps(area))


def _door_steps(area: AreaPlan) -> Iterator[DoorStep]:
    group = area.group.group
    site, limits = group.site, group.limits
    for door in site.doors:
        if nearest_area(site, door.at) is not area.area:
            continue
        line = shapely.shortest_line(area.outline, shapely.Point(door.at))
        at = shapely.get_coordinates(line)[0]
        ground = float(group.ground.elevation(at[None])[0])
        finish = float(area.finish.surface.at(at[None])[0])
        risers = door.risers or 1
        if door.name in group.stepped:
            _, most = step_limits(door, limits, 1)
            risers = max(whole_up((door.sill - finish) / most, WHOLE), 1)
        yield DoorStep(
            door,
            area.name,
            at,
            finish,
            ground if np.isfinite(ground) else None,
            risers,
            step_limits(door, limits, risers),
            tuple(_ceilings(site, area.name, door)),
            _riser(area, door, risers, float(door.sill) - finish),
        )


def landing_of(risers: int, limits: Limits) -> float:
    """Return how deep the landing is that steps at a door begin with; 0 where they have none. [m]

    Parameters
    ----------
    risers : int
    limits : Limits
    """
    return limits["step-landing"] if risers >= FEWEST_WITH_LANDING else 0.0


def _riser(area: AreaPlan, door: Door, risers: int, step: float) -> float:
    if risers < 2:
        return step
    group = area.group.group
    limits = group.limits
    out, foot = way_out(group.site, area.area, door)
    going = going_of(risers, limits["step-built-tread"], landing_of(risers, limits))
    half = limits["step-built-width"] / 2 * np.array([-out[1], out[0]])
    finish = area.finish.surface.at
    low = finish(np.array([foot - half, foot + half]) + out * going)
    high, beyond = finish(np.array([door.at, np.asarray(door.at, float) + out]))
    drop = float(door.sill) - float(low.mean())
    return pitched_riser(drop, risers, going, pitch_for(float(high - beyond)))


def _ceilings(site: Site, name: str, door: Door) -> Iterator[tuple[Ceiling, float]]:
    """Give each ceiling beside a door with its level there, straight between its points."""
    here = shapely.Point(door.at)
    for ceiling in site.ceilings:
        if ceiling.area not in (None, name):
            continue
        at = np.array(ceiling.at, dtype=float).reshape(-1, 2)
        z = np.broadcast_to(np.asarray(ceiling.z, dtype=float), (len(at),))
        if len(at) == 1:
            if here.distance(shapely.Point(at[0])) <= BESIDE:
                yield ceiling, float(z[0])
            continue
        line = shapely.LineString(at)
        if line.distance(here) <= BESIDE:
            run = distances_along(at)
            yield ceiling, float(np.interp(line.project(here), run, z))


def pitched_riser(drop: float, count: int, going: float, pitch: float) -> float:
    """Return the height of each riser of a flight whose treads fall outward. [m]

    Parameters
    ----------
    drop : float
        From what it goes down from to its foot. [m]
    count : int
        Risers; the upper level is the last tread.
    going : float
        From its head to its foot, landing and treads. [m]
    pitch : float
        How they fall outward. [ratio]
    """
    return (drop - going * pitch) / count


def going_of(count: int, tread: float, landing: float = 0.0) -> float:
    """Return how far a flight goes out from its head to its foot. [m]

    Parameters
    ----------
    count : int
        Risers.
    tread : float
        Going of a tread. [m]
    landing : float
        Of the landing that it begins with in place of its first tread; 0 for none. [m]
    """
    if count < 2:
        return 0.0
    return (landing or tread) + (count - 2) * tread


def pitch_for(surface_fall: float) -> float:
    """Return how treads fall outward beside paving that falls so that way. [ratio]"""
    return float(np.clip(surface_fall, LEAST_PITCH, MOST_PITCH))
