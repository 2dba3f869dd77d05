"""Moving it: spoil and stone by the barrow or the machine, in bins and in deliveries."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Literal

from msgspec import Struct

from grading.crew.model import Crew
from grading.dig.hole import loose_spoil
from grading.geometry.tolerances import whole_up
from grading.order.quantities import kind_of
from grading.order.soil import balance
from grading.order.supplies import Supply
from grading.order.takeoff import Takeoff
from grading.site.feature_tables import Access
from grading.units import Unit, percent, run, size

Governed = Literal["volume", "weight", ""]


class Spoil(Struct, frozen=True):
    """What is taken away: in the bank and loose [m3], and what it weighs [kg].

    `kept` is what is dug and put back, and lies beside the hole meanwhile, in the bank. [m3]
    """

    bank: float
    loose: float
    mass: float
    kept: float = 0.0


def spoil_of(jobs: Iterable[Takeoff], crew: Crew) -> Spoil:
    """Return the spoil of some areas together: what is dug, less what is put back.

    Parameters
    ----------
    jobs : iterable of Takeoff
    crew : Crew
        Densities in the bank, and swell.
    """
    bank = loose = mass = kept = 0.0
    for job in jobs:
        found = balance(job.soil_wanted, crew)
        bank += found.out
        kept += found.kept
        swell, top_swell = crew[f"{job.soil}-swell"], crew["organics-swell"]
        loose += loose_spoil(found.out, found.topsoil_out, swell, top_swell)
        mass += found.topsoil_out * crew["organics-bank"]
        mass += found.subsoil_out * crew[f"{job.soil}-bank"]
    return Spoil(bank, loose, mass, kept)


class Loads(Struct, frozen=True):
    """How many loads something takes, and whether its volume or its weight sets the number."""

    count: int
    governed: Governed


def loads(volume: float, mass: float, room: float, limit: float) -> Loads:
    """Return the loads that a volume and its weight take, whichever asks for more.

    Parameters
    ----------
    volume, mass : float
        What is moved. [m3, or pieces; kg]
    room, limit : float
        What a load holds, and what it may weigh. [m3, or pieces; kg]
    """
    by_volume, by_mass = volume / room, mass / limit
    count = whole_up(max(by_volume, by_mass))
    if not count:
        return Loads(0, "")
    return Loads(count, "volume" if by_volume >= by_mass else "weight")


class Way(Struct, frozen=True):
    """How things are carried through the yard.

    Attributes
    ----------
    carrier : "barrow", "powered barrow" or "mini loader"
    path : float
        From the dig to the bin and the stone. [m]
    soil, stone : float
        A load of each, loose. [m3]
    limit : float
        What a load may weigh. [kg]
    speed, tip : str
        The rates that its time is reckoned with.
    words : str
        How it was chosen.
    access : Access
        What the site gives of it.
    """

    carrier: str
    path: float
    soil: float
    stone: float
    limit: float
    speed: str
    tip: str
    words: str
    access: Access

    @property
    def digs(self) -> bool:
        """Whether it also digs and loads."""
        return self.carrier == "mini loader"


def way_of(access: Access, crew: Crew, unit: Unit) -> Way:
    """Return how things are carried: by the machine at hand where the gate lets it through.

    Parameters
    ----------
    access : Access
    crew : Crew
    unit : "ft" or "m"
        What the words are written in.
    """
    path = access.path if access.path is not None else crew["path-length"]
    far = f"{run(path, unit)} of way" + ("" if access.path is not None else ", as none is given")
    if access.machine != "none":
        name = access.machine.replace(" ", "-")
        need = crew[f"{name}-width"] + crew["machine-room"]
        if access.gate is None or access.gate >= need:
            gate = "no gate is given" if access.gate is None else f"the gate is {size(need, unit)}"
            room = crew[f"{name}-volume"]
            words = f"by {access.machine}, {far}: {gate}" + (
                "" if access.gate is None else " or wider"
            )
            return Way(
                access.machine, path, room, room, crew[f"{name}-mass"], "machine-speed",
                "machine-tip", words, access,
            )  # fmt: skip
        far += f": the {access.machine} needs a gate of {size(need, unit)}"
    steep = access.slope > crew["ramp-slope"]
    share = 0.5 if steep else 1.0
    ramp = f", half loads up {percent(access.slope, 0)}" if steep else ""
    return Way(
        "barrow", path, crew["barrow-soil"] * share, crew["barrow-stone"] * share,
        crew["barrow-mass"] * share, "barrow-speed", "barrow-tip", f"by barrow, {far}{ramp}",
        access,
    )  # fmt: skip


STACKED = ("pavers", "wall-units", "caps")
"""Items that come on pallets, and are carried and stacked by hand."""


class Haul(Struct, frozen=True):
    """All that is carried, and what it is carried in.

    Attributes
    ----------
    way : Way
    spoil : Spoil
    stone_loose, stone_mass : float
        Stone and sand as they come. [m3, kg]
    pavers_mass, panels_mass : float
        Pavers and all else that is stacked by hand; panels. [kg]
    out, stone, pavers, panels : Loads
        Trips through the yard.
    bins : Loads
        Of soil.
    deliveries : Loads
        Of stone and sand.
    """

    way: Way
    spoil: Spoil
    stone_loose: float
    stone_mass: float
    pavers_mass: float
    panels_mass: float
    out: Loads
    stone: Loads
    pavers: Loads
    panels: Loads
    bins: Loads
    deliveries: Loads

    @property
    def trips(self) -> int:
        """Trips with spoil, stone and panels; those with pavers are the same on every base."""
        return self.out.count + self.stone.count + self.panels.count


def haul_of(jobs: Sequence[Takeoff], supplies: Sequence[Supply], way: Way, crew: Crew) -> Haul:
    """Return what is carried for some areas together.

    Parameters
    ----------
    jobs : sequence of Takeoff
    supplies : sequence of Supply
        What comes in.
    way : Way
    crew : Crew
    """
    spoil = spoil_of(jobs, crew)
    loose = sum(supply.loose for supply in supplies)
    stone = sum(supply.mass for supply in supplies if supply.loose)
    pavers = sum(supply.mass for supply in supplies if supply.item in STACKED)
    boards = [supply for supply in supplies if kind_of(supply.item) == "panels"]
    count, panels = (sum(getattr(each, what) for each in boards) for what in ("amount", "mass"))
    return Haul(
        way=way,
        spoil=spoil,
        stone_loose=loose,
        stone_mass=stone,
        pavers_mass=pavers,
        panels_mass=panels,
        out=loads(spoil.loose, spoil.mass, way.soil, way.limit),
        stone=loads(loose, stone, way.stone, way.limit),
        pavers=loads(0.0, pavers, way.stone, way.limit),
        panels=loads(count, panels, crew["panel-load"], way.limit),
        bins=loads(spoil.loose, spoil.mass, crew["bin-volume"], crew["bin-mass"]),
        deliveries=loads(loose, stone, crew["truck-volume"], crew["truck-mass"]),
    )
