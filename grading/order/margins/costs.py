"""Base systems set side by side by what they cost."""

from __future__ import annotations

from collections.abc import Mapping

from grading.order.money import Cost


def cheapest(costs: Mapping[str, float]) -> str:
    """Return the base system that costs least."""
    return min(costs, key=lambda name: costs[name])


def totals(costs: Mapping[str, Cost]) -> dict[str, float]:
    """Return what each base system costs. [money]"""
    return {name: cost.total for name, cost in costs.items()}


def margin(costs: Mapping[str, float], base: str) -> float:
    """Return what a base system saves over the cheapest of the others. [money]"""
    return min(cost for name, cost in costs.items() if name != base) - costs[base]


def rival(costs: Mapping[str, float], base: str) -> str:
    """Return the base system that costs least of the others."""
    return cheapest({name: cost for name, cost in costs.items() if name != base})
