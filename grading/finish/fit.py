"""One convex problem over the finishes of areas that hang together.

Areas on grade are solved in stages: a comfortable fall, or the least that the limits allow where
that is more; then the least departure from the lawn; then the least of what is counted. The last
two are one problem, in which the departure outweighs the volume: `OUTWEIGHS` is so great that the
finish is within a fraction of a millimetre of the least departure.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cached_property, partial
from typing import Literal

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.catalogue.bases import BaseSystem
from grading.finish.convex import Bounds, Optimum, feasible, gentlest, least
from grading.finish.creases import Crease
from grading.finish.departure import ROUNDED, Departure
from grading.finish.earthwork import PART, Clip, Moments
from grading.finish.layout import Block
from grading.finish.wishes.model import Wish, joined
from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane

Measure = Literal["dig and refill", "earth"]
"""What a fit counts: all that is dug and all that is refilled, topsoil to its bottom included; or
the earth between the ground and the subgrade, before topsoil is weighed."""

OUTWEIGHS = 1e3
"""What a square metre of departure from the lawn is worth: an inch along a metre of edge stands
against 25 m3 of earth. [m]"""

SURE = 1e-3
"""Share by which what is left out must be the dearer: by so little no solution is wrong."""

_STEEPER = 1e6  # m3: what a unit of fall beyond the comfortable one is worth, more than any earth
_ROUNDINGS = (1e-2, 1e-3, 1e-4, ROUNDED)  # own: m, a bend is rounded less and less
_EASED = 0.5 / 2**20  # own: ratio, how finely the least easing of a fall is found

MEASURES: tuple[Measure, ...] = ("earth", "dig and refill")


class Fit(Struct, frozen=True, dict=True):
    """The areas of one problem, the ground in each, and what is wished of them.

    Attributes
    ----------
    blocks : tuple of Block
    clips : tuple of Clip
        Existing ground in each area's outline, parted by its facets.
    wishes : tuple of Wish
    measure : "dig and refill" or "earth"
        The volume that it counts, and that its solutions have the least of.
    creases : tuple of Crease
        Where planes meet flush; one that gathers water must lead it away.
    lawn : Departure or None
        How areas on grade leave the lawn; None where none is to lie on grade.
    comfort : tuple of Wish
        The comfortable fall of each of them, kept as nearly as the wishes let it.
    """

    blocks: tuple[Block, ...]
    clips: tuple[Clip, ...]
    wishes: tuple[Wish, ...]
    measure: Measure = "dig and refill"
    creases: tuple[Crease, ...] = ()
    lawn: Departure | None = None
    comfort: tuple[Wish, ...] = ()

    def counting(self, measure: Measure) -> Fit:
        """Return the same problem with another volume counted."""
        if measure == self.measure:
            return self
        return self._otherwise

    @cached_property
    def _otherwise(self) -> Fit:
        other: Measure = "earth" if self.measure == "dig and refill" else "dig and refill"
        return replace(self, measure=other)

    def also(self, wishes: Sequence[Wish]) -> Fit:
        """Return the same problem with further wishes."""
        return replace(self, wishes=(*self.wishes, *wishes))

    @cached_property
    def scale(self) -> Floats:
        """What one unit of each unknown is worth, (n,)."""
        return np.concatenate(
            [
                block.shape.scale(_length(clip))
                for block, clip in zip(self.blocks, self.clips, strict=True)
            ]
        )

    @cached_property
    def start(self) -> Floats:
        """The planes of least squares through the ground, (n,)."""
        return np.concatenate(
            [
                block.unknowns_of(best_fit(clip))
                for block, clip in zip(self.blocks, self.clips, strict=True)
            ]
        )

    @cached_property
    def bounds(self) -> Bounds:
        """Its wishes as bounds on the unknowns."""
        return joined(self.wishes, len(self.scale))

    @cached_property
    def parts_by_block(self) -> list[list[tuple[Floats, Clip]]]:
        """For each block, the map to each paved facet's plane and the ground under it."""
        return [
            [
                (block.map_of(facet), clip.part(facet, block.centre))
                for facet in np.unique(clip.facet).tolist()
            ]
            for block, clip in zip(self.blocks, self.clips, strict=True)
        ]

    @cached_property
    def _counted(self) -> list[list[tuple[Floats, Clip]]]:
        """The same, with the ground from which what is counted is measured.

        With topsoil o deep and ground h above the subgrade, max(h, o) is dug and max(0, o - h)
        refilled: together o + abs(h - o). So it is counted from the bottom of the topsoil, and
        the topsoil, which comes out whatever the finish is, on top.
        """
        if self.measure == "earth":
            return self.parts_by_block
        return [
            [(placed, clip.stripped) for placed, clip in parts] for parts in self.parts_by_block
        ]

    @cached_property
    def _stripped(self) -> list[float]:
        """What is counted of each block whatever its finish is: the topsoil in it. [m3]"""
        if self.measure == "earth":
            return [0.0] * len(self.blocks)
        return [float(clip.areas @ clip.organics.mean(axis=1)) for clip in self.clips]

    def parts(self) -> list[tuple[Floats, Clip]]:
        """Return the map to each paved facet's plane and the ground under it, for all areas."""
        return [part for parts in self.parts_by_block for part in parts]

    def moments(self, unknowns: Floats, build_ups: Sequence[float]) -> Moments:
        """Return what is counted for finishes over build-ups, with its derivatives.

        Parameters
        ----------
        unknowns : (n,) float
        build_ups : sequence of float
            One for each block. [m]
        """
        count = len(unknowns)
        moved = sum(self._stripped)
        gradient, curvature = np.zeros(count), np.zeros((count, count))
        for parts, build_up in zip(self._counted, build_ups, strict=True):
            for placed, clip in parts:
                plane = placed @ unknowns - [build_up, 0, 0]
                part = clip.moments(plane)
                moved += part.moved
                gradient += placed.T @ part.gradient
                curvature += placed.T @ part.curvature @ placed
        return Moments(moved, gradient, curvature)

    def solve(
        self,
        build_ups: Sequence[float],
        wishes: Sequence[Wish] | None = None,
        start: Floats | None = None,
        comfort: Sequence[Wish] | None = None,
        below: float = np.inf,
    ) -> Optimum | None:
        """Return the finishes with the least of what is counted; None where wishes conflict.

        Parameters
        ----------
        build_ups : sequence of float
            One for each block. [m]
        wishes, comfort : sequence of Wish, optional
            Others in place of its own.
        start : (n,) float, optional
        below : float
            What is sure to cost no less than this is not sought further: None. [m3]
        """
        wishes = self.wishes if wishes is None else wishes
        start = self.start if start is None else start
        if self.lawn is None:
            bounds = self.bounds if wishes is self.wishes else joined(wishes, len(self.scale))
            return least(lambda at: self.moments(at, build_ups), bounds, start, self.scale)
        held = self._comfortable(wishes, self.comfort if comfort is None else comfort)
        if held is None or _STEEPER * held[1] >= below:
            return None
        return self._on_grade(self.lawn, build_ups, *held, start, below)

    @cached_property
    def free(self) -> Fit:
        """The same problem with nothing asked of how the areas lie to the lawn."""
        return replace(self, lawn=None, comfort=()) if self.lawn else self

    def departure(self, unknowns: Floats) -> float:
        """Return how far finishes on grade depart from the lawn, by its length, or 0. [m]"""
        if self.lawn is None:
            return 0.0
        return self.lawn.moments(unknowns).moved / self.lawn.free

    def _comfortable(
        self, wishes: Sequence[Wish], comfort: Sequence[Wish]
    ) -> tuple[Bounds, float] | None:
        """Return bounds with falls as comfortable as can be, and how much steeper that is.

        Each area's own is found first, with the falls of the others left to their limits; what
        they cannot have together is eased for all alike.
        """
        if feasible(joined([*wishes, *comfort], len(self.scale)), self.scale):
            return joined([*wishes, *comfort], len(self.scale)), 0.0
        eased = [cap.eased(self._easing(wishes, [cap]) or 0.0) for cap in comfort]
        by = self._easing(wishes, eased)
        if by is None:
            return None
        caps = [cap.eased(by) for cap in eased]
        steeper = sum(
            cap.discs[0].radius - own.discs[0].radius
            for cap, own in zip(caps, comfort, strict=True)
        )
        return joined([*wishes, *caps], len(self.scale)), steeper

    def _easing(self, wishes: Sequence[Wish], caps: Sequence[Wish]) -> float | None:
        """Return by how much caps must be eased for wishes to be met; None if by no much."""
        count = len(self.scale)
        if feasible(joined([*wishes, *caps], count), self.scale):
            return 0.0
        alone = joined(wishes, count)
        discs = [disc for cap in caps for disc in cap.discs]
        if len(discs) == 1:
            # How gently one plane can fall is a problem of its own, and needs no search.
            fall = gentlest(alone, discs[0], self.start, self.scale)
            return None if fall is None else fall - discs[0].radius + _EASED
        if not feasible(alone, self.scale):
            return None
        low, high = 0.0, 0.5
        while high - low > _EASED:
            middle = (low + high) / 2
            caps_then = [cap.eased(middle) for cap in caps]
            if feasible(joined([*wishes, *caps_then], count), self.scale):
                high = middle
            else:
                low = middle
        return high

    def _on_grade(
        self, lawn: Departure, build_ups: Sequence[float], bounds: Bounds, steeper: float,
        start: Floats, below: float = np.inf,
    ) -> Optimum | None:  # fmt: skip
        """Return the finishes nearest to the lawn, and of those with the least counted.

        None as well where they are sure to cost no less than `below`.
        """

        def both(at: Floats, rounded: float) -> Moments:
            earth, away = self.moments(at, build_ups), lawn.moments(at, rounded)
            return Moments(
                earth.moved + OUTWEIGHS * away.moved,
                earth.gradient + OUTWEIGHS * away.gradient,
                earth.curvature + OUTWEIGHS * away.curvature,
            )

        best = None
        # Bends that are rounded widely show the way to where they are rounded by next to nothing.
        for rounded in _ROUNDINGS:
            best = least(
                partial(both, rounded=rounded), bounds, start, self.scale,
                finish=rounded == ROUNDED,
            )  # fmt: skip
            # A bend costs the less, the more widely it is rounded.
            surely = (best.moved - best.gap) * (1 - SURE) + _STEEPER * steeper if best else np.inf
            if best is None or surely >= below:
                return None
            start = best.unknowns
        assert best is not None
        before = OUTWEIGHS * lawn.moments(best.unknowns).moved + _STEEPER * steeper
        moved = self.moments(best.unknowns, build_ups).moved
        return replace(best, moved=moved, before=before)

    def moved(self, number: int, unknowns: Floats, build_up: float) -> float:
        """Return what is counted for one block alone. [m3]"""
        return self._stripped[number] + sum(
            clip.moments(placed @ unknowns - [build_up, 0, 0]).moved
            for placed, clip in self._counted[number]
        )


def _length(clip: Clip) -> float:
    x, y = clip.xy[:, :, 0], clip.xy[:, :, 1]
    return float(np.hypot(x.max() - x.min(), y.max() - y.min())) / 2


def best_fit(clip: Clip) -> Plane:
    """Return the plane of least squares through the ground of a clip."""
    squares, levels = np.zeros((3, 3)), np.zeros(3)
    for start in range(0, len(clip.xy), PART):
        own = slice(start, start + PART)
        corners = clip.xy[own].reshape(-1, 2) - clip.centre
        rows = np.column_stack([np.ones(len(corners)), corners])
        weighted = np.repeat(clip.areas[own], 3)[:, None] * rows
        squares += rows.T @ weighted
        levels += weighted.T @ clip.ground[own].ravel()
    level, dzdx, dzdy = np.linalg.lstsq(squares, levels, rcond=None)[0].tolist()
    return Plane(level - dzdx * clip.centre[0] - dzdy * clip.centre[1], dzdx, dzdy)


def candidates(
    blocks: Sequence[Block], systems: Mapping[str, BaseSystem]
) -> list[tuple[BaseSystem, ...]]:
    """Return the base systems to try for each block: that chosen, or each of all in turn.

    Where several areas leave the base open they are given the same one: a crew does not lay
    three bases side by side to save a barrow of earth.
    """
    if all(block.base for block in blocks):
        return [tuple(systems[block.base or ""] for block in blocks)]
    return [tuple(systems[block.base or name] for block in blocks) for name in systems]
