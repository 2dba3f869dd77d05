"""How thick each layer under a finish lies, and the refill under all of them, in words."""

from __future__ import annotations

from grading.dig.beds import REFILL, Bed
from grading.dig.hole import Dig
from viz.words.figures import DIRT, small


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
