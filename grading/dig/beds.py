"""What lies under the finish on average, from the top down: every layer, then refill where any."""

from __future__ import annotations

from msgspec import Struct

from grading.dig.hole import Dig

REFILL = "compacted refill"


class Bed(Struct, frozen=True):
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
