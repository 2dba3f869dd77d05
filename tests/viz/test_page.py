"""The page: one file, no connection, drawn by a real browser, its numbers those of the plan."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from dataclasses import replace
from html.parser import HTMLParser

import numpy as np
import pytest

import grading
import sample_sites
from grading.units import both, cubic_yards
from viz.layers.scene import CAUTION, VIEWS
from viz.page import write_page
from viz.page.html import viewer

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome", "chrome")
     if (found := shutil.which(name))),
    None,
)  # fmt: skip
FLAGS = [
    "--headless", "--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader", "--disable-background-networking", "--disable-sync",
    "--disable-component-update", "--no-first-run", "--hide-scrollbars",
    "--host-resolver-rules=MAP * ~NOTFOUND", "--virtual-time-budget=20000",
]  # fmt: skip

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed here")


class Elements(HTMLParser):
    """Every start tag with its attributes, and the text of the cells of tables."""

    def __init__(self):
        super().__init__()
        self.tags, self.rows, self._cell = [], [], None

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self._cell = ""

    def handle_endtag(self, tag):
        if tag in ("td", "th"):
            self.rows[-1].append(self._cell)
            self._cell = None

    def handle_data(self, data):
        if self._cell is not None:
            self._cell += data


@pytest.fixture(scope="module")
def plan():
    return grading.plan(grading.read_site(sample_sites.path("back-patio")))


@pytest.fixture(scope="module")
def page(plan, tmp_path_factory):
    return write_page(plan, tmp_path_factory.mktemp("page") / "layers.html")


@pytest.fixture(scope="module")
def text(page):
    return page.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def elements(text):
    parser = Elements()
    parser.feed(text)
    return parser


def packed_plan(text):
    found = re.search(r'<script type="application/json" id="plan">(.*?)</script>', text, re.DOTALL)
    return json.loads(found[1])


def test_the_file_can_be_sent_by_mail(page):
    assert 1_000_000 < page.stat().st_size < 3_000_000


def test_the_page_names_no_other_machine(text, elements):
    for tag, attributes in elements.tags:
        for name in ("src", "href", "action", "data", "srcset", "poster"):
            assert attributes.get(name, "data:").startswith("data:"), (tag, attributes)
    hosts = set(re.findall(r"(?:https?:)?//([\w.-]+\.[a-z]{2,})", text))
    # A name of a language, never an address that is opened.
    assert hosts <= {"www.w3.org"}


def test_the_page_forbids_every_connection(elements):
    policies = [
        attributes["content"]
        for tag, attributes in elements.tags
        if tag == "meta" and attributes.get("http-equiv") == "Content-Security-Policy"
    ]
    assert len(policies) == 1
    assert policies[0].startswith("default-src 'none'")
    assert "http" not in policies[0]
    assert "*" not in policies[0]


def test_the_viewer_asks_for_no_icon():
    assert "favicon-" not in viewer()
    assert not re.search(r"https?://(?!any\b|www\.w3\.org)", viewer())


def test_title_layers_and_caution_are_there_before_any_script_runs(text, plan):
    before = text[: text.index('<script type="application/json"')]
    for words in (plan.site.name, "Layers, from the top down", CAUTION):
        assert words in before
    for dig in plan.areas[0].digs.values():
        for layer in dig.system.layers:
            assert both(layer.thickness) in before


def test_the_table_holds_the_numbers_of_the_plan(elements, plan):
    digs = list(plan.areas[0].digs.values())
    rows = {row[0]: row[1:] for row in elements.rows}
    assert len(rows["Base"]) == len(digs)
    for row, wanted in (
        ("Dig, yd³", [cubic_yards(dig.cut) for dig in digs]),
        ("Refill, yd³", [cubic_yards(dig.fill) for dig in digs]),
        ("Spoil, loose, yd³", [cubic_yards(dig.spoil_loose) for dig in digs]),
        ("Build-up, mm", [dig.build_up * 1000 for dig in digs]),
    ):
        found = [float(cell) for cell in rows[row]]
        assert found == pytest.approx(wanted, abs=0.51 if row.endswith("mm") else 0.051), row
    assert sum("✓" in cell for cell in rows["Base"]) == 1


def test_buttons_have_names_and_every_view_has_one(elements, text):
    buttons = [attributes for tag, attributes in elements.tags if tag == "button"]
    assert {each.get("data-name") for each in buttons} >= set(VIEWS)
    assert all(each["type"] == "button" for each in buttons)
    assert not re.search(r"<button[^>]*>\s*</button>", text)


def test_what_a_person_writes_is_never_taken_for_markup(plan, tmp_path):
    nasty = "</script><script>alert(1)</script> & \"x\" '%%PLAN%%'"
    area = replace(plan.areas[0], area=replace_name(plan.areas[0].area, nasty))
    marked = replace(plan, site=replace(plan.site, name=nasty), areas=(area,))
    text = write_page(marked, tmp_path / "x.html").read_text(encoding="utf-8")
    assert "<script>alert" not in text
    assert packed_plan(text)["site"] == nasty
    # The scripts of the page are those of any page.
    assert len(re.findall(r"<script\b", text)) == 5


def replace_name(area, name):
    if hasattr(area, "model_copy"):
        return area.model_copy(update={"name": name})
    return replace(area, name=name)


def test_every_part_of_the_scene_is_seen_somewhere(text):
    packed = packed_plan(text)
    assert all(packed["seen"])
    for index in range(len(packed["scenes"])):
        for view in VIEWS:
            parts = [i for i, where in enumerate(packed["seen"]) if f"{index}:{view}" in where]
            assert len(parts) >= 4, (index, view)


def test_the_page_needs_no_opengl(plan, tmp_path, monkeypatch):
    monkeypatch.setenv("VTK_DEFAULT_OPENGL_WINDOW", "vtkOSOpenGLRenderWindow")
    assert write_page(plan, tmp_path / "layers.html").stat().st_size > 1_000_000


def chromium(page, folder, *flags):
    return subprocess.run(
        [CHROMIUM, *FLAGS, f"--user-data-dir={folder}", *flags, page.as_uri()],
        capture_output=True, text=True, timeout=120, errors="replace",
    )  # fmt: skip


def near(picture, red, green, blue, within=30):
    gap = np.abs(picture.astype(int) - np.array([red, green, blue])).max(axis=2)
    return int((gap < within).sum())


@needs_browser
@pytest.mark.parametrize(
    ("size", "least"), [((1280, 800), 3000), ((390, 844), 600)], ids=["desk", "phone"]
)
def test_a_browser_draws_the_layers(page, tmp_path, size, least):
    from PIL import Image

    shot = tmp_path / "shot.png"
    chromium(page, tmp_path / "user", f"--window-size={size[0]},{size[1]}", f"--screenshot={shot}")
    with Image.open(shot) as image:
        picture = np.asarray(image.convert("RGB"))
    assert picture.shape[1] >= size[0]
    # Turf, panels, bedding sand, bare soil: as lit, so a little off the tone of the legend.
    assert near(picture, 141, 172, 94) > least, "turf"
    assert near(picture, 78, 97, 117) > least, "panel"
    assert near(picture, 232, 202, 141) > least, "bedding sand"
    assert near(picture, 168, 133, 94) > least / 2, "subgrade"
    assert near(picture, 15, 95, 102) > 100, "pressed button"


@needs_browser
def test_a_browser_without_a_net_gets_ready_and_labels_every_layer(page, tmp_path, plan):
    done = chromium(page, tmp_path / "user", "--window-size=1280,800", "--dump-dom")
    assert 'data-ready="yes"' in done.stdout
    labels = re.findall(r'<div class="label layer"[^>]*>.*?</div>', done.stdout)
    names = [layer.name for layer in plan.areas[0].chosen_dig.system.layers]
    for name in [*names, "subgrade"]:
        shown = [label for label in labels if f">{name}<" in label]
        assert len(shown) == 1, name
        assert "visibility: visible" in shown[0], name
    assert "Content Security Policy" not in done.stderr
