"""Half-way as plain data, in SI: the value of `done` in the JSON of a plan."""

from __future__ import annotations

from typing import Any

from grading.halfway.left import Finishing, FromHere
from grading.records.fields import each, fields, maybe


def _finishing(one: Finishing) -> dict[str, Any]:
    return {
        **fields(
            one,
            "level because cut fill over_dug trips=haul.trips bins=haul.bins.count "
            "deliveries=haul.deliveries.count time=cost.time.mean cost=cost.total",
        ),
        "to_buy": {supply.item: supply.count for supply in one.to_buy},
        "unused": each(one.unused, "title package=each count cost"),
    }


def from_here_record(found: FromHere | None) -> dict[str, Any] | None:
    """Return what finishes from here as plain data: m, m3, seconds of one person, money.

    Parameters
    ----------
    found : FromHere or None
    """
    if found is None:
        return None
    return {
        "dug": dict(found.dug),
        "bought": dict(found.done.counts),
        "bins": found.done.bins,
        "cheapest": maybe(found.cheapest, lambda best: best.base),
        "bases": {one.base: _finishing(one) for one in found.bases},
        "doors": [
            {**fields(step, "door=door.name area step"), "changes": 0.0} for step in found.steps
        ],
        "lifted": each(found.lifted, "base rise door=step.door.name step=left allowed"),
    }
