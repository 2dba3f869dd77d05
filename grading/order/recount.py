"""A job counted again with one figure or one dig changed: only the steps that it concerns.

A step that looks nothing up that changed, and is given what it was given before, gives what it
gave before. So what is counted is what `job_of` counts, and no table says which figure is whose.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cached_property
from typing import Any, Generic, TypeVar

from msgspec import Struct

from grading.crew.lines import Line, Maker, Work
from grading.crew.model import Crew, Entry, Figure
from grading.order.hauling import Haul, Way, haul_of, way_of
from grading.order.labour import Task, time_of, timed, works_of
from grading.order.lawn_worn import site_makers
from grading.order.money import Cost, cost_of
from grading.order.quantities import makers_of
from grading.order.supplies import Supply, by_item, supply_of
from grading.order.takeoff import Takeoff
from grading.site.feature_tables import Access
from grading.units import Unit

T = TypeVar("T")


class _Step(Struct, Generic[T], frozen=True):
    """A step of a count: how it is taken, what it was given, gave and looked up."""

    take: Callable[..., T]
    given: tuple[object, ...]
    gave: T
    looked_up: frozenset[Figure]

    @classmethod
    def taken(cls, take: Callable[..., T], crew: Crew, *given: object) -> _Step[T]:
        """Take a step with a crew's figures and what the steps before it gave."""
        looked_up: set[Figure] = set()
        return cls(take, given, take(crew.noting(looked_up), *given), frozenset(looked_up))

    def again(self, crew: Crew, figure: Figure | None, *given: object) -> T:
        """Return what the step gives with what it is given now.

        Parameters
        ----------
        crew : Crew
        figure : (book, name) or None
            The one figure in which the crew is another; None where it is in none.
        given : as for `taken`; left out where it is the same
        """
        if figure not in self.looked_up and given in ((), self.given):
            return self.gave
        return self.take(crew, *(given or self.given))


class Recount(Struct, frozen=True, dict=True):
    """What a whole site takes, ready to be counted again with one thing changed.

    Attributes
    ----------
    jobs : tuple of Takeoff
    access : Access
        How things come through the yard.
    crew : Crew
    unit : "ft" or "m"
    """

    jobs: tuple[Takeoff, ...]
    access: Access
    crew: Crew
    unit: Unit

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
        lines = self._made
        if figure in self._of_lines:
            lines = _joined(step.again(crew, figure) for step in self._lines)
        return self._counted(crew, figure, self.jobs, lines)

    def over(self, jobs: tuple[Takeoff, ...]) -> Cost:
        """Return what it costs with other take-offs of these areas.

        Parameters
        ----------
        jobs : tuple of Takeoff
        """
        known = [(step.given[0], step.gave) for step in self._lines]

        def made(maker: Maker) -> tuple[Line, ...]:
            for same, gave in known:
                if same == maker:
                    return gave
            return maker.lines(self.crew)

        lines = _joined(made(maker) for maker in self._makers(jobs))
        return self._counted(self.crew, None, jobs, lines)

    def _counted(
        self, crew: Crew, figure: Figure | None, jobs: tuple[Takeoff, ...], lines: tuple[Line, ...]
    ) -> Cost:
        supplies = self._ordered
        if lines is not self._made or figure in self._of_supplies:
            supplies = tuple(
                self._supplies[item].again(crew, figure, item, of)
                if item in self._supplies
                else supply_of(item, of, crew, self.unit)
                for item, of in by_item(lines).items()
            )
        haul = self._haul.again(crew, figure, jobs, supplies, self._way.again(crew, figure))
        works = self._works.again(crew, figure, jobs, lines, haul)
        tasks = self._tasks.again(crew, figure, works)
        return self._cost.again(crew, figure, supplies, haul, tasks)

    @cached_property
    def _of_lines(self) -> frozenset[Figure]:
        return _looked_up(self._lines)

    @cached_property
    def _of_supplies(self) -> frozenset[Figure]:
        return _looked_up(self._supplies.values())

    @cached_property
    def _looked_up(self) -> frozenset[Figure]:
        rest = _looked_up((self._way, self._haul, self._tasks, self._cost))
        return self._of_lines | self._of_supplies | rest

    @cached_property
    def _lines(self) -> tuple[_Step[tuple[Line, ...]], ...]:
        return tuple(
            _Step.taken(lambda crew, maker: maker.lines(crew), self.crew, maker)
            for maker in self._makers(self.jobs)
        )

    def _makers(self, jobs: Sequence[Takeoff]) -> list[Maker]:
        areas = [maker for job in jobs for maker in makers_of(job, self.unit)]
        return [*areas, *site_makers(jobs, self.access, self.unit)]

    @cached_property
    def _made(self) -> tuple[Line, ...]:
        return _joined(step.gave for step in self._lines)

    @cached_property
    def _supplies(self) -> Mapping[str, _Step[Supply]]:
        def ordered(crew: Crew, item: str, lines: Sequence[Line]) -> Supply:
            return supply_of(item, lines, crew, self.unit)

        lines = by_item(self._made)
        return {item: _Step.taken(ordered, self.crew, item, of) for item, of in lines.items()}

    @cached_property
    def _ordered(self) -> tuple[Supply, ...]:
        return tuple(step.gave for step in self._supplies.values())

    @cached_property
    def _way(self) -> _Step[Way]:
        return _Step.taken(lambda crew: way_of(self.access, crew, self.unit), self.crew)

    @cached_property
    def _haul(self) -> _Step[Haul]:
        def hauled(
            crew: Crew, jobs: Sequence[Takeoff], supplies: Sequence[Supply], way: Way
        ) -> Haul:
            return haul_of(jobs, supplies, way, crew)

        return _Step.taken(hauled, self.crew, self.jobs, self._ordered, self._way.gave)

    @cached_property
    def _works(self) -> _Step[tuple[Work, ...]]:
        def worked(
            _: Crew, jobs: Sequence[Takeoff], lines: Sequence[Line], haul: Haul
        ) -> tuple[Work, ...]:
            return works_of(jobs, lines, haul, whole_site=True)

        return _Step.taken(worked, self.crew, self.jobs, self._made, self._haul.gave)

    @cached_property
    def _tasks(self) -> _Step[tuple[Task, ...]]:
        return _Step.taken(lambda crew, works: timed(works, crew), self.crew, self._works.gave)

    @cached_property
    def _cost(self) -> _Step[Cost]:
        def paid(crew: Crew, supplies: Sequence[Supply], haul: Haul, tasks: Sequence[Task]) -> Cost:
            return cost_of(supplies, haul, tasks, time_of(tasks, crew.factor), crew)

        return _Step.taken(paid, self.crew, self._ordered, self._haul.gave, self._tasks.gave)


def _looked_up(steps: Iterable[_Step[Any]]) -> frozenset[Figure]:
    return frozenset().union(*(step.looked_up for step in steps))


def _joined(parts: Iterable[tuple[Line, ...]]) -> tuple[Line, ...]:
    return tuple(line for part in parts for line in part)
