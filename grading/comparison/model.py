"""Two plans of one yard: the figures that differ, the checks that turn, and why a base changes."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

import numpy as np
import shapely
from msgspec import Struct

from grading.checks.maker import Check, Status
from grading.comparison.figures import Figure, areas_of_both, figures_of
from grading.comparison.placed import Displaced, displaced
from grading.comparison.written import Difference, differences_of
from grading.design.area import AreaPlan
from grading.errors import Problem, SiteError
from grading.geometry.tolerances import SEEN
from grading.pipeline import Plan

_WORST_FIRST: tuple[Status, ...] = ("fail", "unknown", "warn", "pass")


class Turned(Struct, frozen=True):
    """A check that comes out otherwise; None where that plan does not make it."""

    before: Check | None
    after: Check | None

    @property
    def check(self) -> Check:
        """The check as it is now, or as it was where it is no longer made."""
        found = self.after or self.before
        assert found is not None
        return found

    @property
    def was(self) -> Status:
        """How it came out; what is not asked does not fail."""
        return "pass" if self.before is None else self.before.status

    @property
    def now(self) -> Status:
        """How it comes out now."""
        return "pass" if self.after is None else self.after.status


class BaseChange(Struct, frozen=True):
    """An area that stands on another base than before, and the reason for it.

    `why` and `why_plain` are the reason in the words of the trade and in everyday ones, of what
    speaks against the base that it stood on; empty where the site chose it.
    """

    area: str
    before: str
    after: str
    why: str
    why_plain: str


class Comparison(Struct, frozen=True, dict=True):
    """Two plans of one yard, the later beside the earlier.

    Attributes
    ----------
    before, after : Plan
    written : tuple of Difference
        What their folders say differently.
    figures : tuple of Figure
        Every figure of both, area by area, then the whole job.
    """

    before: Plan
    after: Plan
    written: tuple[Difference, ...]
    figures: tuple[Figure, ...]

    @property
    def failed(self) -> bool:
        """Whether a check of either plan failed."""
        return self.before.failed or self.after.failed

    @property
    def gone(self) -> tuple[str, ...]:
        """Areas that only the earlier plan has."""
        return _without(self.before, self.after)

    @property
    def new(self) -> tuple[str, ...]:
        """Areas that only the later plan has."""
        return _without(self.after, self.before)

    @cached_property
    def bases(self) -> tuple[BaseChange, ...]:
        """The areas that stand on another base."""
        return tuple(_base_changes(self.before, self.after))

    @cached_property
    def turned(self) -> tuple[Turned, ...]:
        """The checks that come out otherwise, those that are worst now first."""
        then, now = _by_place(self.before), _by_place(self.after)
        found = [Turned(then.get(key), now.get(key)) for key in dict.fromkeys([*now, *then])]
        told = [each for each in found if each.was != each.now]
        return tuple(sorted(told, key=lambda each: _WORST_FIRST.index(each.now)))

    @cached_property
    def moved(self) -> float:
        """How far the finish of areas that both plans have lies from where it lay, at the most. [m]

        At the corners of their planes, where two surfaces made of planes are farthest apart.
        """
        both = areas_of_both(self.before, self.after)
        return max((_moved(*pair) for pair in both), default=0.0)

    @cached_property
    def displaced(self) -> tuple[Displaced, ...]:
        """What stands, lies or is built in another place or form."""
        return displaced(self.before, self.after)

    @property
    def looks_alike(self) -> bool:
        """Whether all that is seen stays: paving, its heights and pavers, and all beside it."""
        return not (
            self.gone or self.new or self.moved >= SEEN or any(each.seen for each in self.displaced)
        )


def _without(plan: Plan, other: Plan) -> tuple[str, ...]:
    """Return the names of a plan's areas that another has not got."""
    known = {area.area.name for area in other.areas}
    return tuple(area.area.name for area in plan.areas if area.area.name not in known)


def _moved(before: AreaPlan, after: AreaPlan) -> float:
    """Return how far one area's finish lies from where it lay, where both have paving. [m]"""
    paving = shapely.intersection(before.outline, after.outline)
    parts = [
        shapely.intersection(facet.domain, paving)
        for plan in (before, after)
        for facet in plan.finish.surface.facets
    ]
    corners = shapely.get_coordinates(parts)
    if not len(corners):
        return 0.0
    return float(np.abs(after.finish.surface.at(corners) - before.finish.surface.at(corners)).max())


def _base_changes(before: Plan, after: Plan) -> Iterator[BaseChange]:
    for old, area in areas_of_both(before, after):
        if old.chosen == area.chosen:
            continue
        plain = why = ""
        advice = after.advice.area(area.area.name)
        if area.base_from == "advised" and old.chosen in area.digs:
            against = advice.base.of(old.chosen).against
            if against:
                why, plain = against[0].text, against[0].plain
        elif area.base_from == "given":
            why = plain = advice.reason or ""
        then_on, now_on = (each.chosen_dig.system.called for each in (old, area))
        yield BaseChange(area.area.name, then_on, now_on, why, plain)


def _by_place(plan: Plan) -> dict[tuple[str, str, str], Check]:
    """Return the checks of a plan by rule, area and place; the worst of those that share them."""
    found: dict[tuple[str, str, str], Check] = {}
    for check in plan.checks:
        key = check.rule, check.area, check.where
        old = found.get(key)
        if old is None or _WORST_FIRST.index(check.status) < _WORST_FIRST.index(old.status):
            found[key] = check
    return found


def compared(before: Plan, after: Plan) -> Comparison:
    """Hold two plans of one yard against each other.

    Parameters
    ----------
    before, after : Plan
        With at least one area of one name; what was written is compared where both have folders.

    Raises
    ------
    SiteError
        They have no area in common, or their crews are paid in different currencies.
    """
    problems = list(_apart(before, after))
    if problems:
        raise SiteError(problems)
    old, new = before.site.folder, after.site.folder
    written = () if old is None or new is None else differences_of(old, new)
    return Comparison(before, after, written, figures_of(before, after))


def _apart(before: Plan, after: Plan) -> Iterator[Problem]:
    """Yield what keeps two plans from being held against each other."""
    names = [[area.area.name for area in plan.areas] for plan in (before, after)]
    where = f"{after.site.folder} beside {before.site.folder}"
    if not set(names[0]) & set(names[1]):
        told = [", ".join(map(repr, each)) for each in names]
        mend = "Give the area the same name in both, if it is the same paving."
        yield Problem(where, f"areas {told[1]} and {told[0]}", "an area that both have", mend)
    if before.crew.currency != after.crew.currency:
        found = f"costs in {before.crew.currency!r} and {after.crew.currency!r}"
        yield Problem(where, found, "one currency", "Use one crew.toml for both.")
