"""Yards of one patio, as numbers that can be written as a site in any place, turn and unit."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
from hypothesis import strategies as st
from make.sites.on_a_plane import spots_csv, written
from msgspec import Struct

from grading.site.model import Site
from grading.units import FOOT

Floats = np.ndarray
Place = Callable[[Floats], Floats]  # points (k, 2) [m] to where they are put (k, 2) [m]

PATIO = [[0, 0], [6, 0], [6, 4], [0, 4]]
WALLS = {
    "wall": ([[-2, 0], [9, 0]], [3, -3]),
    "corner": ([[0, 7], [0, 0], [9, 0]], [-3, -3]),
}
# No four of them on a circle, so that there is one Delaunay triangulation however it is turned.
SPOTS = [
    (-2, -1), (1.3, -1.2), (4.1, -0.9), (8.2, -1.1),
    (-1.8, 2.3), (0.9, 1.9), (4.4, 2.2), (7.9, 1.6),
    (-2.1, 6.2), (1.2, 5.8), (3.8, 6.4), (8.1, 6.1),
]  # fmt: skip


def stay(points: Floats) -> Floats:
    """Leave points where they are."""
    return points


def put(turn: float, east: float, north: float) -> Place:
    """Return the move that turns counter-clockwise about the origin [degrees] and then shifts."""
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))
    return lambda points: points @ np.array([[cos, sin], [-sin, cos]]) + [east, north]


class Yard(Struct, frozen=True):
    """A patio of 6 by 4 m, the walls beside it, its ground, and what is wished. [m]"""

    house: str
    heights: tuple[float, ...]
    base: str
    sill: float | None
    siding: float | None
    lawn: float | None
    slab: float | None

    def site(
        self, place: Place = stay, unit: str = "m", raised: float = 0.0, grade: str = "free"
    ) -> Site:
        """Write the yard as a site folder and read it."""
        factor = {"m": 1.0, "ft": FOOT}[unit]

        def at(points: list[list[float]]) -> str:
            moved = place(np.array(points, dtype=float)) / factor
            return str(moved.tolist())

        def level(z: float) -> str:
            return repr(float((z + raised) / factor))

        parts = [f'name = "yard"\nunit = "{unit}"\nspots = "spots.csv"']
        if self.house in WALLS:
            walls, inside = WALLS[self.house]
            parts.append(f"[house]\nwalls = {at(walls)}\ninside = {at([inside])[1:-1]}")
        if self.sill is not None:
            parts.append(f"[[door]]\nat = {at([[3, 0]])[1:-1]}\nsill = {level(self.sill)}")
        if self.siding is not None:
            line, z = at([[0, 0], [6, 0]]), level(self.siding)
            parts.append(f"[[ceiling]]\nkind = 'siding'\nat = {line}\nz = {z}")
        if self.lawn is not None:
            line, z = at([[0, 4], [6, 4]]), level(self.lawn)
            parts.append(f"[[floor]]\nkind = 'lawn'\nat = {line}\nz = {z}")
        if self.slab is not None:
            point, z = at([[6, 3]])[1:-1], level(self.slab)
            parts.append(f"[[meet]]\nname = 'slab'\nat = {point}\nz = {z}")
        parts.append(
            f"[[area]]\nname = 'patio'\nuse = 'patio'\noutline = {at(PATIO)}\nbase = '{self.base}'"
            f"\ngrade = '{grade}'"
        )
        heights = np.array(self.heights) + raised
        spots = np.column_stack([place(np.array(SPOTS)), heights]) / factor
        with TemporaryDirectory() as folder:
            return written(Path(folder), "\n".join([*parts, ""]), spots_csv(spots))


def millimetres(least: int, most: int) -> st.SearchStrategy[float]:
    """Lengths that are whole millimetres. [m]"""
    return st.integers(least, most).map(lambda z: z / 1000)


@st.composite
def yards(draw: st.DrawFn) -> Yard:
    """Yards whose ground falls some way, with some of the wishes that a yard can have."""
    fall_x, fall_y = draw(st.tuples(millimetres(-60, 60), millimetres(-60, 60)))
    rough = draw(st.lists(millimetres(-80, 80), min_size=len(SPOTS), max_size=len(SPOTS)))
    heights = [
        round(10 + fall_x * x + fall_y * y + bump, 3)
        for (x, y), bump in zip(SPOTS, rough, strict=True)
    ]
    return Yard(
        house=draw(st.sampled_from(["wall", "corner", "none"])),
        heights=tuple(heights),
        base=draw(st.sampled_from(["dense", "open", "panel"])),
        sill=draw(st.none() | millimetres(9900, 10400)),
        siding=draw(st.none() | millimetres(9950, 10400)),
        lawn=draw(st.none() | millimetres(9500, 10000)),
        slab=draw(st.none() | st.none() | st.none() | millimetres(9700, 10200)),
    )
