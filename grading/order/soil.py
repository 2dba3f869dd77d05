"""Soil balanced in the bank: what is dug, what of it is put back, what leaves and what is brought.

Topsoil and subsoil are balanced apart: topsoil goes back under grass alone, and is never behind a
wall or under paving.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from grading.crew.lines import Line
from grading.crew.model import Crew
from grading.geometry.tolerances import TOUCH
from grading.units import Unit, area, percent, volume

LEAST = TOUCH
"""Less soil is rounding. [m3]"""


class Wanted(Struct, frozen=True):
    """Soil that an area takes back, and what was dug for it.

    Attributes
    ----------
    topsoil_dug, subsoil_dug : float
        In the bank. [m3]
    place : float
        What fills the strip beside the paving, in place. [m3]
    over : float
        Plan area of that strip. [m2]
    elsewhere : float
        Subsoil that structures take, in the bank. [m3]
    begun : bool
        Whether a part is dug already: what is put back then lies beside it, and is not brought.
    opened : float
        Plan area of lawn opened beyond the hole for what is built there. [m2]
    """

    topsoil_dug: float
    subsoil_dug: float
    place: float
    over: float
    elsewhere: float = 0.0
    begun: bool = False
    opened: float = 0.0

    @property
    def grass(self) -> float:
        """Plan area that gets grass. [m2]"""
        return self.over + self.opened


class Balance(Struct, frozen=True):
    """What becomes of the soil of an area.

    Attributes
    ----------
    topsoil, subsoil : float
        Of what was dug, put back, in the bank. [m3]
    elsewhere : float
        Of `subsoil`, what structures take. [m3]
    topsoil_out, subsoil_out : float
        Of what was dug, taken away, in the bank. [m3]
    brought : float
        Topsoil that the dig does not give, in place. [m3]
    """

    topsoil: float
    subsoil: float
    elsewhere: float
    topsoil_out: float
    subsoil_out: float
    brought: float

    @property
    def kept(self) -> float:
        """Put back, in the bank. [m3]"""
        return self.topsoil + self.subsoil

    @property
    def out(self) -> float:
        """Taken away, in the bank. [m3]"""
        return self.topsoil_out + self.subsoil_out


def balance(wanted: Wanted, crew: Crew) -> Balance:
    """Return what of the soil of an area is put back, taken away and brought.

    Parameters
    ----------
    wanted : Wanted
    crew : Crew
        How deep topsoil lies under grass, and how far fill shrinks.

    Notes
    -----
    Compacted fill C takes C / shrink of the bank. Topsoil under grass is not compacted and settles
    to what it was, so it takes as much of the bank as it fills. Of the strip the upper part is
    topsoil; where there is too little subsoil below it, topsoil fills that as well, as under any
    lawn; what is then missing is brought.
    """
    elsewhere = min(wanted.elsewhere, wanted.subsoil_dug)
    # Where no topsoil lay none is asked for: the lawn gets back what it stood on.
    upper = min(wanted.over * crew["lawn-topsoil"], wanted.place, wanted.topsoil_dug)
    lower = (wanted.place - upper) / crew["fill-shrink"]
    subsoil = min(lower, wanted.subsoil_dug - elsewhere)
    still = (lower - subsoil) * crew["fill-shrink"]
    topsoil = min(upper + still, wanted.topsoil_dug)
    return Balance(
        topsoil=topsoil,
        subsoil=subsoil + elsewhere,
        elsewhere=elsewhere,
        topsoil_out=wanted.topsoil_dug - topsoil,
        subsoil_out=wanted.subsoil_dug - subsoil - elsewhere,
        brought=0.0 if wanted.begun else max(upper + still - topsoil, 0.0),
    )


def soil_lines(wanted: Wanted, soil: str, unit: Unit, crew: Crew) -> Iterator[Line]:
    """Yield the grass of the strip beside the paving, and the soil under it.

    Parameters
    ----------
    wanted : Wanted
    soil : str
        Of the site.
    unit : "ft" or "m"
        What `how` is written in.
    crew : Crew
    """
    more = crew["sod-waste"]
    how = f"{area(wanted.over, unit)} of hole beside the paving"
    if wanted.opened > LEAST:
        how += f" and {area(wanted.opened, unit)} opened for what is built there"
    yield Line("sod", "lawn repair", "m2", wanted.grass, wanted.grass * (1 + more),
               f"{how}; {percent(more, 0)} more")  # fmt: skip
    found = balance(wanted, crew)
    below = found.subsoil - found.elsewhere
    if found.topsoil + below > LEAST:
        parts = [
            f"{volume(bank, unit)} of {what}"
            for bank, what in ((found.topsoil, "topsoil"), (below, soil))
            if bank > LEAST
        ]
        how = (
            "beside the paving up to the finish, kept from the spoil: "
            f"{' over '.join(parts)}, in the bank"
        )
        loose = below * (1 + crew[f"{soil}-swell"]) + found.topsoil * (1 + crew["organics-swell"])
        mass = below * crew[f"{soil}-bank"] + found.topsoil * crew["organics-bank"]
        yield Line("", "backfill of the edge", "kg", mass, mass, how,
                   wanted.place - found.brought, loose, mass)  # fmt: skip
    if found.brought > LEAST:
        yield brought_line("topsoil beside the paving", found.brought,
                           "more than the dig gives", unit, crew)  # fmt: skip


def brought_line(title: str, place: float, why: str, unit: Unit, crew: Crew) -> Line:
    """Return the line of topsoil that is brought.

    Parameters
    ----------
    title : str
    place : float
        In place, settled. [m3]
    why : str
        What it is for.
    unit : "ft" or "m"
    crew : Crew
        How far it settles.
    """
    more = crew["topsoil-settle"]
    net = place * crew["organics-bank"]
    how = f"{volume(place, unit)} in place, {why}; {percent(more, 0)} more, for it settles"
    amount = net * (1 + more)
    loose = place * (1 + crew["organics-swell"]) * (1 + more)
    return Line("topsoil", title, "kg", net, amount, how, 0.0, loose, amount)
