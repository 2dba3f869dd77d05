"""How areas meet along an edge that they share, in words: flush, or a step of so much."""

from __future__ import annotations

from collections.abc import Callable

from grading.design.steps import SharedEdge
from grading.units import Unit, size
from viz.words.figures import small


def step_words(edge: SharedEdge, unit: Unit) -> str:
    """Say how two areas meet: "flush", or what the step and its risers are."""
    return _said(edge, lambda metres: size(metres, unit))


def step_words_in_both(edge: SharedEdge, unit: Unit) -> str:
    """Say it in both units, the site's own first."""
    return _said(edge, lambda metres: small(metres, unit))


def _said(edge: SharedEdge, write: Callable[[float], str]) -> str:
    if edge.flush:
        return "flush"
    low, step = map(write, edge.drop)
    if low != step:
        step = f"{low} to {step}"
    if not edge.risers:
        return f"NOT flush: {step}"
    if edge.risers == 1:
        return f"1 riser of {step}"
    return f"{edge.risers} risers of {write(edge.riser)}, {step} in all"
