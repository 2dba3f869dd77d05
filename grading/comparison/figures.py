"""What two plans of one yard are held against each other by: figures of an area, and of the job."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal

from msgspec import Struct

from grading.answers.site import site_answer
from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.order.days import days_of
from grading.pipeline import Plan
from grading.price.change import change_price

Measure = Literal["depth", "height", "slope", "volume", "count", "time", "days", "money", "words"]
"""What a figure is: a depth dug or a height set [m], a slope [ratio], a volume [m3], a count, the
time of one person [s], working days of the crew as they are told, money, or words."""

Value = float | str | None

JOB = ""
"""The area that a figure of the whole job is told for."""


PRICE = "price"
"""The figure of what is paid for the whole job, where a crew says how it makes a price."""


class Figure(Struct, frozen=True):
    """One thing that both plans have: before and after.

    Attributes
    ----------
    key : str
        Its name in the JSON, the same in every language and release.
    title : str
        What it is, in the words of the trade.
    area : str
        Of which area, `JOB` for the whole job.
    measure : Measure
    before, after : float, str or None
        In SI; None where that plan has no such thing.
    """

    key: str
    title: str
    area: str
    measure: Measure
    before: Value
    after: Value

    @property
    def numbers(self) -> tuple[float, float] | None:
        """Both values, None where one of the two is no number."""
        before, after = self.before, self.after
        return (before, after) if isinstance(before, float) and isinstance(after, float) else None

    @property
    def more(self) -> float | None:
        """What comes to it, None where one of the two is no number."""
        return None if self.numbers is None else self.numbers[1] - self.numbers[0]


class _Told(Struct, frozen=True):
    """A figure of one plan."""

    key: str
    title: str
    measure: Measure
    value: Value


def areas_of_both(before: Plan, after: Plan) -> list[tuple[AreaPlan, AreaPlan]]:
    """Return the areas that two plans have, in the order of the later, as either plans them."""
    then = {area.name: area for area in before.areas}
    return [(then[area.name], area) for area in after.areas if area.name in then]


def topsoil_depth(area: AreaPlan) -> float:
    """Return the topsoil that is stripped under an area, on average over its hole. [m]"""
    dig = area.chosen_dig
    return dig.organics_volume / dig.dig_area if dig.dig_area else 0.0


def _area_figures(plan: Plan, area: AreaPlan) -> Iterator[_Told]:
    dig, job = area.chosen_dig, plan.order.areas[plan.areas.index(area)].chosen
    yield _Told("topsoil", "topsoil, on average over the hole", "depth", topsoil_depth(area))
    yield _Told("base", "stands on", "words", dig.system.called)
    yield _Told("build_up", "build-up, from the finish down", "depth", dig.build_up)
    yield _Told("mean_dig", "dig, on average", "depth", dig.mean_dig)
    yield _Told("max_dig", "deepest dig", "depth", dig.max_dig)
    yield _Told("cut", "soil dug, as it lies", "volume", dig.cut)
    yield _Told("fill", "stone below the build-up, compacted", "volume", dig.fill)
    yield _Told("trips", "trips with soil and stone", "count", float(job.haul.trips))
    yield _Told("time", "hours of one person", "time", job.time.mean)
    for step in door_steps(area):
        yield _Told(f"step {step.door.name}", f"step down at {step.door.name}", "height", step.step)
    for wall in area.walls:
        name = wall.wall.name
        yield _Told(f"fall_away {name}", f"fall away from {name}", "slope", wall.fall_away)
    _, lowest = area.edge_heights
    yield _Told("edge_above", "finish above the lawn at its edge, at the most", "height",
                area.edge_heights[0])  # fmt: skip
    yield _Told("edge_below", "finish below the lawn at its edge, at the most", "height", lowest)


def _job_figures(plan: Plan) -> Iterator[_Told]:
    takes, order = site_answer(plan).takes, plan.order
    yield _Told("cut", "soil dug, as it lies", "volume", takes.cut)
    yield _Told("trips", "trips with soil and stone", "count", float(takes.trips))
    yield _Told("bins", "bins of soil", "count", float(takes.bins))
    deliveries = order.total.haul.deliveries.count
    yield _Told("deliveries", "deliveries of stone", "count", float(deliveries))
    yield _Told("time", "hours of one person", "time", takes.time)
    yield _Told("days", "days of the crew", "days", days_of(order, order.total).mean)
    yield _Told("cost", "cost to the crew", "money", takes.cost)


def _side_by_side(area: str, before: list[_Told], after: list[_Told]) -> Iterator[Figure]:
    """Give the figures of either, in the order of the later plan; those that are gone come last."""
    then, now = ({each.key: each for each in told} for told in (before, after))
    for key in dict.fromkeys([*now, *then]):
        one = now.get(key) or then[key]
        values = (told[key].value if key in told else None for told in (then, now))
        yield Figure(key, one.title, area, one.measure, *values)


def figures_of(before: Plan, after: Plan) -> tuple[Figure, ...]:
    """Return what both plans are held against each other by: area by area, then the whole job.

    Parameters
    ----------
    before, after : Plan
        Areas of one name are one area; one that a plan has not got is left out.
    """
    found: list[Figure] = []
    for old, area in areas_of_both(before, after):
        told = list(_area_figures(before, old)), list(_area_figures(after, area))
        found += _side_by_side(area.name, *told)
    found += _side_by_side(JOB, list(_job_figures(before)), list(_job_figures(after)))
    priced = change_price(before, after)
    if priced is not None:
        agreed, now = float(priced.before), float(priced.after)
        found.append(Figure(PRICE, "price, tax and all", JOB, "money", agreed, now))
    return tuple(found)
