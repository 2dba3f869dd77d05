"""Surfaces measured in the file: order of coordinates, units, and the volume between two."""

from __future__ import annotations

import numpy as np
import pytest
from lxml import etree
from make.plans.exported import SITES, between, interpolated, plan_area
from make.plans.sampled import sampled

from grading.units import METRES
from viz.export.formats import export

SPACE = {"x": "http://www.landxml.org/schema/LandXML-1.2"}

# Of the schema LandXML-1.2, from memory: what may and must be said of each element.
REQUIRED = {
    "LandXML": {"version", "date", "time"},
    "Imperial": {"areaUnit", "linearUnit", "volumeUnit", "temperatureUnit", "pressureUnit"},
    "Metric": {"areaUnit", "linearUnit", "volumeUnit", "temperatureUnit", "pressureUnit"},
    "Project": {"name"},
    "Application": {"name"},
    "Surface": {"name"},
    "Definition": {"surfType"},
    "P": {"id"},
}
ALLOWED = {
    "LandXML": {"language", "readOnly", "LandXMLId", "crc"},
    "CoordinateSystem": {"name", "desc"},
    "CgPoints": {"name", "desc", "state", "code"},
    "CgPoint": {"name", "desc", "state", "code", "oID"},
    "Surfaces": {"name", "desc", "state"},
    "Surface": {"desc", "state", "oID"},
    "Definition": {"area2DSurf", "area3DSurf", "elevMax", "elevMin"},
}
UNITS = {
    "areaUnit": {"squareFoot", "squareMeter"},
    "linearUnit": {"foot", "USSurveyFoot", "meter"},
    "volumeUnit": {"cubicFeet", "cubicYard", "cubicMeter"},
    "temperatureUnit": {"fahrenheit", "celsius"},
    "pressureUnit": {"inHG", "milliBars"},
}
STATES = {"existing", "proposed", "abandoned", "destroyed"}


@pytest.fixture(scope="module", params=SITES)
def file(request, tmp_path_factory):
    plan = sampled(request.param)
    (path,) = export(plan, tmp_path_factory.mktemp(request.param), ["landxml"])
    assert path.name == "surfaces.xml"
    return plan, etree.parse(path).getroot(), METRES[plan.site.unit]


def read(root, name):
    """Return a surface as x, y, z (n, 3) and corners (m, 3), in units of the file."""
    (surface,) = root.xpath("//x:Surface[@name=$name]", namespaces=SPACE, name=name)
    listed = surface.findall(".//x:P", SPACE)
    place = {point.get("id"): k for k, point in enumerate(listed)}
    assert len(place) == len(listed)
    northing, easting, z = np.array([[float(v) for v in p.text.split()] for p in listed]).T
    faces = [
        [place[number] for number in face.text.split()] for face in surface.findall(".//x:F", SPACE)
    ]
    return np.column_stack([easting, northing, z]), np.array(faces)


def test_elements_and_attributes_are_those_of_the_schema(file):
    # From memory; no copy of the schema is at hand.
    plan, root, _ = file
    assert root.tag == f"{{{SPACE['x']}}}LandXML"
    assert root.get("version") == "1.2"
    for element in root.iter():
        name = etree.QName(element)
        assert name.namespace == SPACE["x"]
        must = REQUIRED.get(name.localname, set())
        assert must <= set(element.attrib), name
        assert set(element.attrib) <= must | ALLOWED.get(name.localname, set()), name
        if "state" in element.attrib:
            assert element.get("state") in STATES
        if name.localname in ("Imperial", "Metric"):
            for key, value in element.attrib.items():
                assert value in UNITS[key]
    order = [etree.QName(child).localname for child in root]
    assert order[0] == "Units"
    assert order[-1] == "Surfaces"
    (units,) = root.find("x:Units", SPACE)
    system = {"ft": ("Imperial", "foot"), "m": ("Metric", "meter")}[plan.site.unit]
    assert (etree.QName(units).localname, units.get("linearUnit")) == system
    assert {d.get("surfType") for d in root.iter(f"{{{SPACE['x']}}}Definition")} == {"TIN"}


def test_coordinates_are_northing_easting_elevation(file):
    plan, root, per = file
    points = root.findall(".//x:CgPoint", SPACE)
    told = np.array([[float(v) for v in point.text.split()] for point in points]) * per
    assert told == pytest.approx(plan.site.spots.xyz[:, [1, 0, 2]], abs=1e-9)
    assert [p.get("name") for p in points] == list(plan.site.spots.ids)


def test_there_is_a_surface_for_all_that_is_dug_and_laid(file):
    plan, root, _ = file
    names = {surface.get("name") for surface in root.iter(f"{{{SPACE['x']}}}Surface")}
    expected = {"existing ground"}
    if plan.ground.beyond.any():
        expected.add("existing ground beyond the survey")
    for area in plan.areas:
        name = area.area.name
        expected.add(f"{name}, finish")
        for base in area.digs:
            expected |= {f"{name}, {base}, subgrade", f"{name}, {base}, dug to"}
    assert names == expected


def test_what_is_said_of_a_surface_is_what_it_is(file):
    _, root, _ = file
    for surface in root.iter(f"{{{SPACE['x']}}}Surface"):
        points, faces = read(root, surface.get("name"))
        areas = plan_area(points, faces)
        assert (areas > 0).all() or surface.get("state") == "proposed"
        definition = surface.find("x:Definition", SPACE)
        assert float(definition.get("area2DSurf")) == pytest.approx(np.abs(areas).sum(), rel=1e-7)
        assert float(definition.get("elevMin")) == pytest.approx(points[:, 2].min(), abs=1e-8)
        assert float(definition.get("elevMax")) == pytest.approx(points[:, 2].max(), abs=1e-8)
        assert surface.get("state") == (
            "existing" if surface.get("name").startswith("existing") else "proposed"
        )


def test_elevations_are_those_of_the_plan(file):
    plan, root, per = file
    random = np.random.default_rng(7)
    points, faces = read(root, "existing ground")
    low, high = points[:, :2].min(axis=0), points[:, :2].max(axis=0)
    xy = random.uniform(low, high, (300, 2))
    told = interpolated(points, faces, xy) * per
    inside = np.isfinite(told)
    assert inside.sum() > 100
    assert told[inside] == pytest.approx(plan.ground.elevation(xy[inside] * per), abs=1e-7)
    for area in plan.areas:
        points, faces = read(root, f"{area.area.name}, finish")
        xy = random.uniform(points[:, :2].min(axis=0), points[:, :2].max(axis=0), (200, 2))
        told = interpolated(points, faces, xy) * per
        inside = np.isfinite(told)
        assert inside.sum() > 50
        finish = area.finish.surface.at(xy[inside] * per)
        assert told[inside] == pytest.approx(finish, abs=1e-7)
        assert plan_area(points, faces).sum() * per**2 == pytest.approx(area.outline.area, rel=1e-7)
        for base, dig in area.digs.items():
            points, faces = read(root, f"{area.area.name}, {base}, subgrade")
            told = interpolated(points, faces, xy) * per
            inside = np.isfinite(told)
            below = area.finish.surface.at(xy[inside] * per) - told[inside]
            assert below == pytest.approx(dig.build_up, abs=1e-7)


def test_the_earth_between_two_surfaces_of_the_file_is_the_cut_of_the_plan(file):
    plan, root, per = file
    ground, corners = read(root, "existing ground")
    for area in plan.areas:
        for base, dig in area.digs.items():
            points, faces = read(root, f"{area.area.name}, {base}, dug to")
            top = interpolated(ground, corners, points[:, :2])
            # On the rim of the survey a rounding may lie beyond it.
            rim = ~np.isfinite(top)
            top[rim] = plan.ground.elevation(points[rim, :2] * per) / per
            assert between(points, faces, top) * per**3 == pytest.approx(dig.cut, rel=1e-6)
            level, same = read(root, f"{area.area.name}, {base}, subgrade")
            assert np.array_equal(faces, same)
            refill = between(points, faces, level[:, 2]) * per**3
            assert refill == pytest.approx(dig.fill, rel=1e-6, abs=1e-7)
