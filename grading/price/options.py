"""Other ways to build the job, each planned again as a whole: its own dig, hours, days and price.

An option is no line to add to another: every one of them is held against the same plan, and two of
them together are planned together before they are priced.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from msgspec import Struct
from msgspec.structs import replace

from grading.design.door_steps import DoorStep, door_steps
from grading.errors import GradingError
from grading.order.days import days_of
from grading.pipeline import Plan, plan
from grading.price.sums import Sums, direct_of, sums_of
from grading.site.model import Site

_SEAT_WALL = "seat wall"
_MOST_STEPS = 3  # own: further steps that are tried below a door
_LEAST_RISER = 0.05  # own: m, what the paving comes down by at the least


class Option(Struct, frozen=True, eq=False):
    """One other way.

    Attributes
    ----------
    kind : "base", "lower" or "without"
    title : str
        What is done otherwise.
    plan : Plan
        Of the whole job, built that way.
    sums : Sums
        Its price.
    """

    kind: str
    title: str
    plan: Plan
    sums: Sums

    @property
    def days(self) -> float:
        """Working days of the crew, to half a day."""
        return days_of(self.plan.order, self.plan.order.total).mean


class Refused(Struct, frozen=True):
    """A way that was planned and is not offered, and why."""

    title: str
    why: str


Again = Callable[[Site], Plan]


def options_of(
    made: Plan, again: Again | None = None
) -> tuple[tuple[Option, ...], tuple[Refused, ...]]:
    """Return the other ways to build a job that may be offered, and those that may not.

    Parameters
    ----------
    made : Plan
        Of a crew that says how it makes a price.
    again : callable, optional
        Plans a site, for the same crew.
    """
    terms = made.crew.pricing
    assert terms is not None
    shared = made.kept.aside()
    again = again or (lambda site: replace(plan(site, shared), crew=made.crew))
    offered: list[Option] = []
    refused: list[Refused] = []
    for kind, title, site, differs in _ways(made):
        try:
            other = again(site)
        except GradingError as error:
            refused.append(Refused(title, str(error).split("\n")[0]))
            continue
        if not differs(other):
            continue
        failing = next((check for check in other.checks if check.status == "fail"), None)
        if failing is not None:
            refused.append(Refused(title, f"a check fails: {failing.text}"))
            continue
        sums = sums_of(direct_of(other.order.total.cost), terms)
        offered.append(Option(kind, title, other, sums))
    return tuple(offered), tuple(refused)


_Way = tuple[str, str, Site, Callable[[Plan], bool]]
"""What is tried: its kind and title, the site written so, and whether a plan of it is another."""


def _ways(made: Plan) -> Iterator[_Way]:
    """Yield what is tried, all else as it is planned."""
    site = _as_planned(made)
    yield from _bases(made, site)
    yield from _lower(made, site)
    for thing in site.features:
        if thing.kind == _SEAT_WALL:
            rest = tuple(each for each in site.features if each is not thing)
            title = f"without {thing.name or 'the seat wall'}"
            yield "without", title, replace(site, features=rest), _always


def _always(_: Plan) -> bool:
    return True


def _as_planned(made: Plan) -> Site:
    """Return the site with its chosen bases written down, so that only one thing moves."""
    return replace(made.site, areas=made.areas_on_their_bases)


def _bases(made: Plan, site: Site) -> Iterator[_Way]:
    chosen = {area.chosen for area in made.areas}
    for name in made.order.bases:
        if chosen == {name}:
            continue
        verdicts = [made.advice.area(area.name).base.of(name) for area in made.areas]
        if any(verdict.level == "rules out" for verdict in verdicts):
            continue
        areas = tuple(area.model_copy(update={"base": name}) for area in site.areas)
        title = f"all of it on {made.areas[0].digs[name].system.called}"
        yield "base", title, replace(site, areas=areas), _always


def _lower(made: Plan, site: Site) -> Iterator[_Way]:
    """Yield the paving a step lower at each door that has a step down to it."""
    tried = set()
    for area in made.areas:
        if area.area.plane is not None:
            continue  # its heights are written down
        for step in door_steps(area):
            door = step.door
            if door.name in tried or step.risers > _MOST_STEPS:
                continue
            tried.add(door.name)
            doors = tuple(
                each.model_copy(update={"steps": step.risers + 1}) if each is door else each
                for each in site.doors
            )

            def lower(other: Plan, before: DoorStep = step) -> bool:
                """Whether the paving came down by a step: one more may be asked for in vain."""
                steps = [each for area in other.areas for each in door_steps(area)]
                return any(
                    each.door.name == before.door.name
                    and each.risers > before.risers
                    and each.step - before.step > _LEAST_RISER
                    for each in steps
                )

            # What holds its edge was chosen for where it stood: lower, it is advised anew.
            holds = tuple(each for each in site.holds if each.area != area.area.name)
            changed = replace(site, doors=doors, holds=holds)
            yield "lower", f"a step lower at {door.name}", changed, lower
