"""The rain that passes the joints of paving: how much, what soaks in, and what runs off."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from msgspec import Struct

from grading.catalogue.bases import BaseSystem
from grading.catalogue.edge_kinds import passing_rules
from grading.catalogue.rules import Limits
from grading.conditions.joint_choice import joint_laid
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.signs import listed
from grading.units import INCH, Unit, percent, run, size
from grading.units.rates import water_volume
from grading.water.runoff import coefficients

TOLD_RAIN = INCH
"""The rain that volumes are told for: an inch. [m]"""


class JointWater(Struct, frozen=True):
    """What becomes of the rain on one area at its joints.

    Attributes
    ----------
    joint, base : str
        What fills the joints, and what is below: "panel", "open", "dense" or "concrete".
    passes : float
        Share of the rain that the joints let through.
    soaks : float
        Share of the rain that soaks into the base or the ground below.
    runs_off : float
        Share of the rain that leaves the paving, over the pavers or under them: its runoff
        coefficient.
    reach : float
        How near to the foundation counts as beside it. [m]
    beside : float
        Plan area of the paving beside the foundation. [m2]
    """

    joint: str
    base: str
    passes: float
    soaks: float
    runs_off: float
    reach: float
    beside: float

    @property
    def soaked_beside(self) -> float:
        """What soaks in beside the foundation in an inch of rain. [m3]"""
        return self.soaks * self.beside * TOLD_RAIN


def below_of(system: BaseSystem) -> str:
    """Name what takes the water under the pavers of a base system."""
    if system.over:
        return "concrete"
    if system.on_panels:
        return "panel"
    return "open" if any(one.material == "open-graded" for one in system.layers) else "dense"


_TAKES = {
    "dense": "soak-share-dense",
    "open": "soak-share-open",
    "panel": "soak-share-panels",
}
"""The rule that says what share of what passes the joints soaks in, by what is below."""


def shares_of(joint: str, below: str, limits: Limits) -> tuple[float, float, float]:
    """Return the share of the rain that passes, that soaks in, and that runs off.

    Parameters
    ----------
    joint : str
        Its name in the table of joints.
    below : "panel", "open", "dense" or "concrete"
    limits : Limits

    Notes
    -----
    What soaks in is what passes, times what the base takes of it; sound concrete takes none. The
    rest leaves with what runs off closed paving, for what a base does not take comes up again,
    and what runs along a panel comes out at its low edge.
    """
    passes = limits[passing_rules()[joint]]
    soaks = passes * limits[_TAKES[below]] if below in _TAKES else 0.0
    return passes, soaks, max(coefficients()["closed"].value - soaks, 0.0)


def joint_water_of(plan: Design, area: AreaPlan) -> JointWater:
    """Return what becomes of the rain on an area at its joints, on the base that is planned.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        One of the plan's.
    """
    site, limits = plan.site, plan.limits
    system = area.chosen_dig.system
    joint, below = joint_laid(site, area, system, plan.crew.pavers), below_of(system)
    reach, near = limits["foundation-reach"], 0.0
    if site.house is not None:
        by_wall = shapely.LineString(site.house.walls).buffer(reach)
        near = float(shapely.area(shapely.intersection(by_wall, area.outline)))
    return JointWater(joint, below, *shares_of(joint, below, limits), reach, near)


_WAYS = {
    "panel": "the joints and the drain holes of the panels",
    "open": "the joints and the open stone",
    "dense": "the joints and the base",
}


def joint_water_words(one: JointWater, unit: Unit) -> str:
    """Say how much of the rain passes the joints, what soaks in, and how much runs off."""
    said = f"{one.joint} lets {percent(one.passes)} of the rain through its joints"
    if one.soaks > 0:
        said += f"; {percent(one.soaks)} soaks in through {_WAYS[one.base]}"
    if one.soaked_beside > 0:
        said += f", of {size(TOLD_RAIN, unit)} of rain {_volume(one, unit)} within "
        said += f"{run(one.reach, unit)} of the foundation"
    return f"{said}; {percent(one.runs_off, 0)} runs off"


def soaked_words(areas: Sequence[tuple[str, JointWater]], unit: Unit) -> str:
    """Say how much soaks in beside the foundation in an inch of rain, and through what.

    Parameters
    ----------
    areas : sequence of (str, JointWater)
        What each is called, and what becomes of its rain; at least one.
    unit : "ft" or "m"
    """
    (_, first), *more = areas
    rain, reach = size(TOLD_RAIN, unit), run(first.reach, unit)
    if not more:
        return (
            f"Of {rain} of rain {_volume(first, unit)} soaks in within {reach} of the foundation, "
            f"through {_WAYS[first.base]}"
        )
    said = listed([f"{_volume(one, unit)} under {name}" for name, one in areas])
    return f"Of {rain} of rain there soaks in, within {reach} of the foundation, {said}"


def _volume(one: JointWater, unit: Unit) -> str:
    """Write how much soaks in beside the foundation in an inch of rain."""
    told = water_volume(one.soaked_beside, unit)
    return f"less than {told.replace('0', '1', 1)}" if told.startswith("0 ") else told
