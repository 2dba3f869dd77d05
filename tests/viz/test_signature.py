"""What is not for signature says so wherever it is signed: drawings, pictures, page and sheets."""

from __future__ import annotations

import numpy as np
import pytest
from make.sites.site_folder import write_site
from measure.printed import Printed
from PIL import Image

import grading
from viz.drawings.listed import answer_sheets, sheets_of, site_sheets
from viz.paper.band import HIGH, banded
from viz.paper.compose import compose, words_of
from viz.paper.page import page_for
from viz.pictures import band as picture_band
from viz.signature import COLOUR, not_for_signature
from viz.tables.account import account_of

SITE = """name = "Alder Row"
unit = "ft"
spots = "spots.csv"

[house]
walls  = [[0, 0], [30, 0]]
inside = [15, -5]

[[area]]
name    = "patio"
outline = [[5, 0], [25, 0], [25, 15], [5, 15]]
base    = "open"
"""
SPOTS = """x,y,z,id
0,0,100.0,a
30,0,100.02,b
30,25,99.3,c
0,25,99.28,d
15,12,99.65,e
8,10,99.7,f
22,8,{},g
"""
BAND = "NOT FOR SIGNATURE until spot g is read again"


def planned(folder, level):
    return grading.plan(grading.read_site(write_site(folder, SITE, spots=SPOTS.format(level))))


@pytest.fixture(scope="module")
def doubtful(tmp_path_factory):
    return planned(tmp_path_factory.mktemp("site"), 98.77)


@pytest.fixture(scope="module")
def sound(tmp_path_factory):
    return planned(tmp_path_factory.mktemp("site"), 99.77)


def every(plan):
    page, (area,) = page_for("ft"), plan.areas
    yield from sheets_of(plan, area, page)
    yield from answer_sheets(plan, area)
    yield from site_sheets(plan, page)


def test_a_sound_plan_has_no_band(sound):
    assert not_for_signature(sound) == ""
    for name, sheet in every(sound):
        told = " ".join(found.words for found in words_of(compose(sheet)))
        assert "SIGNATURE" not in told, name


def test_every_drawing_has_the_band_on_its_paper(doubtful):
    assert not_for_signature(doubtful) == BAND
    count = 0
    for name, sheet in every(doubtful):
        written = words_of(compose(sheet))
        (band,) = [found for found in written if found.words == BAND]
        corners = np.array(band.corners)
        assert (corners >= 0).all(), name
        assert (corners <= (sheet.page.width, sheet.page.height)).all(), name
        # Nothing else is written there.
        rest = [found for found in written if found is not band]
        assert max(np.array(each.corners)[:, 1].max() for each in rest) < corners[:, 1].min()
        count += 1
    assert count > 10


def test_several_spots_are_counted_and_the_first_named(tmp_path):
    rows = SPOTS.format(99.77) + "".join(
        f"{x},{y},{99.9 - 0.028 * y:.2f},{x}-{y}\n"
        for x in range(2, 30, 4)
        for y in range(2, 25, 4)
    )
    for wrong in ("6-6", "14-18", "22-10", "26-22"):
        at = rows.index(f",{wrong}\n")
        start = rows.rindex(",", 0, at) + 1
        rows = f"{rows[:start]}{float(rows[start:at]) + 2:.2f}{rows[at:]}"
    words = not_for_signature(
        grading.plan(grading.read_site(write_site(tmp_path, SITE, spots=rows)))
    )
    assert words.endswith("and 1 more are read again")
    assert words.startswith("NOT FOR SIGNATURE until spots ")


def test_a_picture_has_the_band_above_it():
    picture = Image.new("RGB", (800, 500), "white")
    made = picture_band.banded(picture, BAND)
    high = made.height - picture.height
    assert high >= 22
    assert made.getpixel((2, 2)) == tuple(bytes.fromhex(COLOUR[1:]))
    assert made.crop((0, high, 800, made.height)).tobytes() == picture.tobytes()
    assert len(set(made.crop((0, 0, 800, high)).tobytes())) > 10  # it is written on
    assert picture_band.banded(picture, "") is picture


def test_a_small_page_grows_by_the_band_and_a_large_one_does_not(doubtful):
    (_, small), *_ = answer_sheets(doubtful, doubtful.areas[0])
    assert small.page.height > 75
    (_, large), *_ = sheets_of(doubtful, doubtful.areas[0], page_for("ft"))
    assert large.page == page_for("ft")
    assert large.page.margin > HIGH
    assert banded(large, "") is large


def test_every_page_of_every_sheet_has_the_band(doubtful, tmp_path, no_picture):
    from viz.sheets.write import write_sheets

    for file in write_sheets(doubtful, tmp_path, lambda _: None):
        for number, words in enumerate(Printed(file).words, start=1):
            told = " ".join(word["text"] for word in words)
            assert BAND in told, (file.name, number)
        assert Printed(file).reader.metadata.title.endswith(BAND), file.name


def test_a_table_runs_on_over_the_page_under_the_band(tmp_path):
    from viz.sheets.blocks import Column, table
    from viz.sheets.compile import Compiled

    words = ["LOOK", "patio", "rain goes to a low spot with no way out " * 9]
    found = table([Column(head, kind="words") for head in ("", "Area", "What")], [words] * 40)
    data = {
        "site": "yard", "paper": "us-letter", "margin": 11, "caution": "",
        "closer": 0, "band": BAND, "crew": {"name": "", "lines": [], "logo": None},
        "stop": None, "pages": [{"title": "checks", "blocks": [found]}],
    }  # fmt: skip
    with Compiled("crew") as sheet:
        (tmp_path / "crew.pdf").write_bytes(sheet.pdf(data))
    pages = Printed(tmp_path / "crew.pdf").words
    assert len(pages) > 2
    assert all(BAND in " ".join(word["text"] for word in page) for page in pages)


def test_the_page_and_the_picture_that_it_saves_have_the_band(doubtful, sound, tmp_path):
    from viz.page.html import write_page

    told = write_page(doubtful, tmp_path / "a.html").read_text(encoding="utf-8")
    assert f'<p class="band" role="alert">{BAND}</p>' in told
    assert f'"band":"{BAND}"' in told
    assert "plan.band" in told
    assert 'class="band"' not in write_page(sound, tmp_path / "b.html").read_text(encoding="utf-8")


def test_order_report_and_tables_have_the_line(doubtful, tmp_path):
    from openpyxl import load_workbook

    from viz.export.planbook import write_planbook
    from viz.terminal import order, report

    assert BAND in report.text(doubtful).splitlines()
    assert BAND in order.text(account_of(doubtful)).splitlines()
    write_planbook(doubtful, tmp_path / "plan.xlsx")
    for sheet in load_workbook(tmp_path / "plan.xlsx").worksheets:
        assert BAND in [cell.value for row in sheet.iter_rows() for cell in row], sheet.title
