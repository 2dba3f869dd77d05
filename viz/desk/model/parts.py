"""What the model is made of: closed bodies with their look, and what is said when one is tapped."""

from __future__ import annotations

from functools import cached_property
from hashlib import blake2b
from typing import Any, Literal

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from viz.scene.shell import Solid, joined

Role = Literal["layer", "soil", "lawn", "beside", "house", "built", "thing"]
"""What the page does with a part: layers are lifted apart, the house gives way to who looks out."""

FEW = 1 << 16
"""Corners that two bytes can number."""


class Look(Struct, frozen=True):
    """How a part looks and what it is called.

    Attributes
    ----------
    name : str
        Told apart from every other of the model; stays the same from plan to plan.
    said : str
        What it is and how thick, told when it is tapped.
    brief : str
        The same where there is little room.
    role : Role
    kind : str
        Its material, by which its surface is drawn.
    lift : float
        How far it floats above its place where the layers are apart, as drawn. [m]
    stands : float or None
        Above this level about the origin heights are at true scale. [m]
    before : int
        What lies in other bodies is drawn before them where it is cut, in so many steps.
    number : int
        From the top down, for a layer of the area that is looked at; else 0.
    built : bool
        Whether it stands beside or on the layers, and after a change is told after them.
    """

    name: str
    said: str
    brief: str
    role: Role
    kind: str
    lift: float = 0.0
    stands: float | None = None
    before: int = 0
    number: int = 0
    built: bool = False


class Part(Struct, frozen=True, eq=False, dict=True):
    """One closed body, or several that look the same: vertices (n, 3) about the origin [m]."""

    look: Look
    solid: Solid

    @cached_property
    def corners(self) -> NDArray[np.float32]:
        """Its vertices as they are sent, (n, 3). [m]"""
        return np.ascontiguousarray(self.solid.vertices, dtype="<f4")

    @cached_property
    def triangles(self) -> NDArray[np.unsignedinteger[Any]]:
        """Its triangles as they are sent, (m, 3): two bytes to a corner where that is enough."""
        small = len(self.solid.vertices) <= FEW
        return np.ascontiguousarray(self.solid.faces, dtype="<u2" if small else "<u4")

    @cached_property
    def hash(self) -> str:
        """A name of its shape: equal shapes have the same, however they are called."""
        made = blake2b(self.corners.tobytes(), digest_size=8)
        made.update(self.triangles.tobytes())
        return made.hexdigest()


class Gathered(Struct):
    """Solids as they come; those that look the same become one part."""

    solids: dict[Look, list[Solid]] = field(default_factory=dict)

    def add(self, look: Look, solid: Solid) -> None:
        """Add a closed solid; nothing where it is empty."""
        if len(solid.faces):
            self.solids.setdefault(look, []).append(solid)

    def parts(self) -> tuple[Part, ...]:
        """Return what was gathered."""
        return tuple(Part(look, joined(solids)) for look, solids in self.solids.items())
