"""Something built beside or below the paving: what it takes, what is dug for it, how it looks."""

from __future__ import annotations

import numpy as np
import shapely
from msgspec import Struct, field

from grading.crew.lines import Maker, Work
from grading.geometry.arrays import Floats, Region
from grading.geometry.plane import Plane

Level = Plane | float
"""The top or the bottom of a solid: a level, or a plane. [m]"""


class Solid(Struct, frozen=True, eq=False):
    """One body of a structure, upright: a footprint between two levels or planes.

    Attributes
    ----------
    material : str
        One that the drawings and the scene have a tone for.
    footprint : shapely polygon or multipolygon
        [m]
    bottom, top : Level
        Elevations. [m]
    """

    material: str
    footprint: Region
    bottom: Level
    top: Level

    def between(self, points: Floats) -> tuple[Floats, Floats]:
        """Return its bottom (n,) and top (n,) at points (n, 2). [m]"""
        bottom, top = (_at(each, points) for each in (self.bottom, self.top))
        return bottom, top


def _at(level: Level, points: Floats) -> Floats:
    if isinstance(level, Plane):
        return level.at(points)
    return np.full(len(points), float(level))


class Dug(Struct, frozen=True):
    """What is dug for a structure beyond the hole of the paving: a union of both, never a sum.

    Attributes
    ----------
    bank : float
        All of it, in the bank. [m3]
    topsoil : float
        Of it, topsoil. [m3]
    put_back : float
        Soil put back, as it lay in the bank; no topsoil, and none of it behind a wall or under
        paving. [m3]
    filled : float
        Soil placed above the ground as it lay, in place, whether the dig gives it or it is
        brought. [m3]
    turfed : float
        Of it, topsoil under grass. [m3]
    """

    bank: float = 0.0
    topsoil: float = 0.0
    put_back: float = 0.0
    filled: float = 0.0
    turfed: float = 0.0


class Structure(Struct, frozen=True, eq=False):
    """Something built beside or below the paving.

    Attributes
    ----------
    kind : str
        "block wall", "curb", "grass slope", "steps", "channel drain", "dry well", ...
    name : str
        Told apart from all others of the site.
    area : str
        Of the area that it is built with.
    solids : tuple of Solid
        As it is drawn.
    makers : tuple of Maker
        Make the lines that it takes.
    works : tuple of Work
        What is to be done for it, but digging, carrying and what follows from its lines by item.
    dug : Dug
    said : str
        What it is, in a sentence for the crew.
    plain : str
        The same for who pays for it, in everyday words; of walls, curbs and steps that hold an edge
        it tells all of the area together.
    alone : str
        The same of it alone, where `plain` tells others with it.
    cautions : tuple of str
        Whom to ask, and what it must not be taken for; a sentence each.
    not_counted : tuple of str
        What it still needs that is neither ordered nor in the hours.
    stands : shapely geometry
        Where it stands beside the paving, in plan: nothing of the paving's base goes on beyond the
        edge there, and no lawn is put back. [m]
    drained : shapely geometry
        Where clean stone of its own takes the place of a base that is not clean. [m]
    """

    kind: str
    name: str
    area: str
    solids: tuple[Solid, ...] = ()
    makers: tuple[Maker, ...] = ()
    works: tuple[Work, ...] = ()
    dug: Dug = Dug()
    said: str = ""
    plain: str = ""
    alone: str = ""
    cautions: tuple[str, ...] = ()
    not_counted: tuple[str, ...] = ()
    stands: Region = field(default_factory=shapely.MultiPolygon)
    drained: Region = field(default_factory=shapely.MultiPolygon)
