"""One convex problem over the finishes of areas that hang together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

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


@dataclass(frozen=True)
class Fit:
    """The areas of one problem, the ground in each, and what is wished of them.

    Attributes
    ----------
    blocks : tuple of Block
    clips : tuple of Clip
        Existing ground in each area's outline, parted by its facets.
    wishes : tuple of Wish
    creases : tuple of Crease
        Where planes meet flush; one that gathers water must lead it away.
    """

    blocks: tuple[Block, ...]
    clips: tuple[Clip, ...]
    wishes: tuple[Wish, ...]
    creases: tuple[Crease, ...] = ()

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

    def parts(self) -> list[tuple[Floats, Clip]]:
        """Return the map to each paved facet's plane and the ground under it, for all areas."""
        return [part for parts in self._parts for part in parts]

    def parts_by_block(self) -> list[list[tuple[Floats, Clip]]]:
        """Return the same, area by area."""
        return self._parts

    def moments(self, unknowns: Floats, build_ups: Sequence[float]) -> Moments:
        """Return the earth moved for finishes over build-ups, with its derivatives.

        Parameters
        ----------
        unknowns : (n,) float
        build_ups : sequence of float
            One for each block. [m]
        """
        count = len(unknowns)
        moved, gradient, curvature = 0.0, np.zeros(count), np.zeros((count, count))
        for parts, build_up in zip(self._parts, build_ups, strict=True):
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
        """Return the finishes that move the least earth; None where wishes conflict.

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
        """Return the earth moved for one block alone. [m3]"""
        return sum(
            clip.moments(placed @ unknowns - [build_up, 0, 0]).moved
            for placed, clip in self._parts[number]
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
