"""Printed sheets: what stands on them is what was computed, and any reader can read them."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import shapely
from printed import Printed, contrast, overlaps

import grading
import sample_sites
from grading.design.levels import grid_of, levels_at
from grading.design.points import named_points
from grading.order.days import days_of
from grading.order.model import order_of
from grading.units import HOUR, percent
from viz.sheets.write import HANDED, KINDS, write_sheets
from viz.words.figures import DIRT, earth, ground_area, level, small
from viz.words.uncounted import not_counted

PAPERS = {"letter": (612.0, 792.0), "a4": (595.276, 841.89)}  # points: 8.5 x 11 in; ISO 216
PAGES = {"homeowner": 2, "questions": 3, "crew": 7}
MORE = {
    ("garden-court", "letter", "homeowner"): 6, ("garden-court", "a4", "homeowner"): 6,
    ("garden-court", "letter", "questions"): 6, ("garden-court", "a4", "questions"): 6,
    ("garden-court", "a4", "crew"): 12, ("back-patio", "letter", "crew"): 8,
    ("flush-walk", "letter", "homeowner"): 6, ("flush-walk", "a4", "homeowner"): 6,
    ("flush-walk", "letter", "questions"): 6, ("flush-walk", "a4", "questions"): 6,
    ("flush-walk", "letter", "crew"): 12, ("flush-walk", "a4", "crew"): 12,
}  # fmt: skip
"""A homeowner's sheet is a page and its back; two areas have one for all of it before them."""


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
    return {
        name: grading.plan(grading.read_site(sample_sites.path(name)))
        for name in sample_sites.names()
    }


@pytest.fixture(scope="session")
def drawn(plans):
    """The pictures before and after, drawn once: they are the same on every paper."""
    from viz.sheets.stills import before_and_after

    return {name: before_and_after(plan) for name, plan in plans.items()}


@pytest.fixture(scope="session")
def printed(plans, drawn, tmp_path_factory):
    """Every sheet of every sample site, by site, paper and kind."""
    found = {}
    with pytest.MonkeyPatch.context() as patch:
        for name, plan in plans.items():
            patch.setattr("viz.sheets.stills.before_and_after", lambda _, name=name: drawn[name])
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
    for size in sheet.sizes:
        assert sorted(size) == pytest.approx(sorted(PAPERS[paper]), abs=0.5)
    assert sheet.sizes[0][0] < sheet.sizes[0][1]


@pytest.mark.parametrize("which", EVERY)
def test_no_word_leaves_its_page_and_none_lies_over_another(printed, which):
    sheet = printed[which]
    for number, (words, (wide, high)) in enumerate(zip(sheet.words, sheet.sizes, strict=True), 1):
        assert len(words) > 20, f"page {number} is all but empty"
        for word in words:
            assert 0 < word["x0"] <= word["x1"] < wide, (number, word["text"])
            assert 0 < word["top"] <= word["bottom"] < high, (number, word["text"])
        assert not overlaps(words), f"page {number}"


@pytest.mark.parametrize("which", EVERY)
def test_every_letter_is_in_the_file_and_only_the_pictures_are_raster(printed, plans, which):
    sheet = printed[which]
    assert sheet.fonts
    assert all(sheet.fonts.values()), sheet.fonts
    wanted = 2 * len(plans[which[0]].areas) if which[2] == "homeowner" else 0
    assert sheet.pictures == wanted


@pytest.mark.parametrize("which", EVERY)
def test_the_file_is_tagged_for_a_reader_aloud(printed, which):
    # PDF/UA-1 (ISO 14289-1): marked, a structure tree, a language, a title that is shown.
    root = printed[which].reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"] is True or root["/MarkInfo"]["/Marked"].value is True
    assert "/StructTreeRoot" in root
    assert root["/Lang"] == "en"
    assert root["/ViewerPreferences"]["/DisplayDocTitle"]
    assert printed[which].reader.metadata.title


def drop_of(record, fall):
    """From where the paving in front of a wall begins to the end of it, off the JSON's plane."""
    out = (shapely.get_coordinates(fall.wall.front) - fall.wall.start) @ fall.wall.outward
    down = -np.array([record["finish"]["dzdx"], record["finish"]["dzdy"]]) @ fall.wall.outward
    return float(down * (fall.distance - max(out.min(), 0.0)))


def figures(plan, area, record) -> dict[str, str]:
    """What a homeowner is told of an area, from the plan as plain data."""
    unit = plan.site.unit
    base = record["bases"][area.chosen]
    steps = [
        check["value"]
        for check in grading.record(plan)["checks"]
        if check["rule"] == "door-step" and check["area"] == area.area.name
    ]
    return {
        "build-up": small(base["build_up"], unit),
        "cut": earth(base["cut"], unit),
        "fill": earth(base["fill"], unit) if base["fill"] > 5e-3 else "none",
        "spoil": earth(base["spoil_loose"], unit),
        "deepest": small(base["max_dig"], unit, DIRT),
        "fall": percent(record["finish"]["fall"]),
        **{fall.wall.name: small(drop_of(record, fall), unit) for fall in area.walls},
        **{f"step {number}": small(value, unit) for number, value in enumerate(steps)},
        **{f"layer {part['name']}": small(part["thickness"], unit) for part in base["layers"]},
    }


@pytest.mark.parametrize("which", ONCE)
def test_both_sheets_say_what_the_plan_says(printed, plans, which):
    plan = plans[which[0]]
    whole = grading.record(plan)
    for kind in HANDED:
        text = printed[*which, kind].text
        for area, record in zip(plan.areas, whole["areas"], strict=True):
            for what, words in figures(plan, area, record).items():
                if kind == "crew" and words == "none":
                    words = "no refill"
                assert words in text, (kind, what, words)


@pytest.mark.parametrize("which", ONCE)
def test_every_base_of_the_json_is_told_to_the_homeowner(printed, plans, which):
    plan = plans[which[0]]
    text, unit = printed[*which, "homeowner"].text, plan.site.unit
    for record in grading.record(plan)["areas"]:
        assert ground_area(record["plan_area"], unit) in text
        for base in record["bases"].values():
            told = {
                "build-up": small(base["build_up"], unit),
                "cut": earth(base["cut"], unit),
                "fill": earth(base["fill"], unit) if base["fill"] > 5e-3 else "none",
                "spoil": earth(base["spoil_loose"], unit),
                "deepest": small(base["max_dig"], unit, DIRT),
            }
            for what, words in told.items():
                assert words in text, (record["name"], what, words)


@pytest.mark.parametrize("which", ONCE)
def test_the_area_dug_is_told_to_the_crew(printed, plans, which):
    plan = plans[which[0]]
    for area, record in zip(plan.areas, grading.record(plan)["areas"], strict=True):
        dug = record["bases"][area.chosen]["dig_area"]
        assert ground_area(dug, plan.site.unit) in printed[*which, "crew"].text


@pytest.mark.parametrize("which", ONCE)
def test_every_layer_is_named_whole_beside_its_drawing(printed, plans, which):
    plan = plans[which[0]]
    text = printed[*which, "homeowner"].text
    for area in plan.areas:
        for layer in area.chosen_dig.system.layers:
            name = layer.name
            assert f"{name}, {small(layer.thickness, plan.site.unit)}" in text


@pytest.mark.parametrize("which", ONCE)
def test_both_sheets_say_what_the_order_says(printed, plans, which):
    plan = plans[which[0]]
    order = order_of(plan, plan.crew)
    homeowner, crew = (printed[*which, kind].text for kind in HANDED)
    for area in order.areas:
        haul = area.chosen.haul
        assert f"{haul.bins.count} bin" in homeowner
        assert f"{haul.trips + haul.pavers.count} " in homeowner
    days = days_of(order, order.total)
    assert f"eight such jobs in ten take {days.between}" in homeowner
    if len(order.areas) > 1:
        haul = order.total.haul
        whole = homeowner[homeowner.index("The whole job, all areas together") :]
        assert f"{haul.bins.count} bin" in whole
        assert f"{haul.trips + haul.pavers.count} " in whole
    assert f"about {days.counted} for {days.crew}" in crew
    assert f"eight such jobs in ten take {days.between}, rain days not counted" in crew
    for supply in order.total.supplies:
        assert supply.title in crew
        assert f"{round(supply.count, 3):g} " in crew
    for task in order.total.tasks:
        assert task.title in crew
        assert f"{task.mean / HOUR:.1f}" in crew
    assert f"{sum(task.mean for task in order.total.tasks) / HOUR:.0f}" in crew
    for words in not_counted(plan):
        assert words in crew
    assert plan.crew.currency not in homeowner
    assert plan.crew.currency not in crew


@pytest.mark.parametrize("which", ONCE)
def test_the_crew_reads_the_levels_of_every_corner_and_grid_point(printed, plans, which):
    plan = plans[which[0]]
    unit = plan.site.unit
    crew, homeowner = printed[*which, "crew"].text, printed[*which, "homeowner"].text
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
        dug = found.dug if (found.subgrade - found.dug).max() > 1e-3 else found.subgrade
        for z in (*found.finish, *found.subgrade):
            for words in level(float(z), unit).rstrip(")").split(" ("):
                assert words in crew, words
        # Where topsoil goes below the subgrade the crew is told the bottom of the hole itself.
        for z in dug:
            assert level(float(z), unit, DIRT).split(" (")[0] in crew or dug is found.subgrade
        for z in found.finish[: len(points.names)]:
            assert level(float(z), unit) in homeowner


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
    monkeypatch.setattr("viz.sheets.stills.before_and_after", lambda _: drawn["garden-court"])
    again = write_sheets(plans["garden-court"], tmp_path, lambda _: None, KINDS)
    assert {file.name for file in again} == {"homeowner.pdf", "questions.pdf", "crew.pdf"}
    for file in again:
        first = printed["garden-court", "a4", file.stem].file
        assert file.read_bytes() == first.read_bytes()


@pytest.mark.parametrize(
    ("file", "page", "scale", "long", "unit", "points"),
    [
        # 3/8 in = 1 ft: a bar of 4 ft is 1 1/2 in of paper.
        ("crew", 6, "3/8 in = 1 ft", "4", "ft", 1.5 * 72),
        ("questions", 0, "3/32 in = 1 ft", "10", "ft", 10 * 3 / 32 * 72),
        ("questions", 1, "1 1/2 in = 1 ft", "9", "in", 9 / 12 * 1.5 * 72),
        ("homeowner", 1, "1 1/2 in = 1 ft", "9", "in", 9 / 12 * 1.5 * 72),
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


def test_without_opengl_the_homeowner_sees_a_plan_instead(plans, tmp_path, monkeypatch):
    from grading.errors import CannotDraw

    def cannot(_):
        raise CannotDraw("no OpenGL here")

    monkeypatch.setattr("viz.sheets.stills.before_and_after", cannot)
    said = []
    files = write_sheets(plans["back-patio"], tmp_path, said.append, ["homeowner"])
    assert [file.name for file in files] == ["homeowner.pdf", "questions.pdf"]
    sheet = Printed(files[0])
    assert "no OpenGL here" in said
    assert sheet.pictures == 0
    assert "Seen from above: this machine has no means to draw" in sheet.text
    assert not overlaps(sheet.words[0])


def test_another_section_is_one_more_maker(plans, tmp_path, monkeypatch):
    from viz.sheets import crew
    from viz.sheets.blocks import Section, table, words

    def record(job, sheet):
        yield Section("As built", (words("Shot on site."), table(("A", "B"), [("1", "2")], (1, 1))))

    monkeypatch.setattr(crew, "MAKERS", [*crew.MAKERS, record])
    (file,) = write_sheets(plans["side-walkway"], tmp_path, lambda _: None, ["crew"])
    assert "As built Shot on site." in Printed(Path(file)).text


def test_the_pictures_before_and_after_name_every_door_and_only_after_its_step(plans, drawn):
    (area,) = drawn["back-patio"]
    today, finished = ([label["words"] for label in labels] for labels in area["labels"])
    doors = sorted(door.name for door in plans["back-patio"].site.doors)
    assert sorted(today) == doors
    assert sorted(words.partition(": ")[0] for words in finished) == doors
    assert all(words.endswith(" step") for words in finished)
    # A raised edge is no finished picture without what holds it: it is said on the picture.
    (raised,) = drawn["raised-patio"]
    before, after = ([label["words"] for label in labels] for labels in raised["labels"])
    assert not [words for words in before if words.startswith("raised edge")]
    assert [words for words in after if words.startswith("raised edge: a wall or slope")]
