"""Stress on the subgrade below a foot, a wheel or a leg, against what the soil may bear.

The layers are taken as one elastic half-space, so that their stiffness counts for nothing and
only their depth does; pavers that lock and stone stiffer than soil spread a load further. What a
panel's own stiffness does is told where its maker states a modulus, and is not relied on: panels
lie loose, and a load may stand on the free edge of one.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache
from math import atan2, cos, exp, pi, sin, sqrt

from msgspec import Struct

from grading.catalogue.bases import BaseSystem, Layer
from grading.catalogue.rules import RULES
from grading.catalogue.tables import table
from grading.design.model import Design
from grading.units import (
    POUND_FORCE,
    POUND_PER_SQUARE_FOOT,
    POUND_PER_SQUARE_INCH,
    Unit,
    percent,
    read_length,
    size,
)


class Board(Struct, frozen=True):
    """A board on soil: thickness [m], modulus [Pa], Poisson's ratio, subgrade modulus [Pa/m]."""

    thickness: float
    modulus: float
    poisson: float
    subgrade: float

    @property
    def rigidity(self) -> float:
        """Of the board in bending. [N m]"""
        return self.modulus * self.thickness**3 / (12 * (1 - self.poisson**2))

    @property
    def reach(self) -> float:
        """The radius of relative stiffness: how far the board spreads a load beside it. [m]

        Source: Westergaard, Stresses in Concrete Pavements (1926): the fourth root of rigidity
        over subgrade modulus.
        """
        return float((self.rigidity / self.subgrade) ** 0.25)

    def amid(self, radius: float) -> float:
        """Return pressure under the middle of a round load amid a board, over that on the board.

        Parameters
        ----------
        radius : float
            Of the load. [m]

        Notes
        -----
        1 + a ker'(a), with a the radius over the reach: Schleicher's plate of no end (1926); for
        a small a it is Westergaard's deflection of a slab loaded in its interior.
        """
        from scipy.special import kerp  # only where a modulus is stated

        a = radius / self.reach
        return float(1 + a * kerp(a))

    def at_edge(self, length: float) -> float:
        """Return pressure under a free edge that a load stands on, over that on the board.

        Parameters
        ----------
        length : float
            Of the load, back from the edge. [m]

        Notes
        -----
        1 + exp(-x) (sin x - cos x), with x the length over the reach and over root 2: the end of a
        beam of no end (Hetenyi, Beams on Elastic Foundation, 1946). A strip as wide as the load is
        taken by itself: what the board beside it carries is left out.
        """
        x = length / (sqrt(2) * self.reach)
        return 1 + exp(-x) * (sin(x) - cos(x))


_FORCES = {"lb": POUND_FORCE, "kN": 1000.0, "N": 1.0}
_ALIKE = 0.005  # ratio: stresses that differ by less are told as the same
_MODULI = {"MN/m3": 1e6}
_PRESSURES = {"psf": POUND_PER_SQUARE_FOOT, "psi": POUND_PER_SQUARE_INCH, "kPa": 1000.0}


class Load(Struct, frozen=True):
    """A load on one contact: its force [N], and a radius or two sides [m] that it stands on."""

    name: str
    force: float
    sides: tuple[float, ...]
    wheels: bool
    source: str

    @property
    def area(self) -> float:
        """Of the contact. [m2]"""
        if len(self.sides) == 1:
            return pi * self.sides[0] ** 2
        return self.sides[0] * self.sides[1]

    @property
    def pressure(self) -> float:
        """On the contact. [Pa]"""
        return self.force / self.area

    def boussinesq(self, depth: float) -> float:
        """Return the stress below its middle at a depth [m], elastic half-space. [Pa]"""
        if len(self.sides) == 1:
            return self.pressure * circle_influence(depth / self.sides[0])
        half = (side / (2 * depth) for side in self.sides)
        return self.pressure * 4 * corner_influence(*half)

    def two_to_one(self, depth: float) -> float:
        """Return the mean stress at a depth [m] where a load spreads 2 down to 1 out. [Pa]"""
        return self.force / self.spread(depth)

    def spread(self, depth: float) -> float:
        """Return what it stands on at a depth [m] where it spreads 2 down to 1 out. [m2]"""
        if len(self.sides) == 1:
            return pi * (self.sides[0] + depth / 2) ** 2
        return (self.sides[0] + depth) * (self.sides[1] + depth)


def circle_influence(depth: float) -> float:
    """Return stress over pressure below the centre of a uniform circular load.

    Parameters
    ----------
    depth : float
        Over the radius; above 0.

    Notes
    -----
    1 - (1 / (1 + (a/z)2))^1.5; Spangler and Handy, Soil Engineering, tabulates it.
    """
    return float(1 - (1 / (1 + 1 / depth**2)) ** 1.5)


def corner_influence(m: float, n: float) -> float:
    """Return stress over pressure below the corner of a uniform rectangular load.

    Parameters
    ----------
    m, n : float
        The two sides over the depth.

    Notes
    -----
    Newmark's integral of Boussinesq's point load (Chapra and Canale, Numerical Methods for
    Engineers, problem 20.27, tabulates it). Where m2 n2 exceeds m2 + n2 + 1 the angle is beyond
    a right angle, and an arctangent of the quotient alone falls short by pi.
    """
    both, one = m * m * n * n, m * m + n * n + 1
    root = 2 * m * n * sqrt(one)
    return (root / (one + both) * (one + 1) / one + atan2(root, one - both)) / (4 * pi)


def quantity(text: str, units: Mapping[str, float]) -> float:
    """Return a quantity of a table that is built in, by the units that it may have. [SI]"""
    match = re.fullmatch(r"([0-9.]+) ([\w/]+)", text)
    if match is None or match[2] not in units:
        raise ValueError(f'"{text}" is no number with one of {", ".join(units)}')
    return float(match[1]) * units[match[2]]


@cache
def loads() -> tuple[Load, ...]:
    """Return the loads that a patio meets."""
    found = []
    for name, entry in table("conditions", "loads").items():
        if "force" not in entry:
            continue
        force = quantity(entry["force"], _FORCES)
        if "pressure" in entry:
            area = force / quantity(entry["pressure"], _PRESSURES)
            sides: tuple[float, ...] = (sqrt(area / pi),)
        else:
            sides = tuple(read_length(side, "m") for side in entry["contact"])
        found.append(Load(name, force, sides, entry.get("wheels", False), entry["source"]))
    return tuple(found)


def bearing(soil: str) -> float:
    """Return the presumptive bearing of a soil. [Pa]"""
    return quantity(table("conditions", "loads")["bearing"][soil], _PRESSURES)


def bearing_source() -> str:
    """Say where the presumptive bearing comes from."""
    return str(table("conditions", "loads")["bearing"]["source"])


def board_of(layer: Layer, soil: str) -> Board | None:
    """Return a panel as a board on a soil; None where no modulus of it is stated."""
    if layer.modulus is None:
        return None
    springs = table("conditions", "loads")["subgrade-modulus"]
    return Board(
        layer.thickness, layer.modulus, springs["poisson"], quantity(springs[soil], _MODULI)
    )


def pressure(pascal: float, unit: Unit) -> str:
    """Write a pressure [Pa] in the site's unit: 1,500 psf where it is "ft", 71.8 kPa where "m"."""
    if unit == "ft":
        return f"{pascal / POUND_PER_SQUARE_FOOT:,.0f} psf"
    return f"{pascal / 1000:.1f} kPa"


class OnBoard(Struct, frozen=True):
    """What a panel's stiffness does to a load.

    Attributes
    ----------
    reach : float
        How far the panel spreads it beside its contact: the radius of relative stiffness. [m]
    amid, at_edge : float
        Stress on the subgrade amid a panel and at its free edge, where the load spreads 2 down to
        1 out in all else. [Pa]
    """

    reach: float
    amid: float
    at_edge: float


class LoadStress(Struct, frozen=True):
    """One load on one area and base system.

    Attributes
    ----------
    area, base, load : str
    depth : float
        Of the subgrade below the finish. [m]
    boussinesq, two_to_one : float
        Stress on the subgrade below the load. [Pa]
    bearing : float
        What the soil is presumed to bear. [Pa]
    refused : str
        The rule by which this base does not carry it, whatever the stress; else empty.
    board : OnBoard or None
        What its panel's stiffness does; None where no modulus of it is stated.
    """

    area: str
    base: str
    load: str
    depth: float
    boussinesq: float
    two_to_one: float
    bearing: float
    refused: str
    board: OnBoard | None = None

    @property
    def greatest(self) -> float:
        """The greatest of the stresses, at the free edge of a panel too. [Pa]"""
        edge = 0.0 if self.board is None else self.board.at_edge
        return max(self.boussinesq, self.two_to_one, edge)

    @property
    def share(self) -> float:
        """The greater stress over the presumptive bearing."""
        return self.greatest / self.bearing


def stress(area: str, system: BaseSystem, load: Load, soil: str) -> LoadStress:
    """Return the stress that a load puts on the subgrade through a build-up.

    Parameters
    ----------
    area : str
    system : BaseSystem
    load : Load
    soil : str
        Below the build-up.
    """
    depth = system.build_up
    off = load.wheels and system.on_panels and not system.wheels
    return LoadStress(
        area, system.name, load.name, depth, load.boussinesq(depth), load.two_to_one(depth),
        bearing(soil), RULES["panel-use"].title if off else "", _on_board(system, load, soil),
    )  # fmt: skip


def _on_board(system: BaseSystem, load: Load, soil: str) -> OnBoard | None:
    """Return what the stiffness of a panel does to a load that has spread down onto it."""
    if system.board is None:
        return None
    # On stone a board bends over less than on the soil below it.
    board = board_of(system.board, "gravel" if system.base_thickness else soil)
    if board is None:
        return None
    top = system.tops()[system.layers.index(system.board)]
    stands_on, below = load.spread(top), load.two_to_one(system.build_up)
    return OnBoard(
        board.reach,
        below * board.amid(sqrt(stands_on / pi)),
        below * board.at_edge(sqrt(stands_on)),
    )


def board_words(stresses: Iterable[LoadStress], system: BaseSystem, unit: Unit) -> str:
    """Say what a panel's stiffness does to the load that presses hardest; empty where not known.

    Parameters
    ----------
    stresses : iterable of LoadStress
        Of one area on that system.
    system : BaseSystem
    unit : "ft" or "m"
    """
    known = [(one, one.board) for one in stresses if one.board is not None and not one.refused]
    if not known or system.board is None or system.board.modulus is None:
        return ""
    worst, board = max(known, key=lambda pair: pair[0].two_to_one)
    more = board.amid / worst.two_to_one - 1
    as_much = f"{percent(abs(more), 0)} {'more' if more > 0 else 'less'} than"
    if abs(more) < _ALIKE:
        as_much = "as much as"
    return (
        f"the {system.board.name} of {system.called}, {size(system.board.thickness, unit)} thick "
        f"at {system.board.modulus / 1e6:g} MPa ({system.source}), spreads a load by "
        f"{size(board.reach, unit)} beside it: below a {worst.load} {pressure(board.amid, unit)} "
        f"amid one, {as_much} without its stiffness, and "
        f"{pressure(board.at_edge, unit)} at its free edge"
    )


def loads_of(plan: Design) -> Iterator[LoadStress]:
    """Give the stress of every load on each area through each base system."""
    for area_plan in plan.areas:
        for dig in area_plan.digs.values():
            if dig.system.over:
                continue  # concrete lies between
            for load in loads():
                yield stress(area_plan.name, dig.system, load, plan.site.ground.soil)
