"""A job counted again with another value of one figure: only the steps that look it up.

A step that looks nothing up that changed, and is given what it was given before, gives what it
gave before. So what is counted is what `job_of` counts, and no table says which figure is whose.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, partial
from typing import Any, Generic, TypeVar

from grading.advicetables import Access
from grading.crew import Crew, Entry, Figure
from grading.hauling import Haul, Way, haul_of, way_of
from grading.labour import Task, tasks_of, time_of
from grading.money import Cost, cost_of
from grading.quantities import Line, Maker, makers_of
from grading.supplies import Supply, by_item, supply_of
from grading.takeoff import Takeoff
from grading.units import Unit

T = TypeVar("T")


@dataclass(frozen=True)
class _Step(Generic[T]):
    """A step of a count: how it is taken, what it was given, gave and looked up."""

    take: Callable[..., T]
    given: tuple[Any, ...]
    gave: T
    looked_up: frozenset[Figure]

    @classmethod
    def taken(cls, take: Callable[..., T], crew: Crew, *given: Any) -> _Step[T]:
        """Take a step with a crew's figures and what the steps before it gave."""
        looked_up: set[Figure] = set()
        return cls(take, given, take(crew.noting(looked_up), *given), frozenset(looked_up))

    def again(self, crew: Crew, figure: Figure, *given: Any) -> T:
        """Return what the step gives a crew that reckons with another value of one figure."""
        if figure not in self.looked_up and given == self.given:
            return self.gave
        return self.take(crew, *given)


@dataclass(frozen=True)
class Recount:
    """What some areas take, ready to be counted with another value of one figure.

    Attributes
    ----------
    jobs : sequence of Takeoff
    access : Access
        How things come through the yard.
    crew : Crew
    unit : "ft" or "m"
    whole_site : bool
        Whether setting out and mobilising count too.
    """

    jobs: Sequence[Takeoff]
    access: Access
    crew: Crew
    unit: Unit
    whole_site: bool

    @property
    def cost(self) -> Cost:
        """What it costs with the crew's own figures."""
        return self._cost.gave

    def having(self, entry: Entry, value: float) -> Cost:
        """Return what it costs a crew that reckons with another value of one figure.

        Parameters
        ----------
        entry : Entry
            Not a size of pieces: what was laid out stays as it is.
        value : float
            In SI.
        """
        figure = (entry.book, entry.name)
        if figure not in self._looked_up:
            return self.cost
        crew = self.crew.having(entry, value)
        lines = _joined(step.again(crew, figure) for step in self._lines)
        supplies = tuple(
            self._supplies[item].again(crew, figure, of)
            if item in self._supplies
            else supply_of(item, of, crew, self.unit)
            for item, of in by_item(lines).items()
        )
        haul = self._haul.again(crew, figure, supplies, self._way.again(crew, figure))
        tasks = self._tasks.again(crew, figure, lines, haul)
        return self._cost.again(crew, figure, supplies, haul, tasks)

    @cached_property
    def _looked_up(self) -> frozenset[Figure]:
        steps: list[_Step[Any]] = [*self._lines, *self._supplies.values()]
        steps += [self._way, self._haul, self._tasks, self._cost]
        return frozenset().union(*(step.looked_up for step in steps))

    @cached_property
    def _lines(self) -> tuple[_Step[tuple[Line, ...]], ...]:
        makers = [make for job in self.jobs for make in makers_of(job, self.unit)]
        return tuple(_Step.taken(partial(_made, make), self.crew) for make in makers)

    @cached_property
    def _supplies(self) -> Mapping[str, _Step[Supply]]:
        lines = by_item(_joined(step.gave for step in self._lines))
        return {
            item: _Step.taken(partial(_supplied, item, self.unit), self.crew, of)
            for item, of in lines.items()
        }

    @cached_property
    def _way(self) -> _Step[Way]:
        return _Step.taken(lambda crew: way_of(self.access, crew, self.unit), self.crew)

    @cached_property
    def _haul(self) -> _Step[Haul]:
        def hauled(crew: Crew, supplies: Sequence[Supply], way: Way) -> Haul:
            return haul_of(self.jobs, supplies, way, crew)

        supplies = tuple(step.gave for step in self._supplies.values())
        return _Step.taken(hauled, self.crew, supplies, self._way.gave)

    @cached_property
    def _tasks(self) -> _Step[tuple[Task, ...]]:
        def worked(crew: Crew, lines: Sequence[Line], haul: Haul) -> tuple[Task, ...]:
            return tasks_of(self.jobs, lines, haul, crew, self.whole_site)

        lines = _joined(step.gave for step in self._lines)
        return _Step.taken(worked, self.crew, lines, self._haul.gave)

    @cached_property
    def _cost(self) -> _Step[Cost]:
        def paid(crew: Crew, supplies: Sequence[Supply], haul: Haul, tasks: Sequence[Task]) -> Cost:
            return cost_of(supplies, haul, tasks, time_of(tasks), crew)

        supplies = tuple(step.gave for step in self._supplies.values())
        return _Step.taken(paid, self.crew, supplies, self._haul.gave, self._tasks.gave)


def _joined(parts: Iterable[tuple[Line, ...]]) -> tuple[Line, ...]:
    return tuple(line for part in parts for line in part)


def _made(make: Maker, crew: Crew) -> tuple[Line, ...]:
    return tuple(make(crew))


def _supplied(item: str, unit: Unit, crew: Crew, lines: Sequence[Line]) -> Supply:
    return supply_of(item, lines, crew, unit)
