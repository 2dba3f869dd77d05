"""Textures of materials in section: clipped to their shape, at true scale, same on every run.

Each holds without colour too: units with joints, dots, cells, angular stones with fines, clean
stones with voids, earth strokes, roots, lifts. A stone smaller than the eye can tell at the
drawing's scale is drawn at the least size that prints. Tones are natural ones, of our choice.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np
import shapely
from msgspec import Struct
from numpy.random import Generator
from shapely.geometry.base import BaseGeometry

from grading.geometry.arrays import Floats
from viz.paper.drawing import Pen
from viz.paper.ink import Ink
from viz.paper.page import Scale

Shape = BaseGeometry
Length = Callable[[float], float]
"""From a length on site [m] to one on paper [mm]."""


class Tone(Struct, frozen=True):
    """How a material looks: ground colour, stones or strokes (light to dark), line."""

    ground: str
    marks: tuple[str, ...]
    line: str = "#2b2b2b"


TONES = {
    "paver": Tone("#cfc6ba", ("#b9aca0", "#c4b8aa", "#ada295"), "#3a332d"),
    "bedding sand": Tone("#f4e3a8", ("#8a6d2f",), "#6b5523"),
    "chips": Tone("#e6e2d8", ("#a9a498", "#8f8b82"), "#55524b"),
    "dense-graded": Tone("#a99c89", ("#c9bda9", "#b7aa95", "#8f8370"), "#3f382e"),
    "open-graded": Tone("#f7f7f5", ("#c3c8cb", "#adb3b7", "#d3d7d9"), "#3b4248"),
    "panel": Tone("#565656", ("#d4d4d4",), "#222222"),  # a plain grey: no maker's colour
    "geotextile": Tone("#444444", ("#ffffff",), "#111111"),
    "refill": Tone("#bdb19b", ("#978a70", "#82755c"), "#6a5d45"),
    "backfill": Tone("#c2a883", ("#7d6238",), "#5b4522"),
    "soil": Tone("#dcc9ac", ("#7a5c3a",), "#5f452a"),
    "topsoil": Tone("#9a7d5c", ("#3f2813",), "#3a2410"),
    "concrete": Tone("#dcdcda", ("#8d8d8b",), "#2b2b2b"),
    "block": Tone("#c0af97", ("#8b7f6e",), "#2f2a24"),
    "cap": Tone("#fffaf0", ("#8f8675",), "#2f2a24"),
    "step unit": Tone("#b0b3ab", ("#877d6c",), "#2f2a24"),
    "drain stone": Tone("#d0dce3", ("#b4bdc2", "#9ba6ac", "#c6ced2"), "#38424a"),
    "pipe": Tone("#59666e", ("#f2f2f2",), "#171c20"),
    "grate": Tone("#6f757a", ("#f2f2f2",), "#171c20"),
    "membrane": Tone("#2a2a2a", ("#ffffff",), "#111111"),
    "channel": Tone("#a9aeb0", ("#5c6163",), "#171c20"),
}
LOOSE = ("soil", "topsoil")  # no line around: the ground lines say where they end
OTHER = "dense-graded"  # drawn for a stone that a site names in its own words


def textured(
    material: str, rings: tuple[Floats, ...], scale: Scale, stretch: float = 1.0, name: str = ""
) -> Iterator[Ink]:
    """Yield the ink of one area of a material.

    Parameters
    ----------
    material : Key of `TONES`; another is drawn as stone.
    rings : Outer ring, then holes, (n, 2) each. [mm]
    scale : Of the drawing, for the true size of stones, units and cells.
    stretch : Vertical exaggeration.
    name : Of the layer, kept on the ink.
    """
    key = material if material in TONES else OTHER
    tone = TONES[key]
    shape = shapely.make_valid(shapely.Polygon(rings[0], list(rings[1:])))
    # A layer thinner than a pen is still seen: its line stands for it.
    thin = None if key in LOOSE else Pen(0.13, tone.line)
    yield Ink(rings, thin, tone.ground, True, name or material)
    if shape.is_empty or shape.area < 1e-3:
        return
    shapely.prepare(shape)
    rng = np.random.default_rng(zlib.crc32(key.encode()))
    yield from _MARKS.get(key, _nothing)(shape, scale.mm, tone, rng)
    if key not in LOOSE:
        yield Ink(rings, Pen(0.18, tone.line), "", True, "edge")


def turf(line: Floats, scale: Scale) -> Iterator[Ink]:
    """Yield tufts of grass along the ground (n, 2) [mm]."""
    rng = np.random.default_rng(zlib.crc32(b"turf"))
    path = shapely.LineString(line)
    high = max(scale.mm(0.035), 0.9)
    at = np.arange(high * 0.4, path.length, max(high * 0.75, 1.1))
    if not len(at):
        return
    feet = shapely.get_coordinates(shapely.line_interpolate_point(path, at))
    rings = []
    for lean in (-0.45, -0.1, 0.3):
        jitter = rng.uniform(0.75, 1.15, len(at))
        heads = feet + np.column_stack([lean * high * jitter, high * jitter])
        rings += list(np.stack([feet, heads], axis=1))
    yield Ink(tuple(rings), Pen(0.16, "#4d6b2f"), name="turf")


def _nothing(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    yield from ()


def _grid(shape: Shape, step: float, jitter: float, rng: Generator, row: float = 0.0) -> Floats:
    """Return points on a jittered brick grid over a shape's bounds. [mm]"""
    x0, y0, x1, y1 = shape.bounds
    row = row or step * 0.87
    nx, ny = int((x1 - x0) / step) + 3, int((y1 - y0) / row) + 3
    ix, iy = np.meshgrid(np.arange(nx), np.arange(ny))
    points = np.column_stack(
        [
            (x0 - step + (ix + 0.5 * (iy % 2)) * step).ravel(),
            (y0 - row + (iy + 0.5) * row).ravel(),
        ]
    )
    return np.asarray(points + rng.uniform(-jitter, jitter, points.shape) * step)


def _inside(shape: Shape, points: Floats) -> Floats:
    return points[shapely.contains_xy(shape, points[:, 0], points[:, 1])]


def _lines_within(shape: Shape, lines: Sequence[Any] | Floats) -> tuple[Floats, ...]:
    """Return segments (k, n, 2) clipped to the shape."""
    if not len(lines):
        return ()
    cut = shapely.get_parts(shapely.intersection(shapely.linestrings(lines), shape))
    cut = cut[(shapely.get_type_id(cut) == 1) & (shapely.length(cut) > 0.05)]
    return tuple(shapely.get_coordinates(line) for line in cut)


def _polygons_within(shape: Shape, polygons: Any) -> Any:
    whole = shapely.covers(shape, polygons)
    met = ~whole & shapely.intersects(shape, polygons)
    cut = shapely.get_parts(shapely.intersection(polygons[met], shape))
    parts = np.concatenate([polygons[whole], cut[shapely.get_type_id(cut) == 3]])
    return parts[shapely.area(parts) > 0.004]


def _rings(polygons: Any) -> tuple[Floats, ...]:
    """Return rings of polygons, outer ones one way about and holes the other, as fills need."""
    oriented = shapely.orient_polygons(polygons)
    rings = [shapely.get_exterior_ring(oriented)]
    if np.any(shapely.get_num_interior_rings(oriented)):
        rings.append(np.array([ring for p in oriented for ring in p.interiors]))
    return tuple(shapely.get_coordinates(ring)[:-1] for ring in np.concatenate(rings))


def _stones(
    shape: Shape, points: Floats, gap: float, tone: Tone, pen: Pen | None, round_by: float = 0.0
) -> Iterator[Ink]:
    """Yield the cells about points as stones, `gap` mm apart, in the tones in turn."""
    if len(points) < 3:
        return
    cells = shapely.get_parts(
        shapely.voronoi_polygons(shapely.multipoints(points), extend_to=shape.envelope)
    )
    cells = shapely.buffer(cells, -gap / 2 - round_by, join_style="mitre")
    if round_by:
        cells = shapely.buffer(cells, round_by, quad_segs=2)
    cells = shapely.get_parts(cells)
    cells = _polygons_within(shape, cells[~shapely.is_empty(cells)])
    # By place, so that the order in which the cells were found does not show.
    x, y = shapely.get_coordinates(shapely.centroid(cells)).T if len(cells) else ([], [])
    order = np.lexsort((np.round(y, 6), np.round(x, 6)))
    for k, fill in enumerate(tone.marks):
        part = cells[order[k :: len(tone.marks)]]
        if len(part):
            yield Ink(_rings(part), pen, fill, True, "stones")


def _dots(shape: Shape, points: Floats, size: float, colour: str) -> Iterator[Ink]:
    inside = _inside(shape, points)
    diamond = np.array([(-0.5, 0), (0, -0.5), (0.5, 0), (0, 0.5)]) * size
    if len(inside):
        yield Ink(tuple(inside[:, None, :] + diamond), None, colour, True, "dots")


def _paver(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    x0, y0, x1, y1 = shape.bounds
    unit, joint = max(mm(0.2), 1.6), max(mm(0.004), 0.22)
    edges = np.arange(x0, x1 + unit, unit)
    tones = rng.integers(0, len(tone.marks), len(edges))
    for left, shade in zip(edges, tones, strict=True):
        box = shapely.box(left, y0 - 1, min(left + unit - joint, x1), y1 + 1)
        part = shapely.intersection(shape, box)
        for piece in getattr(part, "geoms", [part]):
            if piece.geom_type == "Polygon" and piece.area > 0.01:
                fill = tone.marks[int(shade)]
                yield Ink(_rings([piece]), Pen(0.18, tone.line), fill, True, "unit")


def _sand(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    yield from _dots(shape, _grid(shape, 0.55, 0.42, rng), 0.2, tone.marks[0])


def _chips(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    size = max(mm(0.009), 0.8)
    yield from _stones(shape, _grid(shape, size, 0.3, rng), 0.2, tone, Pen(0.06, tone.line))


def _dense(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """Angular stones of mixed size with fines between them."""
    big = max(mm(0.022), 1.3)
    coarse = _grid(shape, big * 1.5, 0.36, rng)
    fine = _grid(shape, big * 0.55, 0.4, rng)
    fine_points: Any = shapely.points(fine)
    gap = shapely.distance(fine_points, shapely.multipoints(coarse))
    points = np.concatenate([coarse, fine[gap > big * 0.62]])
    yield from _stones(shape, points, 0.15, tone, Pen(0.08, tone.line))
    yield from _dots(shape, _grid(shape, 1.0, 0.5, rng), 0.17, tone.line)


def _open(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """Clean stones of one size, with voids between them."""
    size = max(mm(0.02), 1.25)
    points = _grid(shape, size, 0.2, rng)
    yield from _stones(shape, points, size * 0.14, tone, Pen(0.13, tone.line), round_by=size * 0.1)


def _panel(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """Cells between two skins, light on dark."""
    x0, y0, x1, y1 = shape.bounds
    cell = max(mm(0.03), 1.4)
    wall = cell * 0.28
    inner = shapely.buffer(shape, -min(0.22, mm(0.004) + 0.08), join_style="mitre")
    if inner.is_empty:
        return
    left: Any = np.arange(x0, x1, cell)  # shapely tells of arrays less than it takes
    boxes = shapely.box(left + wall / 2, y0 - 1, left + cell - wall / 2, y1 + 1)
    shapely.prepare(inner)
    cells = _polygons_within(inner, boxes)
    if len(cells):
        yield Ink(_rings(cells), None, tone.marks[0], True, "cells")


def _refill(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """Scattered stones, and the lifts it was compacted in."""
    size = max(mm(0.016), 1.0)
    points = _inside(shape, _grid(shape, size * 2.3, 0.4, rng))
    corner = rng.uniform(0, 2 * np.pi, (len(points), 1)) + np.array([[0.0, 2.2, 4.1]])
    radius = size * rng.uniform(0.35, 0.6, (len(points), 3))
    if len(points):
        arms = np.stack([radius * np.cos(corner), radius * np.sin(corner)], axis=2)
        stones = shapely.polygons(points[:, None, :] + arms)
        parts = _polygons_within(shape, stones)
        yield Ink(_rings(parts), Pen(0.1, tone.line), tone.marks[1], True, "stones")
    x0, y0, x1, y1 = shape.bounds
    lift = max(mm(0.05), 1.3)
    rows = np.arange(y0 + lift * 0.6, y1, lift)
    dash = np.arange(x0, x1, 3.4)
    if len(rows) and len(dash):
        at = np.stack(np.meshgrid(dash, rows), axis=-1)
        at[1::2, :, 0] += 1.7
        feet = at.reshape(-1, 2)
        lines = np.stack([feet, feet + np.array([2.2, 0.0])], axis=1)
        yield Ink(_lines_within(shape, lines), Pen(0.13, tone.line), name="lifts")


def _earth(shape: Shape, step: float, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """Groups of three short strokes, leaning one way and the other in turn."""
    points = _grid(shape, step, 0.12, rng, step * 0.62)
    lean = np.where(rng.random(len(points)) < 0.5, 1.0, -1.0)
    lines = []
    for k in (-1, 0, 1):
        foot = points + np.column_stack([k * 0.62 * np.ones(len(points)), np.zeros(len(points))])
        half = np.column_stack([lean * 0.75, np.full(len(points), 0.75)])
        lines.append(np.stack([foot - half, foot + half], axis=1))
    yield Ink(_lines_within(shape, np.concatenate(lines)), Pen(0.16, tone.marks[0]), name="earth")


def _soil(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    yield from _earth(shape, 5.2, tone, rng)


def _backfill(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    yield from _earth(shape, 3.4, tone, rng)
    yield from _dots(shape, _grid(shape, 1.1, 0.5, rng), 0.22, tone.marks[0])


def _topsoil(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """Dots, and roots that wander down."""
    yield from _dots(shape, _grid(shape, 0.95, 0.5, rng), 0.24, tone.marks[0])
    points = _grid(shape, 2.6, 0.35, rng, 1.9)
    if not len(points):
        return
    long = max(mm(0.05), 1.5)
    down = np.linspace(0, 1, 6)
    sway = rng.uniform(-0.35, 0.35, (len(points), 6)) * long * 0.5
    sway[:, 0] = 0
    x = points[:, :1] + np.cumsum(sway, axis=1)
    y = points[:, 1:] - down[None, :] * long
    lines = np.stack([x, y], axis=2)
    yield Ink(_lines_within(shape, lines), Pen(0.14, tone.marks[0]), name="roots")


def _concrete(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    yield from _dots(shape, _grid(shape, 1.2, 0.5, rng), 0.2, tone.marks[0])
    points = _inside(shape, _grid(shape, 4.0, 0.35, rng))
    corner = rng.uniform(0, 2 * np.pi, (len(points), 1)) + np.array([[0.0, 2.1, 4.2]])
    arms = 0.55 * np.stack([np.cos(corner), np.sin(corner)], axis=2)
    if len(points):
        parts = _polygons_within(shape, shapely.polygons(points[:, None, :] + arms))
        yield Ink(_rings(parts), Pen(0.12, tone.marks[0]), "", True, "aggregate")


def _unit(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """A unit of masonry: strokes along both diagonals of a wide grid, as of a broken face."""
    reach = 0.9
    for turn in (1.0, -1.0):
        points = _grid(shape, 3.4, 0.25, rng)
        ends = np.array([[-reach, -turn * reach / 2], [reach, turn * reach / 2]]) / 2
        lines = points[:, None, :] + ends
        yield Ink(_lines_within(shape, lines), Pen(0.12, tone.marks[0]), name="unit face")


def _cap(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """A cap: level strokes along it."""
    x0, y0, x1, y1 = shape.bounds
    lines = [[[x0, y], [x1, y]] for y in np.arange(y0 + 0.5, y1, 0.8)]
    yield Ink(_lines_within(shape, lines), Pen(0.1, tone.marks[0]), name="unit face")


def _step(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """A step unit: sparse dots in upright pairs."""
    points = _grid(shape, 2.2, 0.3, rng)
    pairs = np.concatenate([points, points + np.array([0.0, 0.55])])
    yield from _dots(shape, pairs, 0.24, tone.marks[0])


def _bars(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """A grate: upright bars of light between dark."""
    x0, y0, x1, y1 = shape.bounds
    step = max(mm(0.02), 0.7)
    lines = [[[x, y0], [x, y1]] for x in np.arange(x0 + step / 2, x1, step)]
    yield Ink(_lines_within(shape, lines), Pen(0.22, tone.marks[0]), name="bars")


def _hollow(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """A pipe: the line of its wall within its outline."""
    wall = shapely.buffer(shape, -min(0.35, mm(0.006) + 0.1))
    rings = [shapely.get_coordinates(ring) for ring in shapely.get_rings(shapely.get_parts(wall))]
    if rings:
        yield Ink(tuple(rings), Pen(0.2, tone.marks[0]), name="wall of the pipe")


def _dashes(shape: Shape, mm: Length, tone: Tone, rng: Generator) -> Iterator[Ink]:
    """A membrane: light dashes along it."""
    x0, y0, x1, y1 = shape.bounds
    middle = (y0 + y1) / 2
    lines = [[[x, middle], [x + 1.2, middle]] for x in np.arange(x0, x1, 2.4)]
    yield Ink(_lines_within(shape, lines), Pen(0.12, tone.marks[0]), name="dashes")


_MARKS = {
    "paver": _paver,
    "bedding sand": _sand,
    "chips": _chips,
    "dense-graded": _dense,
    "open-graded": _open,
    "panel": _panel,
    "refill": _refill,
    "backfill": _backfill,
    "soil": _soil,
    "topsoil": _topsoil,
    "concrete": _concrete,
    "block": _unit,
    "cap": _cap,
    "step unit": _step,
    "drain stone": _open,
    "pipe": _hollow,
    "grate": _bars,
    "membrane": _dashes,
    "channel": _concrete,
}
