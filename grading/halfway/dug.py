"""A hole that is dug in part: what is left to dig of it, and what was dug too deep and is refilled.

What is dug below the ground as it was, share by share of the hole, is as good as ground that lies
lower: what is left is dug from there, to the same subgrade and the same bottom of the topsoil.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cached_property

import numpy as np
from msgspec import Struct

from grading.design.underfoot import overlap
from grading.dig.hole import Dig
from grading.finish.earthwork import Clip, positive_and_negative
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING


class Part(Struct, frozen=True):
    """A part of a hole that is dug: its share of the hole, and how deep. [m]"""

    share: float
    depth: float


class _Left(Struct, frozen=True, dict=True):
    """What is left of a hole where all of it is dug to one depth.

    `above` and `topsoil` are the subgrade and the bottom of the topsoil below the bottom as it is
    dug, at the corners of the clip, (k, 3), negative where they lie above it. [m]
    """

    above: Floats
    topsoil: Floats
    areas: Floats

    @cached_property
    def organics(self) -> float:
        """Topsoil still to be dug. [m3]"""
        return positive_and_negative(self.topsoil, self.areas).cut

    @cached_property
    def cut(self) -> float:
        """All that is still to be dug. [m3]"""
        # The greater of two and the lesser of them add up to both.
        both = positive_and_negative(self.above, self.areas).cut + self.organics
        return both - overlap(self.above, self.topsoil, self.areas)

    @cached_property
    def fill(self) -> float:
        """Refill from the bottom, once all is dug, up to the subgrade. [m3]"""
        return max(self.cut - float(self.areas @ self.above.mean(axis=1)), 0.0)

    @cached_property
    def fill_without_topsoil(self) -> float:
        """Refill that would be there also if no topsoil had to come out. [m3]"""
        return positive_and_negative(self.above, self.areas).fill

    @cached_property
    def fill_area(self) -> float:
        """Plan area that is refilled. [m2]"""
        thickness = np.maximum(self.topsoil, 0.0) - self.above
        return positive_and_negative(thickness, self.areas).cut_area

    @cached_property
    def over_dug(self) -> float:
        """What was dug deeper than the subgrade and the topsoil ask. [m3]"""
        return overlap(-self.above, -self.topsoil, self.areas)


class PartDug(Dig, frozen=True, dict=True):
    """What one base system still digs and builds where a part of the hole is dug.

    Attributes
    ----------
    common : Clip
        The part of the hole that lies in the one that was begun.
    parts : tuple of Part
        Shares of `common` that are dug; the rest is as it was.

    Notes
    -----
    Where in the hole a part lies is not known, so each is taken as spread over all of it.
    """

    common: Clip
    parts: tuple[Part, ...]

    @cached_property
    def _lefts(self) -> tuple[tuple[float, _Left], ...]:
        """What is left, by how much it weighs: the whole hole as it was, and what changed in it."""
        lefts = [(1.0, self._left(self.clip, 0.0))]
        if self.parts:
            untouched = self._left(self.common, 0.0)
            lefts.append((-sum(part.share for part in self.parts), untouched))
            lefts += [(part.share, self._left(self.common, part.depth)) for part in self.parts]
        return tuple(lefts)

    def _left(self, clip: Clip, depth: float) -> _Left:
        above = clip.depth_below(self.formation.coefficients)
        return _Left(above - depth, clip.organics - depth, clip.areas)

    def _sum(self, of: Callable[[_Left], float]) -> float:
        found = sum(weight * of(left) for weight, left in self._lefts)
        return found if found > ROUNDING else 0.0

    @cached_property
    def organics_volume(self) -> float:
        """Topsoil and roots still to be stripped, in the bank. [m3]"""
        return self._sum(lambda left: left.organics)

    @cached_property
    def cut(self) -> float:
        """Everything still to be dug, topsoil included, in the bank. [m3]"""
        return self._sum(lambda left: left.cut)

    @property
    def begun(self) -> bool:
        """Whether a part of it is dug already."""
        return bool(self.parts)

    @property
    def fill(self) -> float:
        """Compacted refill up to the subgrade, of what was dug too deep as well. [m3]"""
        return self._sum(lambda left: left.fill)

    @property
    def fill_area(self) -> float:
        """Plan area that is refilled. [m2]"""
        return self._sum(lambda left: left.fill_area)

    @property
    def fill_for_organics(self) -> float:
        """The part of the refill that is there only because topsoil has to come out. [m3]"""
        return self._sum(lambda left: left.fill - left.fill_without_topsoil)

    @property
    def over_dug(self) -> float:
        """What was dug deeper than this base asks, and is refilled. [m3]"""
        return self._sum(lambda left: left.over_dug)
