"""A patio by a wall on a small yard, made by hand, and where its water goes."""

from __future__ import annotations

from typing import Any

import numpy as np
from make.plans.water_grid import box, yard

from grading.catalogue.rules import Limits
from grading.checks.maker import Check
from grading.checks.water import water_checks
from grading.design.places import Places
from grading.geometry.plane import Plane
from grading.site.model import Outfall, Storm
from grading.water.course import Paved
from grading.water.destinations import destinations_of
from grading.water.model import Water, water_of

HOUSE = box(-2, -6, 14, 0)
WALL = ("wall 1", np.array([0.0, 0.0]), np.array([12.0, 0.0]), np.array([0.0, 1.0]))
PATIO = box(2, 0, 8, 4)
FINISH = Plane(5.1, 0.0, -0.02)
LAWN = Outfall(name="lawn", kind="lawn", at=[[0, 6], [12, 6]])
STORM = Storm(intensity="4 in/h", infiltration="0.5 in/h")


def falling(x: Any, y: Any) -> Any:
    """Return a lawn that falls 3 % away from the wall. [m]"""
    return 5.0 - 0.03 * y


def water(
    height=falling, finish=FINISH, outline=PATIO, outfalls=(LAWN,), floors=(), house=HOUSE,
    walls=(WALL,), limits=None, **kwargs,
) -> Water:  # fmt: skip
    """Return where the water of the yard goes."""
    ground = yard(height)
    pieces = finish if isinstance(finish, list) else [(outline, finish)]
    paving = [Paved("patio", polygon, plane.at) for polygon, plane in pieces]
    surfaces = [(piece.polygon, piece.level) for piece in paving]
    places = destinations_of(outfalls, floors, surfaces, ground)
    return water_of(ground, paving, house, walls, places, Limits(limits or {}), **kwargs)


def checked(
    made: Water, limits: Any = None, unit: Any = "ft", rests: str = ""
) -> dict[tuple[str, str], Check]:
    """Return its checks by rule and place."""
    places = Places(unit, (WALL,))
    checks = water_checks(made, Limits(limits or {}, unit), places, rests)
    return {(check.rule, check.where): check for check in checks}


def shares(made: Water) -> dict[str, float]:
    """Return the share of the patio's rain that ends at each place."""
    return {part.destination: part.share for part in made.areas[0].shares}
