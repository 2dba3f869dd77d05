"""A drawing: a recording, in metres, of what was drawn; it knows no page and no file format."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
from msgspec import Struct, field
from shapely.geometry.polygon import orient

Point = tuple[float, float]
Ring = tuple[Point, ...]


class Pen(Struct, frozen=True):
    """A line: width [mm], colour, and dashes as on and off lengths [mm]."""

    width: float = 0.25
    colour: str = "#1a1a1a"
    dash: tuple[float, ...] = ()


CUT = Pen(0.5)
OUTLINE = Pen(0.35)
THIN = Pen(0.2)
FINE = Pen(0.13)
FAINT = Pen(0.13, "#8a8a8a")
HIDDEN = Pen(0.2, "#1a1a1a", (1.2, 0.8))
GROUND = Pen(0.35, "#1a1a1a", (5.0, 1.4))
ORGANICS = Pen(0.25, "#4a2c12", (2.2, 0.7, 0.5, 0.7))
CENTRE = Pen(0.2, "#1a1a1a", (6.0, 1.0, 1.0, 1.0))


class Polyline(Struct, frozen=True):
    """A line through points (n, 2) [m]."""

    points: Ring
    pen: Pen = THIN
    layer: str = ""
    closed: bool = False


class Area(Struct, frozen=True):
    """An area: outer ring, then holes [m]; of a material, or filled with a colour."""

    rings: tuple[Ring, ...]
    material: str = ""
    fill: str = ""
    pen: Pen | None = None
    layer: str = ""


class Text(Struct, frozen=True):
    """Words at a point [m].

    `shift` moves them on paper [mm]; `size` is the type size [mm]; `others` are further shifts
    that may be tried when the first is taken, and `leads` draws a line back to the point then;
    words that are `optional` are left out where there is no room for them; those whose shifts all
    lie `on_it`, on what they name, are led back only from farther away.
    """

    at: Point
    words: str
    size: float = 2.5
    across: str = "center"
    up: str = "middle"
    rotation: float = 0.0
    shift: Point = (0.0, 0.0)
    colour: str = "#1a1a1a"
    bold: bool = False
    ground: bool = False
    others: tuple[Point, ...] = ()
    leads: bool = False
    on_it: bool = False
    optional: bool = False
    layer: str = "text"


class Dimension(Struct, frozen=True):
    """A length between two points [m], its line `offset` mm to the left of start -> end."""

    start: Point
    end: Point
    words: str
    offset: float = 6.0
    size: float = 2.4
    along: tuple[float, float] | None = None  # direction measured, when not start -> end
    beside: str = "end"  # where the words go that do not fit between: "start" or "end"
    ground: bool = False  # whether the words lie on white, so that no line strikes them through
    layer: str = "dimensions"


class Leader(Struct, frozen=True):
    """Words joined by a bent line to the point [m] that they speak of.

    `shift` [mm] leads from the point to the words; `across` says which side of them it meets.
    """

    tip: Point
    words: str
    shift: Point
    across: str = "left"
    size: float = 2.4
    bold: bool = False
    dot: bool = True
    layer: str = "labels"


class Symbol(Struct, frozen=True):
    """A mark of a named kind at a point [m], `size` mm big."""

    kind: str
    at: Point
    size: float = 2.5
    rotation: float = 0.0
    layer: str = "symbols"


class Arrow(Struct, frozen=True):
    """An arrow from start to end [m]; `head` mm long."""

    start: Point
    end: Point
    pen: Pen = OUTLINE
    head: float = 2.5
    layer: str = "arrows"


class Turf(Struct, frozen=True):
    """Grass along the ground, through points (n, 2) [m]."""

    points: Ring
    layer: str = "turf"


Part = Polyline | Area | Text | Dimension | Leader | Symbol | Arrow | Turf


class Drawing(Struct):
    """A recording of parts, drawn in the order in which they were recorded."""

    name: str = ""
    parts: list[Part] = field(default_factory=list)

    def line(self, points: Any, pen: Pen = THIN, layer: str = "", closed: bool = False) -> None:
        """Record a line through points (n, 2) [m]."""
        ring = as_ring(points)
        if len(ring) > 1:
            self.parts.append(Polyline(ring, pen, layer, closed))

    def lines(self, geometry: Any, pen: Pen = THIN, layer: str = "") -> None:
        """Record every line of a shapely geometry."""
        for part in getattr(geometry, "geoms", [geometry]):
            if hasattr(part, "exterior"):
                for ring in (part.exterior, *part.interiors):
                    self.line(ring.coords, pen, layer)
            elif not part.is_empty and part.geom_type in ("LineString", "LinearRing"):
                self.line(part.coords, pen, layer)

    def area(
        self,
        geometry: Any,
        material: str = "",
        fill: str = "",
        pen: Pen | None = None,
        layer: str = "",
    ) -> None:
        """Record every polygon of a shapely geometry."""
        for part in getattr(geometry, "geoms", [geometry]):
            if part.geom_type in ("MultiPolygon", "GeometryCollection"):
                self.area(part, material, fill, pen, layer)
            elif part.geom_type == "Polygon" and not part.is_empty:
                # Outer ring one way about and holes the other, so that a fill leaves them out.
                turned = orient(part)
                rings = (turned.exterior, *turned.interiors)
                self.parts.append(
                    Area(tuple(as_ring(r.coords) for r in rings), material, fill, pen, layer)
                )

    def text(self, at: Any, words: str, **style: Any) -> None:
        """Record words at a point [m]; the rest as in `Text`."""
        if words:
            self.parts.append(Text(as_point(at), words, **style))

    def paragraph(self, at: Any, words: str, **style: Any) -> None:
        """Record words that begin at a point and go on below it, row by row; else as `text`."""
        self.text(at, words, across="left", up="top", **style)

    def dimension(self, start: Any, end: Any, words: str, **style: Any) -> None:
        """Record a dimension between two points [m]; the rest as in `Dimension`."""
        self.parts.append(Dimension(as_point(start), as_point(end), words, **style))

    def leader(self, tip: Any, words: str, shift: Point, **style: Any) -> None:
        """Record words with a line to the point [m] they speak of; the rest as in `Leader`."""
        self.parts.append(Leader(as_point(tip), words, shift, **style))

    def symbol(self, kind: str, at: Any, **style: Any) -> None:
        """Record a mark; the rest as in `Symbol`."""
        self.parts.append(Symbol(kind, as_point(at), **style))

    def arrow(self, start: Any, end: Any, **style: Any) -> None:
        """Record an arrow; the rest as in `Arrow`."""
        self.parts.append(Arrow(as_point(start), as_point(end), **style))

    def turf(self, points: Any) -> None:
        """Record grass along the ground, through points (n, 2) [m]."""
        self.parts.append(Turf(as_ring(points)))

    def of(self, layer: str) -> list[Part]:
        """Return the parts recorded on one layer."""
        return [part for part in self.parts if part.layer == layer]


def as_point(at: Any) -> Point:
    """Return a pair of plain floats."""
    return float(at[0]), float(at[1])


def as_ring(points: Iterable[Any]) -> Ring:
    """Return points (n, 2) as a tuple of pairs of plain floats."""
    array = np.asarray(points if hasattr(points, "__len__") else list(points), float)
    return tuple(map(tuple, array[:, :2].tolist()))
