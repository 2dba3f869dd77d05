"""What fills the joints of paving: sand, polymeric or plain, a compound, or chips."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from grading.crew.lines import Line
from grading.crew.model import Crew
from grading.order.laid.pavers import PaverLayout
from grading.units import Unit, area, percent, size


class _Filling(NamedTuple):
    """What a joint is ordered as, what it is called, and by which figures it is counted."""

    item: str
    title: str
    density: str
    waste: str


_FILLINGS: Mapping[str, _Filling] = {
    "polymeric sand": _Filling(
        "joint-sand", "polymeric sand", "joint-sand-density", "joint-sand-waste"
    ),
    "jointing sand": _Filling(
        "plain-joint-sand", "plain jointing sand", "joint-sand-density", "joint-sand-waste"
    ),
    "wet-laid compound": _Filling(
        "joint-compound", "jointing compound", "joint-compound-density", "joint-compound-waste"
    ),
    "chips": _Filling(
        "joint-chips", "chips for the joints", "joint-chips-density", "joint-sand-waste"
    ),
}


def joint_sand_mass(share: float, depth: float, density: float) -> float:
    """Return the joint sand in a square metre of paving. [kg]

    Parameters
    ----------
    share : float
        Joint area over plan area. [ratio]
    depth : float
        Depth of the joint that is filled. [m]
    density : float
        Of the sand in the joint. [kg/m3]
    """
    return share * depth * density


def joint_lines(
    joint: str, layout: PaverLayout, thickness: float, unit: Unit, crew: Crew
) -> Iterator[Line]:
    """Yield what fills the joints of a layout.

    Parameters
    ----------
    joint : str
        Its name in the table of joints.
    layout : PaverLayout
    thickness : float
        Of the pavers. [m]
    unit : "ft" or "m"
        What `how` is written in.
    crew : Crew
    """
    of = _FILLINGS[joint]
    depth = max(thickness - crew["joint-sand-below"], 0.0)
    net = layout.area * joint_sand_mass(layout.joint_share, depth, crew[of.density])
    lost = crew[of.waste]
    how = (
        f"joints {size(layout.pavers.joint, unit)} wide are {percent(layout.joint_share)} of "
        f"{area(layout.area, unit)}, filled {size(depth, unit)} deep; {percent(lost, 0)} lost"
    )
    amount = net * (1 + lost)
    yield Line(of.item, of.title, "kg", net, amount, how, mass=amount)
