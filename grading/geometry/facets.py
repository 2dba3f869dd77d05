"""A finish made of planes that meet along folds, and how water runs on it."""

from __future__ import annotations

from functools import cached_property

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from grading.geometry.arrays import Floats
from grading.geometry.plane import Plane
from grading.geometry.tolerances import SEEN, SLIVER


class Facet(Struct, frozen=True):
    """One plane of a finish and the part of the plan where it is the finish.

    The domains of an area's facets part a frame wide enough for its over-dug hole. [m]
    """

    domain: shapely.Polygon
    plane: Plane


class Surface(Struct, frozen=True, dict=True):
    """Planes that meet along folds; most often just one.

    Attributes
    ----------
    facets : tuple of Facet
    outline : shapely geometry or None
        The paving that it is the finish of. [m]
    twist : float
        Of a warp, how much the slope across changes for each metre along. [1/m]
    """

    facets: tuple[Facet, ...]
    outline: shapely.Geometry | None = None
    twist: float = 0.0

    def over(self, outline: shapely.Geometry) -> Surface:
        """Return the surface of this paving; its main facet is the one with the most of it."""
        return Surface(self.facets, outline, self.twist)

    @cached_property
    def main(self) -> Plane:
        """The plane with the most paving."""
        if not self.folded or self.outline is None:
            return self.facets[0].plane
        paving = self.outline
        return max(self.facets, key=lambda facet: facet.domain.intersection(paving).area).plane

    @cached_property
    def paved(self) -> tuple[Facet, ...]:
        """The facets that have some paving on them."""
        if not self.folded or self.outline is None:
            return self.facets
        paving = self.outline
        return tuple(
            facet for facet in self.facets if facet.domain.intersection(paving).area > SLIVER
        )

    @classmethod
    def of(cls, plane: Plane, domain: shapely.Polygon) -> Surface:
        """Return the surface that is one plane over a domain."""
        return cls((Facet(domain, plane),))

    @property
    def planes(self) -> tuple[Plane, ...]:
        """The planes, facet by facet."""
        return tuple(facet.plane for facet in self.facets)

    @property
    def folded(self) -> bool:
        """Whether there is more than one plane."""
        return len(self.facets) > 1

    @cached_property
    def one_plane(self) -> bool:
        """Whether all the paving lies in one plane, so that no fold is needed."""
        if not self.folded:
            return True
        parts = [self.outline] if self.outline is not None else [f.domain for f in self.facets]
        left, bottom, right, top = shapely.total_bounds(parts).tolist()
        corners = np.array([[left, bottom], [right, bottom], [right, top], [left, top]])
        levels = np.stack([facet.plane.at(corners) for facet in self.paved])
        return bool(np.ptp(levels, axis=0).max() < SEEN)

    @cached_property
    def coefficients(self) -> Floats:
        """Each plane's z0 [m], dzdx and dzdy [ratio], (f, 3)."""
        return np.array([[plane.z0, plane.dzdx, plane.dzdy] for plane in self.planes])

    def facet_at(self, xy: Floats) -> NDArray[np.intp]:
        """Return the number of the facet at each point (k, 2); the nearest off the frame."""
        xy = np.asarray(xy, dtype=float).reshape(-1, 2)
        if not self.folded:
            return np.zeros(len(xy), dtype=np.intp)
        points = np.asarray(shapely.points(xy))
        away = np.stack([shapely.distance(facet.domain, points) for facet in self.facets])
        return np.asarray(away.argmin(axis=0), dtype=np.intp)

    def at(self, xy: Floats) -> Floats:
        """Return levels at points (k, 2). [m]"""
        points = np.asarray(xy, dtype=float).reshape(-1, 2)
        z0, dzdx, dzdy = self.coefficients[self.facet_at(points)].T
        return np.asarray(z0 + (dzdx * points[:, 0] + dzdy * points[:, 1]))

    def lowered(self, depth: float) -> Surface:
        """Return the surface straight below by a depth. [m]"""
        return Surface(
            tuple(Facet(facet.domain, facet.plane.lowered(depth)) for facet in self.facets),
            self.outline,
            self.twist,
        )

    def breaks(self, line: Floats) -> Floats:
        """Return the points of a line, those where it crosses a fold put in, (j, 2). [m]

        Parameters
        ----------
        line : (k, 2) float
        """
        if not self.folded:
            return np.asarray(line, dtype=float)
        path = shapely.LineString(line)
        edges = shapely.union_all([facet.domain.boundary for facet in self.facets])
        crossings = shapely.get_coordinates(shapely.intersection(path, edges))
        along = np.concatenate(
            [
                shapely.line_locate_point(path, shapely.points(np.asarray(line, dtype=float))),
                shapely.line_locate_point(path, shapely.points(crossings)),
            ]
        )
        return shapely.get_coordinates(shapely.line_interpolate_point(path, np.unique(along)))
