"""Points and lines in GeoJSON."""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from grading.errors import Problem, SiteError
from grading.signs import is_visible, shortened, visible
from grading.survey.sources.model import PointFile, no_sd
from grading.survey.sources.readers.tables import text_of
from grading.survey.sources.said_units import in_degrees, metres_of, named
from grading.units import FARTHEST

_LEVELS = ("elevation", "elev", "z", "level", "height")
_NAMES = ("id", "name", "point", "pt", "number")
_CODES = ("code", "description", "desc")
_UTM = re.compile(r"EPSG:{1,2}(?:326|327|269|258|283)\d\d$")
_DEGREES = re.compile(r"(?:CRS84|CRS83|EPSG:{1,2}(?:4326|4269|4258))h?$", re.IGNORECASE)
_UNFIT = re.compile(r"EPSG:{1,2}3857$")


def read_geojson(path: Path, shown: str, given: float | None) -> PointFile:
    """Return the points of a GeoJSON file, and its lines as breaklines.

    Raises
    ------
    SiteError
        It is no GeoJSON, is in degrees, or has points without a level.

    Notes
    -----
    RFC 7946 knows only degrees; programs that work in a grid write a `crs` as GeoJSON of 2008
    had, or leave it out. Without one it is read in the unit that the person says.
    """
    try:
        data = json.loads(text_of(path, shown))
    except (ValueError, RecursionError) as error:
        words = "brackets nested too deep" if isinstance(error, RecursionError) else str(error)
        raise _no(shown, f"no JSON ({shortened(visible(words))})") from None
    features = list(_features(data))
    if not isinstance(data, dict) or not features:
        raise _no(shown, "JSON without a feature")
    said = _said(data, shown)
    metres = metres_of(said, given, shown)
    points: list[tuple[float, float, float]] = []
    names, codes, lines = [], [], []
    left: Counter[str] = Counter()
    for geometry, properties in features:
        kind, at = geometry.get("type"), geometry.get("coordinates")
        level = _first(properties, _LEVELS)
        for each in _each(kind, at):
            if each[0] == "point":
                x, y, z = _vertex(each[1], level, shown)
                if np.isnan(z):
                    left["points without an elevation"] += 1
                    continue
                points.append((x, y, z))
                names.append(_text(_first(properties, _NAMES), shown))
                codes.append(_text(_first(properties, _CODES), shown))
            elif each[0] == "line" and isinstance(each[1], list) and len(each[1]) > 1:
                lines.append(np.array([_vertex(vertex, None, shown) for vertex in each[1]]))
            else:
                left[f"geometries of type {shortened(visible(str(kind)))}"] += 1
    xyz = np.array(points, float).reshape(-1, 3) * metres
    if not len(xyz) and not lines:
        raise _no(shown, "no points with an elevation")
    return PointFile(
        shown, "GeoJSON", named(metres), "file" if said is not None else "person", xyz,
        tuple(names), tuple(codes), no_sd(len(xyz)), no_sd(len(xyz)),
        tuple(line * metres for line in lines),
        tuple(f"{shown}: {count} {what} not used" for what, count in left.items()),
    )  # fmt: skip


def _no(shown: str, found: str) -> SiteError:
    mend = "Export points with an elevation."
    return SiteError([Problem(shown, found, "a GeoJSON file with points", mend)])


def _features(data: Any) -> Iterator[tuple[dict[str, Any], dict[str, Any]]]:
    """Yield each geometry with its properties."""
    left: list[tuple[Any, dict[str, Any]]] = [(data, {})]
    while left:
        each, properties = left.pop()
        if not isinstance(each, dict):
            continue
        inner = each.get("features", each.get("geometries"))
        if isinstance(inner, list):
            left += [(part, properties) for part in reversed(inner)]
        elif each.get("type") == "Feature":
            own = each.get("properties")
            own = dict(own) if isinstance(own, dict) else {}
            if "id" in each:
                own.setdefault("id", each["id"])
            left.append((each.get("geometry"), own))
        elif "coordinates" in each:
            yield each, properties


def _each(kind: Any, at: Any) -> Iterator[tuple[str, Any]]:
    if kind == "Point":
        yield "point", at
    elif kind == "MultiPoint" and isinstance(at, list):
        yield from (("point", each) for each in at)
    elif kind == "LineString":
        yield "line", at
    elif kind == "MultiLineString" and isinstance(at, list):
        yield from (("line", each) for each in at)
    else:
        yield "other", at


def _vertex(at: Any, level: Any, shown: str) -> tuple[float, float, float]:
    """Return x, y and z, NaN where there is no elevation."""
    if not isinstance(at, list) or len(at) < 2:
        raise _no(shown, f"the coordinates {shortened(visible(str(at)))}")
    z = at[2] if len(at) > 2 else level
    numbers: list[float] = []
    for value in (at[0], at[1], z):
        if value is None and len(numbers) == 2:
            numbers.append(np.nan)
            continue
        try:
            number = float(value)
        except (TypeError, ValueError):
            number = np.inf
        if isinstance(value, bool) or not abs(number) <= FARTHEST:
            raise _no(shown, f"the coordinates {shortened(visible(str(at)))}")
        numbers.append(number)
    return numbers[0], numbers[1], numbers[2]


def _first(properties: dict[str, Any], names: tuple[str, ...]) -> Any:
    lower = {str(key).lower(): value for key, value in properties.items()}
    return next((lower[name] for name in names if lower.get(name) is not None), None)


def _text(value: Any, shown: str) -> str:
    text = "" if value is None else " ".join(str(value).split())
    if len(text) > 200 or not is_visible(text):
        raise _no(shown, f'a name "{shortened(visible(text))}"')
    return text


def _said(data: dict[str, Any], shown: str) -> float | None:
    """Return what the file's coordinate system is measured in. [m]"""
    crs = data.get("crs")
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else None
    if not isinstance(name, str):
        return None
    if _DEGREES.search(name) or _UNFIT.search(name):
        raise in_degrees(shown)
    return 1.0 if _UTM.search(name) else None
