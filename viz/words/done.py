"""Half-way in words and a table: what each base still takes, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from grading.answers.halfway_words import COUNTED, done_words, finish_words
from grading.halfway.left import from_here
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.units import HOUR
from viz.table import CUBIC, Table, cubic


def done_lines(plan: Plan) -> Iterator[str]:
    """Give what is done and what finishes cheapest from here, line by line; none where nothing is.

    Parameters
    ----------
    plan : Plan
    """
    found = from_here(plan.order, plan.advice)
    if found is None:
        return
    unit, telling = plan.site.unit, telling_of(plan.order)
    mark = CUBIC[unit]
    planned = {area.chosen for area in plan.areas}
    yield done_words(plan, found)
    yield COUNTED
    yield Table.of(
        {
            "base": f"{one.base} *" if planned == {one.base} else one.base,
            f"still to dig\n{mark}": f"{cubic(one.cut, unit):.2f}",
            f"refill\n{mark}": f"{cubic(one.fill, unit):.2f}",
            f"of it dug too\ndeep, {mark}": f"{cubic(one.over_dug, unit):.2f}",
            "trips": one.haul.trips,
            "bins to\ncome": one.haul.bins.count,
            "hours": f"{one.cost.time.mean / HOUR:.0f}",
            f"still to pay\n{telling.head}": telling.column(one.cost.total),
        }
        for one in found.bases
    ).grid(1)
    yield from finish_words(plan, found)
