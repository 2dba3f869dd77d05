"""One convex problem over the finishes of areas that hang together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from grading.baselayers import BaseSystem
from grading.convex import Bounds, Optimum, least
from grading.creases import Crease
from grading.earthwork import Clip, Moments
from grading.layout import Block
from grading.plane import Plane
from grading.wish import Wish, joined

Floats = NDArray[np.float64]
Measure = Literal["dig and refill", "earth"]
"""What a fit counts: all that is dug and all that is refilled, topsoil to its bottom included; or
the earth between the ground and the subgrade, before topsoil is weighed."""

MEASURES: tuple[Measure, ...] = ("earth", "dig and refill")


@dataclass(frozen=True)
class Fit:
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
    """

    blocks: tuple[Block, ...]
    clips: tuple[Clip, ...]
    wishes: tuple[Wish, ...]
    measure: Measure = "dig and refill"
    creases: tuple[Crease, ...] = ()

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
    def _parts(self) -> list[list[tuple[Floats, Clip]]]:
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
            return self._parts
        return [
            [(placed, replace(clip, ground=clip.ground - clip.organics)) for placed, clip in parts]
            for parts in self._parts
        ]

    @cached_property
    def _stripped(self) -> list[float]:
        """What is counted of each block whatever its finish is: the topsoil in it. [m3]"""
        if self.measure == "earth":
            return [0.0] * len(self.blocks)
        return [float(clip.areas @ clip.organics.mean(axis=1)) for clip in self.clips]

    def parts(self) -> list[tuple[Floats, Clip]]:
        """Return the map to each paved facet's plane and the ground under it, for all areas."""
        return [part for parts in self._parts for part in parts]

    def parts_by_block(self) -> list[list[tuple[Floats, Clip]]]:
        """Return the same, area by area."""
        return self._parts

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
    ) -> Optimum | None:
        """Return the finishes with the least of what is counted; None where wishes conflict.

        Parameters
        ----------
        build_ups : sequence of float
            One for each block. [m]
        wishes : sequence of Wish, optional
            Others in place of its own.
        start : (n,) float, optional
        """
        bounds = self.bounds if wishes is None else joined(wishes, len(self.scale))
        return least(
            lambda unknowns: self.moments(unknowns, build_ups),
            bounds,
            self.start if start is None else start,
            self.scale,
        )

    def moved(self, number: int, unknowns: Floats, build_up: float) -> float:
        """Return what is counted for one block alone. [m3]"""
        return self._stripped[number] + sum(
            clip.moments(placed @ unknowns - [build_up, 0, 0]).moved
            for placed, clip in self._counted[number]
        )


def _length(clip: Clip) -> float:
    corners = clip.xy.reshape(-1, 2)
    return float(np.hypot(*(corners.max(axis=0) - corners.min(axis=0)))) / 2


def best_fit(clip: Clip) -> Plane:
    """Return the plane of least squares through the ground of a clip."""
    corners = clip.xy.reshape(-1, 2) - clip.centre
    rows = np.column_stack([np.ones(len(corners)), corners])
    weighted = np.repeat(clip.areas, 3)[:, None] * rows
    level, dzdx, dzdy = np.linalg.lstsq(
        rows.T @ weighted, weighted.T @ clip.ground.ravel(), rcond=None
    )[0].tolist()
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
