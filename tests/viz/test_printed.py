"""Printed sheets: what stands on them is what was computed, and any reader can read them."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from make.by_lot import by_lot
from make.plans.sampled import sampled
from make.sites.site_folder import LARCH_LANE
from measure.printed import Printed, contrast, overlaps

import grading
import sample_sites
from grading.design.levels import grid_of, levels_at
from grading.design.points import named_points
from grading.order.days import days_of
from grading.order.model import order_of
from grading.units import HOUR, size, volume
from grading.units.writing import area as paved_area
from viz.sheets.compile import Compiled
from viz.sheets.write import HANDED, KINDS, write_sheets
from viz.words.figures import DIRT, ground_area, level
from viz.words.plain import table
from viz.words.uncounted import not_counted

PAPERS = {"letter": (612.0, 792.0), "a4": (595.276, 841.89)}  # points: 8.5 x 11 in; ISO 216
PAGES = {"homeowner": 2, "questions": 3, "crew": 4}
MORE = {
    ("garden-court", "letter", "questions"): 6, ("garden-court", "a4", "questions"): 6,
    ("flush-walk", "letter", "questions"): 6, ("flush-walk", "a4", "questions"): 6,
    ("front-walk", "letter", "crew"): 3, ("side-walkway", "letter", "crew"): 3,
    ("flush-walk", "a4", "crew"): 3,
}  # fmt: skip
"""The homeowner's paper is a page and its back for the whole job, however many areas it has.

The crew's is shorter for a small job, and never of more than four.
"""


OWN = {"ft": "letter", "m": "a4"}
"""The paper that a site is printed on unless another is asked for."""

BOTH = ("back-patio", "flush-walk")
"""Sites that are printed on either paper; the others on their own."""

PRINTED = [
    (name, paper)
    for name in sample_sites.names()
    for paper in PAPERS
    if name in BOTH or paper == OWN[grading.read_site(sample_sites.path(name)).unit]
]


@pytest.fixture(scope="session")
def plans():
    return {name: sampled(name) for name in sample_sites.names()}


@pytest.fixture(scope="session")
def drawn(plans):
    """The pictures before and after, drawn once: they are the same on every paper."""
    from viz.sheets.homeowner.stills import before_and_after

    return {name: before_and_after(plan) for name, plan in plans.items()}


@pytest.fixture(scope="session")
def printed(plans, drawn, tmp_path_factory):
    """Every sheet of every sample site, by site, paper and kind."""
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        for name, plan in plans.items():
            patch.setattr(
                "viz.sheets.homeowner.stills.before_and_after", lambda _, name=name: drawn[name]
            )
            for paper in (paper for each, paper in PRINTED if each == name):
                folder = tmp_path_factory.mktemp(f"{name}-{paper}")
                for file in write_sheets(plan, folder, lambda _: None, KINDS, paper):
                    found[name, paper, file.stem] = Printed(file)
    return found


EVERY = [
    pytest.param((name, paper, file), id=f"{name}-{paper}-{file}")
    for name, paper in PRINTED
    for file in KINDS
]
ONCE = [pytest.param((name, paper), id=f"{name}-{paper}") for name, paper in PRINTED]


@pytest.mark.parametrize("which", EVERY)
def test_pages_are_as_many_as_told_and_of_the_paper_asked_for(printed, which):
    _, paper, kind = which
    sheet = printed[which]
    assert len(sheet.sizes) == MORE.get(which, PAGES[kind])
    for sides in sheet.sizes:
        assert sorted(sides) == pytest.approx(sorted(PAPERS[paper]), abs=0.5)
    assert sheet.sizes[0][0] < sheet.sizes[0][1]


@pytest.mark.parametrize("which", by_lot(EVERY, 0.35))
def test_no_word_leaves_its_page_and_none_lies_over_another(printed, which):
    sheet = printed[which]
    for number, (words, (wide, high)) in enumerate(zip(sheet.words, sheet.sizes, strict=True), 1):
        assert len(words) > 20, f"page {number} is all but empty"
        for word in words:
            assert 0 < word["x0"] <= word["x1"] < wide, (number, word["text"])
            assert 0 < word["top"] <= word["bottom"] < high, (number, word["text"])
        assert not overlaps(words), f"page {number}"


@pytest.mark.parametrize("which", EVERY)
def test_every_letter_is_in_the_file_and_only_the_pictures_are_raster(printed, which):
    sheet = printed[which]
    assert sheet.fonts
    assert all(sheet.fonts.values()), sheet.fonts
    # The whole job finished, and today beside it, however many areas it has.
    assert sheet.pictures == (2 if which[2] == "homeowner" else 0)


@pytest.mark.parametrize("which", EVERY)
def test_the_file_is_tagged_for_a_reader_aloud(printed, which):
    # PDF/UA-1 (ISO 14289-1): marked, a structure tree, a language, a title that is shown.
    root = printed[which].reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value is True
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert printed[which].reader.metadata.title


@pytest.mark.parametrize("which", ONCE)
def test_the_crew_s_sheet_says_what_the_plan_says(printed, plans, which):
    plan = plans[which[0]]
    text = printed[*which, "crew"].text
    for area, record in zip(plan.areas, grading.record(plan)["areas"], strict=True):
        for part in record["bases"][area.chosen]["layers"]:
            assert size(part["thickness"], plan.site.unit) in text, part["name"]


@pytest.mark.parametrize("which", ONCE)
def test_every_base_of_the_json_is_told_to_the_homeowner(printed, plans, which):
    plan = plans[which[0]]
    text, unit = printed[*which, "homeowner"].text, plan.site.unit
    for area, record in zip(plan.areas, grading.record(plan)["areas"], strict=True):
        assert ground_area(record["plan_area"], unit).split(" (")[0].split(".")[0] in text
        for name in record["bases"]:
            system = area.digs[name].system
            asked = system.title if name == record["base"] else f"Why not {system.called}?"
            assert asked in text, (record["name"], name)


@pytest.mark.parametrize("which", ONCE)
def test_the_area_dug_is_told_to_the_crew(printed, plans, which):
    plan = plans[which[0]]
    for area, record in zip(plan.areas, grading.record(plan)["areas"], strict=True):
        base, unit = record["bases"][area.chosen], plan.site.unit
        text = printed[*which, "crew"].text
        assert paved_area(base["dig_area"], unit) in text
        assert volume(base["cut"], unit) in text
        assert size(base["max_dig"], unit, DIRT) in text


@pytest.mark.parametrize("which", ONCE)
def test_every_layer_is_named_whole_beside_its_drawing(printed, plans, which):
    plan = plans[which[0]]
    text = printed[*which, "homeowner"].text
    for area in plan.areas:
        for layer in area.chosen_dig.system.layers:
            known = table("layer-name")
            name = known.get(layer.material, layer.name)
            assert f"{name}, {size(layer.thickness, plan.site.unit)}" in text


@pytest.mark.parametrize("which", ONCE)
def test_both_sheets_say_what_the_order_says(printed, plans, which):
    plan = plans[which[0]]
    order = order_of(plan, plan.crew)
    homeowner, crew = (printed[*which, kind].text for kind in HANDED)
    haul = order.total.haul
    assert f"{haul.bins.count} bin" in homeowner
    assert f"{haul.trips + haul.pavers.count} loads of soil" in homeowner
    days = days_of(order, order.total)
    assert f"eight such jobs in ten take {days.between}" in homeowner
    assert f"About {days.counted} for {days.crew}" in crew
    assert f"eight such jobs in ten take {days.between}, rain days not counted" in crew
    for supply in order.total.supplies:
        assert supply.title in crew
        assert f"{round(supply.count, 3):g} " in crew
    for task in order.total.tasks:
        assert task.title in crew
        assert f"{task.mean / HOUR:.1f}" in crew
    assert f"{sum(task.mean for task in order.total.tasks) / HOUR:.1f}" in crew
    for words in not_counted(plan, keys=False):
        assert words in crew
    assert plan.crew.currency not in homeowner
    assert plan.crew.currency not in crew


@pytest.mark.parametrize("which", ONCE)
def test_the_crew_reads_a_rod_at_every_point_and_the_homeowner_the_levels(printed, plans, which):
    plan = plans[which[0]]
    unit = plan.site.unit
    crew, homeowner = printed[*which, "crew"].text, printed[*which, "homeowner"].text
    rods = grading.record(plan)["rods"]
    for stake in (stake for area in rods["areas"] for stake in area["stakes"]):
        for layer in stake["layers"]:
            assert layer["rod_text"].removesuffix('"') in crew, (stake["name"], layer["name"])
    for area in plan.areas:
        points = named_points(area)
        grid = grid_of(area, unit, points.xy)
        found = levels_at(plan, area, np.concatenate([points.xy, grid.xy]))
        plane = area.finish.plane
        # The plane as the JSON gives it: z = z0 + dzdx x + dzdy y.
        finish = plane.z0 + found.xy @ (plane.dzdx, plane.dzdy)
        assert found.finish == pytest.approx(finish, abs=1e-9)
        assert found.subgrade == pytest.approx(finish - area.chosen_dig.build_up, abs=1e-9)
        assert found.existing == pytest.approx(plan.ground.elevation(found.xy), abs=1e-12)
        assert np.all(found.depth >= 0)
        assert np.all(found.dug <= found.subgrade + 1e-12)
        # Who lives there reads steps and falls, and no elevation.
        assert level(float(found.finish[0]), unit).split(" (")[0] not in homeowner


@pytest.mark.parametrize("which", [each for each in EVERY if "-letter-" in str(each.id)])
def test_it_reads_in_grey(printed, which):
    # 4.5 : 1 is what WCAG 2.1, criterion 1.4.3, asks of small text.
    sheet, scale = printed[which], 3.0
    for number, words in enumerate(sheet.words):
        grey = sheet.grey(number, scale)
        for word in words:
            if word["bottom"] - word["top"] < 4.0 or len(word["text"]) < 3:
                continue
            x0, x1 = int(word["x0"] * scale), int(np.ceil(word["x1"] * scale))
            y0, y1 = int(word["top"] * scale), int(np.ceil(word["bottom"] * scale))
            box = grey[y0:y1, x0:x1]
            light, dark = np.percentile(box, 90), box.min()
            assert contrast(float(dark), float(light)) > 4.5, (number + 1, word["text"])


def test_a_second_run_gives_the_same_bytes(plans, drawn, printed, tmp_path, monkeypatch):
    monkeypatch.setattr(
        "viz.sheets.homeowner.stills.before_and_after", lambda _: drawn["garden-court"]
    )
    again = write_sheets(plans["garden-court"], tmp_path, lambda _: None, KINDS)
    assert {file.name for file in again} == {"homeowner.pdf", "questions.pdf", "crew.pdf"}
    for file in again:
        first = printed["garden-court", "a4", file.stem].file
        assert file.read_bytes() == first.read_bytes()


@pytest.mark.parametrize(
    ("file", "page", "scale", "long", "unit", "points"),
    [
        ("questions", 0, "3/32 in = 1 ft", "10", "ft", 10 * 3 / 32 * 72),
        ("questions", 1, "1 1/2 in = 1 ft", "9", "in", 9 / 12 * 1.5 * 72),
    ],
)
def test_a_drawing_stands_at_its_stated_scale(printed, file, page, scale, long, unit, points):
    """The scale bar, measured on the page between its figures, is as long as its scale says."""
    sheet = printed["back-patio", "letter", file]
    assert scale in sheet.text
    words = sheet.words[page]
    (end,) = [(a, b) for a, b in pairwise(words) if (a["text"], b["text"]) == (long, unit)]
    middle = (end[0]["x0"] + end[1]["x1"]) / 2
    starts = [
        (word["x0"] + word["x1"]) / 2
        for word in words
        if word["text"] == "0" and abs(word["top"] - end[0]["top"]) < 1
    ]
    assert min(abs(middle - start - points) for start in starts) < 1.0


def test_without_opengl_the_homeowner_sees_a_plan_instead(plans, tmp_path, no_picture):
    said = []
    files = write_sheets(plans["back-patio"], tmp_path, said.append, ["homeowner"])
    assert [file.name for file in files] == ["homeowner.pdf"]
    sheet = Printed(files[0])
    assert no_picture in said
    assert sheet.pictures == 0
    assert "Seen from above: this machine has no means to draw" in sheet.text
    assert not overlaps(sheet.words[0])


def test_a_job_with_much_to_tell_goes_on_four_pages_and_drops_nothing(tmp_path, monkeypatch):
    """It is set closer, part by part and letter by letter, down to 7 1/2 points.

    Two areas in metres, one of them folded, with an underdrain and a bench.
    """
    plan, told = sampled(LARCH_LANE.name), {}
    for closer in (False, True):
        with monkeypatch.context() as patch:
            if not closer:
                patch.setattr(
                    Compiled, "within", lambda self, data, most: self.pdf({**data, "closer": 0})
                )
            (file,) = write_sheets(plan, tmp_path / str(closer), lambda _: None, ["crew"])
        sheet = Printed(Path(file))
        told[closer] = len(sheet.sizes), set(re.findall(r"\w+", sheet.text))
        assert not any(overlaps(words) for words in sheet.words)
    (pages, words), (most, kept) = told[False], told[True]
    assert pages > 4  # else nothing is tried
    assert most == 4
    assert words - kept <= {"5", "6", "7"}  # numbers of pages that there are no more


def test_a_part_that_fits_under_the_last_takes_no_page_of_its_own(plans, tmp_path, monkeypatch):
    from viz.sheets.blocks import Page, words
    from viz.sheets.crew import sheet as crew

    def pages(*_):
        for number, lines in enumerate((3, 3, 60, 3)):
            yield Page(f"Part {number}", tuple(words("Shot on site.") for _ in range(lines)))

    monkeypatch.setattr(crew, "crew_pages", pages)
    (file,) = write_sheets(plans["side-walkway"], tmp_path, lambda _: None, ["crew"])
    text = [" ".join(word["text"] for word in page) for page in Printed(Path(file)).words]
    assert [[k for k in range(4) if f"Part {k}" in page] for page in text] == [[0, 1], [2], [3]]


def test_a_table_of_levels_goes_on_on_the_next_page_and_leaves_none_half_white(printed):
    first, second, _ = printed["side-walkway", "letter", "crew"].words
    for page in (first, second):
        assert {"Dig", "Bed", "Panel", "Paver"} <= {word["text"] for word in page}
    lowest = max(word["bottom"] for word in first if word["bottom"] < 740)  # over the foot
    assert lowest > 0.85 * PAPERS["letter"][1]
