"""Files made into the survey of a site."""

from __future__ import annotations

import json
import os

import numpy as np
import pytest
from make.sites.scan_site import HEAD, REST, YARD, common_of, scan_of, seen

from grading import plan, read_site, record
from grading.errors import SiteError
from grading.survey.sources import destination
from grading.survey.sources.importing import import_files
from grading.units import FOOT, US_SURVEY_FOOT
from viz.cli import main

CSV = "1,0,0,0.4,a\n2,0,60,0.5,b\n3,40,60,-0.6,c\n4,40,0,-0.5,d\n5,20,30,-0.1,e\n"


@pytest.fixture
def site(tmp_path):
    folder = tmp_path / "yard"
    folder.mkdir()
    (folder / "site.toml").write_text(HEAD + REST, encoding="utf-8")
    return folder


@pytest.fixture
def points(tmp_path):
    path = tmp_path / "shots.csv"
    path.write_text(CSV)
    return path


def take(site, *paths, **more):
    return import_files(site, site / "site.toml", paths, **more)


def files(folder):
    return {path.name: path.read_bytes() for path in folder.iterdir()}


class TestWhereItGoes:
    def test_a_site_without_a_survey_is_told_of_it(self, site, points):
        done = take(site, points, units="ft")
        assert done.told.table == "shots.csv"
        assert done.told.changed
        text = (site / "site.toml").read_text()
        assert 'spots = "shots.csv"' in text
        assert text.replace('spots = "shots.csv"\n', "") == HEAD + REST
        read = read_site(site)
        np.testing.assert_allclose(read.spots.xyz[4], np.array([30, 20, -0.1]) * FOOT)
        assert read.spots.ids == ("1", "2", "3", "4", "5")
        assert read.spots.codes == ("a", "b", "c", "d", "e")

    def test_a_site_that_waits_for_its_survey_gets_it_under_that_name(self, site, points):
        (site / "site.toml").write_text(HEAD + 'spots = "survey.csv"\n' + REST)
        before = (site / "site.toml").read_bytes()
        assert take(site, points, units="ft").told.table == "survey.csv"
        assert (site / "site.toml").read_bytes() == before
        assert len(read_site(site).spots.xyz) == 5

    def test_a_survey_that_is_there_stays(self, site, points):
        (site / "site.toml").write_text(HEAD + 'spots = "shots.csv"\n' + REST)
        (site / "shots.csv").write_text("x,y,z\n0,0,1\n")
        before = files(site)
        done = take(site, points, units="ft")
        assert not done.told.changed
        assert done.told.lines == ('spots = ["shots.csv", "shots-2.csv"]',)
        assert done.told.alone == 'spots = "shots-2.csv"'
        after = files(site)
        assert after.pop("shots-2.csv").startswith(b"id,x,y,z,code\n")
        assert after == before

    def test_a_survey_of_several_files_stays(self, site, points):
        text = HEAD + 'spots = ["one.csv", "two.csv"]\n' + REST
        (site / "site.toml").write_text(text)
        (site / "one.csv").write_text("x,y,z\n0,0,1\n")
        assert take(site, points, units="ft").told.table == "two.csv"
        told = take(site, points, units="ft").told
        assert told.lines == ('spots = ["one.csv", "two.csv", "shots.csv"]',)
        assert (site / "site.toml").read_text() == text

    def test_no_file_is_ever_written_over(self, site, points, monkeypatch):
        """Not even one that came between looking and writing."""
        monkeypatch.setattr(destination, "free_name", lambda folder, stem: "late.csv")
        (site / "late.csv").write_text("mine")
        with pytest.raises(SiteError, match="there already"):
            take(site, points, units="ft")
        assert (site / "late.csv").read_text() == "mine"

    def test_windows_line_ends_and_marks_stay(self, site, points):
        data = b"\xef\xbb\xbf" + (HEAD + REST).replace("\n", "\r\n").encode()
        (site / "site.toml").write_bytes(data)
        take(site, points, units="ft")
        after = (site / "site.toml").read_bytes()
        assert after.replace(b'spots = "shots.csv"\r\n', b"") == data

    def test_where_site_toml_cannot_be_written_nothing_is(self, site, points, monkeypatch):
        def full(*_):
            raise SiteError([])

        monkeypatch.setattr(destination, "replace_file", full)
        before = files(site)
        with pytest.raises(SiteError):
            take(site, points, units="ft")
        assert files(site) == before

    def test_a_folder_that_cannot_be_written(self, site, points, monkeypatch):
        def full(*_, **__):
            raise OSError(28, "No space left on device")

        monkeypatch.setattr("tempfile.mkstemp", full)
        before = files(site)
        with pytest.raises(SiteError, match="no space left"):
            take(site, points, units="ft")
        assert files(site) == before

    def test_a_disk_without_links(self, site, points, monkeypatch):
        def none(*_, **__):
            raise OSError(95, "Operation not supported")

        monkeypatch.setattr(os, "link", none)
        take(site, points, units="ft")
        assert len(read_site(site).spots.xyz) == 5
        assert sorted(files(site)) == ["shots.csv", "site.toml"]

    def test_a_site_in_metres(self, site, points):
        (site / "site.toml").write_text((HEAD + REST).replace('"ft"', '"m"'))
        take(site, points, units="us-ft")
        assert b"2,18.28804,0.00000,0.15240,b" in (site / "shots.csv").read_bytes()
        assert pytest.approx(30.51054, abs=5e-6) == 0.1 * US_SURVEY_FOOT + 100 * US_SURVEY_FOOT


class TestBreaklines:
    DXF_LINE = ((0, 5, 0.3), (30, 6, 0.2), (60, 5, 0.1))

    def drawing(self, path):
        ezdxf = pytest.importorskip("ezdxf")
        drawing = ezdxf.new("R2010")
        drawing.header["$INSUNITS"] = 2
        model = drawing.modelspace()
        for x, y, z in ((0, 0, 0.4), (60, 0, 0.4), (60, 40, -0.6), (0, 40, -0.6)):
            model.add_point((x, y, z))
        model.add_polyline3d(self.DXF_LINE)
        drawing.saveas(path)
        return path

    def test_they_go_into_a_file_that_the_site_reads(self, site, tmp_path):
        done = take(site, self.drawing(tmp_path / "job.dxf"))
        assert done.told.breaklines == "job-breaklines.csv"
        read = read_site(site)
        np.testing.assert_allclose(read.ground.breaklines[0], np.array(self.DXF_LINE) * FOOT)
        assert 'soil = "clay"   # heavy' in (site / "site.toml").read_text()
        planned = plan(read)
        middle = np.array([[30 * FOOT, 6 * FOOT]])
        assert planned.ground.elevation(middle)[0] == pytest.approx(0.2 * FOOT, abs=1e-6)

    def test_a_site_with_breaklines_of_its_own_keeps_them(self, site, tmp_path):
        text = (HEAD + REST).replace("# heavy", "\nbreaklines = [[[0, 9, 1], [9, 9, 1]]]")
        (site / "site.toml").write_text(text)
        done = take(site, self.drawing(tmp_path / "job.dxf"))
        assert not done.told.changed
        assert (site / "site.toml").read_text() == text
        assert done.told.lines[-1] == 'breaklines = "job-breaklines.csv"'

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("x,y,z\n1,2,3\n4,5,6\n", "no column line"),
            ("line,x,y,z\n1,2,3,4\n2,4,5,6\n2,7,8,9\n", "lines.csv, line 2"),
            ("line,x,y,z\n1,2,3,\n1,4,5,6\n", "column z"),
        ],
    )
    def test_files_of_breaklines_that_are_wrong(self, site, text, words):
        toml = HEAD + 'spots = "s.csv"\n' + REST
        toml = toml.replace("# heavy", '\nbreaklines = "lines.csv"')
        (site / "site.toml").write_text(toml)
        (site / "s.csv").write_text("x,y,z\n0,0,1\n9,0,1\n0,9,1\n")
        (site / "lines.csv").write_text(text)
        with pytest.raises(SiteError, match=words):
            read_site(site)

    def test_a_word_that_is_no_file(self, site):
        toml = HEAD + 'spots = "s.csv"\n' + REST
        (site / "site.toml").write_text(toml.replace("# heavy", '\nbreaklines = "kerb"'))
        (site / "s.csv").write_text("x,y,z\n0,0,1\n9,0,1\n0,9,1\n")
        with pytest.raises(SiteError, match="name of a csv file"):
            read_site(site)


class TestScan:
    def test_a_scan_becomes_a_plan(self, site, tmp_path):
        """What somebody with a telephone does: scan, import, plan."""
        scan = scan_of(tmp_path / "scan.laz")
        done = take(site, scan, units="m", common=common_of(tmp_path / "common.csv"))
        assert done.told.changed
        assert done.laid.unknowns == 4
        read = read_site(site)
        off = YARD.off(read.spots.xyz)
        assert abs(off.mean()) < 3e-3
        assert np.sqrt((off**2).mean()) < 6e-3
        planned = plan(read)
        status = {check.rule: check.status for check in planned.checks}
        assert status["survey-margin"] == "pass"  # up to the wall
        assert status["survey"] in ("pass", "unknown")
        assert record(planned)["areas"][0]["bases"]["panel"]["cut"] > 1

    def test_what_it_says_of_itself(self, site, tmp_path):
        done = take(
            site, scan_of(tmp_path / "scan.laz"), units="m",
            common=common_of(tmp_path / "common.csv"),
        )  # fmt: skip
        told = json.loads(json.dumps(done.record(), allow_nan=False))
        assert told["schema"] == "fallaway/import/1"
        assert told["files"] == [
            {
                "file": "scan.laz", "kind": "LAS", "unit": "m", "unit_told_by": "person",
                "points": 200_000, "breaklines": 0,
            }
        ]  # fmt: skip
        *filters, walls = told["filters"]
        for step in filters:
            assert step["in"] >= step["out"] > 0
        assert "walls" in walls["name"]
        assert walls["in"] < walls["out"] == told["spots"]
        laid = told["registration"]
        assert laid["unknowns"] == 4
        assert [each["point"] for each in laid["residuals"]] == list("ABCD")
        assert all(abs(each["dz"]) < 1e-3 for each in laid["residuals"])
        # The corner of the paving that is farthest from the middle of the common points.
        assert laid["z_sd_far"] == pytest.approx(laid["sd_z"] / 2)
        assert laid["tilt_far"] == pytest.approx(laid["far_distance"] * np.tan(np.radians(0.5)))
        assert told["table"] == "scan.csv"
        assert told["site_changed"] is True
        assert any("tilt" in remark for remark in told["remarks"])

    def test_without_common_points_it_is_taken_as_it_lies(self, site, tmp_path):
        path = tmp_path / "scan.xyz"
        np.savetxt(path, YARD.scan(200_000), fmt="%.3f")
        done = take(site, path, units="m")
        assert done.laid is None
        assert any("--common" in remark for remark in done.remarks)
        assert b"sd_xy" not in (site / "scan.csv").read_bytes()[:40]

    def test_a_wrong_pairing_is_named_and_nothing_written(self, site, tmp_path):
        scan, before = scan_of(tmp_path / "scan.laz", 50_000), files(site)
        with pytest.raises(SiteError, match='"C" lies'):
            take(site, scan, units="m", common=common_of(tmp_path / "c.csv", "ABCDE", wrong=2))
        assert files(site) == before

    def test_points_may_be_laid_by_common_points_too(self, site, tmp_path):
        places = np.array([[1.0, 1], [17, 1.5], [2, 11], [16, 10], [9, 6], [5, 5]])
        xyz = np.column_stack([places, YARD.z(*places.T)])
        path = tmp_path / "total.csv"
        path.write_text("x,y,z\n" + "\n".join(",".join(f"{v:.5f}" for v in r) for r in seen(xyz)))
        done = take(site, path, units="m", common=common_of(tmp_path / "c.csv"))
        np.testing.assert_allclose(read_site(site).spots.xyz, xyz, atol=5e-5)
        assert done.laid.unknowns == 4

    @pytest.mark.parametrize(
        ("text", "words"),
        [
            ("point,x,y,z\nA,1,2,3\n", "scan x"),
            ("point,x,y,z,scan x,scan y,scan z\nA,1,2,3,4,five,6\n", "line 2, column scan y"),
            ("point,x,y,z,scan x,scan y,scan z\nA,1,2,three,4,5,6\n", "line 2, column z"),
            ("point,x,y,z,scan x,scan y,scan z\nA,1,2,3,4,5,6\nB,9,9,3,9,9,6\n", "at least 3"),
        ],
    )
    def test_common_points_that_are_wrong(self, site, tmp_path, text, words):
        common = tmp_path / "c.csv"
        common.write_text(text)
        before = files(site)
        with pytest.raises(SiteError, match=words):
            take(site, scan_of(tmp_path / "scan.laz", 1000), units="m", common=common)
        assert files(site) == before


class TestUnits:
    def test_one_that_the_file_contradicts_is_refused(self, site, tmp_path):
        path = tmp_path / "shots.csv"
        path.write_text("x (m),y (m),z (m)\n1,2,3\n4,5,6\n7,9,9\n")
        with pytest.raises(SiteError, match="says m"):
            take(site, path, units="ft")
        take(site, path, units="m")

    def test_it_is_for_the_file_that_says_none(self, site, tmp_path, points):
        path = tmp_path / "metres.csv"
        path.write_text("x (m),y (m),z (m)\n1,2,3\n4,5,6\n7,9,9\n")
        done = take(site, path, points, units="ft")
        assert [each.unit for each in done.sources] == ["m", "ft"]
        assert done.spots == 8

    def test_a_site_without_one_is_told(self, site, points):
        (site / "site.toml").write_text('name = "x"\n')
        with pytest.raises(SiteError, match="key unit"):
            take(site, points, units="ft")


class TestCommand:
    def run(self, capsys, *words):
        status = main(["import", *map(str, words)])
        return status, capsys.readouterr()

    def test_in_words(self, site, tmp_path, capsys):
        common = common_of(tmp_path / "c.csv")
        scan = scan_of(tmp_path / "scan.laz")
        status, told = self.run(capsys, site, scan, "--common", common, "--units", "m")
        assert status == 0
        assert "spots written to scan.csv" in told.out
        assert f"fallaway plan {site}" in told.out
        assert "half a degree" in told.err
        status, told = self.run(capsys, site, scan, "--common", common, "--units", "m")
        assert 'spots = "scan-2.csv"' in told.out

    def test_as_json_and_nothing_else(self, site, points, capsys):
        status, told = self.run(capsys, site, points, "--units", "ft", "--json")
        assert status == 0
        assert json.loads(told.out)["spots"] == 5

    def test_a_wrong_file_is_a_sentence(self, site, tmp_path, capsys):
        path = tmp_path / "scan.laz"
        path.write_bytes(b"LASF" + bytes(400))
        before = files(site)
        status, told = self.run(capsys, site, path)
        assert (status, told.out) == (2, "")
        assert told.err.count("\n") == 1
        assert files(site) == before

    def test_a_site_that_is_none(self, tmp_path, points, capsys):
        status, told = self.run(capsys, tmp_path / "nowhere", points)
        assert status == 2
        assert "nothing there" in told.err


class TestWhatTheSiteTakes:
    def test_standard_deviations_come_with_the_spots(self, site, tmp_path):
        common = common_of(tmp_path / "common.csv")
        done = take(site, scan_of(tmp_path / "scan.laz"), units="m", common=common)
        spots = read_site(site).spots
        assert np.median(spots.sd_z) == pytest.approx(done.sd_z, rel=0.02)
        assert (spots.sd_z >= done.laid.sd_z / 2 - 2e-5).all()
        assert (spots.sd_xy > 0).all()

    def test_cells_left_out_are_the_usual_ones(self, site, tmp_path):
        path = tmp_path / "shots.csv"
        path.write_text("x,y,z,sd_z\n0,0,0.4,0.01\n60,0,0.5,\n40,60,-0.6,0.02\n")
        take(site, path, units="ft")
        spots = read_site(site).spots
        np.testing.assert_allclose(spots.sd_z[[0, 2]], np.array([0.01, 0.02]) * FOOT)
        assert spots.sd_z[1] == pytest.approx(0.003)  # that of a level

    def test_beside_the_survey_that_is_there(self, site, points):
        (site / "site.toml").write_text(HEAD + 'spots = "mine.csv"\n' + REST)
        (site / "mine.csv").write_text("x,y,z\n10,10,0.2\n20,11,0.3\n30,50,-0.4\n")
        told = take(site, points, units="ft").told
        (line,) = told.lines
        text = (site / "site.toml").read_text().replace('spots = "mine.csv"', line)
        (site / "site.toml").write_text(text)
        assert len(read_site(site).spots.xyz) == 8
        (site / "site.toml").write_text(text.replace(line, told.alone))
        assert len(read_site(site).spots.xyz) == 5
