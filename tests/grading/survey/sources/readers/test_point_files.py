"""Files of points, each written by another library or by hand to its standard."""

from __future__ import annotations

import json

import ezdxf
import numpy as np
import openpyxl
import pytest
from lxml import etree
from make.plans.sampled import sampled

from grading.errors import SiteError
from grading.survey.sources.formats import read_file
from grading.survey.sources.model import PointFile
from grading.survey.sources.thinned import thinned
from grading.units import FOOT, US_SURVEY_FOOT

# name, north, east, elevation, description: the order of data collectors, common practice.
ROWS = [
    ("1", 5000.25, 2000.5, 101.325, "GND"),
    ("2", 5012.5, 2010.75, 101.1, "GND by tree"),
    ("TBM", 5020.0, 1995.125, 100.0, "nail"),
]
XYZ = np.array([(east, north, z) for _, north, east, z, _ in ROWS])


def read(path, units=None, way=None, part=None) -> PointFile:
    found = read_file(path, way, units, part)
    assert isinstance(found, PointFile)
    return found


def told(path, units=None, way=None, part=None) -> str:
    with pytest.raises(SiteError) as error:
        read(path, units, way, part)
    assert error.value.exit_status == 2
    assert "\n" not in str(error.value)
    return str(error.value)


def text(rows, sign=","):
    return "\n".join(sign.join(map(str, row)) for row in rows) + "\n"


class TestCsv:
    def test_rows_without_a_header_are_point_north_east_elevation_description(self, tmp_path):
        path = tmp_path / "job.csv"
        path.write_text(text(ROWS))
        points = read(path, FOOT)
        np.testing.assert_allclose(points.xyz, XYZ * FOOT)
        assert points.names == ("1", "2", "TBM")
        assert points.codes == ("GND", "GND by tree", "nail")
        assert "point, north, east, elevation" in points.remarks[0]

    def test_a_header_in_any_order(self, tmp_path):
        path = tmp_path / "job.csv"
        rows = [
            ("Elevation", "Easting", "Northing", "Desc"),
            *((z, e, n, d) for _, n, e, z, d in ROWS),
        ]
        path.write_text(text(rows))
        points = read(path, US_SURVEY_FOOT)
        np.testing.assert_allclose(points.xyz, XYZ * US_SURVEY_FOOT)
        assert points.unit == "us-ft"
        assert points.remarks == ()

    def test_units_are_never_guessed(self, tmp_path):
        path = tmp_path / "job.csv"
        path.write_text(text(ROWS))
        assert "--units" in told(path)

    def test_a_header_that_says_its_unit_is_believed(self, tmp_path):
        path = tmp_path / "job.csv"
        path.write_text("x (m),y (m),z (m),sd_z (m)\n1,2,3,0.004\n4,5,6,\n7,8,9,0.002\n")
        points = read(path)
        assert points.told_by == "file"
        np.testing.assert_allclose(points.xyz, [[1, 2, 3], [4, 5, 6], [7, 8, 9]])
        np.testing.assert_allclose(points.sd_z, [0.004, np.nan, 0.002])

    def test_cells_that_say_their_unit_need_none(self, tmp_path):
        path = tmp_path / "job.csv"
        path.write_text("x;y;z\n5' 3 1/2\";1,5 m;40 mm\n1 ft;2 ft;3 ft\n6 ft;0 ft;3 ft\n")
        points = read(path)
        np.testing.assert_allclose(points.xyz[0], [5.291666667 * FOOT, 1.5, 0.04])

    @pytest.mark.parametrize("sign", [";", "\t"])
    def test_a_decimal_comma_is_a_point_and_that_of_a_note_stays(self, tmp_path, sign):
        path = tmp_path / "job.csv"
        rows = [["x", "y", "z", "code"], ["1,5", "-2,25", "3", "oak, near"],
                ["4", "5", "6,125", "GL"], ["7", "8", "9", "GL"]]  # fmt: skip
        path.write_text("\n".join(sign.join(row) for row in rows) + "\n")
        points = read(path, 1.0)
        np.testing.assert_allclose(points.xyz[:2], [[1.5, -2.25, 3], [4, 5, 6.125]])
        assert points.codes[0] == "oak, near"

    def test_of_two_heights_none_is_chosen(self, tmp_path):
        path = tmp_path / "job.csv"
        path.write_text("x,y,elevation,height,desc,note\n1,2,3,33,a,b\n4,5,6,36,a,b\n")
        assert 'the columns "elevation", "height"' in told(path, FOOT)

    def test_three_columns_without_a_header_are_no_points(self, tmp_path):
        path = tmp_path / "job.csv"
        path.write_text("1.5,2.5,3.5\n4.5,5.5,6.5\n")
        assert "first line that names the columns" in told(path, FOOT)

    def test_x_y_z_with_an_intensity_is_no_point_number(self, tmp_path):
        path = tmp_path / "job.csv"
        path.write_text("1.5,2.5,3.5,80\n4.5,5.5,6.5,90\n")
        assert "header" in told(path, FOOT)

    def test_every_wrong_cell_is_named_by_its_line(self, tmp_path):
        path = tmp_path / "job.csv"
        path.write_text("x,y,z\n1,2,3\n1,two,3\n1,2,1_000\n")
        with pytest.raises(SiteError) as error:
            read(path, FOOT)
        assert [problem.where for problem in error.value.problems] == [
            "job.csv, line 3, column y",
            "job.csv, line 4, column z",
        ]


class TestXlsx:
    def book(self, path, sheets):
        book = openpyxl.Workbook()
        book.remove(book.active)
        for name, rows in sheets.items():
            sheet = book.create_sheet(name)
            for row in rows:
                sheet.append(row)
        book.save(path)

    def test_a_sheet_by_openpyxl(self, tmp_path):
        path = tmp_path / "job.xlsx"
        self.book(
            path, {"Shots": [("point", "x", "y", "z"), *((n, e, k, z) for n, k, e, z, _ in ROWS)]}
        )
        points = read(path, FOOT)
        np.testing.assert_allclose(points.xyz, XYZ * FOOT)
        assert points.names == ("1", "2", "TBM")

    def test_of_two_sheets_one_is_chosen(self, tmp_path):
        path = tmp_path / "job.xlsx"
        self.book(path, {"one": ROWS, "two": ROWS[:2], "none": []})
        assert "--part" in told(path, FOOT)
        assert len(read(path, FOOT, part="two").xyz) == 2
        assert '"one", "two", "none"' in told(path, FOOT, part="three")

    def test_what_is_no_spreadsheet(self, tmp_path):
        path = tmp_path / "job.xlsx"
        path.write_bytes(b"PK\x03\x04 and no more")
        assert "no whole spreadsheet" in told(path, FOOT)


class TestGeojson:
    def test_features_by_pyogrio(self, tmp_path):
        shapely = pytest.importorskip("shapely")
        pyogrio = pytest.importorskip("pyogrio")
        raw = pytest.importorskip("pyogrio.raw")
        path = tmp_path / "job.geojson"
        geometry = shapely.to_wkb(shapely.points(XYZ), output_dimension=3)
        names = np.array([name for name, *_ in ROWS], object)
        raw.write(
            path, geometry, [names], ["name"], driver="GeoJSON", geometry_type="Point Z",
            crs="EPSG:32618",
        )  # fmt: skip
        assert pyogrio.read_info(path)["features"] == 3
        points = read(path)
        assert points.unit == "m"
        assert points.told_by == "file"
        np.testing.assert_allclose(points.xyz, XYZ)
        assert points.names == ("1", "2", "TBM")

    def written(self, path, features, **more):
        path.write_text(json.dumps({"type": "FeatureCollection", "features": features, **more}))

    def test_without_a_grid_it_is_in_what_the_person_says(self, tmp_path):
        """RFC 7946 knows degrees alone: whether they are feet is not to be guessed."""
        path = tmp_path / "job.geojson"
        self.written(
            path,
            [
                {
                    "type": "Feature",
                    "properties": {"elev": z, "code": code},
                    "geometry": {"type": "Point", "coordinates": [e, n]},
                }
                for _, n, e, z, code in ROWS
            ],
        )
        assert "--units" in told(path)
        points = read(path, FOOT)
        np.testing.assert_allclose(points.xyz, XYZ * FOOT)
        assert points.codes[2] == "nail"

    def test_lines_are_breaklines_and_areas_are_told(self, tmp_path):
        path = tmp_path / "job.geojson"
        line = {"type": "LineString", "coordinates": [[0, 0, 1], [5, 5, 2], [9, 5, 2]]}
        ring = {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]]}
        point = {"type": "MultiPoint", "coordinates": [[0, 0, 1], [9, 5, 2]]}
        self.written(
            path,
            [{"type": "Feature", "properties": None, "geometry": g} for g in (line, ring, point)],
        )
        points = read(path, 1.0)
        assert len(points.xyz) == 2
        np.testing.assert_allclose(points.breaklines[0], line["coordinates"])
        assert "1 geometries of type Polygon not used" in points.remarks[0]

    @pytest.mark.parametrize("name", ["urn:ogc:def:crs:OGC:1.3:CRS84", "EPSG:4326"])
    def test_degrees_are_no_lengths(self, tmp_path, name):
        path = tmp_path / "job.geojson"
        point = {"type": "Point", "coordinates": [-75.1, 40.2, 30.0]}
        self.written(
            path,
            [{"type": "Feature", "properties": {}, "geometry": point}],
            crs={"type": "name", "properties": {"name": name}},
        )
        assert "degrees" in told(path, FOOT)


class TestDxf:
    def drawing(self, path, insunits=2):
        drawing = ezdxf.new("R2010")
        drawing.header["$INSUNITS"] = insunits
        model = drawing.modelspace()
        for _, north, east, z, _ in ROWS:
            model.add_point((east, north, z), dxfattribs={"layer": "SPOTS"})
        model.add_polyline3d([(1995, 5000, 101.0), (2005, 5010, 101.5), (2010, 5020, 101.2)])
        model.add_line((1995, 5000, 101.0), (1995, 5020, 100.5))
        model.add_lwpolyline([(1990, 4990), (2020, 4990), (2020, 5030)])  # a frame, drawn flat
        model.add_text("north")
        drawing.saveas(path)

    def test_points_and_lines_by_ezdxf(self, tmp_path):
        path = tmp_path / "job.dxf"
        self.drawing(path)
        points = read(path)
        assert (points.unit, points.told_by) == ("ft", "file")
        np.testing.assert_allclose(points.xyz, XYZ * FOOT)
        assert points.codes == ("SPOTS",) * 3
        assert [len(line) for line in points.breaklines] == [3, 2]
        np.testing.assert_allclose(points.breaklines[0][1], np.array([2005, 5010, 101.5]) * FOOT)
        assert any("1 lines drawn flat" in remark for remark in points.remarks)
        assert any("type TEXT" in remark for remark in points.remarks)

    @pytest.mark.parametrize(
        ("code", "metres"), [(1, 0.0254), (2, FOOT), (4, 0.001), (6, 1.0), (21, US_SURVEY_FOOT)]
    )
    def test_its_unit(self, tmp_path, code, metres):
        """$INSUNITS of the DXF reference: inches 1, feet 2, millimetres 4, metres 6, us-ft 21."""
        path = tmp_path / "job.dxf"
        self.drawing(path, code)
        np.testing.assert_allclose(read(path).xyz, XYZ * metres)

    def test_without_a_unit_it_asks(self, tmp_path):
        path = tmp_path / "job.dxf"
        self.drawing(path, 0)
        assert "--units" in told(path)
        assert read(path, 1.0).told_by == "person"

    def test_one_layer(self, tmp_path):
        path = tmp_path / "job.dxf"
        self.drawing(path)
        assert read(path, part="SPOTS").breaklines == ()
        assert '"SPOTS"' in told(path, part="NOWHERE")

    def test_a_line_drawn_flat_through_points_takes_their_levels(self, tmp_path):
        path = tmp_path / "job.dxf"
        drawing = ezdxf.new("R2010")
        drawing.header["$INSUNITS"] = 6
        model = drawing.modelspace()
        for corner in XYZ:
            model.add_point(corner)
        model.add_lwpolyline([tuple(corner[:2]) for corner in XYZ[:2]])
        drawing.saveas(path)
        (line,) = read(path).breaklines
        assert np.isnan(line[:, 2]).all()

    def test_what_we_export_comes_back(self, tmp_path):
        from viz.export.formats import chosen_formats, export

        planned = sampled("back-patio")
        export(planned, tmp_path, chosen_formats("dxf"))
        (path,) = tmp_path.rglob("*.dxf")
        drawing = ezdxf.readfile(path)
        faces = [each for each in drawing.modelspace() if each.dxftype() == "3DFACE"]
        ground = next(each.dxf.layer for each in faces if "ground" in each.dxf.layer.lower())
        points = read(path, part=ground)
        assert points.unit == "ft"
        level = planned.ground.elevation(points.xyz[:, :2])
        known = np.isfinite(level)
        assert known.sum() > 20
        np.testing.assert_allclose(points.xyz[known, 2], level[known], atol=2e-4)

    def test_faces_give_their_corners_once(self, tmp_path):
        path = tmp_path / "job.dxf"
        drawing = ezdxf.new("R2010")
        drawing.header["$INSUNITS"] = 6
        model = drawing.modelspace()
        model.add_3dface([(0, 0, 1), (5, 0, 1.5), (5, 5, 1.2), (5, 5, 1.2)])
        model.add_3dface([(0, 0, 1), (5, 5, 1.2), (0, 5, 1.1), (0, 5, 1.1)])
        drawing.saveas(path)
        points = read(path)
        np.testing.assert_allclose(points.xyz, [[0, 0, 1], [5, 0, 1.5], [5, 5, 1.2], [0, 5, 1.1]])


def landxml(version="1.2", unit=("Imperial", "USSurveyFoot"), points=True, surfaces=("EG",)):
    """Return LandXML as its schema has it, by lxml."""
    space = f"http://www.landxml.org/schema/LandXML-{version}"
    root = etree.Element(f"{{{space}}}LandXML", nsmap={None: space}, version=version)
    if unit:
        units = etree.SubElement(root, f"{{{space}}}Units")
        etree.SubElement(units, f"{{{space}}}{unit[0]}", linearUnit=unit[1], areaUnit="x")
    if points:
        group = etree.SubElement(root, f"{{{space}}}CgPoints")
        for name, north, east, z, code in ROWS:
            point = etree.SubElement(group, f"{{{space}}}CgPoint", name=name, code=code)
            point.text = f"{north} {east} {z}"
        etree.SubElement(group, f"{{{space}}}CgPoint", name="9").text = "5000 2000"
    parent = etree.SubElement(root, f"{{{space}}}Surfaces")
    for name in surfaces:
        surface = etree.SubElement(parent, f"{{{space}}}Surface", name=name)
        source = etree.SubElement(surface, f"{{{space}}}SourceData")
        lines = etree.SubElement(source, f"{{{space}}}Breaklines")
        line = etree.SubElement(lines, f"{{{space}}}Breakline", brkType="standard")
        etree.SubElement(line, f"{{{space}}}PntList3D").text = "5000 2000 101 5010 2005 101.5"
        rings = etree.SubElement(source, f"{{{space}}}Boundaries")
        ring = etree.SubElement(rings, f"{{{space}}}Boundary", bndType="outer")
        etree.SubElement(ring, f"{{{space}}}PntList3D").text = "5000 2000 101 5010 2005 101.5"
        body = etree.SubElement(surface, f"{{{space}}}Definition", surfType="TIN")
        places = etree.SubElement(body, f"{{{space}}}Pnts")
        for number, (_, north, east, z, _) in enumerate(ROWS, start=1):
            etree.SubElement(places, f"{{{space}}}P", id=str(number)).text = f"{north} {east} {z}"
        faces = etree.SubElement(body, f"{{{space}}}Faces")
        etree.SubElement(faces, f"{{{space}}}F").text = "1 2 3"
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")


class TestLandxml:
    @pytest.mark.parametrize("version", ["1.0", "1.1", "1.2"])
    @pytest.mark.parametrize(
        ("unit", "metres"),
        [
            (("Metric", "meter"), 1.0),
            (("Imperial", "foot"), FOOT),
            (("Imperial", "USSurveyFoot"), US_SURVEY_FOOT),
        ],
    )
    def test_points_of_each_version_and_unit(self, tmp_path, version, unit, metres):
        path = tmp_path / "job.xml"
        path.write_bytes(landxml(version, unit, surfaces=()))
        points = read(path)
        np.testing.assert_allclose(points.xyz, XYZ * metres)
        assert points.names == ("1", "2", "TBM")
        assert "1 points without an elevation" in points.remarks[0]

    def test_a_surface_with_its_breaklines(self, tmp_path):
        path = tmp_path / "job.xml"
        path.write_bytes(landxml(points=False))
        points = read(path)
        np.testing.assert_allclose(points.xyz, XYZ * US_SURVEY_FOOT)
        (line,) = points.breaklines
        np.testing.assert_allclose(
            line, np.array([[2000, 5000, 101], [2005, 5010, 101.5]]) * US_SURVEY_FOOT
        )

    def test_of_several_surfaces_one_is_chosen(self, tmp_path):
        path = tmp_path / "job.xml"
        path.write_bytes(landxml(points=False, surfaces=("EG", "finish")))
        assert '--part "EG"' in told(path)
        assert len(read(path, part="finish").xyz) == 3

    def test_other_xml(self, tmp_path):
        path = tmp_path / "job.xml"
        path.write_text('<?xml version="1.0"?><html><body/></html>')
        assert "LandXML" in told(path, FOOT)
        path.write_bytes(landxml("2.0"))
        assert "namespace" in told(path)
        path.write_text('<!DOCTYPE a [<!ENTITY b "c">]><LandXML>&b;</LandXML>')
        assert "document type" in told(path)

    def test_what_we_export_comes_back(self, tmp_path):
        from viz.export.formats import chosen_formats, export

        planned = sampled("back-patio")
        export(planned, tmp_path, chosen_formats("landxml"))
        (path,) = tmp_path.rglob("*.xml")
        ground = next(name for name in ("existing ground", "ground") if name in path.read_text())
        points = read(path, part=ground)
        spots = planned.site.spots.xyz
        for spot in spots:
            away = np.linalg.norm(points.xyz - spot, axis=1)
            assert away.min() < 1e-4


def test_points_at_one_place_are_thinned_and_never_refused(tmp_path):
    """A millimetre apart is one place; levels that differ stay, for the survey to tell."""
    path = tmp_path / "dense.csv"
    rng = np.random.default_rng(2)
    base = rng.uniform(0, 20, (300, 3))
    near = base + rng.uniform(-3e-4, 3e-4, base.shape)
    high = base[:10] + np.array([0, 0, 0.05])
    every = np.concatenate([base, near, np.repeat(base[:1], 2000, axis=0), high])
    path.write_text("x,y,z\n" + text(every.round(6).tolist()))
    kept = thinned(read(path, 1.0))
    # Of the ten places with another level all shots stay: 2 + 1 each, and 2000 more at the first.
    assert len(kept.xyz) == 290 + 10 * 3 + 2000
    np.testing.assert_allclose(kept.xyz[-1], high[-1].round(6))
