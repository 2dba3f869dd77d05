"""Half-way in words and a table: what each base still takes, for the terminal."""

from __future__ import annotations

from collections.abc import Iterator

from tabulate import tabulate

from grading.answers.halfway_words import COUNTED, done_words, finish_words
from grading.halfway.left import from_here
from grading.pipeline import Plan
from grading.units import HOUR
from viz.table import CUBIC, cubic


def done_lines(plan: Plan) -> Iterator[str]:
    """Give what is done and what finishes cheapest from here, line by line; none where nothing is.

    Parameters
    ----------
    plan : Plan
    """
    found = from_here(plan.order, plan.advice)
    if found is None:
        return
    unit = plan.site.unit
    mark = CUBIC[unit]
    planned = {area.chosen for area in plan.areas}
    yield done_words(plan, found)
    yield COUNTED
    rows = [
        (
            f"{one.base} *" if planned == {one.base} else one.base,
            f"{cubic(one.cut, unit):.2f}",
            f"{cubic(one.fill, unit):.2f}",
            f"{cubic(one.over_dug, unit):.2f}",
            one.haul.trips,
            one.haul.bins.count,
            f"{one.cost.time.mean / HOUR:.0f}",
            f"{one.cost.total:,.0f}",
        )
        for one in found.bases
    ]
    headers = (
        "base", f"still to dig\n{mark}", f"refill\n{mark}", f"of it dug too\ndeep, {mark}", "trips",
        "bins to\ncome", "hours", f"still to pay\n{plan.crew.currency}",
    )  # fmt: skip
    yield tabulate(rows, headers, colalign=("left", *["right"] * 7), disable_numparse=True)
    yield from finish_words(plan, found)
