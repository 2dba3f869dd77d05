"""The layers that frost passes through, and what each asks of the cold."""

from __future__ import annotations

from math import inf

from msgspec import Struct

from grading.catalogue.bases import BaseSystem
from grading.catalogue.tables import table
from grading.units import BTU, FAHRENHEIT, POUND

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
