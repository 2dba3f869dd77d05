"""A name with signs that mean something to a format comes out of every file letter for letter.

Each file is read by a reader that is not ours: the page, SVG and LandXML by lxml, JSON and CSV by
the standard library, PDF by pdfium, DXF by ezdxf, XLSX by openpyxl, GLB by pygltflib.
"""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import ezdxf
import openpyxl
import pypdfium2
import pytest
from lxml import etree
from lxml import html as pages
from pygltflib import GLTF2

import grading
from grading.errors import CannotDraw
from viz import export
from viz.drawings.listed import write_drawings
from viz.page.html import write_page
from viz.sheets.write import write_sheets
from viz.table import csv_text
from viz.tables.account import account_of
from viz.tables.plan import plan_tables
from viz.tables.workbook import write_workbook
from viz.terminal import order, report

# By a word that nothing of ours says: wherever that word stands, the whole name stands round it.
NAMES = {
    "söhne": """O'Neil & "Söhne" <b>""",
    "xylo": r"_xylo_ *b* {0}",
    "parlour": r"#1 $parlour\pi {} %%d",
    "brazier": r"~brazier %s 100% ^J",
    "gneiss": r"<i>gneiss</i> [2] `c`",
    "ditch": r"ditch @x; &amp; \\P",
    "tinpipe": r""""tinpipe" 'q' ${y}""",
    "ivy": r"//because \textbf{ivy} #let",
}
SITE, AREA, DOOR, THING, BASE, SWALE, SPOUT, REASON = (
    json.dumps(name, ensure_ascii=False) for name in NAMES.values()  # strings of TOML are JSON's
)  # fmt: skip

TOML = f"""
name = {SITE}
unit = "ft"
spots = "spots.csv"
[ground]
soil = "clay"
organics = "5 in"
[house]
walls = [[0, 0], [30, 0]]
inside = [15, -8]
[[door]]
name = {DOOR}
at = [12, 0]
sill = 100.65
[[outfall]]
kind = "swale"
name = {SWALE}
at = [[-2, 20], [32, 20]]
[[downspout]]
name = {SPOUT}
at = [29, 0]
roof = "300 ft2"
[[feature]]
name = {THING}
kind = "seat wall"
at = [12, 8]
size = ["9 ft", "1 ft"]
height = "18 in"
[[base]]
name = {BASE}
layers = [{{name = "paver", thickness = "2 3/8 in"}}, {{name = "sand", thickness = "1 in"}},
          {{name = "crushed stone", thickness = "6 in"}}]
[[area]]
name = {AREA}
outline = [[4, 0], [26, 0], [26, 14], [4, 14]]
base = {BASE}
reason = {REASON}
"""


def strings(found: object) -> list[str]:
    """Return every word of some JSON, keys too."""
    if isinstance(found, dict):
        return [*map(str, found), *(text for each in found.values() for text in strings(each))]
    if isinstance(found, list):
        return [text for each in found for text in strings(each)]
    return [found] if isinstance(found, str) else []


def of_pdf(file: Path) -> list[str]:
    return [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(file)]


def of_tree(root, *names: str) -> list[str]:
    """Return the text of a tree and its attributes: those named, or all of them."""
    told = [each for one in root.iter() for each in one.attrib.items()]
    return [*root.itertext(), *(value for name, value in told if not names or name in names)]


def of_page(file: Path) -> list[str]:
    root = pages.parse(str(file)).getroot()
    data = [each for each in root.iter("script") if each.get("type") == "application/json"]
    told = [text for each in data for text in strings(json.loads(each.text))]
    for each in list(root.iter("script", "style")):
        each.text = ""
    # What tells scenes apart, the name of a file and what is packed in base 64 are not shown.
    hidden = re.compile(r"[a-z0-9-]+(\.png)?|[A-Za-z0-9+/]{1000,}=*")
    shown = [text for text in told if not hidden.fullmatch(text)]
    return [*of_tree(root, "aria-label", "alt", "title", "content"), *shown]


def of_dxf(file: Path) -> list[str]:
    found = ezdxf.readfile(file)
    blocks = [each for part in (found.layouts, found.blocks) for each in part]
    kinds = ("TEXT", "MTEXT")
    return [each.plain_text() for part in blocks for each in part if each.dxftype() in kinds]


def of_xlsx(file: Path) -> list[str]:
    book = openpyxl.load_workbook(file)
    return [str(cell.value) for sheet in book for row in sheet for cell in row if cell.value]


def of_csv(file: Path) -> list[str]:
    with file.open(encoding="utf-8-sig", newline="") as opened:
        return [cell for row in csv.reader(opened) for cell in row]


READERS = {
    ".pdf": of_pdf,
    ".svg": lambda file: list(etree.parse(file).getroot().itertext()),
    ".xml": lambda file: of_tree(etree.parse(file).getroot()),
    ".html": of_page,
    ".dxf": of_dxf,
    ".xlsx": of_xlsx,
    ".glb": lambda file: strings(json.loads(GLTF2().load(file).to_json())),
    ".csv": of_csv,
    ".json": lambda file: strings(json.loads(file.read_text(encoding="utf-8"))),
    ".txt": lambda file: [file.read_text(encoding="utf-8")],
}
EVERY = set(NAMES)
TOLD = {
    ".pdf": EVERY - {"tinpipe"},
    ".svg": EVERY,
    ".xml": {"söhne", "xylo", "gneiss"},
    ".html": EVERY - {"ivy", "tinpipe"},
    ".dxf": {"söhne", "xylo", "parlour", "brazier", "gneiss"},
    ".xlsx": EVERY - {"ivy"},
    ".glb": {"söhne", "xylo", "parlour", "brazier", "gneiss"},
    ".csv": EVERY - {"söhne"},
    ".json": EVERY,
    ".txt": EVERY,
}
"""What all files of a kind say together."""


def bare(text: str) -> str:
    """Return words without spaces, line breaks, and places where a word may be broken."""
    return re.sub(r"[\s\u200b\ufffe]+", "", text)


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Return what each file says, by its name."""
    folder = tmp_path_factory.mktemp("awkward")
    (folder / "site.toml").write_text(TOML, encoding="utf-8")
    spots = [f"{x},{y},{100.0 - 0.03 * y:.3f}" for x in range(-4, 37, 8) for y in range(0, 25, 6)]
    (folder / "spots.csv").write_text("\n".join(["x,y,z", *spots]), encoding="utf-8")
    plan = grading.plan(grading.read_site(folder))
    account = account_of(plan)
    out = folder / "out"
    out.mkdir()
    for name, text in (
        ("plan.json", json.dumps(grading.record(plan))),
        ("report.txt", report.text(plan)),
        ("order.txt", order.text(account)),
    ):
        (out / name).write_text(text, encoding="utf-8")
    for name, table in {**plan_tables(plan), **order.sheets(account)}.items():
        (out / f"{name}.csv").write_text(csv_text(table), encoding="utf-8-sig")
    write_workbook(account, out / "order.xlsx")
    write_drawings(plan, out, ("svg",))
    write_page(plan, out / "yard.html")
    export.export(plan, folder / "open", ["glb", "dxf", "landxml", "xlsx", "csv"])
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("viz.sheets.homeowner.stills.before_and_after", cannot)
        write_sheets(plan, folder / "sheets", lambda _: None)
    files = [each for part in ("out", "open", "sheets") for each in (folder / part).iterdir()]
    return {
        each.name: bare(" ".join(READERS[each.suffix](each)))
        for each in files
        if not each.name.startswith(".")
    }


def cannot(_):
    raise CannotDraw("no picture: it holds no name but those of doors")


@pytest.mark.parametrize("kind", READERS)
def test_every_name_that_a_file_tells_stands_in_it_letter_for_letter(written, kind):
    told = set()
    for file, text in written.items():
        if not file.endswith(kind):
            continue
        for word, name in NAMES.items():
            whole, before = bare(name), bare(name).lower().index(word)
            for found in re.finditer(word, text, re.IGNORECASE):
                start = found.start() - before
                assert text[max(start, 0) : start + len(whole)] == whole, (file, word)
                told.add(word)
    assert told >= TOLD[kind]
