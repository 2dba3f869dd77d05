"""The surfaces of a plan as LandXML 1.2: ground, finish and what every base system digs to.

Written with the standard library: the format is a handful of plain elements. Coordinates come
in the format's own order, northing, easting, elevation: the site's y, x and z.
"""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree

import numpy as np

from grading.pipeline import Plan
from grading.units import METRES
from viz.export.surfaces import Surface, dug_of, existing_ground, finish_of, subgrade_of

NAMESPACE = "http://www.landxml.org/schema/LandXML-1.2"

_MADE = date(2000, 1, 1)  # the same on every run
_UNITS = {
    # The foot is the international one, 0.3048 m, not that of the US survey.
    "ft": (
        "Imperial",
        {
            "areaUnit": "squareFoot", "linearUnit": "foot", "volumeUnit": "cubicYard",
            "temperatureUnit": "fahrenheit", "pressureUnit": "inHG",
        },
    ),
    "m": (
        "Metric",
        {
            "areaUnit": "squareMeter", "linearUnit": "meter", "volumeUnit": "cubicMeter",
            "temperatureUnit": "celsius", "pressureUnit": "milliBars",
        },
    ),
}  # fmt: skip


def surfaces_of(plan: Plan) -> list[Surface]:
    """Return every surface of a plan, from the ground to the hole of each base system."""
    found = existing_ground(plan)
    for area in plan.areas:
        found.append(finish_of(area))
        for base in area.digs:
            found += [subgrade_of(area, base), dug_of(area, base)]
    return found


def write_landxml(plan: Plan, path: Path) -> None:
    """Write the surfaces of a plan.

    Parameters
    ----------
    plan : Plan
    path : Path
    """
    site = plan.site
    root = ElementTree.Element(
        "LandXML",
        {"xmlns": NAMESPACE, "version": "1.2", "date": _MADE.isoformat(), "time": "00:00:00",
         "readOnly": "false", "language": "English"},
    )  # fmt: skip
    system, units = _UNITS[site.unit]
    ElementTree.SubElement(ElementTree.SubElement(root, "Units"), system, units)
    about = "local plan axes and local datum of the site"
    ElementTree.SubElement(root, "CoordinateSystem", {"name": "site", "desc": about})
    ElementTree.SubElement(root, "Project", {"name": site.name})
    ElementTree.SubElement(root, "Application", {"name": "fallaway"})
    _spots(root, plan)
    surfaces = ElementTree.SubElement(root, "Surfaces", {"name": site.name})
    scale = 1 / METRES[site.unit]
    for surface in surfaces_of(plan):
        _surface(surfaces, surface, scale)
    ElementTree.indent(root, " ")
    ElementTree.ElementTree(root).write(path, encoding="utf-8", xml_declaration=True)


def _spots(root: ElementTree.Element, plan: Plan) -> None:
    spots = plan.site.spots
    points = ElementTree.SubElement(root, "CgPoints", {"name": "existing spots"})
    scale = 1 / METRES[plan.site.unit]
    for number, xyz in enumerate(spots.xyz):
        told = {"name": spots.ids[number] if spots.ids else str(number + 1), "state": "existing"}
        for key, words in (("code", spots.codes), ("desc", spots.notes)):
            if words and words[number]:
                told[key] = words[number]
        ElementTree.SubElement(points, "CgPoint", told).text = _place(xyz * scale)


def _surface(parent: ElementTree.Element, surface: Surface, scale: float) -> None:
    points = surface.points * scale
    state = "existing" if surface.existing else "proposed"
    about = {"name": surface.name, "desc": surface.about, "state": state}
    found = ElementTree.SubElement(parent, "Surface", about)
    low, high = points[:, 2].min(), points[:, 2].max()
    definition = ElementTree.SubElement(
        found,
        "Definition",
        {
            "surfType": "TIN", "area2DSurf": _number(_plan_area(surface) * scale**2),
            "elevMin": _number(low), "elevMax": _number(high),
        },
    )  # fmt: skip
    listed = ElementTree.SubElement(definition, "Pnts")
    for number, xyz in enumerate(points, 1):
        ElementTree.SubElement(listed, "P", {"id": str(number)}).text = _place(xyz)
    faces = ElementTree.SubElement(definition, "Faces")
    for corners in surface.faces + 1:
        ElementTree.SubElement(faces, "F").text = " ".join(str(each) for each in corners)


def _place(xyz: np.ndarray) -> str:
    """Write a point as northing, easting, elevation."""
    return " ".join(_number(each) for each in (xyz[1], xyz[0], xyz[2]))


def _number(value: float) -> str:
    # Ten decimals, and no more than twelve digits in all: a number far from the origin has no
    # more that are true, and what was written comes back as written.
    # As decimals: in binary the rest would come back.
    written = f"{round(Decimal(f'{float(value):.12g}'), 10) + 0:.10f}"
    return written.rstrip("0").rstrip(".")


def _plan_area(surface: Surface) -> float:
    a, b, c = np.moveaxis(surface.points[surface.faces][:, :, :2], 1, 0)
    one, two = b - a, c - a
    return float(np.abs(one[:, 0] * two[:, 1] - one[:, 1] * two[:, 0]).sum() / 2)
