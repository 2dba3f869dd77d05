"""Scans, each written by another library or by hand to its format."""

from __future__ import annotations

import laspy
import numpy as np
import pytest
import trimesh
from laspy.vlrs.known import GeoKeyDirectoryVlr, WktCoordinateSystemVlr

from grading.errors import SiteError
from grading.survey.sources.formats import read_file
from grading.survey.sources.model import ScanFile
from grading.survey.sources.readers import las, ply, text_scan
from grading.units import FOOT, US_SURVEY_FOOT

XYZ = np.random.default_rng(1).uniform(-20, 20, (5000, 3)).round(3)
FAR = np.array([500000, 4000000, 0])  # as grids of a country have it


def opened(path, way=None) -> ScanFile:
    found = read_file(path, way, None, None)
    assert isinstance(found, ScanFile)
    return found


def points(path, way=None):
    return np.concatenate([xyz for xyz, _ in opened(path, way).chunks()])


def told(path, way=None) -> str:
    with pytest.raises(SiteError) as error:
        points(path, way)
    assert "\n" not in str(error.value)
    return str(error.value)


def write_las(path, format_=6, xyz=XYZ, records=()):
    header = laspy.LasHeader(point_format=format_, version="1.4" if format_ > 5 else "1.2")
    header.scales, header.offsets = [0.001] * 3, FAR
    header.vlrs.extend(records)
    data = laspy.LasData(header)
    data.x, data.y, data.z = (xyz + FAR).T
    data.write(str(path))


class TestLas:
    @pytest.mark.parametrize("ending", ["las", "laz"])
    @pytest.mark.parametrize("format_", [0, 1, 2, 3, 6, 7, 8])
    def test_formats_of_points_by_laspy(self, tmp_path, format_, ending):
        path = tmp_path / f"scan.{ending}"
        write_las(path, format_)
        np.testing.assert_allclose(points(path), XYZ + FAR, atol=1e-6)

    def test_in_chunks_the_last_of_which_is_short(self, tmp_path, monkeypatch):
        monkeypatch.setattr(las, "CHUNK", 1999)
        path = tmp_path / "scan.laz"
        write_las(path)
        sizes = [(len(xyz), share) for xyz, share in opened(path).chunks()]
        assert [size for size, _ in sizes] == [1999, 1999, 1002]
        assert sizes[-1][1] == 1.0

    @pytest.mark.parametrize(
        ("code", "metres"), [(9001, 1.0), (9002, FOOT), (9003, US_SURVEY_FOOT)]
    )
    def test_geokeys_say_the_unit(self, tmp_path, code, metres):
        """ProjLinearUnitsGeoKey 3076 of GeoTIFF with EPSG codes 9001 to 9003."""
        path = tmp_path / "scan.las"
        write_las(path, 3, records=[geokeys({1024: 1, 3076: code})])
        assert opened(path).said == pytest.approx((metres, metres), rel=1e-12)

    def test_the_vertical_may_have_a_unit_of_its_own(self, tmp_path):
        path = tmp_path / "scan.las"
        write_las(path, 3, records=[geokeys({1024: 1, 3076: 9001, 4099: 9003})])
        assert opened(path).said == pytest.approx((1.0, US_SURVEY_FOOT), rel=1e-12)

    def test_utm_is_in_metres(self, tmp_path):
        path = tmp_path / "scan.las"
        write_las(path, 3, records=[geokeys({1024: 1, 3072: 32618})])
        assert opened(path).said == (1.0, 1.0)

    def test_degrees_are_no_lengths(self, tmp_path):
        path = tmp_path / "scan.las"
        write_las(path, 3, records=[geokeys({1024: 2, 2048: 4326})])
        assert "degrees" in told(path)

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            (
                'PROJCS["a",GEOGCS["b",DATUM["c",SPHEROID["d",6378137,298.25]],PRIMEM["e",0],'
                'UNIT["degree",0.0174532925199433]],PROJECTION["f"],PARAMETER["g",0],'
                'UNIT["US survey foot",0.304800609601219]]',
                (0.304800609601219,) * 2,
            ),
            (
                'COMPD_CS["z",PROJCS["a",GEOGCS["b",DATUM["c",SPHEROID["d",6378137,298.25]],'
                'PRIMEM["e",0],UNIT["degree",0.0174532925199433]],UNIT["metre",1]],'
                'VERT_CS["h",VERT_DATUM["i",2005],UNIT["foot",0.3048],AXIS["Up",UP]]]',
                (1.0, 0.3048),
            ),
            (
                'PROJCRS["a",BASEGEOGCRS["b",DATUM["c",ELLIPSOID["d",6378137,298.2,'
                'LENGTHUNIT["metre",1]]]],CONVERSION["e",METHOD["f"]],CS[Cartesian,2],'
                'AXIS["E",east],LENGTHUNIT["foot",0.3048]]',
                (0.3048, 0.3048),
            ),
        ],
    )
    def test_well_known_text_says_the_unit(self, tmp_path, text, said):
        """As ISO 19162 and its forerunner write them; shortened by hand."""
        path = tmp_path / "scan.las"
        write_las(path, 6, records=[WktCoordinateSystemVlr(text)])
        assert opened(path).said == pytest.approx(said, rel=1e-12)

    def test_nothing_said(self, tmp_path):
        path = tmp_path / "scan.las"
        write_las(path)
        assert opened(path).said is None

    def test_cut_short(self, tmp_path):
        for ending in ("las", "laz"):
            path = tmp_path / f"scan.{ending}"
            write_las(path)
            whole = path.read_bytes()
            for share in (0.0005, 0.01, 0.3, 0.9, 0.999):
                path.write_bytes(whole[: int(len(whole) * share)])
                assert "found" in told(path)

    def test_another_file_of_that_name(self, tmp_path):
        path = tmp_path / "scan.laz"
        path.write_bytes(b"PK\x03\x04" + bytes(500))
        assert "no head of a LAS file" in told(path)


def geokeys(keys):
    record = GeoKeyDirectoryVlr()
    body = np.array(
        [1, 1, 0, len(keys), *(v for k, u in keys.items() for v in (k, 0, 1, u))], "<u2"
    )
    record.parse_record_data(body.tobytes())
    return record


def ply_bytes(order="<", kind="f4", before=b"", count=None, extra=True):
    """Return a PLY file to its description of 1994, by hand."""
    names = {"<": "binary_little_endian", ">": "binary_big_endian"}
    word = {"f4": "float", "f8": "double"}[kind]
    fields = [("red", "u1"), ("x", order + kind), ("y", order + kind), ("z", order + kind)]
    fields += [("confidence", order + "i2")]
    rows = np.zeros(len(XYZ), fields)
    for axis, column in zip("xyz", XYZ.T, strict=True):
        rows[axis] = column
    lines = [
        "ply", f"format {names[order]} 1.0", "comment an invented scan",
        f"element vertex {len(XYZ) if count is None else count}", "property uchar red",
        f"property {word} x", f"property {word} y", f"property {word} z",
        "property short confidence", "element face 1", "property list uchar int vertex_indices",
        "end_header",
    ]  # fmt: skip
    return "\n".join(lines).encode() + b"\n" + before + rows.tobytes() + b"\x03" + bytes(12)


class TestPly:
    @pytest.mark.parametrize("order", ["<", ">"])
    @pytest.mark.parametrize("kind", ["f4", "f8"])
    def test_binary_of_either_order(self, tmp_path, order, kind):
        path = tmp_path / "scan.ply"
        path.write_bytes(ply_bytes(order, kind))
        np.testing.assert_allclose(points(path), XYZ, atol=2e-6 if kind == "f4" else 0)

    @pytest.mark.parametrize("encoding", ["binary", "ascii"])
    def test_a_cloud_by_trimesh(self, tmp_path, encoding):
        path = tmp_path / "scan.ply"
        cloud = trimesh.PointCloud(XYZ, colors=np.full((len(XYZ), 4), 200, np.uint8))
        path.write_bytes(trimesh.exchange.ply.export_ply(cloud, encoding=encoding))
        np.testing.assert_allclose(points(path), XYZ, atol=2e-6)

    def test_in_chunks(self, tmp_path, monkeypatch):
        monkeypatch.setattr(ply, "CHUNK", 1999)
        path = tmp_path / "scan.ply"
        path.write_bytes(ply_bytes())
        assert [len(xyz) for xyz, _ in opened(path).chunks()] == [1999, 1999, 1002]

    def test_cut_short(self, tmp_path):
        path = tmp_path / "scan.ply"
        path.write_bytes(ply_bytes()[:-9000])
        assert "of 5,000 points" in told(path)

    @pytest.mark.parametrize(
        "head",
        [
            "ply\nformat ascii 1.0\nelement vertex 5\nproperty float x\nend_header\n",
            "ply\nformat future 9\nelement vertex 5\nproperty float x\nend_header\n",
            "ply\nformat ascii 1.0\nelement face 5\nproperty list uchar int i\nend_header\n",
            "ply\nformat ascii 1.0\nelement vertex -5\nproperty float x\nend_header\n",
            "ply\nformat ascii 1.0\nelement vertex many\nend_header\n",
            "ply\nformat ascii 1.0\nproperty float x\nend_header\n",
            "solid not a ply at all",
        ],
    )
    def test_heads_that_are_none(self, tmp_path, head):
        path = tmp_path / "scan.ply"
        path.write_text(head)
        assert "PLY" in told(path)

    def test_text_with_too_few_lines(self, tmp_path):
        path = tmp_path / "scan.ply"
        head = "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\nproperty float y\n"
        path.write_text(head + "property float z\nend_header\n1 2 3\n4 5 6\n")
        assert "2 of 3 points" in told(path)


class TestText:
    @pytest.mark.parametrize("sign", [" ", "\t", ",", ";"])
    def test_by_numpy(self, tmp_path, sign):
        path = tmp_path / "scan.xyz"
        np.savetxt(path, XYZ, fmt="%.3f", delimiter=sign)
        np.testing.assert_allclose(points(path), XYZ, atol=1e-9)

    def test_with_a_title_a_count_and_more_columns(self, tmp_path):
        path = tmp_path / "scan.pts"
        rows = [" ".join(f"{v:.3f}" for v in row) + " -120 30 40 50" for row in XYZ]
        path.write_text(f"# exported\n{len(XYZ)}\n" + "\n".join(rows))
        np.testing.assert_allclose(points(path), XYZ, atol=1e-9)

    def test_with_decimal_commas(self, tmp_path):
        path = tmp_path / "scan.xyz"
        path.write_text("X;Y;Z\n1,5;2,25;-3\n4;5;6,125\n")
        np.testing.assert_allclose(points(path), [[1.5, 2.25, -3], [4, 5, 6.125]])

    def test_in_blocks_that_end_within_a_line(self, tmp_path, monkeypatch):
        monkeypatch.setattr(text_scan, "BLOCK", 1000)
        path = tmp_path / "scan.xyz"
        np.savetxt(path, XYZ, fmt="%.3f")
        np.testing.assert_allclose(points(path), XYZ, atol=1e-9)

    def test_a_line_that_is_no_point_is_told_by_its_number(self, tmp_path):
        path = tmp_path / "scan.xyz"
        path.write_text("title\n1 2 3\n\n4 5 6\n7 eight 9\n1 2 3\n")
        assert "scan.xyz, line 5" in told(path)

    def test_txt_is_asked_for(self, tmp_path):
        path = tmp_path / "scan.txt"
        np.savetxt(path, XYZ, fmt="%.3f")
        assert "--as" in told(path)
        assert len(points(path, "scan")) == len(XYZ)

    def test_what_is_no_text(self, tmp_path):
        path = tmp_path / "scan.xyz"
        path.write_bytes(bytes(range(256)) * 50)
        assert "no line with x, y and z" in told(path)


@pytest.mark.parametrize(
    ("name", "way", "words"),
    [
        ("a.e57", None, "LAS, LAZ, PLY"),
        ("a", None, "no ending"),
        ("a.laz", "points", "--as points"),
        ("a.dxf", "scan", "--as scan"),
    ],
)
def test_what_is_not_read_is_told(tmp_path, name, way, words):
    path = tmp_path / name
    path.write_bytes(b"some bytes")
    assert words in told(path, way)


def test_nothing_there(tmp_path):
    assert "nothing there" in told(tmp_path / "a.laz")
    assert "a folder" in told(tmp_path)
    (tmp_path / "b.laz").write_bytes(b"")
    assert "an empty file" in told(tmp_path / "b.laz")
