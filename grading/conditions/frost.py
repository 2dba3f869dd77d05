"""How deep a winter freezes below the finish, through the layers that are there.

Stefan's relation spends the winter's freezing index on the latent heat of the water in the
ground alone, and so is the deepest; the modified Berggren relation multiplies it by a factor
for the heat in the ground itself. Both are estimates that promise nothing: snow, moisture,
a heated wall and the edge of the paving each move the answer by more than the method does.
What each layer asks of the cold is reckoned from its density, its water and what it conducts.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import erf, erfc, exp, inf, pi, sqrt

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.bases import BaseSystem
from grading.catalogue.tables import table
from grading.design.model import Design
from grading.geometry.roots import root_between
from grading.geometry.tolerances import ROUNDING
from grading.site.feature_tables import Frost
from grading.site.model import House
from grading.units import BTU, FAHRENHEIT, POUND, Unit, size
from grading.units.shares import share_words

LATENT = 144 * BTU / POUND
"""Heat of fusion of water: 144 Btu/lb. [J/kg]"""
HEAT_OF_SOIL = 0.17 * BTU / POUND / FAHRENHEIT
"""Specific heat of dry soil: 0.17 Btu/lb F, UFC 3-130-06 (from memory). [J/kg K]"""
HEAT_OF_WATER = BTU / POUND / FAHRENHEIT
"""Specific heat of water: 1 Btu/lb F; half that where it is ice, and 0.75 on average. [J/kg K]"""


class Stratum(Struct, frozen=True):
    """A layer that frost passes through, or, at the bottom, the soil without end.

    Attributes
    ----------
    name : str
    thickness : float
        [m]
    density : float
        Dry. [kg/m3]
    water : float
        Mass of water over dry mass.
    conductivity : float
        The mean of frozen and thawed. [W/m K]
    """

    name: str
    thickness: float
    density: float
    water: float
    conductivity: float

    @property
    def latent(self) -> float:
        """Latent heat of the water in it. [J/m3]"""
        return LATENT * self.density * self.water

    @property
    def capacity(self) -> float:
        """Heat that it gives up for each degree, the mean of frozen and thawed. [J/m3 K]"""
        return self.density * (HEAT_OF_SOIL + 0.75 * self.water * HEAT_OF_WATER)


def stratum(name: str, material: str, thickness: float) -> Stratum:
    """Return a layer of a material of `thermal.toml`; one that is not there is taken as base.

    Parameters
    ----------
    name, material : str
    thickness : float
        [m]
    """
    materials = table("conditions", "thermal")
    entry = materials.get(material) or materials["dense-graded"]
    density, water = float(entry["density"]), float(entry["water"])
    return Stratum(name, thickness, density, water, sum(entry["conductivity"]) / 2)


def strata_of(system: BaseSystem, soil: str) -> tuple[Stratum, ...]:
    """Return what frost passes through below a finish, the soil last and without end."""
    layers = [stratum(layer.name, layer.material, layer.thickness) for layer in system.layers]
    return (*layers, stratum(f"{soil} below", f"soil {soil}", inf))


CAUTION = (
    "An estimate for comparing build-ups, not a promise: it does not say that the paving will "
    "not heave, and it is no design of a footing."
)

_BY_WALL = 0.05  # m: an edge this near to a heated wall is no open edge
_TRIALS = 200
_GREATEST_MU = 50.0


def _solved(strata: Sequence[Stratum], wanted: float, factor: float) -> float:
    """Return the depth that Stefan's relation has for a freezing index over factor squared. [m]

    The index is the integral over the depth of latent heat times the thermal resistance above it,
    which is linear in each layer.
    """
    goal = factor**2 * wanted
    spent = resistance = above = 0.0
    for layer in strata:
        own = layer.thickness / layer.conductivity
        whole = layer.latent * layer.thickness * (resistance + own / 2) if own < inf else inf
        if spent + whole >= goal:
            # latent (R x + x x / 2 k) = goal - spent
            half, left = layer.latent / (2 * layer.conductivity), goal - spent
            linear = layer.latent * resistance
            return above + 2 * left / (linear + sqrt(linear**2 + 4 * half * left))
        spent, resistance, above = spent + whole, resistance + own, above + layer.thickness
    raise ValueError("the lowest layer ends above the frost")


def stefan(strata: Sequence[Stratum], index: float) -> float:
    """Return the frost depth below the surface by Stefan's relation. [m]

    Parameters
    ----------
    strata : sequence of Stratum
        From the surface down, the last without end.
    index : float
        Freezing index of the surface. [K s]

    Notes
    -----
    sqrt(2 k I / L) where all is one material. Source: UFC 3-130-06 (from memory).
    """
    return _solved(strata, index, 1.0)


def berggren_factor(alpha: float, mu: float) -> float:
    """Return the factor by which the modified Berggren relation corrects Stefan's.

    Parameters
    ----------
    alpha : float
        The mean temperature of the year above freezing, over that of the surface below freezing
        in the winter; at least 0.
    mu : float
        That winter temperature times heat capacity over latent heat.

    Notes
    -----
    lambda = x sqrt(2 / mu), x the root of Neumann's equation with one conductivity and capacity:
    exp(-x2) / erf x - alpha exp(-x2) / erfc x = sqrt(pi) x / mu. The chart of UFC 3-130-06 is
    drawn from it; the closed form 1 / sqrt(1 + mu (alpha + 1/2)) comes out high.
    """
    if mu <= 0:
        return 1.0

    def left_over(x: float) -> float:
        # Multiplied by erf x, so that it stays finite at 0.
        cold = exp(-x * x)
        return cold - alpha * cold * erf(x) / erfc(x) - sqrt(pi) * x * erf(x) / mu

    most = min(sqrt(mu / 2) * 1.001, 5.0)  # lambda is at most 1
    return min(root_between(left_over, 0.0, most) * sqrt(2 / mu), 1.0)


def modified_berggren(
    strata: Sequence[Stratum], index: float, season: float, mean: float
) -> tuple[float, float]:
    """Return the frost depth by the modified Berggren relation [m], and its factor.

    Parameters
    ----------
    strata : sequence of Stratum
        From the surface down, the last without end.
    index : float
        Freezing index of the surface. [K s]
    season : float
        How long the freezing lasts. [s]
    mean : float
        Mean temperature of the year above freezing. [K]

    Notes
    -----
    For layers, latent heat and capacity are means over the depth that freezes (Aldrich, Frost
    penetration below highway and airfield pavements, 1956, from memory), so that the depth is
    found by trial.
    """
    cold = index / season
    alpha = max(mean, 0.0) / cold
    depth, factor = stefan(strata, index), 1.0
    for _ in range(_TRIALS):
        shares = _shares(strata, depth)
        latent = sum(share * layer.latent for share, layer in zip(shares, strata, strict=True))
        capacity = sum(share * layer.capacity for share, layer in zip(shares, strata, strict=True))
        mu = cold * capacity / latent if latent > 0 else inf
        factor = berggren_factor(alpha, min(mu, _GREATEST_MU))
        found = _solved(strata, index, factor)
        if abs(found - depth) < ROUNDING:
            break
        depth = (depth + found) / 2
    return found, factor


def _shares(strata: Sequence[Stratum], depth: float) -> list[float]:
    bottoms = np.minimum(np.cumsum([layer.thickness for layer in strata]), depth)
    return [float(part) for part in np.diff(bottoms, prepend=0.0) / depth]


class FrostDepth(Struct, frozen=True):
    """How deep a winter freezes under one area on one base system.

    Attributes
    ----------
    area, base : str
    stefan : float
        Below the finish, by Stefan. [m]
    berggren : float or None
        Below the finish, by modified Berggren; None where mean or season is not given. [m]
    factor : float or None
        By which it corrects Stefan's.
    build_up : float
        [m]
    inner : float
        Share of the area farther from its open edge than the frost goes deep: from nearer, the
        cold comes in from the side and layers count for little.
    code : float or None
        What the local code reckons with, where the site gives it. [m]
    """

    area: str
    base: str
    stefan: float
    berggren: float | None
    factor: float | None
    build_up: float
    inner: float
    code: float | None = None

    @property
    def depth(self) -> float:
        """The better of the two. [m]"""
        return self.stefan if self.berggren is None else self.berggren

    @property
    def in_subgrade(self) -> float:
        """How far it goes into the soil below the build-up. [m]"""
        return max(self.depth - self.build_up, 0.0)


def code_words(depth: FrostDepth, unit: Unit) -> str:
    """Say what the local code reckons with; nothing where the site does not give it."""
    if depth.code is None:
        return ""
    return f"The local code reckons with {size(depth.code, unit, 1)} of frost, and comes first."


def reached_words(inner: float) -> str:
    """Say how much of an area the cold reaches from its open edges.

    Parameters
    ----------
    inner : float
        As `FrostDepth.inner`.
    """
    left = share_words(inner)
    return {"0 %": "all", "less than 1 %": "nearly all"}.get(left, f"all but {left}")


def _inner_share(outline: shapely.Polygon, house: House | None, depth: float) -> float:
    """Return the share of an outline farther from its open edge than a depth [m]."""
    edge: shapely.Geometry = outline.boundary
    if house is not None:
        edge = shapely.difference(edge, shapely.buffer(house.polygon(_BY_WALL), _BY_WALL))
    inner = shapely.difference(outline, shapely.buffer(edge, depth))
    return float(shapely.area(inner) / outline.area)


def bare_frost(plan: Design) -> float | None:
    """Return how deep the same winter freezes the site's soil with no build-up over it. [m]

    Parameters
    ----------
    plan : Design
        None is returned where its site gives no winter.

    Notes
    -----
    With the surface factor of the paving, so that the two differ by the build-up alone.
    """
    frost = plan.site.frost
    if frost is None:
        return None
    deep, berggren, _ = _depths((stratum("soil", f"soil {plan.site.ground.soil}", inf),), frost)
    return deep if berggren is None else berggren


def _depths(strata: Sequence[Stratum], frost: Frost) -> tuple[float, float | None, float | None]:
    """Return what Stefan's relation has, and the modified Berggren relation where it is known."""
    index = frost.index * frost.surface
    if frost.season is None or frost.mean is None:
        return stefan(strata, index), None, None
    return stefan(strata, index), *modified_berggren(strata, index, frost.season, frost.mean)


def frost_of(plan: Design) -> Iterator[FrostDepth]:
    """Give the frost depth under each area on each base system, where the site gives a winter."""
    frost, house = plan.site.frost, plan.site.house
    if frost is None:
        return
    for area_plan in plan.areas:
        for name, dig in area_plan.digs.items():
            if dig.system.over:
                continue  # what lies below the concrete is not known
            found = _depths(strata_of(dig.system, plan.site.ground.soil), frost)
            depth = FrostDepth(area_plan.name, name, *found, dig.build_up, 0.0, frost.code)
            yield replace(depth, inner=_inner_share(area_plan.outline, house, depth.depth))
