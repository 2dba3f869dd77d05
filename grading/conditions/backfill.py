"""The loose fill by the foundation: where paving lies on it, and what treating it takes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Literal

import shapely
from msgspec import Struct

from grading.catalogue.bases import swells
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.design.underfoot import dug_under, level_at
from grading.dig.hole import Dig
from grading.kept import AREAS, fingerprint
from grading.site.settling import FIRST_YEAR, SETTLED, age_words, settles
from grading.site.walls import walls_in_reach
from grading.units import Unit, area, run, size, volume
from grading.worded import Said, Worded

Judgement = Literal["suits", "with care", "not enough", "ask an engineer", "unknown"]

CAUTION = "no heavy compaction against a green or unbraced foundation wall"


class Counted(Struct, frozen=True):
    """One treatment of the backfill, judged and counted.

    Attributes
    ----------
    treatment : str
    judgement : str
    text : str or Worded
        Why, in a sentence.
    excavation, spoil : float
        Dug below the area's own dig, in the bank, and loose. [m3]
    stone : float
        Compacted. [m3]
    grid : float
        Geogrid and fabric, lapped onto firm ground. [m2]
    paving_lost : float
        Paving that gives way to a strip. [m2]
    """

    treatment: str
    judgement: Judgement
    text: Said
    excavation: float = 0.0
    spoil: float = 0.0
    stone: float = 0.0
    grid: float = 0.0
    paving_lost: float = 0.0


class BackfillZone(Struct, frozen=True):
    """The part of an area that lies on the backfill of a foundation.

    Attributes
    ----------
    area : str
    zone : shapely geometry
        [m]
    width : float
        How far the backfill reaches from the wall. [m]
    age : float or None
        Of the house. [years]
    uses_up : float or None
        Settlement at the wall that levels the paving over the zone: the least fall away times
        the width. None where no wall is in reach. [m]
    chosen : str
        The treatment that the site chose.
    treatments : tuple of Counted
        Every treatment, in rising cost.
    """

    area: str
    zone: shapely.Geometry
    width: float
    age: float | None
    uses_up: float | None
    chosen: str
    treatments: tuple[Counted, ...]

    @property
    def paving(self) -> float:
        """Paving on it. [m2]"""
        return float(shapely.area(self.zone))

    @property
    def treatment(self) -> Counted:
        """The treatment chosen."""
        return next(one for one in self.treatments if one.treatment == self.chosen)


def _zone(plan: Design, area_plan: AreaPlan, width: float) -> shapely.Geometry:
    found = partial(walls_in_reach, plan.site.house, area_plan.outline, width)
    walls = plan.kept.once("walls", fingerprint(*found.args), found, AREAS)
    return shapely.union_all([wall.front for wall in walls])


class DugOut(Struct, frozen=True, eq=False):
    """Backfill that is dug out below a hole and filled up to the formation again.

    Attributes
    ----------
    zone : shapely geometry
        [m]
    depth : float
        Below the formation. [m]
    bank : float
        Dug, in the bank, and filled again, compacted. [m3]
    grid : float
        Geogrid and fabric under it, lapped onto firm ground; 0 where it stands on firm ground. [m2]
    """

    zone: shapely.Geometry
    depth: float
    bank: float
    grid: float


def dug_out(plan: Design, area_plan: AreaPlan, dig: Dig) -> DugOut | None:
    """Return what the treatment of the backfill that the site chose digs out under an area.

    None where it digs nothing out, or where how deep firm ground lies is not given.

    Parameters
    ----------
    plan : Design
    area_plan : AreaPlan
    dig : Dig
        One of the area's.
    """
    backfill, limits = plan.site.backfill, plan.limits
    depth = backfill.depth
    if backfill.treatment == "stone":
        depth = depth or limits["backfill-depth"]
    elif backfill.treatment != "firm":
        return None
    width = backfill.width or limits["backfill-zone"]
    zone = _zone(plan, area_plan, width)
    if depth is None or shapely.is_empty(zone):
        return None
    bank = _digs_out(plan, area_plan, dig, zone, depth)
    lapped = _zone(plan, area_plan, width + limits["backfill-lap"])
    grid = float(shapely.area(lapped)) if backfill.treatment == "stone" else 0.0
    return DugOut(zone, depth, bank, grid)


def _digs_out(
    plan: Design, area_plan: AreaPlan, dig: Dig, zone: shapely.Geometry, depth: float
) -> float:
    """Return what is dug below the area's own dig, in the bank. [m3]"""
    ground, below = plan.ground.under(area_plan.name), dig.build_up + depth
    return dug_under(ground, area_plan, dig, zone, lambda xy: level_at(area_plan, xy) - below).bank


_NO_AGE = "the age of the house is not given" + Worded(": [house] age", "")
_NO_DEPTH = "how deep firm ground lies is not given" + Worded(": [backfill] depth", "")


def _as_it_is(age: float | None) -> Counted:
    if age is None:
        return Counted("none", "unknown", _NO_AGE)
    return Counted("none", "not enough" if settles(age) else "suits", age_words(age))


def _waited(age: float | None) -> Counted:
    if age is None:
        return Counted("waited", "unknown", "at least a year's wait, then compacted")
    if age < FIRST_YEAR:
        return Counted("waited", "not enough", f"{age:g} years is less than a year's wait")
    text = "compacted at the surface only: sell the re-levelling with it"
    return Counted("waited", "suits" if age >= SETTLED else "with care", text)


def _treatments(
    plan: Design, area_plan: AreaPlan, zone: shapely.Geometry, width: float, unit: Unit
) -> Iterator[Counted]:
    limits, backfill = plan.limits, plan.site.backfill
    age = plan.site.house.age if plan.site.house else None
    lost = float(shapely.area(zone))
    yield _as_it_is(age)
    yield _waited(age)
    yield Counted(
        "strip", "suits",
        f"planting or river stone at the wall: the paving starts {run(width, unit)} out, "
        f"{area(lost, unit)} less of it",
        paving_lost=lost,
    )  # fmt: skip
    depth = backfill.depth or limits["backfill-depth"]
    bank = _digs_out(plan, area_plan, area_plan.chosen_dig, zone, depth)
    loose = bank * (1 + swells()[plan.site.ground.soil])
    # What is dug is filled up again, to where the refill of the hole begins.
    stone = bank
    lapped = _zone(plan, area_plan, width + limits["backfill-lap"])
    text = (
        f"dug out {size(depth, unit)} below the build-up and rebuilt in compacted stone on fabric "
        f"and geogrid, {volume(bank, unit)} dug and {volume(stone, unit)} of stone; {CAUTION}"
    )
    yield Counted("stone", "suits", text, bank, loose, stone, float(shapely.area(lapped)))
    if backfill.depth is None:
        yield Counted("firm", "unknown", _NO_DEPTH)
    else:
        text = f"dug to firm ground, {size(depth, unit)} below the build-up, and filled in lifts"
        yield Counted("firm", "suits", f"{text}; {CAUTION}", bank, loose, stone)
    text = "a reinforced slab, held by the foundation and bearing on firm ground: an engineer's"
    yield Counted("slab", "ask an engineer", text)


def zones_of(plan: Design) -> Iterator[BackfillZone]:
    """Give each area's part on the backfill of the foundation, with every treatment of it."""
    house = plan.site.house
    if house is None:
        return
    width = plan.site.backfill.width or plan.limits["backfill-zone"]
    for area_plan in plan.areas:
        zone = _zone(plan, area_plan, width)
        if shapely.is_empty(zone):
            continue
        falls = [wall.fall_away for wall in area_plan.walls]
        yield BackfillZone(
            area=area_plan.name,
            zone=zone,
            width=width,
            age=house.age,
            uses_up=max(min(falls), 0.0) * width if falls else None,
            chosen=plan.site.backfill.treatment,
            treatments=tuple(_treatments(plan, area_plan, zone, width, plan.site.unit)),
        )
