"""Half-way as plain data, in SI: the value of `done` in the JSON of a plan."""

from __future__ import annotations

from typing import Any

from grading.halfway.left import Finishing, FromHere


def _finishing(one: Finishing) -> dict[str, Any]:
    return {
        "level": one.level,
        "because": one.because,
        "cut": one.cut,
        "fill": one.fill,
        "over_dug": one.over_dug,
        "trips": one.haul.trips,
        "bins": one.haul.bins.count,
        "deliveries": one.haul.deliveries.count,
        "time": one.cost.time.mean,
        "cost": one.cost.total,
        "to_buy": {supply.item: supply.count for supply in one.to_buy},
        "unused": [
            {"title": each.title, "package": each.each, "count": each.count, "cost": each.cost}
            for each in one.unused
        ],
    }


def from_here_record(found: FromHere | None) -> dict[str, Any] | None:
    """Return what finishes from here as plain data: m, m3, seconds of one person, money.

    Parameters
    ----------
    found : FromHere or None
    """
    if found is None:
        return None
    best = found.cheapest
    return {
        "dug": dict(found.dug),
        "bought": dict(found.done.counts),
        "bins": found.done.bins,
        "cheapest": None if best is None else best.base,
        "bases": {one.base: _finishing(one) for one in found.bases},
        "doors": [
            {"door": step.door.name, "area": step.area, "step": step.step, "changes": 0.0}
            for step in found.steps
        ],
        "lifted": [
            {
                "base": each.base,
                "rise": each.rise,
                "door": each.step.door.name,
                "step": each.left,
                "allowed": each.allowed,
            }
            for each in found.lifted
        ],
    }
