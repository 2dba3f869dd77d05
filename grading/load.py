"""Stress on the subgrade below a foot, a wheel or a leg, against what the soil may bear.

The layers are taken as one elastic half-space, so that their stiffness counts for nothing and
only their depth does; pavers that lock and stone stiffer than soil spread a load further.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from math import atan2, pi, sqrt
from typing import Any

from grading.baselayers import BaseSystem
from grading.pipeline import Plan
from grading.rules import RULES
from grading.units import (
    POUND_FORCE,
    POUND_PER_SQUARE_FOOT,
    POUND_PER_SQUARE_INCH,
    Unit,
    read_length,
)

_FORCES = {"lb": POUND_FORCE, "kN": 1000.0, "N": 1.0}
_PRESSURES = {"psf": POUND_PER_SQUARE_FOOT, "psi": POUND_PER_SQUARE_INCH, "kPa": 1000.0}


@dataclass(frozen=True)
class Load:
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
        if len(self.sides) == 1:
            return self.force / (pi * (self.sides[0] + depth / 2) ** 2)
        return self.force / ((self.sides[0] + depth) * (self.sides[1] + depth))


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


def _quantity(text: str, units: Mapping[str, float]) -> float:
    match = re.fullmatch(r"([0-9.]+) (\w+)", text)
    if match is None or match[2] not in units:
        raise ValueError(f'"{text}" is no number with one of {", ".join(units)}')
    return float(match[1]) * units[match[2]]


@cache
def _table() -> Mapping[str, Any]:
    return tomllib.loads(files("grading").joinpath("loads.toml").read_text(encoding="utf-8"))


@cache
def loads() -> tuple[Load, ...]:
    """Return the loads that a patio meets."""
    found = []
    for name, entry in _table().items():
        if name == "bearing":
            continue
        force = _quantity(entry["force"], _FORCES)
        if "pressure" in entry:
            area = force / _quantity(entry["pressure"], _PRESSURES)
            sides: tuple[float, ...] = (sqrt(area / pi),)
        else:
            sides = tuple(read_length(side, "m") for side in entry["contact"])
        found.append(Load(name, force, sides, entry.get("wheels", False), entry["source"]))
    return tuple(found)


def bearing(soil: str) -> float:
    """Return the presumptive bearing of a soil. [Pa]"""
    return _quantity(_table()["bearing"][soil], _PRESSURES)


def bearing_source() -> str:
    """Say where the presumptive bearing comes from."""
    return str(_table()["bearing"]["source"])


def pressure(pascal: float, unit: Unit) -> str:
    """Write a pressure [Pa] in the site's unit: 1,500 psf where it is "ft", 71.8 kPa where "m"."""
    if unit == "ft":
        return f"{pascal / POUND_PER_SQUARE_FOOT:,.0f} psf"
    return f"{pascal / 1000:.1f} kPa"


@dataclass(frozen=True)
class LoadStress:
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
    """

    area: str
    base: str
    load: str
    depth: float
    boussinesq: float
    two_to_one: float
    bearing: float
    refused: str

    @property
    def greatest(self) -> float:
        """The greater of the two stresses. [Pa]"""
        return max(self.boussinesq, self.two_to_one)

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
    refused = RULES["panel-use"].title if load.wheels and system.on_panels else ""
    return LoadStress(
        area, system.name, load.name, depth, load.boussinesq(depth), load.two_to_one(depth),
        bearing(soil), refused,
    )  # fmt: skip


def loads_of(plan: Plan) -> Iterator[LoadStress]:
    """Give the stress of every load on each area through each base system."""
    for area_plan in plan.areas:
        for dig in area_plan.digs.values():
            if dig.system.over:
                continue  # concrete lies between
            for load in loads():
                yield stress(area_plan.area.name, dig.system, load, plan.site.ground.soil)
