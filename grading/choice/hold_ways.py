"""What holds a raised edge, every way side by side: what the whole job takes with each."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.suitability import options
from grading.choice.sills import Counted
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.errors import NoFinish
from grading.order.model import Job, Order, job_of
from grading.order.takeoff import takeoffs_of
from grading.site.hold_table import Hold, HoldKind
from grading.site.model import Site
from grading.structures.holding.holds import LOWER, Held, holding_of
from grading.units import size


class HoldWay(Struct, frozen=True):
    """One way to hold the raised edge of an area.

    Attributes
    ----------
    area, kind : str
    title : str
        What is built, in the words of the trade.
    planned, advised : bool
    refused : str
        What rules it out; nothing is counted then.
    against : tuple of str
        What speaks against it.
    height : float
        How far the edge stands above the ground at the most. [m]
    time, material, cost : float
        Of the whole site: of one person [s], and [money].
    trips : int
    not_counted : tuple of str
        What it still needs that is in none of these.
    """

    area: str
    kind: str
    title: str
    planned: bool
    advised: bool
    refused: str = ""
    against: tuple[str, ...] = ()
    height: float = 0.0
    time: float = 0.0
    material: float = 0.0
    cost: float = 0.0
    trips: int = 0
    not_counted: tuple[str, ...] = ()


def hold_ways(plan: Design, order: Order, again: Callable[[Site], Counted]) -> tuple[HoldWay, ...]:
    """Return every way to hold the raised edges of a plan, those of an area together.

    Parameters
    ----------
    plan : Design
    order : Order
        What it takes.
    again : callable
        Plans a site.

    Notes
    -----
    Each is whole: the site with every edge of the area held that way where that may be, on the
    same finish and the same bases; what is lower is another finish, and planned again.
    """
    found: list[HoldWay] = []
    for area in plan.areas:
        parts = [part for part in holding_of(plan, area, area.chosen).parts if part.high]
        if parts:
            found += _ways(plan, order, area, parts[0], again)
    return tuple(found)


def _ways(
    plan: Design, order: Order, area: AreaPlan, part: Held, again: Callable[[Site], Counted]
) -> Iterator[HoldWay]:
    """Yield the ways of an area, of which the longest part that stands higher is judged."""
    best = part.choice.advised
    for option in options("hold", plan.site.unit):
        verdict = part.choice.of(option.name)
        way = HoldWay(
            area.name, option.name, option.title, part.kind == option.name,
            best is not None and best.option.name == option.name,
            against=tuple(each.text for each in verdict.against), height=part.height,
        )  # fmt: skip
        if verdict.level == "rules out":
            yield replace(way, refused=verdict.against[0].text, against=())
        elif way.planned:
            yield _taking(way, order.total, area.name)
        else:
            yield _taking(way, _held_so(plan, order, area, option.name), area.name)
    yield _lowered(plan, area, part, again)


def _taking(way: HoldWay, job: Job, area: str) -> HoldWay:
    built = [one for each in job.jobs if each.area.name == area for one in each.structures]
    return replace(
        way, time=job.time.mean, material=job.cost.of("material"), cost=job.cost.total,
        trips=job.haul.trips,
        not_counted=tuple(words for one in built for words in one.not_counted),
    )  # fmt: skip


def _held_so(plan: Design, order: Order, area: AreaPlan, kind: str) -> Job:
    """Return the whole site with the edge of an area held in another way."""
    site = _with(plan.site, Hold.model_validate({"area": area.name, "kind": kind}))
    other, crew = replace(plan, site=site), order.crew
    jobs = [
        takeoffs_of(other, area, crew, (area.chosen,))[area.chosen] if each.area is area
        else each.takeoffs[each.area.chosen]
        for each in order.areas
    ]  # fmt: skip
    return job_of(jobs, order.way, crew, site.unit, True)


def _with(site: Site, hold: Hold) -> Site:
    others = tuple(each for each in site.holds if each.area != hold.area)
    return replace(site, holds=(*others, hold))


def _lowered(plan: Design, area: AreaPlan, part: Held, again: Callable[[Site], Counted]) -> HoldWay:
    """Return the site with a finish that needs no wall there, or what is in its way."""
    unit, limit = plan.site.unit, plan.limits["raised-edge"]
    title = f"a finish at most {size(limit, unit)} above the ground along its edges"
    way = HoldWay(area.name, LOWER, title, False, False, height=limit)
    if area.area.plane is not None:
        return replace(way, refused="its plane is given")
    kind: HoldKind = "lower finish"
    hold = Hold.model_validate({"area": area.name, "kind": kind, "height": limit})
    try:
        made = again(replace(_with(plan.site, hold), areas=plan.areas_on_their_bases))
    except NoFinish as error:
        others = [words for rule, words in error.asked if rule != "lower-finish"]
        return replace(way, refused=f"no finish has it together with {' and '.join(others)}")
    lower = next(each for each in made.areas if each.name == area.name)
    total = made.order.total
    return _taking(replace(way, height=max(lower.edge_heights[0], 0.0)), total, area.name)
