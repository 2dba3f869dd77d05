"""How areas meet along an edge that they share, in words: flush, or a step of so much."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from grading.design.model import Design
from grading.design.steps import SharedEdge
from grading.structures.flights import flights_between
from grading.units import Unit, size
from viz.words.figures import small


def step_words(edge: SharedEdge, unit: Unit, plan: Design | None = None) -> str:
    """Say how two areas meet: "flush", or what the step and its risers are.

    Parameters
    ----------
    edge : SharedEdge
    unit : "ft" or "m"
    plan : Design, optional
        Whose edge it is: several risers are then told as their flight has them, down to its foot.
    """
    return _said(edge, lambda metres: size(metres, unit), plan)


def step_words_in_both(edge: SharedEdge, unit: Unit, plan: Design | None = None) -> str:
    """Say it as figures stand on a drawing: in both units where that is asked."""
    return _said(edge, lambda metres: small(metres, unit), plan)


def _said(edge: SharedEdge, write: Callable[[float], str], plan: Design | None) -> str:
    if edge.flush:
        return "flush"
    step = _span(edge.drop, write)
    if not edge.risers:
        return f"NOT flush: {step}"
    if edge.risers == 1:
        return f"1 riser of {step}"
    flights = () if plan is None else flights_between(plan, edge)
    if not flights:
        return f"{edge.risers} risers of {write(edge.riser)}, {step} in all"
    each = _span([flight.riser for flight in flights], write)
    return f"{edge.risers} risers of {each}, {_span([one.drop for one in flights], write)} in all"


def _span(sizes: Iterable[float], write: Callable[[float], str]) -> str:
    low, high = write(min(sizes := tuple(sizes))), write(max(sizes))
    return low if low == high else f"{low} to {high}"
