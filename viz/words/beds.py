"""What lies under the finish on average, from the top down: every layer, then refill where any."""

from __future__ import annotations

from dataclasses import dataclass

from grading.dig.hole import Dig
from grading.units.shares import share_words
from viz.words.figures import DIRT, small

REFILL = "compacted refill"
_ALL = 0.995
"""Refill under more than this share of the hole is said to be under all of it."""


@dataclass(frozen=True)
class Bed:
    """A layer, or the refill under all of them.

    Attributes
    ----------
    name, material, role : str
    top : float
        Depth of its top below the finish. [m]
    thickness : float
        Of refill, its mean over the area that has it. [m]
    """

    name: str
    material: str
    role: str
    top: float
    thickness: float

    @property
    def bottom(self) -> float:
        """Depth of its underside below the finish. [m]"""
        return self.top + self.thickness


def beds_of(dig: Dig) -> tuple[Bed, ...]:
    """Return the layers of a dig from the top down, and the refill at its mean thickness."""
    beds = [
        Bed(layer.name, layer.material, layer.role, top, layer.thickness)
        for layer, top in zip(dig.system.layers, dig.system.tops(), strict=True)
    ]
    if dig.refill is not None:
        beds.append(Bed(REFILL, "refill", "refill", dig.build_up, dig.refill.mean))
    return tuple(beds)


def depth_of(dig: Dig) -> float:
    """Return how deep the undersides of `beds_of` reach below the finish. [m]"""
    return beds_of(dig)[-1].bottom


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
