"""What a vertical cut through one area of paving meets, in distance along it and elevation."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from msgspec import Struct
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from grading.catalogue.bases import BaseSystem
from grading.design.levels import Levels
from grading.dig.beds import REFILL, Bed
from grading.dig.edge_sections import Edging
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOUCH
from grading.section.line import Interval
from grading.section.profile import Profile
from grading.section.standing import Solid, Standing

NEAR = 0.05
"""Paving so near to a place is at it. [m]"""

DEEP = 0.3
"""A base goes on so far below everything else that is dug, and is shown no farther. [m]"""

THINNEST = 1e-3
"""Refill thinner than this is none. [m]"""


class Hole(Struct, frozen=True):
    """A stretch that is dug: from where to where [m], down to which formation, and whose it is."""

    start: float
    end: float
    formation: Profile
    own: bool


class WallCut(Struct, frozen=True):
    """A house wall in the cut: where its face is [m], and on which side the house lies."""

    at: float
    side: float  # -1: the house is before the face along the line, +1: after it
    sill: float | None = None
    door: str = ""
    risers: int = 1  # how many steps lead down from the sill
    riser: float = 0.0  # m: each of them, where there are several


class FreeEnd(Struct, frozen=True):
    """Where along the cut the paving ends free [m], and how much wider its edge is cut there."""

    at: float
    slant: float


class Paving(Struct, frozen=True, eq=False):
    """The paving of one area along a line, on one base system. [m]

    Attributes
    ----------
    name : str
        Of the area.
    system : BaseSystem
    paved, dug : tuple of (float, float)
        Where it lies, and where its hole is.
    finish, formation : Profile
    ground, organics : (n, 2) float
        Existing ground and the bottom of its organics: distance and level.
    solids : tuple of Solid
    standing : tuple of Standing
        What stands in it on bases of its own.
    """

    name: str
    system: BaseSystem
    paved: tuple[Interval, ...]
    dug: tuple[Interval, ...]
    finish: Profile
    formation: Profile
    ground: Floats
    organics: Floats
    solids: tuple[Solid, ...] = ()
    standing: tuple[Standing, ...] = ()

    @property
    def pavings(self) -> Sequence[Paving]:
        """Every paving that is dug for where this one lies, itself first."""
        return (self,)

    @property
    def paving(self) -> Interval:
        """First and last edge of the paving. [m]"""
        return self.paved[0][0], self.paved[-1][1]

    def finish_at(self, s: ArrayLike) -> Floats:
        """Return the finish at distances s. [m]"""
        return self.finish.at(s)

    def formation_at(self, s: ArrayLike) -> Floats:
        """Return the subgrade level that the lowest layer stands on, at distances s. [m]"""
        return self.formation.at(s)

    def ground_at(self, s: ArrayLike) -> Floats:
        """Return the existing ground at distances s. [m]"""
        return np.asarray(np.interp(np.asarray(s), *self.ground.T))

    def organics_at(self, s: ArrayLike) -> Floats:
        """Return the bottom of the organics at distances s. [m]"""
        return np.asarray(np.interp(np.asarray(s), *self.organics.T))

    def dug_at(self, s: ArrayLike) -> Floats:
        """Return the dug surface at distances s, which lie within the dig. [m]"""
        return np.minimum(self.formation_at(s), self.organics_at(s))

    def along_finish(self, low: float, high: float) -> Floats:
        """Return two distances and those of the folds between them. [m]"""
        return np.array([low, *(end for _, end, _ in self.finish.stretches(low, high))])

    def stops(self, low: float, high: float) -> Floats:
        """Return every distance between two others at which something bends. [m]"""
        edges = [e for pair in self.paved for e in pair]
        edges += [e for each in self.pavings for pair in each.dug for e in pair]
        formations = [each.formation for each in self.pavings]
        folds = [self.finish.bends, *(formation.bends for formation in formations)]
        every = np.concatenate([self.ground[:, 0], self.organics[:, 0], *folds, edges, (low, high)])
        kept = np.unique(every[(every >= low) & (every <= high)])
        more = [crossings(kept, each.at(kept) - self.organics_at(kept)) for each in formations]
        return np.unique(np.concatenate([kept, *more]))

    def beds_at(self, s: float) -> tuple[Bed, ...]:
        """Return what lies under the finish at a distance [m]: every layer, then the refill."""
        beds = [
            Bed(layer.name, layer.material, layer.role, top, layer.thickness)
            for layer, top in zip(self.system.layers, self.system.tops(), strict=True)
        ]
        refill = float(self.formation_at(s) - self.dug_at(s))
        if refill > THINNEST:
            beds.append(Bed(REFILL, "refill", "refill", self.system.build_up, refill))
        return tuple(beds)


class Cut(Paving, frozen=True, kw_only=True):
    """All that a line meets, in distance along it and elevation. [m]

    Attributes
    ----------
    start, along : (2,) float
        In plan where distances count from, and the unit vector of the line.
    ends : (float, float)
        From where to where it is known.
    edging : Edging
        The edge in section.
    held : float
        How high it may stand above the ground before a wall or a slope has to hold it.
    walls : tuple of WallCut
    free_ends : tuple of FreeEnd
        Where along the line the edge is free.
    others : tuple of Paving
        Of other areas, each on its own base.
    treads : tuple of shapely geometry
        Those of steps onto, off and beside the area, from the lowest up.
    """

    start: Floats
    along: Floats
    ends: Interval
    edging: Edging
    held: float
    walls: tuple[WallCut, ...] = ()
    free_ends: tuple[FreeEnd, ...] = ()
    others: tuple[Paving, ...] = ()
    treads: tuple[BaseGeometry, ...] = ()

    @property
    def pavings(self) -> Sequence[Paving]:
        """The paving that is cut, then that of others."""
        return (self, *self.others)

    @property
    def things(self) -> tuple[Standing, ...]:
        """Every thing on a base of its own, in this paving or in other."""
        return tuple(thing for each in self.pavings for thing in each.standing)

    @property
    def has_organics(self) -> bool:
        """Whether there are organics to strip along the line."""
        return bool(np.any(self.ground_at(self.organics[:, 0]) - self.organics[:, 1] > TOUCH))

    @property
    def holes(self) -> tuple[Hole, ...]:
        """Every stretch that is dug, of this area and of others, with its dug surface."""
        every = [
            Hole(a, b, each.formation, each is self) for each in self.pavings for a, b in each.dug
        ]
        return tuple(sorted(every, key=lambda hole: hole.start))

    def floor_of(self, hole: Hole, s: ArrayLike) -> Floats:
        """Return the dug surface of a hole at distances s within it. [m]"""
        return np.minimum(hole.formation.at(s), self.organics_at(s))

    def deepest_in(self, *s: float) -> float:
        """Return the lowest dug surface at distances, and at the ends of holes among them. [m]"""
        return min(
            float(self.floor_of(hole, np.clip(s, hole.start, hole.end)).min())
            for hole in self.holes
            if hole.start < max(s) and hole.end > min(s)
        )

    @property
    def undug(self) -> tuple[Interval, ...]:
        """Every stretch between the ends that nothing is dug in. [m]"""
        s, found = self.ends[0], []
        for hole in self.holes:
            if hole.start - s > TOUCH:
                found.append((s, hole.start))
            s = max(s, hole.end)
        if self.ends[1] - s > TOUCH:
            found.append((s, self.ends[1]))
        return tuple(found)

    @property
    def deepest(self) -> float:
        """The lowest level of the ground, of the organics and of every dug surface. [m]"""
        s = self.stops(*self.ends)
        floors = [float(self.ground_at(s).min()), float(self.organics_at(s).min())]
        for hole in self.holes:
            floors.append(float(self.floor_of(hole, self.stops(hole.start, hole.end)).min()))
        # A footing may go on below the picture.
        feet = [float(thing.base.bounds[1]) for thing in self.things if not thing.base.is_empty]
        return min([*floors, max(min([*feet, np.inf]), min(floors) - DEEP)])

    @property
    def highest(self) -> float:
        """The highest level of the ground and of every finish. [m]"""
        tops = [float(self.ground_at(self.stops(*self.ends)).max()),
                float(self.finish_at(self.along_finish(*self.paving)).max())]  # fmt: skip
        tops += [
            float(other.finish_at(other.along_finish(*span)).max())
            for other in self.others
            for span in other.paved
        ]
        tops += [float(thing.body.bounds[3]) for thing in self.things if not thing.body.is_empty]
        return max(tops)

    def plan_point(self, s: float) -> tuple[float, float]:
        """Return the place in plan (2,) of a distance along the line. [m]"""
        x, y = self.start + self.along * s
        return float(x), float(y)

    def levels_at(self, s: Floats) -> Levels:
        """Return the levels at distances (n,) along the line. [m]"""
        xy = self.start + s[:, None] * self.along
        finish, formation = self.finish_at(s), self.formation_at(s)
        return Levels(xy, self.ground_at(s), finish, formation, self.dug_at(s))

    @property
    def layers_at(self) -> tuple[float, float]:
        """The edge at which layers are told, and which way is out: a free one before a wall. [m]"""
        walled = {wall.side for wall in self.walls}
        if 1.0 in walled and -1.0 not in walled:
            return self.paving[0], -1.0
        return self.paving[1], 1.0

    def sill_over(self, wall: WallCut) -> tuple[float, Paving] | None:
        """Return how high the sill of a wall stands over the finish before it [m], and whose.

        None where no door is cut.
        """
        if wall.sill is None:
            return None
        other = self.other_at(wall.at)
        at = wall.at if other is not None else self.paving[0 if wall.side < 0 else 1]
        paving = other or self
        return wall.sill - float(paving.finish_at(at)), paving

    def face_of(self, edge: float, out: float) -> float:
        """Return where the own hole ends beyond an edge of the paving: there, or farther out. [m]

        `out` is +1 where the yard lies after the edge, -1 before it.
        """
        dug = [end for span in self.dug for end in span if (end - edge) * out > TOUCH]
        return min(dug, key=lambda end: abs(end - edge), default=edge)

    def raised_at(self, edge: float) -> bool:
        """Return whether the paving's edge at a distance [m] stands so high that it is held."""
        if self.edging.of_wall:
            return self.free_at(edge)
        rise = float(self.finish_at(edge) - self.ground_at(edge))
        return rise > self.held and self.other_at(edge) is None

    def free_at(self, edge: float) -> bool:
        """Return whether the paving's edge at a distance [m] is one that nothing lies along."""
        return any(abs(edge - end.at) < TOUCH for end in self.free_ends)

    def slant_at(self, edge: float) -> float:
        """Return how much wider than it is what lies along the edge at a distance [m] is cut."""
        return next((end.slant for end in self.free_ends if abs(edge - end.at) < TOUCH), 1.0)

    def other_at(self, s: float, near: float = NEAR) -> Paving | None:
        """Return the other paving that lies at a distance, or so near to it. [m]"""
        for other in self.others:
            if any(low - near <= s <= high + near for low, high in other.paved):
                return other
        return None


def crossings(s: Floats, gap: Floats) -> Floats:
    """Return where a piecewise linear gap (n,) over s (n,) passes through zero."""
    a, b = gap[:-1], gap[1:]
    turns = a * b < 0
    share = a[turns] / (a[turns] - b[turns])
    return np.asarray(s[:-1][turns] + share * np.diff(s)[turns])
