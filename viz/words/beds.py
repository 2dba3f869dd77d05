"""How thick each layer under a finish lies, and the refill under all of them, in words."""

from __future__ import annotations

from grading.dig.beds import REFILL, Bed
from grading.dig.hole import Dig
from grading.units.shares import share_words
from viz.words.figures import DIRT, small

_ALL = 0.995
"""Refill under more than this share of the hole is said to be under all of it."""


def thick_words(dig: Dig, bed: Bed, unit: str) -> str:
    """Say how thick a bed is; of refill, how thick it is at the most."""
    if bed.role == "refill" and dig.refill is not None:
        return f"up to {small(dig.refill.greatest, unit, DIRT)}"
    return small(bed.thickness, unit)


def refill_words(dig: Dig, unit: str) -> str:
    """Say how thick the refill of a dig is; nothing where it has none."""
    if dig.refill is None:
        return ""
    return f"{REFILL}, up to {small(dig.refill.greatest, unit, DIRT)}"


def mean_words(dig: Dig, unit: str) -> str:
    """Say how thick the refill lies, at most and on average, and under how much of the hole."""
    if dig.refill is None:
        return ""
    rows = [f"up to {small(dig.refill.greatest, unit, DIRT)},",
            f"on average {small(dig.refill.mean, unit, DIRT)}"]  # fmt: skip
    if dig.refill.share <= _ALL:
        rows.append(f"under {share_words(dig.refill.share)} of the hole")
    return "\n".join(rows)
