"""The planes and folds of a finish, as drawings, scenes and reports tell them."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from grading.design.area import AreaPlan
from grading.design.folds import Fold, panes_of, span_of


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
