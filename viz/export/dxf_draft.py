"""A DXF document in the making: metres go in, entities in the site's own unit come out.

ezdxf, because it writes every entity that a drawing here needs as what it is (hatches,
dimensions, arcs in polylines), checks its own documents, and needs nothing else installed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from grading.units import METRES, Unit
from viz.export.dxf_codes import as_written, layer_name, same_bytes
from viz.export.dxf_patterns import PATTERNS, pattern
from viz.export.dxf_room import strip
from viz.look.materials import material as look_of
from viz.paper.compose import View
from viz.paper.drawing import (
    Area,
    Arrow,
    Dimension,
    Leader,
    Part,
    Pen,
    Point,
    Polyline,
    Symbol,
    Text,
)
from viz.paper.ink import arrow_head
from viz.paper.lettering import Corners, Room, is_upright, rows_of, search
from viz.paper.page import MM, Scale
from viz.paper.symbols import symbol

VERSION = "R2010"
STYLE = "plain"
_UNITS = {"ft": 2, "m": 6}  # $INSUNITS, by the DXF reference: feet, metres
_DASHES = {
    "dashed": (3.0, -1.5),
    "long dashed": (7.0, -2.0),
    "chain": (8.0, -1.5, 1.5, -1.5),
}  # mm on paper
_CAPITAL = 0.73  # of the type size: DXF measures capitals, drawings the type
_LEAD = 0.55  # mm: a line ends this far from the words it leads to
_EDGE = 10.0  # mm about what is laid on paper
_BLACK = 7  # the colour that is black on white and white on black


class Draft:
    """A document with layers made as they are first drawn on.

    Parameters
    ----------
    unit : "ft" or "m"
        What one unit of the document is.
    mm : float
        A millimetre of paper at the scale that the lettering is made for. [m]
    """

    def __init__(self, unit: Unit, mm: float) -> None:
        import ezdxf

        self.doc: Any = ezdxf.new(VERSION)
        self.unit, self.mm, self.style = unit, mm, "plain"
        self.per = 1 / METRES[unit]
        header = self.doc.header
        header["$INSUNITS"] = _UNITS[unit]
        header["$MEASUREMENT"] = 0 if unit == "ft" else 1
        header["$LUNITS"] = 2
        header["$LUPREC"] = 3
        header["$PDMODE"] = 3
        header["$PDSIZE"] = self.paper(1.2)
        header["$LTSCALE"] = 1.0
        header["$PSLTSCALE"] = 0  # dashes on paper as in the model
        # A style without a font file of its own: every program has a plain one to put in.
        self.doc.styles.add(STYLE, font="txt")
        for name, dashes in _DASHES.items():
            pieces = [self.paper(each) for each in dashes]
            self.doc.linetypes.add(name, [sum(abs(each) for each in pieces), *pieces])
        self._dimensions("plain")
        self.space: Any = self.doc.modelspace()

    def paper(self, mm: float) -> float:
        """Return a length on paper [mm] in units of the document."""
        return mm * self.mm * self.per

    def at(self, xy: Any) -> list[tuple[float, ...]]:
        """Return points (n, 2) or (n, 3) [m] in units of the document."""
        return [tuple(row) for row in (np.asarray(xy, float) * self.per).tolist()]

    def layer(
        self, name: str, colour: str = "", width: float = 0.25, dash: str = "", off: bool = False
    ) -> dict[str, Any]:
        """Return the attributes of an entity on a layer, made where it is not there.

        Parameters
        ----------
        name : str
        colour : str
            "#rrggbb"; left out, black on white and white on black.
        width : float
            Of its lines. [mm]
        dash : str
            One of the document's line types.
        off : bool
            Whether it is made switched off.
        """
        plain = layer_name(name)
        if plain not in self.doc.layers:
            made = self.doc.layers.add(plain, color=_BLACK)
            made.dxf.lineweight = _lineweight(width)
            if colour:
                made.rgb = tuple(int(colour[i : i + 2], 16) for i in (1, 3, 5))
            if dash:
                made.dxf.linetype = dash
            if off:
                made.off()
        return {"layer": plain}

    @contextmanager
    def block(self, name: str, mm: float) -> Iterator[None]:
        """Draw into a block of its own, lettered for another scale: see `mm` of the class."""
        kept = self.space, self.mm, self.style
        self.space, self.mm, self.style = self.doc.blocks.new(name), mm, name
        self._dimensions(name)
        try:
            yield
        finally:
            self.space, self.mm, self.style = kept

    def _dimensions(self, name: str) -> None:
        style = self.doc.dimstyles.add(name)
        style.dxf.dimtxt = self.paper(2.2 * _CAPITAL)
        style.dxf.dimtxsty = STYLE
        style.dxf.dimasz = self.paper(1.8)
        style.dxf.dimexo = self.paper(0.9)
        style.dxf.dimexe = self.paper(1.2)
        style.dxf.dimgap = self.paper(0.7)
        style.dxf.dimtad = 1
        style.dxf.dimtih = 0
        style.dxf.dimtoh = 0
        style.dxf.dimdec = 3
        style.dxf.dimlunit = 2
        style.dxf.dimzin = 0
        style.dxf.dimdsep = ord(".")

    def close(self, scale: Scale) -> None:
        """Tell how far the model reaches, and lay all of it on paper at the scale of the plan.

        The paper is as large as that takes: a sheet of another size is cut out of it.
        """
        from ezdxf import bbox

        reach = bbox.extents(self.doc.modelspace())
        self.doc.modelspace().reset_extents(reach.extmin, reach.extmax)
        unit = self.per / MM * scale.ratio  # of the document, in a millimetre of paper
        wide, high = reach.size.x / unit, reach.size.y / unit
        sheet: Any = self.doc.paperspace()
        edge = _EDGE
        sheet.page_setup(
            size=(wide + 2 * edge, high + 3 * edge), margins=(edge, edge, edge, edge), units="mm"
        )
        sheet.add_viewport(
            center=(wide / 2, edge + high / 2), size=(wide, high),
            view_center_point=(reach.center.x, reach.center.y), view_height=high * unit, status=2,
        )  # fmt: skip
        kept = self.space, self.mm, self.per
        self.space, self.mm, self.per = sheet, 1.0, 1.0
        self.text((0.0, 2.0), f"Plan, {scale.words}", 3.6, self.layer("notes"))
        self.space, self.mm, self.per = kept

    def save(self, path: Path) -> None:
        """Write the document: the same drawing is the same bytes, whenever it is written."""
        path.write_bytes(same_bytes(self.doc))

    def radius(self, centre: Any, on_arc: Any, words: str) -> None:
        """Add the radius of an arc as a dimension: its centre and a point on it (2,). [m]"""
        middle, point = self.at([centre, on_arc])
        made = self.space.add_radius_dim(
            center=middle, mpoint=point, text=words if self.unit == "ft" else "<>",
            dimstyle=self.style, dxfattribs=self.layer("radii", width=0.13),
        )  # fmt: skip
        made.render()

    def line(self, points: Any, on: dict[str, Any], closed: bool = False) -> None:
        """Add a flat line through points (n, 2). [m]"""
        self.space.add_lwpolyline(self.at(points), close=closed, dxfattribs=on)

    def shape(self, shape: Any, on: dict[str, Any]) -> None:
        """Add the rings of a polygon, or the lines of a line."""
        for part in getattr(shape, "geoms", [shape]):
            if hasattr(part, "exterior"):
                for ring in (part.exterior, *part.interiors):
                    self.line(np.asarray(ring.coords)[:-1, :2], on, closed=True)
            elif part.geom_type in ("LineString", "LinearRing") and not part.is_empty:
                self.line(np.asarray(part.coords)[:, :2], on)

    def faces(self, points: Any, faces: Any, on: dict[str, Any]) -> None:
        """Add triangles, points (n, 3) [m] and corners (m, 3), as faces in space."""
        corners = np.asarray(self.at(points))
        for a, b, c in np.asarray(faces).tolist():
            self.space.add_3dface([corners[a], corners[b], corners[c], corners[c]], dxfattribs=on)

    def text(
        self, at: Any, words: str, mm: float, on: dict[str, Any], across: str = "left",
        rotation: float = 0.0,
    ) -> None:  # fmt: skip
        """Add one line of words, its base line at a point (2,) or (3,). [m]"""
        from ezdxf.enums import TextEntityAlignment as Alignment

        how = {"left": Alignment.LEFT, "center": Alignment.CENTER, "right": Alignment.RIGHT}
        entity = self.space.add_text(
            as_written(words),
            height=self.paper(mm * _CAPITAL),
            rotation=rotation,
            dxfattribs={**on, "style": STYLE},
        )
        entity.set_placement(self.at([at])[0], align=how[across])

    def hatch(self, rings: Sequence[Any], kind: str, on: dict[str, Any], solid: bool) -> None:
        """Fill rings (n, 2) [m], the outer one first, solid or with the pattern of a material."""
        hatch = self.space.add_hatch(color=256, dxfattribs=on)
        if not solid:
            lines = pattern(kind, self.paper(1.0))
            # 2: a pattern of the drawing's own, carried along with it.
            hatch.set_pattern_fill(kind, color=256, definition=lines, pattern_type=2)
        for number, ring in enumerate(rings):
            # 1: external, 16: outermost; by the DXF reference.
            flags = 1 if number == 0 else 16
            hatch.paths.add_polyline_path(self.at(ring), is_closed=True, flags=flags)

    def play(self, view: View, names: dict[str, str], room: Room, first: str = "") -> None:
        """Add what was recorded in a view; what `names` calls "" is left out.

        Parameters
        ----------
        view : View
            Its drawing is in metres; words keep their size on paper.
        names : mapping
            The layer of the document for a layer of the recording, its own name by default.
        room : Room
            What is taken, on the view's paper: movable words keep clear of it.
        first : str
            Put before every name.
        """
        late: list[Text] = []
        for part in view.drawing.parts:
            name = names.get(part.layer, part.layer)
            if not name:
                continue
            if isinstance(part, Text):
                late.append(part)
            else:
                self._part(part, f"{first}{name}", view, room)
        for part in sorted(late, key=lambda each: bool(each.others)):
            self._words(part, f"{first}{names.get(part.layer, part.layer)}", view, room)

    def _part(self, part: Part, name: str, view: View, room: Room) -> None:
        if isinstance(part, Polyline):
            self.line(part.points, self._pen(name, part.pen), part.closed)
        elif isinstance(part, Area):
            self._area(part, name)
        elif isinstance(part, Arrow):
            on = self._pen(name, part.pen)
            self.line([part.start, part.end], on)
            tip, way = np.array(part.end), np.subtract(part.end, part.start)
            head = arrow_head(np.zeros(2), way, part.head) * self.mm + tip
            self.space.add_solid(self.at([*head, head[2]]), dxfattribs=on)
            first, last = np.array(view.paper(part.start)), np.array(view.paper(part.end))
            room.take([strip(first, last, 0.5)])
        elif isinstance(part, Symbol):
            on = self.layer(name)
            turn = np.radians(part.rotation)
            spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
            for rings, _, fill, closed in symbol(part.kind, part.size):
                for ring in rings:
                    place = np.asarray(ring) @ spin * self.mm + np.array(part.at)
                    if fill.startswith("#1"):
                        self.hatch([place], "", on, solid=True)
                    else:
                        self.line(place, on, closed)
        elif isinstance(part, Dimension):
            self._dimension(part, name, view, room)
        elif isinstance(part, Leader):
            on = self.layer(name)
            end = np.array(part.tip) + np.array(part.shift) * self.mm
            self.line([part.tip, end], on)
            away = _LEAD if part.across == "left" else -_LEAD
            shift = (part.shift[0] + away, part.shift[1])
            self._words(
                Text(part.tip, part.words, part.size, part.across, "middle", shift=shift),
                name, view, room,
            )  # fmt: skip

    def _pen(self, name: str, pen: Pen) -> dict[str, Any]:
        dash = ""
        if pen.dash:
            dash = "chain" if len(pen.dash) > 2 else "dashed" if pen.dash[0] < 4 else "long dashed"
        dark = all(int(pen.colour[i : i + 2], 16) < 0x60 for i in (1, 3, 5))
        return self.layer(name, "" if dark else pen.colour, pen.width, dash)

    def _area(self, part: Area, name: str) -> None:
        rings = [np.asarray(ring)[:-1] for ring in part.rings]
        if part.material:
            kind = part.material if part.material in PATTERNS else "dense-graded"
            tone = {"soil": "subsoil", "concrete": "foundation"}.get(part.material, part.material)
            on = self.layer(f"material {part.material}", look_of(tone).colour, 0.18)
            self.hatch(rings, kind, on, solid=False)
        else:
            if part.layer == "house":
                self.hatch(rings, "house", self.layer(name, "#b0b0ac", 0.09), solid=False)
                return
            on = self.layer(name)
            if part.fill.startswith(("#1", "#2")):
                self.hatch(rings, "", on, solid=True)
                return
            if part.pen is None:
                return
        for ring in rings:
            self.line(ring, on, closed=True)

    def _dimension(self, part: Dimension, name: str, view: View, room: Room) -> None:
        on = self.layer(name, width=0.13)
        start, end = np.array(part.start), np.array(part.end)
        way = np.array(part.along) if part.along else end - start
        way = way / np.hypot(*way)
        left = np.array([-way[1], way[0]])
        feet = np.array([start @ left, end @ left])
        high = feet.max() if part.offset > 0 else feet.min()
        angle = float(np.degrees(np.arctan2(way[1], way[0])))
        if not is_upright(angle):
            angle = (angle + 180) % 360
            start, end = end, start
        base, far = (
            each + left * (high - each @ left + part.offset * self.mm) for each in (start, end)
        )
        words = as_written(part.words) if self.unit == "ft" else "<>"
        made = self.space.add_linear_dim(
            base=self.at([base])[0], p1=self.at([start])[0], p2=self.at([end])[0], angle=angle,
            text=words, dimstyle=self.style, dxfattribs=on,
        )  # fmt: skip
        made.render()
        middle = view.paper((base + far) / 2)
        for _, _, corners in rows_of(middle, part.words, 2.6, "center", "bottom", angle, False):
            room.take([corners])
        first, last = np.array(view.paper(base)), np.array(view.paper(far))
        room.take([strip(first, last, 0.4)])

    def _words(self, part: Text, name: str, view: View, room: Room) -> None:
        """Add words where they are clear of others; with a line back where they had to go far."""
        on = self.layer(name, "" if part.colour.startswith(("#1", "#4")) else part.colour)
        x, y = view.paper(part.at)
        best, least = part.shift, np.inf
        places = search(part.shift, part.others) if part.others else iter([part.shift])
        for shift in places:
            rows = self._rows(part, (x + shift[0], y + shift[1]))
            worst = room.overlap([corners for _, _, corners in rows])
            if worst < least:
                best, least = shift, worst
            if worst == 0:
                break
        for anchor, words, corners in self._rows(part, (x + best[0], y + best[1])):
            room.take([corners])
            self.text(on=on, at=_site(view, anchor), words=words, mm=part.size,
                      across=part.across, rotation=part.rotation)  # fmt: skip

    @staticmethod
    def _rows(part: Text, at: tuple[float, float]) -> list[tuple[Point, str, Corners]]:
        return list(
            rows_of(at, part.words, part.size, part.across, part.up, part.rotation, part.bold)
        )


def _site(view: View, mm: Point) -> tuple[float, float]:
    """Return the point [m] that lies at a place on a view's paper. [mm]"""
    x, y = mm
    return view.scale.metres(x - view.origin[0]), view.scale.metres(y - view.origin[1])


def _lineweight(mm: float) -> int:
    """Return the nearest line weight that the format knows. [1/100 mm]"""
    known = (0, 5, 9, 13, 15, 18, 20, 25, 30, 35, 40, 50, 53, 60, 70, 80, 90, 100)
    return min(known, key=lambda each: abs(each - 100 * mm))
