"""Files made to swell, to reach elsewhere or to claim what is not there: a sentence, in bounds.

Each takes some kilobytes, and without a bound gigabytes or minutes to read.
"""

from __future__ import annotations

import io
import resource
import zipfile

import ezdxf
import openpyxl
import pytest

from grading.errors import SiteError
from grading.files import csv_rows
from grading.files.xml_text import prolog_of
from grading.survey.sources.formats import read_file
from grading.survey.sources.model import ScanFile
from grading.survey.sources.readers import packed, tables

SHEET = '<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>'
END = "</sheetData></worksheet>"
SWELL = '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaaaaaaaa">' + "".join(
    f'<!ENTITY {chr(98 + step)} "{f"&{chr(97 + step)};" * 20}">' for step in range(9)
)
LAND = (
    '<LandXML xmlns="http://www.landxml.org/schema/LandXML-1.2"><Units><Metric '
    'linearUnit="meter"/></Units><CgPoints><CgPoint name="{}">1 2 3</CgPoint></CgPoints></LandXML>'
)


def read(path):
    found = read_file(path, None, 1.0, None)
    if isinstance(found, ScanFile):
        for _ in found.chunks():
            pass


def said(path, data) -> str:
    """Return what is said of a file, read in bounds of memory."""
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    with pytest.raises(SiteError) as refused:
        read(path)
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 200_000  # kB
    assert refused.value.exit_status == 2
    message = str(refused.value)
    assert message.startswith(path.name)
    assert len(message) < 4000
    return message


def book(sheet: str, sheets: int = 1) -> bytes:
    """Return a spreadsheet whose sheets were replaced by a text."""
    made, out = openpyxl.Workbook(), io.BytesIO()
    for number in range(1, sheets):
        made.create_sheet(f"s{number}")
    stream = io.BytesIO()
    made.save(stream)
    with zipfile.ZipFile(stream) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for entry in old.infolist():
            ours = entry.filename.startswith("xl/worksheets/sheet")
            new.writestr(entry.filename, sheet if ours else old.read(entry))
    return out.getvalue()


def test_a_row_of_cells_without_end(tmp_path):
    data = book(f"{SHEET}<row>{'<c><v>1</v></c>' * 1_000_000}</row>{END}")
    assert len(data) < 200_000
    assert "found a row of more than 16,384 cells" in said(tmp_path / "wide.xlsx", data)


def test_sheets_of_rows_without_end(tmp_path, monkeypatch):
    monkeypatch.setattr(packed, "MOST_ELEMENTS", 50_000)
    data = book(f"{SHEET}{'<row><c/></row>' * 9_000}{END}", sheets=5)
    assert "found more than 50,000 cells, rows and words" in said(tmp_path / "rows.xlsx", data)


def test_a_row_far_below_the_last(tmp_path, monkeypatch):
    monkeypatch.setattr(tables, "_MOST_ROWS", 10_000)
    data = book(f'{SHEET}<row r="1"/><row r="999999999"><c r="A999999999"/></row>{END}')
    assert "found more than 10,000 rows" in said(tmp_path / "gap.xlsx", data)


def test_words_of_a_spreadsheet_that_swell(tmp_path):
    data = book(f'{SWELL}]>{SHEET}<row><c t="inlineStr"><is><t>&j;</t></is></c></row>{END}')
    assert "found a document type of its own" in said(tmp_path / "words.xlsx", data)


@pytest.mark.parametrize(
    "data",
    [
        SWELL + "]>" + LAND.format("&j;"),
        f"<!-- {'-x' * 200_000} -->{SWELL}]>{LAND.format('&j;')}",
        '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>' + LAND.format("&a;"),
        '<!DOCTYPE x SYSTEM "http://127.0.0.1:9/x.dtd">' + LAND.format("a"),
        ('<?xml version="1.0" encoding="utf-16"?>' + SWELL + "]>" + LAND.format("&j;")).encode(
            "utf-16"
        ),
    ],
    ids=["plain", "far down", "from a file", "from elsewhere", "another encoding"],
)
def test_words_of_landxml_that_swell_or_reach_elsewhere(tmp_path, data):
    assert "found a document type of its own" in said(tmp_path / "shots.xml", data)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "latin-1"])
def test_what_xml_declares_is_found_in_any_encoding(encoding):
    head = f'<?xml version="1.0" encoding="{encoding}"?>'
    for text, found in (
        ("<svg/>", (False, False)),
        ('<!DOCTYPE svg PUBLIC "a" "b"><svg/>', (True, False)),
        ('<!DOCTYPE svg [<!ENTITY a "b">]><svg/>', (True, True)),
        ("<svg>&lt;!DOCTYPE</svg>", (False, False)),
    ):
        prolog = prolog_of((head + text).encode(encoding))
        assert (prolog.has_type, prolog.has_entities) == found
    assert not prolog_of(b"\0\xff no xml").has_type


def curves(count, far):
    drawing = ezdxf.new("R2000")
    drawing.header["$INSUNITS"] = 6
    for line in range(count):
        drawing.modelspace().add_lwpolyline(
            [(0, 0, 0, 0, 1.0), (far, line, 0, 0, 1.0), (0, 0, 0, 0, 0)],
            format="xyseb", dxfattribs={"elevation": 1},
        )  # fmt: skip
    stream = io.StringIO()
    drawing.write(stream)
    return stream.getvalue()


def test_curves_of_chords_without_end(tmp_path):
    """Their chords lie within a centimetre of them, so large ones have as many as one likes."""
    assert "found coordinates of no site" in said(tmp_path / "far.dxf", curves(2, 1e15))
    message = said(tmp_path / "many.dxf", curves(60, 9e5))
    assert "found lines of more than 1,000,000 vertices" in message


@pytest.mark.parametrize(
    ("head", "told"),
    [
        ("element vertex 1000000000", "0 of 1,000,000,000 points"),
        ("element vertex 99999999999999999999999", "of 99,999,999,999,999,999,999,999 points"),
        ("element junk 99999999999999999999\nproperty double a\nelement vertex 3", "0 of 3 points"),
        (f"element vertex {'9' * 5000}", "a head of PLY that cannot be read"),
        ("element vertex -3", "a head of PLY that cannot be read"),
        ("element vertex nan", "a head of PLY that cannot be read"),
        ("element vertex 1e9", "a head of PLY that cannot be read"),
    ],
)
@pytest.mark.parametrize("order", ["binary_little_endian", "ascii"])
def test_a_head_of_ply_that_lies(tmp_path, head, told, order):
    fields = "".join(f"property float {axis}\n" for axis in "xyz")
    text = f"ply\nformat {order} 1.0\n{head}\n{fields}end_header\n"
    message = said(tmp_path / "scan.ply", text)
    if order == "ascii" and "junk" in head:
        assert "`junk` before the points" in message
    else:
        assert told in message


def test_brackets_nested_without_end(tmp_path):
    for text in ("[" * 1_000_000, '{"type":"FeatureCollection","features":' + "[" * 100_000):
        assert "brackets nested too deep" in said(tmp_path / "shots.geojson", text)


@pytest.mark.parametrize("end", ["\n", "\r", "\r\n"])
def test_lines_that_hold_nothing(tmp_path, monkeypatch, end):
    monkeypatch.setattr(csv_rows, "MOST_LINES", 1000)
    assert "found 1,001 lines, expected at most 1,000" in said(
        tmp_path / "shots.csv", f"x,y,z{end}" + f'"{end}' * 1000
    )


def test_a_line_and_a_cell_without_end(tmp_path):
    assert "field larger than field limit" in said(tmp_path / "a.csv", 'x,y,z\n"' + "a" * 2_000_000)
    assert "line 2" in said(tmp_path / "a.xyz", b"1 2 3\n" + b"9" * 20_000_000)
