"""Soil balanced in the bank: what is dug, what of it is put back, what leaves and what is brought.

Topsoil and subsoil are balanced apart: topsoil goes back under grass alone, and is never behind a
wall or under paving.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from grading.crew.lines import Line, with_more
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
    filled, turfed : float
        Soil placed in slopes beyond the hole, in place, and of it the topsoil under their
        grass. [m3]
    """

    topsoil_dug: float
    subsoil_dug: float
    place: float
    over: float
    elsewhere: float = 0.0
    begun: bool = False
    opened: float = 0.0
    filled: float = 0.0
    turfed: float = 0.0

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
        Topsoil that the dig does not give beside the paving, in place. [m3]
    sloped_topsoil, sloped_subsoil : float
        Of `topsoil` and `subsoil`, what slopes take. [m3]
    sloped_place : float
        What these fill there, in place. [m3]
    turf_brought, fill_brought : float
        Topsoil and soil below it that the dig does not give the slopes, in place. [m3]
    """

    topsoil: float
    subsoil: float
    elsewhere: float
    topsoil_out: float
    subsoil_out: float
    brought: float
    sloped_topsoil: float = 0.0
    sloped_subsoil: float = 0.0
    sloped_place: float = 0.0
    turf_brought: float = 0.0
    fill_brought: float = 0.0

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
    lawn; what is then missing is brought. Slopes come after it, their topsoil before their fill:
    the ground under them was stripped for it, and grass holds them together.
    """
    elsewhere = min(wanted.elsewhere, wanted.subsoil_dug)
    # Where no topsoil lay none is asked for: the lawn gets back what it stood on.
    upper = min(wanted.over * crew["lawn-topsoil"], wanted.place, wanted.topsoil_dug)
    lower = (wanted.place - upper) / crew["fill-shrink"]
    subsoil = min(lower, wanted.subsoil_dug - elsewhere)
    still = (lower - subsoil) * crew["fill-shrink"]
    turf = min(wanted.turfed, wanted.topsoil_dug - upper)
    topsoil = min(upper + still, wanted.topsoil_dug - turf)
    fill = wanted.filled - wanted.turfed
    below = min(fill / crew["fill-shrink"], wanted.subsoil_dug - elsewhere - subsoil)
    lacking = max(fill - below * crew["fill-shrink"], 0.0)
    more = min(lacking, wanted.topsoil_dug - turf - topsoil)
    bought = 0.0 if wanted.begun else 1.0
    return Balance(
        topsoil=topsoil + turf + more,
        subsoil=subsoil + elsewhere + below,
        elsewhere=elsewhere,
        topsoil_out=wanted.topsoil_dug - topsoil - turf - more,
        subsoil_out=wanted.subsoil_dug - subsoil - elsewhere - below,
        brought=bought * max(upper + still - topsoil, 0.0),
        sloped_topsoil=turf + more,
        sloped_subsoil=below,
        sloped_place=turf + more + below * crew["fill-shrink"],
        turf_brought=bought * (wanted.turfed - turf),
        fill_brought=bought * (lacking - more),
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
    if wanted.grass > LEAST:
        how = f"{area(wanted.over, unit)} of hole beside the paving"
        if wanted.opened > LEAST:
            how += f" and {area(wanted.opened, unit)} opened for what is built there"
        yield with_more("sod", "lawn repair", "m2", wanted.grass, how, crew["sod-waste"])
    found = balance(wanted, crew)
    top = found.topsoil - found.sloped_topsoil
    below = found.subsoil - found.elsewhere - found.sloped_subsoil
    if top + below > LEAST:
        yield _kept("backfill of the edge", "beside the paving up to the finish",
                    wanted.place - found.brought, (top, below), soil, unit, crew)  # fmt: skip
    if found.brought > LEAST:
        yield brought_line("topsoil beside the paving", found.brought,
                           "more than the dig gives", unit, crew)  # fmt: skip
    if found.sloped_place > LEAST:
        where = "in slopes and regraded lawn beyond the hole"
        bank = found.sloped_topsoil, found.sloped_subsoil
        yield _kept("soil of slopes and lawn", where, found.sloped_place, bank, soil, unit, crew)
    if found.turf_brought > LEAST:
        yield brought_line("topsoil on slopes and lawn", found.turf_brought,
                           "more than the dig gives", unit, crew)  # fmt: skip
    if found.fill_brought > LEAST:
        yield _fill_line(found.fill_brought, unit, crew)


def _kept(
    title: str, where: str, place: float, bank: tuple[float, float], soil: str, unit: Unit,
    crew: Crew,
) -> Line:  # fmt: skip
    """Return the line of soil kept from the spoil: so much topsoil and soil, in the bank."""
    top, below = bank
    parts = [
        f"{volume(much, unit)} of {what}"
        for much, what in ((top, "topsoil"), (below, soil))
        if much > LEAST
    ]
    how = f"{where}, kept from the spoil: {' over '.join(parts)}, in the bank"
    loose = below * (1 + crew[f"{soil}-swell"]) + top * (1 + crew["organics-swell"])
    mass = below * crew[f"{soil}-bank"] + top * crew["organics-bank"]
    return Line("", title, "kg", mass, mass, how, place, loose, mass)


def _fill_line(place: float, unit: Unit, crew: Crew) -> Line:
    """Return the line of soil that is brought for slopes, so much of it compacted in place."""
    mass = place * crew["fill-soil-compacted"]
    how = f"{volume(place, unit)} compacted in slopes and regraded lawn, more than the dig gives"
    loose = mass / crew["fill-soil-loose"]
    # It is placed as the slope is, and spread by no rate of stone.
    return Line(
        "fill-soil", "soil brought for slopes and lawn", "kg", mass, mass, how, 0.0, loose, mass
    )


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
