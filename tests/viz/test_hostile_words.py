"""Words that a spreadsheet, a browser or a reader of PDF would run: in no output are they more than
words. Each is opened by a reader that is not ours.

What a reader runs: formulas and links (ECMA-376), scripts, handlers and links (HTML, SVG 1.1),
actions (ISO 32000-1, 12.6), all from memory; formulas in CSV by OWASP, "CSV Injection".
"""

from __future__ import annotations

import csv
import json
import re
import zipfile
from html.parser import HTMLParser

import ezdxf
import openpyxl
import pygltflib
import pypdf
import pytest
from drive.browser import FilePage, browsing, needs_browser
from lxml import etree

import grading
from viz.drawings.listed import sheets_of, site_sheets
from viz.export.formats import export
from viz.page.html import write_page
from viz.paper.page import page_for
from viz.paper.players import write
from viz.sheets.write import write_sheets
from viz.tables.account import account_of
from viz.terminal import order

WORDS = (
    "=cmd|' /C calc'!A0",
    "@SUM(1+9)*cmd|' /C calc'!A0",
    "-2+3+cmd|' /C calc'!A0",
    "+HYPERLINK(1)",
    "<script>window.evil=1</script>",
    '"><img src=x onerror=window.evil=1>',
    "javascript:window.evil=1",
    "https://evil.example.invalid/x",
    "</svg></script><script>window.evil=1",
    "'};window.evil=1;//${window.evil=1}",
    '#eval("1+1") $x$ @ref *b* \\u{41}',
    "%%d{\\H9;x}\\P^J%<\\AcVar>%",
    "&lt;b&gt;&evil;<![CDATA[x]]>",
)

SITE = """
name = {0}
unit = "m"
spots = "spots.csv"

[ground]
soil = "clay"
organics = "100 mm"

[house]
walls = [[-6, 0], [6, 0]]
inside = [0, -4]
{1}
[[area]]
name = {2}
outline = [[-2, 0], [2, 0], [2, 3], [-2, 3]]
base = "dense"
plane = {{at = [0, 0], z = 10.03, fall = "3 %", bearing = 0}}
"""

DOOR = "\n[[door]]\nname = {}\nat = [{}, 0]\nsill = 10.10\n"
FEATURE = '\n[[feature]]\nkind = "table"\nname = {}\nat = [{}, 1.5]\n'
PLACES = [(-8, -1), (8, -1), (8, 9), (-8, 9), (0, 4), (-5, 2), (5, 2), (-4, 6), (4, 6), (-3, -1),
          (3, -1), (-7, 4), (7, 4)]  # fmt: skip


def quoted(words: str) -> str:
    return json.dumps(words)


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    home = tmp_path_factory.mktemp("hostile")
    doors = "".join(DOOR.format(quoted(each), k - 2) for k, each in enumerate(WORDS[1:6]))
    text = SITE.format(quoted(WORDS[4]), doors, quoted(WORDS[0]))
    (home / "site.toml").write_text(text, encoding="utf-8")
    with (home / "spots.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file)
        writer.writerow(["x", "y", "z", "id", "code", "note"])
        for (x, y), words in zip(PLACES, WORDS, strict=True):
            writer.writerow([x, y, f"{10.02 - 0.02 * (y + 1):.3f}", words, words, words])
    crew = "[crew]\n" + "".join(
        f"{key} = {quoted(words)}\n"
        for key, words in zip(("name", "phone", "email", "registration"), WORDS[4:8], strict=True)
    )
    (home / "crew.toml").write_text(crew, encoding="utf-8")
    return grading.plan(grading.read_site(home))


@pytest.fixture(scope="module")
def out(plan, tmp_path_factory):
    """Return a folder of every format that is made without a renderer."""
    folder = tmp_path_factory.mktemp("out")
    export(plan, folder / "formats", ("csv", "xlsx", "landxml", "dxf", "glb"))
    order.write(account_of(plan), folder / "order", lambda _: None)
    write_sheets(plan, folder / "sheets", lambda _: None, ("crew",))
    write_page(plan, folder / "yard.html")
    page = page_for("m")
    drawn = dict(sheets_of(plan, plan.areas[0], page)) | dict(site_sheets(plan, page))
    for name in ("levels", "water"):
        write(drawn[name], folder / name, ("svg",))
    return folder


def files(out, ending):
    found = sorted(out.rglob(f"*.{ending}"))
    assert found
    return found


def test_no_cell_of_csv_is_a_formula(out):
    cells = [
        cell
        for file in files(out, "csv")
        for row in csv.reader(file.read_text(encoding="utf-8-sig").splitlines())
        for cell in row
    ]
    for cell in cells:
        if cell.strip()[:1] in ("=", "+", "-", "@", "\t", "\r"):
            float(cell)
    assert any(f"'{WORDS[0]}" in cell for cell in cells)


def test_formulas_of_a_workbook_are_ours_and_it_links_to_nothing(out):
    found = set()
    for file in files(out, "xlsx"):
        for sheet in openpyxl.load_workbook(file).worksheets:
            for row in sheet.iter_rows():
                for cell in row:
                    assert cell.hyperlink is None
                    if cell.data_type == "f":
                        plain = r"=(?:[A-Za-z0-9_$!:'.,+*/()<>= -]|\"\")*"
                        assert re.fullmatch(plain, str(cell.value)), cell.value
                        assert not re.search("(?i)hyperlink|webservice|cmd|dde|call", cell.value)
                    elif isinstance(cell.value, str):
                        found.add(cell.value)
        with zipfile.ZipFile(file) as packed:
            names = packed.namelist()
            links = [each for each in names if each.endswith(".rels")]
            assert not [each for each in names if re.search("(?i)vba|external|activex|embed", each)]
            assert not any(b'TargetMode="External"' in packed.read(each) for each in links)
    assert any(WORDS[0] in each for each in found)


def test_xml_holds_words_and_runs_nothing(out):
    """LandXML and drawings, by libxml2."""
    parser = etree.XMLParser(resolve_entities=False, no_network=True, load_dtd=False)
    said = []
    for file in (*files(out, "svg"), *files(out, "xml")):
        tree = etree.parse(file, parser)
        for each in tree.iter():
            assert isinstance(each.tag, str) or each.tag is etree.Comment, each
            tag = etree.QName(each.tag).localname if isinstance(each.tag, str) else ""
            assert tag not in ("script", "foreignObject", "a", "iframe", "handler", "set")
            for name, value in each.attrib.items():
                plain = etree.QName(name).localname
                assert not plain.startswith("on"), (name, value)
                if plain in ("href", "src"):
                    assert value.startswith(("#", "data:image/png;")), value
            said.append(" ".join([each.text or "", *each.attrib.values()]))
    assert any(WORDS[4] in each for each in said)


class _Seen(HTMLParser):
    """Every tag, what is in scripts, and where a page would go."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.scripts: list[tuple[str, str]] = []
        self.words = ""
        self._in = None

    def handle_starttag(self, tag, attributes):
        self.tags.append((tag, dict(attributes)))
        self._in = dict(attributes).get("type", "code") if tag == "script" else None

    def handle_endtag(self, tag):
        self._in = None

    def handle_data(self, data):
        if self._in is None:
            self.words += data
        else:
            self.scripts.append((self._in, data))


def test_the_page_runs_its_own_scripts_alone(out):
    page = _Seen()
    page.feed((out / "yard.html").read_text(encoding="utf-8"))
    for tag, attributes in page.tags:
        assert tag not in ("iframe", "object", "embed", "base", "form"), tag
        for name, value in attributes.items():
            assert not name.startswith("on"), (tag, name)
            if name in ("href", "src", "action"):
                # Its own empty icon keeps a browser from asking for one.
                own = (tag, value) == ("link", "data:,")
                assert own or (value or "").startswith(("#", "data:image/")), (tag, value)
    for kind, code in page.scripts:
        if kind == "application/json":
            json.loads(code)
        else:
            assert "window.evil" not in code
    assert WORDS[4] in page.words


@pytest.mark.long
@needs_browser
def test_a_browser_runs_nothing_that_a_person_wrote(out):
    with browsing() as browser:
        opened = FilePage(browser.new_context(offline=True), out / "yard.html")
        opened.ready()
        told = opened.page.evaluate(
            "[window.evil === undefined, document.querySelectorAll('img[src=x]').length,"
            " document.body.textContent.includes('window.evil=1</script>')]"
        )
    assert told == [True, 0, True]


def objects(reader):
    """Yield every dictionary of a PDF."""
    for number in range(1, len(reader.xref_objStm) + len(reader.xref[0]) + 1):
        try:
            found = reader.get_object(number)
        except (KeyError, pypdf.errors.PdfReadError):
            continue
        if isinstance(found, dict):
            yield found


def test_a_paper_has_no_action_no_link_and_no_file_in_it(out):
    for file in files(out, "pdf"):
        reader = pypdf.PdfReader(file)
        count = 0
        for each in objects(reader):
            count += 1
            assert not {"/JS", "/AA", "/OpenAction", "/URI", "/EF", "/XFA", "/Launch"} & each.keys()
            assert each.get("/S") not in ("/JavaScript", "/URI", "/Launch", "/GoToR", "/SubmitForm")
            assert each.get("/Subtype") not in ("/Link", "/Widget", "/FileAttachment", "/RichMedia")
        assert count > 20
        text = "".join(page.extract_text() for page in reader.pages).replace("\n", "")
        assert "window.evil=1" in text.replace(" ", "").replace("\u200b", "")


def test_a_drawing_for_cad_links_to_nothing(out):
    for file in files(out, "dxf"):
        drawing = ezdxf.readfile(file)
        assert not drawing.audit().has_errors
        for each in drawing.entitydb.values():
            assert each.dxftype() not in ("OLE2FRAME", "OLEFRAME", "IMAGEDEF", "PDFUNDERLAY")
            data = getattr(each, "xdata", None)
            assert data is None or "PE_URL" not in data
            assert getattr(each.dxf, "hyperlink", None) is None
        for block in drawing.blocks:
            assert not block.block.dxf.get("xref_path", "")


def test_a_model_holds_all_that_it_shows(out):
    for file in files(out, "glb"):
        model = pygltflib.GLTF2().load(str(file))
        for each in (*model.buffers, *model.images):
            assert not each.uri or each.uri.startswith("data:")
        assert not set(model.extensionsUsed or ()) - {
            "KHR_materials_unlit", "KHR_texture_transform"
        }  # fmt: skip
