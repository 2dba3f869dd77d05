"""The line of five at the foot of the page: dig, trips, cost, fall off the walls, what fails."""

from __future__ import annotations

from typing import Any

from msgspec import Struct
from msgspec.structs import asdict

from grading.answers.led import failing, least_away, least_fall, led
from grading.order.days import RAIN, days_of
from grading.order.telling import money
from grading.pipeline import Plan
from grading.units import counted as some
from grading.units import least_rate, percent, taped_rate, volume
from viz.desk.blocks import Tone
from viz.desk.seen import Seen
from viz.words.plain import counted
from viz.words.screen.led import BACK, NO_WALL, verdict_words

SO_FAR = "so far"
"""Said of what is not looked at to the end yet."""

LAST = "of the last plan"
"""Said of a figure where the document has moved on and has no plan."""

PAVING = "paving alone, so far"
_WORKING = "working"
_NONE = "–"


_STEPS = {
    "Dig": "base", "Barrow trips": "base", "Trips": "base", "Cost": "cost", "Days": "cost",
    "Least fall off a wall": "finish", "What fails": "",
}  # fmt: skip
"""The step that each figure is of; what fails is of the first step in which something does."""


class Figure(Struct, frozen=True):
    """One of the five: what it is of, the figure, and what stands small beside it."""

    label: str
    value: str
    small: str = ""
    tone: Tone = "plain"

    def record(self) -> dict[str, Any]:
        """Return it as the page draws it."""
        return asdict(self) | {"step": _STEPS.get(self.label, "")}


def tally(seen: Seen) -> list[dict[str, Any]]:
    """Return the five figures of what is seen; dashes where there is no plan.

    Parameters
    ----------
    seen : Seen
    """
    plan, prices = seen.plan, seen.money
    if seen.stale or seen.conflict:
        return [each.record() for each in _of_last(seen)]
    if plan is None or not plan.areas:
        last = "Cost" if prices else "Days"
        labels = ("Dig", "Barrow trips", last, "Least fall off a wall", "What fails")
        return [Figure(label, _NONE).record() for label in labels]
    return [each.record() for each in figures(plan, whole=seen.whole, prices=prices)]


def _of_last(seen: Seen) -> tuple[Figure, ...]:
    """Return what is known where the document has no plan as it stands."""
    plan, prices = seen.plan, seen.money
    why = "no finish has all that is asked" if seen.conflict else "something cannot be read"
    none = Figure("What fails", "No plan", why, "fails")
    if plan is None:
        labels = ("Dig", "Trips", "Cost" if prices else "Days", "Least fall off a wall")
        return (*(Figure(label, _NONE) for label in labels), none)
    dug = volume(plan.dug, plan.site.unit)
    fall = _fall(plan)
    return (
        Figure("Dig", dug, LAST),
        Figure("Trips", _NONE, ""),
        Figure("Cost" if prices else "Days", _NONE, ""),
        Figure(fall.label, fall.value, LAST),
        none,
    )


def figures(plan: Plan, *, whole: bool, prices: bool) -> tuple[Figure, ...]:
    """Return the five figures of a plan.

    Parameters
    ----------
    plan : Plan
    whole : bool
        Whether order, water and advice are there; else what needs them is said to be worked on.
    prices : bool
        Whether money is shown; else the days stand in its place.
    """
    if not whole:
        dug = volume(plan.dug, plan.site.unit)
        return (
            Figure("Dig", dug, PAVING),
            Figure("Trips", _NONE, _WORKING, "quiet"),
            Figure("Cost" if prices else "Days", _NONE, _WORKING, "quiet"),
            _fall(plan),
            _failing_so_far(plan),
        )
    total, unit = plan.order.total, plan.site.unit
    carrier = {"barrow": "Barrow trips"}.get(total.haul.way.carrier, "Trips")
    bins = total.haul.bins.count
    return (
        Figure("Dig", volume(total.cut, unit), f"{volume(total.haul.spoil.loose, unit)} loose"),
        Figure(carrier, str(total.haul.trips), some(bins, "bin") if bins else "no bin"),
        _cost(plan) if prices else _days(plan),
        _fall(plan),
        _failing(plan),
    )


def _cost(plan: Plan) -> Figure:
    cost, sign = plan.order.total.cost, plan.crew.currency
    low, high = money(cost.low, sign), money(cost.high, sign)
    return Figure("Cost", money(cost.total, sign), f"eight in ten: {low} to {high}")


def _days(plan: Plan) -> Figure:
    days = days_of(plan.order, plan.order.total)
    return Figure("Days", days.words, RAIN)


def _fall(plan: Plan) -> Figure:
    least, unit = least_away(plan), plan.site.unit
    label = "Least fall off a wall"
    if least is None:
        fall = least_fall(plan)
        return Figure("Least fall", percent(fall), f"{taped_rate(fall, unit)}, {NO_WALL}")
    if least < 0:
        return Figure(label, percent(-least), BACK, "fails")
    return Figure(label, percent(least), least_rate(least, unit))


def _failing_so_far(plan: Plan) -> Figure:
    count = len(failing(plan.area_checks_at_once))
    if not count:
        return Figure("What fails", "Nothing", SO_FAR)
    return Figure("What fails", _things(count), SO_FAR, "fails")


def _failing(plan: Plan) -> Figure:
    told = led(plan)
    if told.verdict == "stop":
        why = verdict_words(told).partition(": ")[2]
        return Figure("What fails", "Stop", why, "fails")
    looks = f"{counted(told.look_count)} to look at" if told.look_count else ""
    checked = f"{len(plan.checks)} checked"
    if told.verdict == "fail":
        return Figure("What fails", _things(len(told.fails)), looks or checked, "fails")
    return Figure("What fails", "Nothing", looks or checked, "look" if looks else "plain")


def _things(count: int) -> str:
    return f"{counted(count).capitalize()} thing{'' if count == 1 else 's'}"
