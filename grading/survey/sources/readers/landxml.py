"""Points and surfaces in LandXML 1.0 to 1.2."""

from __future__ import annotations

import io
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from grading.errors import Problem, SiteError
from grading.files.toml_text import read_limited
from grading.files.xml_text import prolog_of
from grading.geometry.arrays import Floats
from grading.signs import is_visible, shortened, visible
from grading.survey.sources.model import PointFile, no_sd
from grading.survey.sources.readers.tables import LARGEST, THIN, no_such_part, several_parts
from grading.survey.sources.said_units import OF_DRAWINGS, metres_of, named, of_word
from grading.units import FARTHEST

NAMESPACES = tuple(f"http://www.landxml.org/schema/LandXML-{version}" for version in (
    "1.0", "1.1", "1.2",
))  # fmt: skip

_UNITS = {
    "millimeter": 0.001, "centimeter": 0.01, "meter": 1.0,
    "foot": OF_DRAWINGS["ft"], "inch": OF_DRAWINGS["in"], "USSurveyFoot": OF_DRAWINGS["us-ft"],
}  # fmt: skip
"""What `linearUnit` may say, as the schema lists it. [m]"""


class _Found:
    """What was found in one file so far, in the file's unit, as north, east, elevation."""

    def __init__(self) -> None:
        self.said: float | None = None
        self.points: list[tuple[str, str, list[float]]] = []
        self.surfaces: dict[str, list[list[float]]] = {}
        self.data: dict[str, list[list[float]]] = {}
        self.lines: dict[str, list[list[float]]] = {}
        self.left: Counter[str] = Counter()


def read_landxml(path: Path, shown: str, given: float | None, part: str | None) -> PointFile:
    """Return the points of a LandXML file, or those of one of its surfaces with its breaklines.

    Parameters
    ----------
    part : str or None
        The name of the surface. Where it is None: the points that stand by themselves, or those
        of the only surface.

    Raises
    ------
    SiteError
        It is no LandXML of these versions, has several surfaces of which none was chosen, or
        coordinates that are no numbers.
    """
    data = read_limited(path, shown, LARGEST, THIN)
    if prolog_of(data).has_type:
        raise _no(shown, "a document type of its own")
    found = _Found()
    try:
        _walk(data, found, shown)
    except ElementTree.ParseError as error:
        raise _no(shown, f"no whole XML ({error})") from None
    metres = metres_of(found.said, given, shown)
    if part is not None and part not in found.surfaces:
        raise no_such_part(shown, "surface", part, list(found.surfaces))
    if part is None and not found.points and len(found.surfaces) > 1:
        raise several_parts(shown, "surfaces", list(found.surfaces))
    if part is None and found.points:
        rows = [at for _, _, at in found.points]
        names = tuple(name for name, _, _ in found.points)
        codes = tuple(code for _, code, _ in found.points)
        if found.surfaces:
            found.left[f"surfaces beside the points ({', '.join(found.surfaces)})"] += len(
                found.surfaces
            )
        lines: list[list[float]] = []
    else:
        surface = part if part is not None else next(iter(found.surfaces), "")
        rows, lines = found.surfaces.get(surface, []), found.lines.get(surface, [])
        names = codes = ("",) * len(rows)
        if found.points:
            found.left["points beside the surface"] += len(found.points)
    if not rows:
        raise _no(shown, "no points with an elevation")
    xyz = _on_site(np.array(rows, float), metres, shown)
    breaklines = [
        _on_site(np.array(line, float).reshape(-1, 3), metres, shown)
        for line in lines
        if len(line) >= 6
    ]
    return PointFile(
        shown, "LandXML", named(metres), "file" if found.said is not None else "person", xyz,
        names, codes, no_sd(len(xyz)), no_sd(len(xyz)), tuple(breaklines),
        tuple(f"{shown}: {count} {what} not used" for what, count in found.left.items()),
    )  # fmt: skip


def _no(shown: str, found: str) -> SiteError:
    mend = "Export it again as LandXML 1.2 with points or a surface."
    return SiteError([Problem(shown, shortened(visible(found), 160), "a LandXML file", mend)])


def _on_site(rows: Floats, metres: float, shown: str) -> Floats:
    """Return north, east, elevation (n, 3) as x, y, z. [m]"""
    xyz = rows[:, [1, 0, 2]] * metres
    if not (np.abs(xyz) <= FARTHEST).all():
        raise _no(shown, "coordinates of no site")
    return xyz


def _walk(data: bytes, found: _Found, shown: str) -> None:
    """Go through the elements as they end, so that none are kept."""
    surface, inside = "", ""
    for event, element in ElementTree.iterparse(io.BytesIO(data), events=("start", "end")):
        space, _, tag = element.tag.rpartition("}")
        if event == "start":
            if tag == "LandXML" and space and space.lstrip("{") not in NAMESPACES:
                raise _no(shown, f"the namespace {space.lstrip('{')}")
            if tag == "Surface":
                surface = element.get("name") or f"surface {len(found.surfaces) + 1}"
                found.surfaces.setdefault(surface, [])
                found.lines.setdefault(surface, [])
                found.data.setdefault(surface, [])
            elif tag in ("Breakline", "DataPoints"):
                inside = tag
            continue
        if tag in ("Metric", "Imperial"):
            word = element.get("linearUnit") or ""
            found.said = _UNITS.get(word, of_word(word))
            if found.said is None:
                raise _no(shown, f'the unit "{word}"')
        elif tag == "CgPoint":
            _point(element, found, shown)
        elif surface and (tag == "P" or (tag == "PntList3D" and inside)):
            _of_surface(inside or tag, element, found, surface, shown)
        elif tag == inside:
            inside = ""
        elif tag == "Surface":
            # What a surface was made from stands in for the points of its triangles.
            found.surfaces[surface] = found.surfaces[surface] or found.data[surface]
            surface = ""
        element.clear()
    if not found.surfaces and not found.points and found.said is None:
        raise _no(shown, "XML without points or surfaces")


def _point(element: ElementTree.Element, found: _Found, shown: str) -> None:
    at = list(_numbers(element.text, shown))
    if len(at) < 3:
        found.left["points without an elevation, or told by the name of another"] += 1
        return
    name = " ".join((element.get("name") or "").split())
    code = " ".join((element.get("code") or element.get("desc") or "").split())
    if not is_visible(name + code) or len(name) > 200 or len(code) > 200:
        raise _no(shown, f'a point named "{name}"')
    found.points.append((name, code, at[:3]))


def _of_surface(
    tag: str, element: ElementTree.Element, found: _Found, surface: str, shown: str
) -> None:
    at = list(_numbers(element.text, shown))
    if len(at) % 3 or not at:
        raise _no(shown, f'a surface point of {len(at)} numbers in "{surface}"')
    if tag == "Breakline":
        found.lines[surface].append(at)
    else:
        places = found.surfaces if tag == "P" else found.data
        places[surface] += [at[k : k + 3] for k in range(0, len(at), 3)]


def _numbers(text: str | None, shown: str) -> Iterator[float]:
    for word in (text or "").split():
        try:
            number = float(word)
        except ValueError:
            number = float("inf")
        if not abs(number) <= FARTHEST:
            raise _no(shown, f'the coordinate "{word}"')
        yield number
