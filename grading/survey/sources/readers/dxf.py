"""Points and lines of CAD drawings in DXF."""

from __future__ import annotations

import logging
from collections import Counter
from pathlib import Path
from typing import Any

import numpy as np

from grading.errors import Problem, SiteError
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import TOUCH
from grading.signs import is_visible, shortened, visible
from grading.survey.sources.model import PointFile, no_sd
from grading.survey.sources.readers.tables import LARGEST, no_such_part
from grading.survey.sources.said_units import OF_DRAWINGS, metres_of, named
from grading.units import FARTHEST

_INSUNITS = {1: "in", 2: "ft", 4: "mm", 5: "cm", 6: "m", 21: "us-ft"}
_LINES = ("LINE", "LWPOLYLINE", "POLYLINE")
_ROUND = 0.01  # how far a chord may lie from a curve. [m]
_MOST_VERTICES = 1_000_000
_AT_A_POINT = 0.01
"""A vertex of a line drawn flat is at a point that is so near. [m]"""


def read_dxf(path: Path, shown: str, given: float | None, part: str | None) -> PointFile:
    """Return the points of a drawing, its lines as breaklines, and the corners of its 3D faces.

    Parameters
    ----------
    part : str or None
        The layer that is read; all of them where it is None.

    Raises
    ------
    SiteError
        It is no drawing, does not say its unit while the person does not either, or has nothing
        that is a point.
    """
    if path.stat().st_size > LARGEST:
        found = f"a drawing of {path.stat().st_size / 1e6:.0f} MB"
        mend = "Save the points and breaklines alone."
        raise SiteError([Problem(shown, found, f"at most {LARGEST / 1e6:.0f} MB", mend)])
    entities, code = _read(path, shown)
    try:
        layers = sorted({entity.dxf.layer for entity in entities})
    except Exception as error:
        raise _no(shown, error) from error
    if part is not None and part not in layers:
        raise no_such_part(shown, "layer", part, layers)
    said = OF_DRAWINGS.get(_INSUNITS.get(code, ""))
    metres = metres_of(said, given, shown)
    points: list[Any] = []
    codes: list[str] = []
    lines: list[tuple[Floats, bool]] = []
    left: Counter[str] = Counter()
    room = _MOST_VERTICES
    for entity in entities:
        layer = entity.dxf.layer
        if part is not None and layer != part:
            left["entities on other layers"] += 1
            continue
        kind = entity.dxftype()
        try:
            if kind == "POINT":
                points.append(tuple(entity.dxf.location))
                codes.append(_layer(layer))
            elif kind == "3DFACE":
                corners = dict.fromkeys(tuple(corner) for corner in entity.wcs_vertices())
                points += corners
                codes += [_layer(layer)] * len(corners)
            elif kind in _LINES and not _is_mesh(entity):
                line = _vertices(entity, metres, room, shown)
                room -= len(line)
                flat = kind != "LINE" and not getattr(entity, "is_3d_polyline", False)
                lines.append((line, flat))
            else:
                left[f"entities of type {shortened(visible(kind))}"] += 1
        except SiteError:
            raise
        except Exception as error:
            raise _no(shown, error) from error
    # Faces share their corners; of those the first is kept.
    order = list(dict(zip(reversed(points), reversed(range(len(points))), strict=True)).values())
    order.sort()
    at = np.array(points, float).reshape(-1, 3)[order] * metres
    if len(order) < len(points):
        left["points that are there twice"] += len(points) - len(order)
    breaklines = []
    for line, flat in lines:
        made = _breakline(line * metres, flat, at)
        if made is None:
            left["lines drawn flat, away from any point"] += 1
        else:
            breaklines.append(made)
    every = [at, *breaklines]
    if not sum(map(len, every)):
        raise _no(shown, "no points, and no lines with an elevation")
    if not all((np.abs(np.nan_to_num(each)) <= FARTHEST).all() for each in every):
        raise _no(shown, "coordinates of no site")
    remarks = tuple(f"{shown}: {count} {what} not used" for what, count in left.items())
    return PointFile(
        shown, "DXF", named(metres), "file" if said is not None else "person", at,
        ("",) * len(at), tuple(codes[k] for k in order), no_sd(len(at)), no_sd(len(at)),
        tuple(breaklines), remarks,
    )  # fmt: skip


def _read(path: Path, shown: str) -> tuple[list[Any], int]:
    """Return the entities of the model, and what the drawing says of its unit."""
    import ezdxf

    log = logging.getLogger("ezdxf")
    before, log.disabled = log.disabled, True  # what it mends on the way is no concern of ours
    try:
        drawing = ezdxf.readfile(path)
        return list(drawing.modelspace()), int(drawing.header.get("$INSUNITS", 0))
    except Exception as error:
        raise _no(shown, error) from error
    finally:
        log.disabled = before


def _no(shown: str, why: Exception | str) -> SiteError:
    words = why if isinstance(why, str) else f"a drawing that cannot be read ({why})"
    mend = "Save it again as DXF, with the points and breaklines of the survey."
    found = shortened(visible(words), 160)
    return SiteError([Problem(shown, found, "a whole DXF drawing with points", mend)])


def _is_mesh(entity: Any) -> bool:
    return bool(
        getattr(entity, "is_poly_face_mesh", False) or getattr(entity, "is_polygon_mesh", False)
    )


def _layer(name: str) -> str:
    """Return a layer as a code of points."""
    name = " ".join(name.split())
    return name if is_visible(name) and len(name) <= 200 else ""


def _vertices(entity: Any, metres: float, room: int, shown: str) -> Floats:
    """Return the vertices of a line (j, 3), curves by chords; at most `room` of them."""
    from ezdxf import path

    made = path.make_path(entity)
    corners = np.array([tuple(vertex) for vertex in made.control_vertices()], float)
    # Far from any site a curve has chords without end.
    if not (np.abs(corners) * metres <= FARTHEST).all():
        raise _no(shown, "coordinates of no site")
    chord = _ROUND / metres
    # A chord of a curve of radius r lies off it by l2 / 8 r: so many are at the most needed.
    most = float(np.abs(np.diff(corners, axis=0)).sum()) if made.has_curves else 0.0
    curved = sum(command.type is not path.Command.LINE_TO for command in made.commands())
    if len(corners) + curved * np.sqrt(most / chord) > room:
        found = f"lines of more than {_MOST_VERTICES:,} vertices, curves counted by their chords"
        mend = "Save the breaklines of the survey alone."
        raise SiteError([Problem(shown, found, "the lines of a yard", mend)])
    return np.array([tuple(vertex) for vertex in made.flattening(chord)], float).reshape(-1, 3)


def _breakline(line: Floats, flat: bool, points: Floats) -> Floats | None:
    """Return a line as a breakline; one drawn flat at zero only where points give its levels."""
    apart = np.r_[True, np.abs(np.diff(line, axis=0)).max(axis=1, initial=0) > TOUCH]
    line = line[apart]
    if len(line) < 2:
        return None
    if not flat or line[:, 2].any():
        return line
    if not len(points):
        return None
    for vertex in line:
        away = np.hypot(*(points[:, :2] - vertex[:2]).T)
        if away.min() > _AT_A_POINT:
            return None
        vertex[:2], vertex[2] = points[int(away.argmin()), :2], np.nan
    return line
