"""Half-way: what finishes cheapest from here, with what is bought sunk and what is dug dug.

The finish stays as it is planned on every base. What was dug too deep for a base is refilled with
its stone; what was bought and a base does not take is lost to it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import shapely
from msgspec import Struct
from msgspec.structs import asdict, replace

from grading.catalogue.items import TITLES
from grading.choice.advice import Advice
from grading.design.area import AreaPlan
from grading.design.door_steps import DoorStep, door_steps
from grading.design.model import Design
from grading.dig.hole import loose_spoil
from grading.finish.cutting import clip_facets
from grading.geometry.tolerances import ROUNDING
from grading.halfway.dug import Part, PartDug
from grading.order.hauling import Haul, haul_of, loads
from grading.order.labour import tasks_of, time_of
from grading.order.lawn_worn import site_makers
from grading.order.model import Order
from grading.order.money import Cost, cost_of
from grading.order.quantities import lines_of
from grading.order.supplies import Supply, supplies_of
from grading.order.takeoff import Takeoff
from grading.site.done_tables import Done, Dug


class Unused(Struct, frozen=True):
    """Something bought that a base has no use for: the supply it is, how many, and the money."""

    title: str
    each: str
    count: float
    cost: float


class Finishing(Struct, frozen=True):
    """What it takes to finish on one base from here, the whole site.

    Attributes
    ----------
    base : str
    level : str
        The strongest that the advice says of it on any area: "rules out", "against", "care",
        "for".
    because : str
        The first reason of that level, in words, where it rules out or speaks against.
    cut, fill : float
        Still to dig, in the bank, and refill below the build-up, compacted. [m3]
    over_dug : float
        The part of that refill that is there because it was dug too deep for this base. [m3]
    haul : Haul
        `bins` and `deliveries` are those still to come.
    to_buy : tuple of Supply
        Counts and costs without what is bought.
    unused : tuple of Unused
    cost : Cost
        Still to be paid.
    """

    base: str
    level: str
    because: str
    cut: float
    fill: float
    over_dug: float
    haul: Haul
    to_buy: tuple[Supply, ...]
    unused: tuple[Unused, ...]
    cost: Cost


class Lifted(Struct, frozen=True):
    """The step at a door if a thicker base were laid into the hole as it is dug for another."""

    base: str
    rise: float
    step: DoorStep

    @property
    def left(self) -> float:
        """What is left of the step. [m]"""
        return self.step.step - self.rise

    @property
    def allowed(self) -> bool:
        """Whether that is within the limits of the door."""
        return self.step.limit[0] - ROUNDING <= self.left <= self.step.limit[1] + ROUNDING


class FromHere(Struct, frozen=True):
    """What is done, and what finishes cheapest from here.

    Attributes
    ----------
    done : Done
    dug : mapping of str to float
        What is dug of each area, as it lay in the ground. [m3]
    bases : tuple of Finishing
        In the order of the catalogue.
    steps : tuple of DoorStep
        At each door: they stay on every base, as the finish does.
    lifted : tuple of Lifted
        What would become of them if a thicker base were laid without digging on.
    """

    done: Done
    dug: Mapping[str, float]
    bases: tuple[Finishing, ...]
    steps: tuple[DoorStep, ...]
    lifted: tuple[Lifted, ...]

    @property
    def cheapest(self) -> Finishing | None:
        """The one that leaves least to pay of those that can be built; None where none can."""
        left = [one for one in self.bases if one.level != "rules out"]
        return min(left, key=lambda one: one.cost.total, default=None)


def from_here(order: Order, advice: Advice) -> FromHere | None:
    """Return what finishes cheapest from here; None where the site says nothing is done.

    Parameters
    ----------
    order : Order
        What the whole job takes.
    advice : Advice
        On the same plan.
    """
    plan = order.plan
    done = plan.site.done
    if done is None:
        return None
    parts = {area.name: parts_of(done, area) for area in plan.areas}
    names = list(order.areas[0].bases) if order.areas else []
    return FromHere(
        done=done,
        dug={area.name: dug_of(area, parts[area.name]) for area in plan.areas},
        bases=tuple(_finishing(order, advice, done, parts, name) for name in names),
        steps=tuple(step for area in plan.areas for step in door_steps(area)),
        lifted=tuple(_lifted(plan, parts, names)),
    )


def dug_in(done: Done, area: AreaPlan) -> list[tuple[int, Dug]]:
    """Return what is dug of an area, each with its place in the file."""
    return [
        (place, dug) for place, dug in enumerate(done.dug, start=1) if dug.area in (None, area.name)
    ]


def _share(dug: Dug, area: AreaPlan) -> float:
    if dug.volume is not None:
        return dug.volume / (dug.depth * area.chosen_dig.dig_area)
    return 1.0 if dug.share is None else dug.share


def parts_of(done: Done, area: AreaPlan) -> tuple[Part, ...]:
    """Return the parts of an area's hole that are dug."""
    return tuple(Part(_share(dug, area), dug.depth) for _, dug in dug_in(done, area))


def dug_of(area: AreaPlan, parts: Sequence[Part]) -> float:
    """Return what is dug of an area's hole, in the bank. [m3]"""
    return sum(part.share * part.depth for part in parts) * area.chosen_dig.dig_area


def _part_dug(plan: Design, area: AreaPlan, base: str, parts: tuple[Part, ...]) -> PartDug:
    """Return the dig of a base where parts of the hole of the base planned are dug."""
    dig, begun = area.digs[base], area.chosen_dig
    common = dig.clip
    if not shapely.equals(dig.polygon, begun.polygon):
        shared = shapely.intersection(dig.polygon, begun.polygon)
        domains = [facet.domain for facet in dig.finish.facets]
        common = clip_facets(plan.ground, shared, domains)
    return PartDug(**asdict(dig), common=common, parts=parts)


def _finishing(
    order: Order, advice: Advice, done: Done, parts: Mapping[str, tuple[Part, ...]], base: str
) -> Finishing:
    plan, crew, unit = order.plan, order.crew, order.plan.site.unit
    jobs = [
        replace(area.takeoffs[base], dig=_part_dug(plan, area.area, base, parts[area.area.name]))
        for area in order.areas
    ]
    lines = [line for job in jobs for line in lines_of(job, crew, unit)]
    makers = site_makers(jobs, plan.site.access, unit)
    lines += [line for maker in makers for line in maker.lines(crew)]
    supplies = supplies_of(lines, crew, unit)
    to_buy, unused = _without(order, supplies, done.counts)
    carried = _haul_left(order, jobs, supplies, to_buy, done, parts)
    tasks = tasks_of(jobs, lines, carried, crew, True)
    level, because = _judged(plan, advice, base)
    digs = [job.dig for job in jobs]
    return Finishing(
        base=base,
        level=level,
        because=because,
        cut=sum(job.dug for job in jobs),
        fill=sum(dig.fill for dig in digs),
        over_dug=sum(dig.over_dug for dig in digs if isinstance(dig, PartDug)),
        haul=carried,
        to_buy=to_buy,
        unused=unused,
        cost=cost_of(to_buy, carried, tasks, time_of(tasks, crew.factor), crew),
    )


def _without(
    order: Order, supplies: Sequence[Supply], counts: Mapping[str, float]
) -> tuple[tuple[Supply, ...], tuple[Unused, ...]]:
    """Return what is still to be bought of some supplies, and what was bought for nothing."""
    needed = {supply.item: supply for supply in supplies}
    to_buy = []
    for supply in supplies:
        left = max(supply.count - counts.get(supply.item, 0.0), 0.0)
        share = left / supply.count if supply.count else 0.0
        if counts.get(supply.item):
            supply = replace(
                supply, count=left, amount=supply.amount * share, mass=supply.mass * share,
                loose=supply.loose * share,
            )  # fmt: skip
        to_buy.append(supply)
    unused = []
    for item, count in counts.items():
        over = count - (needed[item].count if item in needed else 0.0)
        sold = needed.get(item) or sold_as(order, item)
        if over > ROUNDING and sold is not None:
            unused.append(Unused(TITLES[item], sold.package.word, over, over * sold.price))
    return tuple(to_buy), tuple(unused)


def sold_as(order: Order, item: str) -> Supply | None:
    """Return an item as any base of the site takes it."""
    return next(
        (each for job in order.site.values() for each in job.supplies if each.item == item), None
    )


def _haul_left(
    order: Order, jobs: Sequence[Takeoff], supplies: Sequence[Supply], to_buy: Sequence[Supply],
    done: Done, parts: Mapping[str, tuple[Part, ...]],
) -> Haul:  # fmt: skip
    """Return what is still carried: all that is laid goes in; bins and deliveries are to come.

    What is dug is taken to lie in the bins that stand there, as far as they hold it.
    """
    crew = order.crew
    whole = haul_of(jobs, supplies, order.way, crew)
    loose, mass = _dug_loose(order, parts)
    room = max(done.bins * crew["bin-volume"] - loose, 0.0)
    weight = max(done.bins * crew["bin-mass"] - mass, 0.0)
    if not done.bins:
        room = weight = 0.0
    bins = loads(
        max(whole.spoil.loose - room, 0.0), max(whole.spoil.mass - weight, 0.0),
        crew["bin-volume"], crew["bin-mass"],
    )  # fmt: skip
    stone = [supply for supply in to_buy if supply.loose]
    deliveries = loads(
        sum(supply.loose for supply in stone), sum(supply.mass for supply in stone),
        crew["truck-volume"], crew["truck-mass"],
    )  # fmt: skip
    return replace(whole, bins=bins, deliveries=deliveries)


def _dug_loose(order: Order, parts: Mapping[str, tuple[Part, ...]]) -> tuple[float, float]:
    """Return what is dug, as it lies in a bin [m3], and what it weighs [kg]."""
    crew, soil = order.crew, order.plan.site.ground.soil
    loose = mass = 0.0
    for area in order.plan.areas:
        dig = area.chosen_dig
        for part in parts[area.name]:
            bank = part.share * part.depth * dig.dig_area
            stripped = dig.clip.organics.clip(max=part.depth).mean(axis=1)
            top = float(dig.clip.areas @ stripped) * part.share
            loose += loose_spoil(bank, top, dig.soil_swell, dig.organics_swell)
            mass += top * crew["organics-bank"] + (bank - top) * crew[f"{soil}-bank"]
    return loose, mass


def _judged(plan: Design, advice: Advice, base: str) -> tuple[str, str]:
    """Return the strongest that the advice says of a base on any area, and its first reason."""
    levels = ("rules out", "against")
    for level in levels:
        for area in plan.areas:
            verdict = advice.of(area).base.of(base)
            if verdict.level == level:
                reason = next(one for one in verdict.reasons if one.level == level)
                where = f"{area.name}: " if len(plan.areas) > 1 else ""
                return level, f"{where}{reason.text}"
    return "care", ""


def _lifted(
    plan: Design, parts: Mapping[str, tuple[Part, ...]], names: Sequence[str]
) -> list[Lifted]:
    found = []
    for area in plan.areas:
        if not parts[area.name]:
            continue
        for base in names:
            rise = area.digs[base].build_up - area.chosen_dig.build_up
            if rise > ROUNDING:
                found += [Lifted(base, rise, step) for step in door_steps(area)]
    return found
