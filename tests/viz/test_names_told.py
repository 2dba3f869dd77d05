"""What a person called a thing is what every sheet, report, page and drawing calls it.

The names hold terms of the trade, words that sentences of our own are made of, and signs that
mean something to a format. None of them may be changed on the way: not by plain words put in the
place of terms, not by a large first letter, not by a small one.
"""

from __future__ import annotations

import json
import re
import unicodedata
from functools import cache
from pathlib import Path
from types import SimpleNamespace

import pytest

from grading.order.model import order_of
from grading.pipeline import plan
from grading.reading.site_file import read_site
from viz.drawings.listed import answer_sheets, sheets_of, site_sheets
from viz.page import bases, html
from viz.paper.compose import compose, words_of
from viz.paper.page import page_for
from viz.scene.staging import stage
from viz.sheets.crew.sheet import crew_data
from viz.sheets.head import Job
from viz.sheets.homeowner.paper import homeowner_data
from viz.sheets.questions import questions_data
from viz.table import csv_text
from viz.tables.account import account_of
from viz.tables.plan import plan_tables
from viz.terminal import order, report

AREA = "the bedding, in lifts"
DOOR = "dOOR of bedding along the contour"
OUTFALL = "the contour swale"
DRAIN = "Edge of the survey"
SPOUT = "spout in the bank over organics"
FEATURE = "iFire of the underdrain"
BASE = "Subgrade: OPEN-graded base 5 % <b>"
LAYER = "the bedding of organics"
REASON = "because The subgrade wants it, in the bank"
SITE = "foundation & Low Spot in the bank"
NAMES = [AREA, DOOR, OUTFALL, DRAIN, SPOUT, FEATURE, BASE, LAYER, REASON, SITE]

TOML = f"""
name = "{SITE}"
unit = "ft"
spots = "spots.csv"
[ground]
soil = "clay"
organics = "5 in"
[house]
walls = [[0, 0], [30, 0]]
inside = [15, -8]
[[door]]
name = "{DOOR}"
at = [12, 0]
sill = 100.65
[[outfall]]
kind = "swale"
name = "{OUTFALL}"
at = [[-2, 20], [32, 20]]
[[outfall]]
kind = "drain"
name = "{DRAIN}"
at = [16, 9]
[[downspout]]
name = "{SPOUT}"
at = [29, 0]
roof = "300 ft2"
[[feature]]
name = "{FEATURE}"
kind = "seat wall"
at = [12, 8]
size = ["9 ft", "1 ft"]
height = "18 in"
[[base]]
name = "{BASE}"
layers = [{{name = "paver", thickness = "2 3/8 in"}}, {{name = "{LAYER}", thickness = "1 in"}},
          {{name = "crushed stone", thickness = "6 in"}}]
[[area]]
name = "{AREA}"
outline = [[4, 0], [26, 0], [26, 14], [4, 14]]
base = "{BASE}"
reason = "{REASON}"
plane = {{at = [4, 0], z = 100.2, fall = "2 %", bearing = 0}}
"""


# What stands in pictures is told with the scene.
pytestmark = pytest.mark.usefixtures("no_picture")


@cache
def made(folder: Path):
    (folder / "site.toml").write_text(TOML, encoding="utf-8")
    spots = [(x, y, 100.0 - 0.03 * y) for x in range(-4, 37, 8) for y in range(0, 25, 6)]
    rows = "\n".join(f"{x},{y},{z:.3f}" for x, y, z in spots)
    (folder / "spots.csv").write_text(f"x,y,z\n{rows}\n", encoding="utf-8")
    return plan(read_site(folder))


@pytest.fixture(scope="module")
def job(tmp_path_factory):
    found = made(tmp_path_factory.mktemp("named"))
    return Job(found, order_of(found, found.crew), page_for("ft", None, portrait=True))


class Heard:
    """Stands in for a sheet in the making: what would be drawn is kept as its words."""

    def drawing(self, sheet, alt):
        return {"words": _drawn(sheet), "alt": alt}

    def picture(self, data, ending, alt):
        return {"alt": alt}


def _drawn(sheet) -> list[str]:
    return [words.words for words in words_of(compose(sheet))]


def _whole(text: str) -> str:
    """Return a text with its lines joined and places where a word may break closed."""
    return re.sub(r"\s+", " ", unicodedata.normalize("NFC", text).replace("\u200b", ""))


def _strings(data) -> list[str]:
    if isinstance(data, str):
        return [data]
    if isinstance(data, dict):
        return [text for value in data.values() for text in _strings(value)]
    return [text for value in data for text in _strings(value)] if isinstance(data, list) else []


def _drawings(job):
    area = job.plan.areas[0]
    for make in (sheets_of(job.plan, area, job.page), site_sheets(job.plan, job.page),
                 answer_sheets(job.plan, area)):  # fmt: skip
        for _, sheet in make:
            yield from _drawn(sheet)


def _page(job):
    path = html.write_page(job.plan, job.plan.site.folder / "page.html")
    # Names stand in it as text, and in the data of its scenes.
    return path.read_text(encoding="utf-8").partition('<script type="module">')[0]


MAKERS = {
    "report": lambda job: [report.text(job.plan)],
    "tables": lambda job: [csv_text(t) for t in plan_tables(job.plan).values()],
    "checks": lambda job: [check.text for check in job.plan.checks],
    "order": lambda job: [order.text(account_of(job.plan))],
    "homeowner": lambda job: _strings(homeowner_data(job, Heard(), print)),
    "questions": lambda job: _strings(questions_data(job, Heard(), print)),
    "crew": lambda job: _strings(crew_data(job, Heard(), print)),
    "drawings": lambda job: list(_drawings(job)),
    "scene": lambda job: [
        label.text for label in stage(job.plan, job.plan.areas[0], job.plan.areas[0].chosen).labels
    ],
    "page": lambda job: [_page(job)],
}
TOLD = {
    # A wide name is parted by the columns of a table that is set for a terminal.
    "report": {AREA, OUTFALL, DRAIN, SPOUT, FEATURE, BASE, LAYER, REASON, SITE},
    "tables": {AREA, OUTFALL, DRAIN, SPOUT, FEATURE, BASE, LAYER},
    "checks": {AREA, DOOR, OUTFALL, DRAIN, SPOUT, FEATURE, BASE},
    "order": {AREA, BASE, SITE},
    "homeowner": {AREA, DOOR, DRAIN, BASE, LAYER, REASON, SITE, FEATURE},
    "questions": {AREA, DOOR, DRAIN, BASE, LAYER, REASON, SITE},
    "crew": {AREA, DOOR, OUTFALL, BASE, LAYER, SITE},
    "drawings": {AREA, DOOR, OUTFALL, DRAIN, BASE, LAYER, SITE},
    "scene": {DOOR, OUTFALL, FEATURE},
    "page": {AREA, DOOR, OUTFALL, BASE, SITE},
}


@pytest.mark.parametrize("where", MAKERS)
def test_a_name_is_told_letter_for_letter_wherever_it_is_told(job, where):
    said = _whole(" ".join(MAKERS[where](job)))
    if where == "page":
        import html as entities

        said = entities.unescape(said)
    if where == "tables":
        said = said.replace('""', '"')
    for name in sorted(TOLD[where]):
        assert name in said, name
    for name in NAMES:
        # However it is found, it is found as it was written.
        found = {each[0] for each in re.finditer(re.escape(name), said, re.IGNORECASE)}
        assert found <= {name}, (name, found)


def test_a_base_of_the_sites_own_keeps_its_name_on_its_button():
    scene = SimpleNamespace(base="river base", base_title="river base")
    assert bases.short_title(scene) == "river base"
    scene = SimpleNamespace(base="dense", base_title="Dense-graded base")
    assert bases.short_title(scene) == "Dense"


def test_the_data_of_the_sheets_is_plain_data(job):
    json.dumps(homeowner_data(job, Heard(), print), allow_nan=False)
