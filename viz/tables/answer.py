"""The site as one answer, for a spreadsheet: what stands on what, and where bases meet."""

from __future__ import annotations

from grading.answers.site import TOTAL, Takes, site_answer, standing_words
from grading.order.telling import Telling
from grading.pipeline import Plan
from grading.units import HOUR
from viz.table import Cells, Table, volumes


def answer_tables(plan: Plan) -> dict[str, Table]:
    """Return the tables that a spreadsheet opens: what stands on what, and where bases meet.

    Parameters
    ----------
    plan : Plan
    """
    answer = site_answer(plan)
    rows: list[Cells] = [
        {
            "area": one.area, "use": one.use, "base": one.base, "why": one.why,
            "what stands on it": standing_words(one), **_takes(one.takes, answer.telling),
        }
        for one in answer.areas
    ]  # fmt: skip
    none = dict.fromkeys(("use", "base", "why", "what stands on it"), "")
    rows.append({"area": TOTAL, **none, **_takes(answer.takes, answer.telling)})
    joins = Table.of(
        {
            "join": number,
            **dict(
                zip(("area", "meets", "base", "base met"), join.areas + join.bases, strict=True)
            ),
            "there already": "yes" if join.there else "",
            "where": join.where,
            "length (m)": round(join.length, 3),
            "detail": join.detail,
        }
        for number, join in enumerate(answer.joins, start=1)
    )
    return {"what-stands-on-what": Table.of(rows), "joins": joins}


def _takes(takes: Takes, telling: Telling) -> Cells:
    return {
        **volumes("cut bank", takes.cut), "trips (count)": takes.trips, "bins (count)": takes.bins,
        "time (h)": round(takes.time / HOUR),
        f"cost ({telling.head})": telling.number(takes.cost, 2),
    }  # fmt: skip
