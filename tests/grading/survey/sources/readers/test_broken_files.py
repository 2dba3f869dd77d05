"""Files that are cut short, changed by lot, or something else: a sentence each, nothing written."""

from __future__ import annotations

import zipfile

import pytest
from make.sites.broken_files import broken, whole

from grading.errors import SiteError
from grading.survey.sources.formats import read_file
from grading.survey.sources.importing import import_files
from grading.survey.sources.model import ScanFile
from grading.survey.sources.readers import packed

WHOLE = whole()
SITE = 'name = "Fir Lane"\nunit = "m"\n'


def read(path):
    found = read_file(path, None, 0.3048, None)
    if isinstance(found, ScanFile):
        return sum(len(xyz) for xyz, _ in found.chunks())
    return len(found.xyz)


def told(path) -> str | None:
    """Return what is said of a file, None where it could be read."""
    caught = None
    try:
        read(path)
    except SiteError as error:
        caught = error
    if caught is None:
        return None
    assert caught.exit_status == 2
    assert len(str(caught)) < 4000
    for problem in caught.problems:
        assert problem.where
        assert problem.found
        assert problem.expected
    return str(caught)


@pytest.mark.parametrize("name", sorted(WHOLE))
def test_whole_they_are_read(name, tmp_path):
    path = tmp_path / name
    path.write_bytes(WHOLE[name])
    assert read(path) in (20, 3000)


@pytest.mark.parametrize("name", sorted(WHOLE))
def test_cut_short_at_any_place(name, tmp_path):
    """A format that counts its points says so; text that ends early is whole as far as it goes."""
    path, data = tmp_path / name, WHOLE[name]
    counted = name.endswith(("las", "laz", "ply", "xlsx", "xml", "geojson"))
    for part in range(1, 40):
        path.write_bytes(data[: len(data) * part // 41])
        said = told(path)
        if counted:
            assert said is not None


@pytest.mark.parametrize("name", sorted(WHOLE))
def test_changed_by_lot(name, tmp_path):
    path = tmp_path / name
    said = []
    for data in broken(WHOLE[name], seed=11, count=40):
        path.write_bytes(data)
        said.append(told(path))
    assert any(said)


@pytest.mark.parametrize(
    "ending", ["las", "laz", "ply", "xyz", "csv", "geojson", "xml", "dxf", "xlsx"]
)
def test_one_kind_under_the_name_of_another(ending, tmp_path):
    path = tmp_path / f"file.{ending}"
    text = {"xyz", "csv"}
    for name, data in WHOLE.items():
        kind = name.rsplit(".")[-1]
        if kind == ending or {kind, ending} <= {"las", "laz"} or {kind, ending} <= text:
            continue
        if kind == "ply" and name.startswith("text") and ending == "xyz":
            continue  # its lines are those of a scan as text
        path.write_bytes(data)
        assert told(path) is not None, name


@pytest.mark.parametrize("name", ["scan6.laz", "little.ply", "shots.dxf", "shots.xlsx"])
def test_nothing_is_written_of_them(name, tmp_path):
    site = tmp_path / "yard"
    site.mkdir()
    (site / "site.toml").write_text(SITE)
    path = tmp_path / name
    path.write_bytes(WHOLE[name][: len(WHOLE[name]) // 2])
    with pytest.raises(SiteError):
        import_files(site, site / "site.toml", [path], units="m")
    assert [each.name for each in site.iterdir()] == ["site.toml"]
    assert (site / "site.toml").read_text() == SITE


def test_a_packed_file_that_swells_is_told(tmp_path, monkeypatch):
    monkeypatch.setattr(packed, "MOST_UNPACKED", 1_000_000)
    path = tmp_path / "bomb.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("xl/worksheets/sheet1.xml", bytes(2_000_000))
    assert "2 MB unpacked" in told(path)


def test_a_head_that_claims_more_than_memory_holds(tmp_path):
    """Four thousand million points, chunks or records that are not there."""
    path = tmp_path / "scan.laz"
    data = bytearray(WHOLE["scan6.laz"])
    data[100:104] = b"\xff\xff\xff\xff"  # records before the points
    path.write_bytes(data)
    assert told(path)
    data = bytearray(WHOLE["scan6.laz"])
    offset = int.from_bytes(data[96:100], "little")
    table = int.from_bytes(data[offset : offset + 8], "little")
    data[table + 4 : table + 8] = b"\xff\xff\xff\xff"
    path.write_bytes(data)
    assert "4,294,967,295 chunks" in told(path)
    path = tmp_path / "scan.ply"
    path.write_bytes(WHOLE["little.ply"].replace(b"vertex 3000", b"vertex 4000000000"))
    assert "of 4,000,000,000 points" in told(path)
