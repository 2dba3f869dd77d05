"""The water of a site in plan: its ways, where it stands, the places that it reaches."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOGETHER
from grading.pipeline import Plan
from grading.site.water_tables import Downspout
from grading.structures.drains.model import Drain, PipeRun
from grading.units import Unit, percent
from grading.units.rates import water_volume
from grading.water.course import LowSpot
from grading.water.destinations import Destination
from grading.water.falls import Worst
from grading.water.model import Water
from grading.water.ponds import pond_of
from grading.water.spouts import SpoutWater
from grading.water.words import edge_shares
from viz.paper.compose import View
from viz.paper.drawing import FINE, OUTLINE, Drawing, Pen
from viz.words.figures import level, small
from viz.words.paving.structures import structures_in

BLUE = "#08519c"  # dark: it reads as a line in black and white
POND = "#c6dbef"
WAY = Pen(0.45, BLUE)
SPOUT_WAY = Pen(0.45, BLUE, (2.6, 1.2))
EDGE = Pen(1.3, BLUE)
PIPE = Pen(0.5, "#1a1a1a", (1.6, 0.9))
CHANNEL = Pen(1.1, "#1a1a1a")
PLACE = Pen(0.35, "#1a1a1a", (3.0, 0.8, 0.6, 0.8))
APART = 16.0  # mm between arrow heads along a way
AROUND = ((9.0, 5.0), (-9.0, 5.0), (9.0, -5.0), (-9.0, -5.0), (0.0, 8.0), (0.0, -8.0),
          (16.0, 0.0), (-16.0, 0.0))  # fmt: skip


def draw_water(view: View, plan: Plan, water: Water, window: BaseGeometry) -> None:
    """Record everything about the water of a site within a window of its plan. [m]"""
    for place in shown_places(water):
        _place(view, place, window, plan.site.unit)
    for number, spot in enumerate(water.low_spots, start=1):
        _pond(view, water, spot, number, plan.site.unit)
    for area in water.areas:
        for edge, share in zip(area.edges, edge_shares(area), strict=True):
            view.drawing.lines(edge.stretch, EDGE, "low edge")
            draw_way(view, edge.path, WAY, window)
            if edge.share < 0.995:
                view.drawing.text(
                    edge.at, share, size=2.3, bold=True, colour=BLUE, ground=True,
                    shift=(0.0, 3.6), others=((0.0, -3.6), (6.0, 0.0), (-6.0, 0.0)),
                    layer="share",
                )  # fmt: skip
    runs = tuple(built_runs(plan))
    for run in runs:
        view.drawing.line(run.line, CHANNEL if run.kind == "channel" else PIPE, "built run")
    starts = [run.line[0] for run in runs if run.kind != "channel"]
    for spout, made in zip(plan.site.downspouts, water.downspouts, strict=True):
        piped = any(np.hypot(*(start - spout.at)) < TOGETHER for start in starts)
        _spout(view, spout, made, window, piped)
    for mark, _, _, worst in least_falls(water):
        _least(view, worst.at, f"{mark}: {fall_of(worst.fall)}")


def built_runs(plan: Plan) -> Iterator[PipeRun]:
    """Yield every channel and pipe that is built, on the bases chosen."""
    for each in structures_in(plan.order):
        if isinstance(each, Drain):
            yield from each.runs


def shown_places(water: Water) -> list[Destination]:
    """Return the places that are there for water, and others that some of it ends in all the same.

    A lawn that the finish only stays above is none of them while no water ends in it.
    """
    return [place for place in water.destinations if place.meant or water.reaches(place)]


def least_falls(water: Water) -> Iterator[tuple[str, str, str, Worst]]:
    """Yield mark, wall, "paving" or "ground", and where the fall away from the wall is least."""
    for number, wall in enumerate(water.walls, start=1):
        for letter, kind, worst in (("a", "paving", wall.paved), ("b", "ground", wall.ground)):
            if worst is not None:
                yield f"{number}{letter}", wall.wall, kind, worst


def fall_of(ratio: float) -> str:
    """Write a fall away from the house [ratio]; one towards it says so."""
    return percent(ratio) if ratio >= 0 else f"{percent(-ratio)} BACK"


def draw_way(view: View, path: Floats, pen: Pen, window: BaseGeometry) -> None:
    """A line with arrow heads the way that the water runs."""
    if len(path) < 2:
        return
    shown = shapely.LineString(path).intersection(window)
    for part in shapely.get_parts(shown):
        if part.geom_type != "LineString" or part.length <= 0:
            continue
        view.drawing.line(part.coords, pen, "way of the water")
        count = max(1, int(view.scale.mm(part.length) / APART))
        back = view.scale.metres(0.5)
        for place in part.length * np.arange(1, count + 1) / count:
            ends = [part.interpolate(max(at, 0.0)).coords[0] for at in (place - back, place)]
            if ends[0] != ends[1]:
                view.drawing.arrow(*ends, pen=Pen(0.45, BLUE), head=2.6, layer="way head")


def _pond(view: View, water: Water, spot: LowSpot, number: int, unit: Unit) -> None:
    draw = view.drawing
    shape = pond_of(water, spot)
    draw.area(shape, fill=POND, pen=Pen(0.35, BLUE), layer="pond")
    step = view.scale.metres(1.5)
    left, bottom, right, top = shape.bounds
    # Level dashes: the sign of standing water, which reads without colour.
    for row, y in enumerate(np.arange(bottom + step / 2, top, step)):
        line = shapely.LineString([(left, y), (right, y)]).intersection(shape)
        dash = Pen(0.13, BLUE, (2.4, 1.2) if row % 2 else (1.2, 1.8))
        draw.lines(line, dash, "pond dashes")
    draw.symbol("spill", spot.spill, size=2.2, layer="spill")
    words = (
        f"low spot {number}: {small(spot.depth, unit)}\n"
        f"{water_volume(spot.volume, unit)}, stands at {level(spot.level, unit)}"
    )
    up = view.scale.mm(top - spot.at[1]) + 4.5
    down = view.scale.mm(spot.at[1] - bottom) + 4.5
    aside = view.scale.mm((right - left) / 2) + 22.0
    draw.text(spot.at, words, size=2.2, bold=True, colour=BLUE, ground=True, shift=(0.0, up),
              others=((0.0, -down), (aside, 0.0), (-aside, 0.0), (aside, up), (-aside, up)),
              leads=True, layer="low spot")  # fmt: skip


def _place(view: View, place: Destination, window: BaseGeometry, unit: Unit) -> None:
    draw = view.drawing
    shown: BaseGeometry = shapely.intersection(place.shape, window)
    if shown.is_empty:
        return
    if shown.geom_type == "Point":
        draw.symbol("place", shown.coords[0], size=3.4, layer="destination mark")
    elif shapely.get_dimensions(shown) == 2:
        draw.area(shown, fill="#eef3e8", layer="destination")
        draw.lines(shown.boundary, PLACE, "destination")
    else:
        draw.lines(shown, PLACE, "destination")
    told = "no level given" if place.z is None else level(place.z, unit)
    at = shown.representative_point().coords[0]
    if shapely.get_dimensions(shown) == 1:
        longest = max(shapely.get_parts(shown), key=lambda part: float(part.length))
        at = longest.interpolate(0.5, normalized=True).coords[0]
    inside = shapely.get_dimensions(shown) == 2
    draw.text(at, f"{place.name}\n{told}", size=2.3, bold=True, ground=True,
              shift=(0.0, 0.0) if inside else (0.0, 5.0),
              others=((0.0, -5.0), *AROUND), leads=True, layer="destination name")  # fmt: skip


def _spout(
    view: View, spout: Downspout, made: SpoutWater, window: BaseGeometry, piped: bool
) -> None:
    """Draw a downspout and its water; what it is extended by, where no pipe is built for it."""
    draw = view.drawing
    start, end = np.asarray(spout.at, float), np.asarray(made.end, float)
    if np.hypot(*(end - start)) > 0 and not piped:
        draw.line([start, end], Pen(0.9, "#ffffff"), "extension of a spout")
        draw.line([start, end], Pen(0.35, BLUE), "extension of a spout")
    draw.symbol("spout", start, size=3.2, layer="downspout")
    draw_way(view, made.path, SPOUT_WAY, window)
    draw.text(start, spout.name, size=2.2, ground=True, shift=(0.0, -5.0), others=AROUND,
              leads=True, layer="downspout name")  # fmt: skip


def _least(view: View, at: Floats, words: str) -> None:
    """Mark where the fall away from a wall is least."""
    view.drawing.symbol("least", at, size=2.4, layer="least fall")
    view.drawing.text(at, words, size=2.2, bold=True, ground=True, shift=(0.0, 3.4),
                      others=((6.5, 2.4), (-6.5, 2.4), (6.5, -2.4), (-6.5, -2.4), (0.0, -3.4)),
                      leads=True, layer="least fall")  # fmt: skip


def key_rows(draw: Drawing, x: float, y: float, rows: Sequence[str]) -> None:
    """Draw the key from a corner on paper down. [mm]"""
    lines = {"way": WAY, "spout way": SPOUT_WAY, "edge": EDGE, "place line": PLACE, "arrow": FINE,
             "pipe": PIPE, "channel": CHANNEL}  # fmt: skip
    for kind in rows:
        middle = y - 1.2
        if kind in lines:
            draw.line([(x, middle), (x + 9, middle)], lines[kind], "key")
        elif kind == "pond":
            cell = shapely.box(x, y - 2.8, x + 9, y + 0.4)
            draw.area(cell, fill=POND, pen=Pen(0.35, BLUE), layer="key")
            draw.line([(x + 1, middle), (x + 8, middle)], Pen(0.13, BLUE, (2.4, 1.2)), "key")
        else:
            draw.symbol(kind, (x + 4.5, middle - (0.8 if kind == "spill" else 0)), size=2.6)
        if kind == "arrow":
            draw.arrow((x, middle), (x + 9, middle), pen=OUTLINE, head=2.6, layer="key")
        elif kind in ("way", "spout way"):
            draw.arrow((x + 8, middle), (x + 9.5, middle), pen=WAY, head=2.6, layer="key")
        draw.paragraph((x + 11.5, y), KEY[kind], size=2.2)
        y -= 4.1


KEY = {
    "edge": "edge that water leaves over",
    "way": "way of the water from there",
    "spout": "downspout",
    "spout way": "way of a downspout's water",
    "channel": "channel that is built",
    "pipe": "pipe that is built",
    "pond": "water stands here",
    "spill": "it spills over here",
    "place": "place named for water",
    "place line": "place named for water",
    "least": "where the fall away from a wall is least",
    "arrow": "fall of the finish",
}
