"""The planes and folds of a finish, as drawings, scenes and reports tell them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from grading.design.folds import Fold, Pane, fold_ends, folds_of, panes_of

if TYPE_CHECKING:
    from grading.design.area import AreaPlan

__all__ = [
    "MOST", "Fold", "Pane", "falls_words", "fold_ends", "fold_words", "folds_of", "panes_of",
    "span_of", "warped",
]  # fmt: skip

MOST = 6
"""Planes that are told one by one; a finish of more is told as warped."""


def warped(panes: Sequence[Pane]) -> bool:
    """Say whether there are too many planes to be told one by one."""
    return len(panes) > MOST


def span_of(panes: Sequence[Pane]) -> tuple[float, float]:
    """Return the least and the greatest fall of some planes. [ratio]"""
    falls = [pane.plane.fall for pane in panes]
    return min(falls), max(falls)


def falls_words(area: AreaPlan, write: Callable[[float], str]) -> str:
    """Say how much an area's planes fall: 2.0 %, or 2.2 % to 2.3 % where they differ.

    Parameters
    ----------
    area : AreaPlan
    write : callable
        Writes a fall. [ratio]
    """
    said = [write(fall) for fall in span_of(panes_of(area))]
    return said[0] if said[0] == said[1] else " to ".join(said)


def fold_words(folds: Sequence[Fold]) -> list[str]:
    """Return the kinds of folds with their number, such as "2 ridges"."""
    words = []
    for kind in ("ridge", "valley", "fold"):
        count = sum(fold.kind == kind for fold in folds)
        many = f"{kind}s" if kind != "valley" else "valleys"
        if count:
            words.append(f"a {kind}" if count == 1 else f"{count} {many}")
    return words
