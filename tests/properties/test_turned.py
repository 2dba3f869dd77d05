"""A house may stand at any angle to the axes: what is told of its walls stays what it was."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from make.sites.handmade import grid_of_spots, site_of

from grading.pipeline import Plan, plan
from grading.units import METRES, Unit
from grading.water.model import margins_of

FALL = 1e-4  # ratio: coordinates to a millimetre turn a wall of ten metres by no more
RUN = 3e-3  # m

# Foundation line, a point inside, the outlines of the areas, their shapes.
HOUSES = {
    "one wall": ([[-1, 0], [11, 0]], [5, -3], [[[1, 0], [9, 0], [9, 2.5], [1, 2.5]]], ["plane"]),
    "a patio that ends with the wall": (
        [[0, 6.5], [0, 0], [8, 0], [8, -4]], [4, -3], [[[0, 0], [8, 0], [8, 2.5], [0, 2.5]]],
        ["plane"],
    ),
    "an inside corner, a valley": (
        [[-1, 0], [8, 0], [8, 7]], [9.5, -2], [[[3, 0], [8, 0], [8, 4.5], [3, 4.5]]], ["valley"],
    ),
    "an inside corner, a valley and a plane beside it": (
        [[-1, 0], [8, 0], [8, 7]], [9.5, -2],
        [[[3, 0], [8, 0], [8, 4.5], [3, 4.5]], [[0, 0], [3, 0], [3, 4.5], [0, 4.5]]],
        ["valley", "plane"],
    ),
    "an outside corner, a fan": (
        [[4, 7], [4, 4], [11, 4]], [8, 6],
        [[[1.5, 1.5], [9, 1.5], [9, 4], [4, 4], [4, 6], [1.5, 6]]], ["fan"],
    ),
}  # fmt: skip


def turned(name: str, turn: float, unit: Unit = "m") -> Plan:
    """Return the plan of a site turned by so many degrees, its coordinates to three decimals."""
    walls, inside, outlines, shapes = HOUSES[name]
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def at(points: list[list[float]]) -> list[list[float]]:
        moved = np.array(points, float) @ np.array([[cos, sin], [-sin, cos]])
        return np.round(moved / METRES[unit], 3).tolist()

    spots = grid_of_spots(lambda x, y: 30 + 0.01 * x - 0.03 * y, ((-3, -2), (13, 10)))
    spots[:, :2] = np.array(at(spots[:, :2].tolist())) * METRES[unit]
    areas = [
        {"name": f"area {number}", "outline": at(outline), "shape": shape, "base": "dense"}
        for number, (outline, shape) in enumerate(zip(outlines, shapes, strict=True))
    ]
    house = {"walls": at(walls), "inside": at([inside])[0]}
    return plan(site_of(spots, areas, unit=unit, house=house))


@cache
def unturned(name: str) -> Plan:
    return turned(name, 0.0)


def told(made: Plan) -> dict[str, list[float]]:
    """Return every fall, and every run, that is told of the walls."""
    found = {}
    for area in made.areas:
        for wall in area.walls:
            key = f"{area.area.name}, {wall.wall.name}"
            beyond = [] if wall.beyond is None else [wall.beyond.fall]
            found[f"{key}: falls"] = [wall.fall_away, *beyond]
            over = [] if wall.beyond is None else [wall.beyond.length]
            found[f"{key}: runs"] = [wall.near, wall.distance, *over]
    for wall in made.water.walls:
        for kind, worst in (("paving", wall.paved), ("ground", wall.ground)):
            if worst is not None:
                found[f"{wall.wall}, {kind}: falls"] = [worst.fall]
                found[f"{wall.wall}, {kind}: runs"] = [worst.distance, worst.length]
    for name, left in margins_of(made.water):
        found[f"{name}, margin: falls"] = [left.fall, left.settled, left.heaved]
        found[f"{name}, margin: runs"] = [left.used_up, left.run, left.zone]
    return found


@pytest.mark.parametrize("name", HOUSES)
@given(turn=st.floats(0.0, 360.0), unit=st.sampled_from(["m", "ft"]))
@example(turn=27.0, unit="ft")
@settings(max_examples=8)
def test_turning_the_house_changes_nothing_that_is_told_of_its_walls(
    name: str, turn: float, unit: Unit
) -> None:
    first, second = told(unturned(name)), told(turned(name, turn, unit))
    assert first.keys() == second.keys()
    for key, values in first.items():
        tolerance = RUN if key.endswith("runs") else FALL
        assert second[key] == pytest.approx(values, abs=tolerance), key
