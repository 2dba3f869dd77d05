"""An upright plane moved along the patio: where it stops, and the faces of the cut there."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace

from grading.design.model import kept
from grading.geometry.arrays import Floats, Ints
from grading.geometry.tolerances import SLIVER
from grading.units import Unit, run
from viz.look.materials import EDGE, material
from viz.scene.frame import Frame
from viz.scene.model import Body, Label, Lines, Scene, Slices
from viz.scene.shell import Mesh, Polygons, Shape, each_triangulated, rings_of, segments_of

STOPS = 15
"""How many places the plane stops at, from one end of the paving to the other."""

ASIDE = 1.7e-5  # own: a place where nothing was drawn
"""The plane stops this far from round places, where corners of solids lie. [m]"""

NEAR = 0.0009  # own: m: less than a film is thick
"""What lies inside another body is drawn so far in front of its face. [m]"""

INSIDE = ("edge restraint", "edge of concrete", "border units")
FABRIC, SUBGRADE = "geotextile", "subgrade"
"""Names of what has no thickness in a cut, and of what it lies on."""

TOUCHING, SHORTEST = 0.002, 0.02
"""How near a layer comes to the soil that it lies on, and the least piece of a sheet. [m]"""

CUT_WALLS = {"siding": "#d9cfba", "foundation": "#a9a69f"}
"""Light walls are drawn darker where they are cut, so that they stand out from the paper."""


SHARES = (0.1, 0.2, 0.3, 0.45, 0.6, 0.9)
"""How far along its face a layer may be pointed at, where its own place will not do."""

SHEET = 3.0
"""How wide a sheet is drawn in a cut. [pixels]"""

LENGTHWISE = "slice along"
"""What the cut along the house is called."""

LOW, TALL = 9.0, 24.0
"""How far above the level a cut is looked at from, in a wide picture and a tall one. [degrees]"""


def edge_on(frame: Frame, lengthwise: bool = False, degrees: float = LOW) -> Floats:
    """Return the unit vector (3,) to whoever looks at a cut, a little from its side."""
    return frame.towards(*((0.55, 1.0) if lengthwise else (1.0, 0.55)), degrees)


def stops(
    frame: Frame, outline: Shape, origin: Floats, unit: Unit, lengthwise: bool = False
) -> Slices:
    """Return where a plane square to the house, or lengthwise beside it, stops in the paving.

    Parameters
    ----------
    frame : Frame
        The plane stands square to its `right`, or lengthwise to its `near`.
    outline : shapely polygon
        The paving. [m]
    origin : (3,) float
        The scene's own. [m]
    unit : "ft" or "m"
    lengthwise : bool
    """
    r0, n0, r1, n1 = frame.bounds(outline)
    direction, low, high = (frame.near, n0, n1) if lengthwise else (frame.right, r0, r1)
    end = "far" if lengthwise else "left"
    shares = (np.arange(STOPS) + 0.5) / STOPS
    along = (high - low) * shares
    start = low - float(direction @ origin[:2])
    return Slices(
        direction,
        start + along + ASIDE,
        tuple(f"{run(float(step), unit)} from the {end} end" for step in along),
        edge_on(frame, lengthwise),
        edge_on(frame, lengthwise, TALL),
        LENGTHWISE if lengthwise else "slice",
    )


def before_of(body: Body) -> int:
    """Return in how many steps the face of a body is drawn before those of what it lies in."""
    return body.before or int(body.name in INSIDE)


def sliced(scene: Scene) -> Scene:
    """Return a scene with the faces of its cut at every stop, and the names of layers there."""
    cut = _cut_open(scene)
    return replace(
        scene,
        bodies=scene.bodies + cut.bodies,
        lines=scene.lines + cut.lines,
        labels=scene.labels + cut.labels,
    )


class _Cut(Struct, frozen=True):
    """The faces of a cut at all of its stops."""

    bodies: tuple[Body, ...]
    lines: tuple[Lines, ...]
    labels: tuple[Label, ...]


@kept
def _cut_open(scene: Scene) -> _Cut:
    """Return the faces of a cut; all pictures show the same."""
    labels: list[Label] = []
    sheets: list[Lines] = []
    slices = scene.slices
    numbers = {entry.name: entry.number for entry in scene.legend}
    whole = [body for body in scene.bodies if not body.pattern and "slice" in body.shown]
    faces, at, of = _faces(whole, slices)
    for k in range(len(slices.stations)):
        found: dict[str, list[Shape]] = {}
        for n in np.flatnonzero(at == k).tolist():
            if whole[of[n]].name in numbers:
                found.setdefault(whole[of[n]].name, []).append(faces[n])
        if FABRIC in numbers and FABRIC not in found and SUBGRADE in found:
            sheet = _under(found)
            sheets += [_line(FABRIC, each, slices, k) for each in sheet]
            if sheet:
                found[FABRIC] = list(sheet)
        labels += _labels(scene, found, numbers, slices, k)
    shift = np.array([NEAR * before_of(body) for body in whole])
    cut = [whole[k] for k in of.tolist()]
    places = (slices.stations[at] + shift[of]).tolist()
    bodies = [
        _cap(body, mesh, slices, place)
        for body, mesh, place in zip(cut, each_triangulated(faces), places, strict=True)
    ]
    lines = [
        _outline(body, rings, slices, place)
        for body, rings, place in zip(cut, rings_of(faces), places, strict=True)
    ]
    return _Cut(tuple(bodies), (*lines, *sheets), tuple(labels))


def _under(found: Mapping[str, Sequence[Shape]]) -> list[shapely.LineString]:
    """Return where what is laid lies on the soil, on one face of a cut: a sheet has no face."""
    soil = shapely.boundary(shapely.union_all(found[SUBGRADE]))
    laid = [face for name, faces in found.items() if name != SUBGRADE for face in faces]
    lying = soil.intersection(shapely.buffer(shapely.union_all(laid), TOUCHING))
    parts = shapely.get_parts(lying)
    lines = [each for each in parts if each.geom_type == "LineString" and not each.is_empty]
    merged = shapely.get_parts(shapely.line_merge(shapely.MultiLineString(lines)))
    return [line for line in merged if line.length > SHORTEST]


def _faces(bodies: Sequence[Body], slices: Slices) -> tuple[Polygons, Ints, Ints]:
    """Return the sections of closed bodies at every stop, across and up, the first stop first.

    All at once, for there are a thousand of a scene: polygons (n,), the number of the stop of each
    and that of its body.
    """
    reach = [body.vertices[:, :2] @ slices.direction for body in bodies]
    ends = [(float(each.min()), float(each.max())) for each in reach]
    met: list[Floats] = []
    stops: list[int] = []
    owners: list[int] = []
    for k, station in enumerate(slices.stations.tolist()):
        for n, body in enumerate(bodies):
            if not ends[n][0] - station < 0 < ends[n][1] - station:
                continue
            segments = _met(body, reach[n] - station, slices.direction)
            if len(segments):
                met.append(segments)
                stops.append(k)
                owners.append(n)
    if not met:
        return np.zeros(0, object), np.zeros(0, np.int64), np.zeros(0, np.int64)
    index = np.repeat(np.arange(len(met)), [len(each) for each in met])
    pairs: Any = shapely.linestrings(np.concatenate(met))
    lines = shapely.multilinestrings(pairs, indices=index)
    # Noded, for an upright side that is all but in the plane may be gone along twice.
    areas: Any = shapely.build_area(shapely.node(lines))
    parts, of = shapely.get_parts(areas, return_index=True)
    kept = shapely.area(parts) > SLIVER
    return parts[kept], np.array(stops)[of[kept]], np.array(owners)[of[kept]]


def _met(body: Body, side: Floats, direction: Floats) -> Floats:
    """Return where a closed body meets a plane, as segments (m, 2, 2), across and up.

    side tells how far before the plane each of its vertices lies, (n,). [m]
    """
    near = side[body.faces]
    faces = body.faces[(near.min(axis=1) < 0) & (near.max(axis=1) >= 0)]
    # Each edge is crossed from its lower vertex to its higher, so that the two triangles at it
    # give the very same point and the outline closes.
    ends = np.stack([faces, faces[:, [1, 2, 0]]], axis=-1)
    first, last = ends.min(axis=-1), ends.max(axis=-1)
    crosses = (side[first] < 0) != (side[last] < 0)
    first, last = first[crosses], last[crosses]
    share = (side[first] / (side[first] - side[last]))[:, None]
    points = body.vertices[first] + share * (body.vertices[last] - body.vertices[first])
    across = np.array([-direction[1], direction[0]])
    # What is nearer than a nanometre is one point: an outline that turns back on itself by rounding
    # encloses nothing.
    flat = np.column_stack([points[:, :2] @ across, points[:, 2]]).round(9).reshape(-1, 2, 2)
    return np.asarray(flat[(flat[:, 0] != flat[:, 1]).any(axis=1)])


def _upright(flat: Floats, direction: Floats, station: float) -> Floats:
    """Return points across and up (n, 2) as points (n, 3) of the plane."""
    across = np.array([-direction[1], direction[0]])
    plan = direction * station + flat[:, :1] * across
    return np.column_stack([plan, flat[:, 1]])


def _cap(body: Body, mesh: Mesh, slices: Slices, station: float) -> Body:
    points, faces = mesh
    vertices = _upright(points, slices.direction, station)
    shown = frozenset({slices.name})
    colour = CUT_WALLS.get(body.material, body.colour)
    return Body(body.name, body.material, vertices, faces, colour, shown, True, cap=True,
                stands=body.stands)  # fmt: skip


def _outline(body: Body, rings: Sequence[Floats], slices: Slices, station: float) -> Lines:
    lines = [_upright(xy, slices.direction, station + NEAR) for xy in rings]
    shown = frozenset({slices.name})
    return Lines(body.name, *segments_of(lines), EDGE, 1.0, shown, cap=True, stands=body.stands)


def _line(name: str, line: shapely.LineString, slices: Slices, at: int) -> Lines:
    """Return a sheet on the face of a cut, light and thick enough to be told from an edge."""
    station = float(slices.stations[at]) + 2 * NEAR
    drawn = segments_of([_upright(shapely.get_coordinates(line), slices.direction, station)])
    colour = material(name).colour
    return Lines(name, *drawn, colour, SHEET, frozenset({slices.name}), cap=True)


def _labels(
    scene: Scene, found: dict[str, list[Shape]], numbers: dict[str, int],
    slices: Slices, at: int,
) -> list[Label]:  # fmt: skip
    """Point at each layer of the face, each at a place of its own, so that the dots are apart."""
    labels = []
    words = {entry.number: f"{entry.name}, {entry.words}" for entry in scene.legend}
    for name, faces in found.items():
        face = max(faces, key=lambda part: (float(part.area), float(part.length)))
        number, station = numbers[name], float(slices.stations[at])
        share = 0.06 + 0.88 * (number - 0.5) / max(len(numbers), 1)
        flat = [_on_face(face, each) for each in (share, *SHARES)]
        places = [_upright(xy, slices.direction, station)[0] for xy in flat if xy is not None]
        if flat[0] is None:
            continue
        shown = frozenset({f"{slices.name}:{at}"})
        spread = np.array(places[1:]).reshape(-1, 3)
        labels.append(
            Label(words[number], places[0], "layer", shown, number, number, spread=spread)
        )
    return labels


def _on_face(face: Shape, share: float) -> Floats | None:
    """Return a place on a face, so far along it, across and up (1, 2); None where it has a gap."""
    low, bottom, high, top = face.bounds
    u = low + share * (high - low)
    upright = face.intersection(shapely.LineString([(u, bottom - 1), (u, top + 1)]))
    if upright.is_empty:
        return None
    longest = max(shapely.get_parts(upright), key=lambda part: float(part.length))
    z = shapely.get_coordinates(longest)[:, 1]
    # The soil is far deeper than what is seen of the layers: it is named near its top.
    return np.array([[u, z.max() - min(np.ptp(z) / 2, 0.06)]])
