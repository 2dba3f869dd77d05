"""Where each area's planes stand among the unknowns of finishes that are solved together."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct
from numpy.typing import NDArray

from grading.finish.convex import Disc
from grading.finish.shapes import Shape
from grading.geometry.arrays import Floats
from grading.geometry.facets import Facet, Surface
from grading.geometry.plane import Plane
from grading.geometry.tolerances import SLIVER
from grading.site.model import Area
from grading.site.walls import Wall


class Block(Struct, frozen=True):
    """One area's share of the unknowns.

    Attributes
    ----------
    area : Area
    shape : Shape
    centre : (2,) float
        Where levels are taken. [m]
    first, total : int
        Its first unknown, and how many there are of all areas.
    base : str or None
        The base system that it is fitted for; None where all are tried.
    """

    area: Area
    shape: Shape
    centre: Floats
    first: int
    total: int
    base: str | None = None

    def map_of(self, facet: int) -> Floats:
        """Return the rows that give a facet's level at the centre and slopes, (3, total)."""
        rows = np.zeros((3, self.total))
        rows[:, self.first : self.first + self.shape.unknowns] = self.shape.maps[facet]
        return rows

    @property
    def paved_facets(self) -> tuple[int, ...]:
        """The facets that have some paving on them."""
        outline = self.area.polygon
        return tuple(
            number
            for number, domain in enumerate(self.shape.domains)
            if shapely.intersection(domain, outline).area > SLIVER
        )

    def facets_before(self, wall: Wall) -> tuple[int, ...]:
        """Return the facets that must fall away from a wall: all that lie before it in reach."""
        paved = self.paved_facets
        if len(self.shape.domains) == 1:
            return paved
        domains = [self.shape.domains[number] for number in paved]
        return tuple(
            paved[number] for number in wall.parts_before(domains, ruled=bool(self.shape.span))
        )

    def facet_at(self, at: Floats) -> NDArray[np.intp]:
        """Return the facet at each point (k, 2) of the plan, the nearest off the frame, (k,)."""
        points = shapely.points(at)
        away = np.stack([shapely.distance(domain, points) for domain in self.shape.domains])
        return np.asarray(away.argmin(axis=0), dtype=np.intp)

    def level_rows(self, at: Floats) -> Floats:
        """Return rows that give the finish at points (k, 2) of the plan, (k, total)."""
        rows = np.column_stack([np.ones(len(at)), at - self.centre])
        placed = np.zeros((len(at), self.total))
        for number, facet in enumerate(self.facet_at(at)):
            placed[number] = rows[number] @ self.map_of(int(facet))
        return placed

    def slope_rows(self, direction: Floats, facets: tuple[int, ...]) -> Floats:
        """Return rows that give the fall of facets along a unit vector, (f, total)."""
        row = np.array([0.0, *(-direction)])
        return np.array([row @ self.map_of(facet) for facet in facets]).reshape(-1, self.total)

    def discs(self, radius: float) -> tuple[Disc, ...]:
        """Return the slopes of each paved facet bounded by a total fall. [ratio]"""
        return tuple(Disc(self.map_of(facet)[1:], radius) for facet in self.paved_facets)

    def surface(self, unknowns: Floats) -> Surface:
        """Return the finish that the unknowns (total,) give."""
        facets = []
        for number, domain in enumerate(self.shape.domains):
            level, dzdx, dzdy = (float(value) for value in self.map_of(number) @ unknowns)
            z0 = level - dzdx * self.centre[0] - dzdy * self.centre[1]
            facets.append(Facet(domain, Plane(float(z0), dzdx, dzdy)))
        twist = 0.0
        if self.shape.span:
            near, near_end, far, far_end = unknowns[self.first : self.first + 4].tolist()
            twist = abs((near_end - near) - (far_end - far)) / self.shape.span
        return Surface(tuple(facets), twist=twist)

    def unknowns_of(self, plane: Plane) -> Floats:
        """Return this block's unknowns for which every facet lies in one plane, (p,)."""
        wanted = np.array([plane.at(self.centre[None])[0], plane.dzdx, plane.dzdy])
        maps = np.vstack(self.shape.maps)
        return np.asarray(
            np.linalg.lstsq(maps, np.tile(wanted, len(self.shape.maps)), rcond=None)[0]
        )
