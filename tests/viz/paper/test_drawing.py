"""Drawings on paper: nothing overlaps, nothing leaves the page, a stated scale is true."""

from __future__ import annotations

import re
import subprocess
import sys

import numpy as np
import pytest
from make.by_lot import by_lot
from make.plans.drawn import ALL, inks, planned, sheets
from measure.on_paper import outside, overlaps
from measure.told_numbers import LENGTH, near

from grading.units import FOOT
from viz.drawings.listed import write_drawings
from viz.file_names import area_slugs, slug
from viz.paper.compose import Sheet, View, compose, words_of
from viz.paper.drawing import Drawing
from viz.paper.furniture import scale_bar
from viz.paper.page import INCH_MM, MM, fitting_scale, page_for, scales
from viz.paper.players import write
from viz.words.cautions import DRAWING

POINT = INCH_MM / 72  # mm


def every_sheet():
    return [(name, sheet) for name in ALL for sheet in sheets(name)]


@pytest.mark.parametrize("name", by_lot(ALL, 0.3))
def test_no_words_overlap(name):
    for sheet in sheets(name):
        assert not overlaps(inks(name, sheet)), sheet


@pytest.mark.parametrize("name", by_lot(ALL, 0.3))
def test_nothing_leaves_the_page_and_words_stay_in_the_frame(name):
    for key, sheet in sheets(name).items():
        assert not outside(inks(name, key), sheet.page), key


@pytest.mark.parametrize("name", ALL)
def test_every_sheet_carries_its_scale_its_site_and_the_caution(name):
    plan = planned(name)
    for key, sheet in sheets(name).items():
        said = [w.words for w in words_of(inks(name, key))]
        text = " ".join(said)
        assert DRAWING in said
        assert f"Site: {plan.site.name}" in text
        assert sheet.title.split(":")[-1].strip() in text
        for view in sheet.views:
            assert view.scale.words.split(" (")[0] in text
            assert view.exaggeration == 1.0
        assert "Vertical exaggeration" in said
        assert "Units" in said


@pytest.mark.parametrize("unit", ["ft", "m"])
def test_a_scale_bar_in_the_file_is_as_long_as_the_scale_says(tmp_path, unit):
    for scale in scales(unit):
        sheet = Sheet(page_for(unit), "bar", "bar")
        scale_bar(sheet, (40.0, 100.0), scale, unit, 60.0)
        (file,) = write(sheet, tmp_path / "bar", ("svg",))
        svg = file.read_text(encoding="utf-8")
        long = _bar_length(svg, unit)
        total = _bar_figure(svg, unit, FOOT if unit == "ft" else 1.0)
        assert long * POINT == pytest.approx(total * MM / scale.ratio, rel=1e-5)
        assert f"scale-bar-{'m' if unit == 'ft' else 'ft'}" not in svg, "one system"


def _bar_length(svg: str, kind: str) -> float:
    """Return the length of a scale bar in the file, in points."""
    boxes = re.findall(rf'<g id="scale-bar-{kind}-\d+">\s*<path d="([^"]+)"', svg)
    x = [float(v) for box in boxes for v in re.findall(r"[ML] (-?[\d.]+) ", box)]
    return max(x) - min(x)


def _bar_figure(svg: str, kind: str, worth: float) -> float:
    """Return the length that the figure at the end of a bar tells. [m]"""
    units = {"ft": {"ft": FOOT, "in": FOOT / 12}, "m": {"m": 1.0, "mm": 1 / MM}}[kind]
    for number, unit in re.findall(r">([\d.]+) (ft|in|mm|m)<", svg):
        if unit in units:
            return float(number) * units[unit]
    raise AssertionError("no figure at the bar")


@pytest.mark.parametrize("name", ["back-patio", "garden-court"])
def test_a_dimension_line_is_as_long_as_its_words_say(name):
    plan = planned(name)
    for key, sheet in sheets(name).items():
        for view in sheet.views:
            for part in view.drawing.of("dimensions"):
                along = np.array(part.end) - np.array(part.start)
                if part.along:
                    along = np.array(part.along) * float(along @ np.array(part.along))
                told = re.search(LENGTH, part.words)[0]
                assert near(told, np.hypot(*along)), (key, part.words)
    assert plan.areas


@pytest.mark.parametrize("unit", ["ft", "m"])
def test_the_scale_chosen_is_the_largest_that_fits(unit):
    chosen = fitting_scale(unit, 7.0, 0.5, (220.0, 60.0))
    assert chosen.mm(7.0) <= 220.0
    larger = [scale for scale in scales(unit) if scale.ratio < chosen.ratio]
    assert all(scale.mm(7.0) > 220.0 for scale in larger)
    assert [s.ratio for s in scales(unit)] == sorted(s.ratio for s in scales(unit))


def test_architects_scales_mean_what_they_say():
    ratios = {scale.words: scale.ratio for scale in scales("ft")}
    assert ratios["3/8 in = 1 ft (1:32)"] == 32
    assert ratios["1 1/2 in = 1 ft (1:8)"] == 8
    assert ratios["1 in = 20 ft (1:240)"] == 240


def test_a_repeat_gives_the_same_bytes(tmp_path):
    plan = planned("raised-patio")
    first = write_drawings(plan, tmp_path / "one", ("svg",))
    again = write_drawings(plan, tmp_path / "two", ("svg",))
    sheet = sheets("raised-patio")["raised patio levels"]
    first += write(sheet, tmp_path / "one" / "levels", ("pdf", "png"))
    again += write(sheet, tmp_path / "two" / "levels", ("pdf", "png"))
    assert [file.name for file in first] == [file.name for file in again]
    for one, two in zip(first, again, strict=True):
        assert one.read_bytes() == two.read_bytes(), one.name


def test_another_hash_seed_gives_the_same_bytes(tmp_path):
    code = (
        "import sys; sys.path[:0] = ['tests']; from pathlib import Path; "
        "from make.plans.drawn import planned; from viz.drawings.listed import write_drawings; "
        "write_drawings(planned('back-patio'), Path(sys.argv[1]), ('svg',))"
    )
    made = []
    for seed in ("1", "77"):
        folder = tmp_path / seed
        subprocess.run(
            [sys.executable, "-c", code, str(folder)], check=True, env={"PYTHONHASHSEED": seed}
        )
        made.append({file.name: file.read_bytes() for file in sorted(folder.iterdir())})
    assert made[0] == made[1]
    assert len(made[0]) == 15


def test_the_files_are_named_for_area_and_drawing(tmp_path):
    files = write_drawings(planned("side-walkway"), tmp_path, ("svg",))
    assert [file.name for file in files] == [
        "side-walkway-section-down-the-fall.svg",
        "side-walkway-section-across.svg",
        "side-walkway-base-systems.svg",
        "side-walkway-grading.svg",
        "side-walkway-cut-and-fill.svg",
        "side-walkway-levels.svg",
        "side-walkway-details.svg",
        "side-walkway-answer-water.svg",
        "side-walkway-answer-step.svg",
        "side-walkway-answer-under.svg",
        "side-walkway-answer-heave.svg",
        "side-walkway-answer-dirt.svg",
        "side-walkway-answer-edge.svg",
        "water.svg",
        "finishes.svg",
    ]
    assert all(file.is_file() for file in files)


def test_names_fit_for_files():
    assert slug("Back patio / Größe №2") == "back-patio-groe-no2"
    assert slug("門") == "area"
    assert area_slugs(planned("garden-court")) == ["court", "studio-path"]


def test_words_in_the_svg_are_words_in_a_named_font(tmp_path):
    plan = planned("back-patio")
    svg = write_drawings(plan, tmp_path, ("svg",))[0].read_text(encoding="utf-8")
    assert DRAWING in svg
    assert "DejaVu Sans" in svg
    assert "<image" not in svg
    assert "<dc:date>" not in svg
    ids = re.findall(r' id="([^"]+)"', svg)
    assert len(ids) == len(set(ids))


def test_a_format_or_paper_that_is_not_known_is_refused(tmp_path):
    with pytest.raises(ValueError, match="expected svg, png, pdf"):
        write_drawings(planned("no house"), tmp_path, ("gif",))
    with pytest.raises(ValueError, match="expected letter or a4"):
        write_drawings(planned("no house"), tmp_path, ("svg",), paper="foolscap")


def test_a_png_holds_each_earth_and_layer_tone(tmp_path):
    from PIL import Image

    (file,) = write(sheets("ridge")["patio cut-and-fill"], tmp_path / "a", ("png",))
    pixels = np.asarray(Image.open(file).convert("RGB"), int).reshape(-1, 3)
    red, blue = pixels[:, 0], pixels[:, 2]
    brown = np.count_nonzero(red - blue > 60)
    green = np.count_nonzero((pixels[:, 1] - red > 30) & (blue - red > 20))
    assert brown > 20_000
    assert green > 10_000


def test_importing_the_drawings_loads_no_drawing_library():
    code = (
        "import sys, viz.drawings.listed, viz.paper.compose, viz.paper.hatch, "
        "viz.paper.players, viz.drawings.section.sheet, viz.drawings.section.compare, "
        "viz.drawings.plan.cut_and_fill, viz.drawings.plan.levels, viz.drawings.plan.water; "
        "print(*sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    loaded = {module.split(".")[0] for module in done.stdout.split()}
    assert not loaded & {"matplotlib", "PIL", "pyvista", "vtkmodules", "trimesh", "trame"}


def test_movable_words_are_put_where_there_is_room():
    sheet = Sheet(page_for("m"), "words", "words")
    sheet.paper.text((100, 100), "here first", size=5)
    for _ in range(4):
        sheet.paper.text((100, 100), "here too", size=5, others=((0.0, 7.0),))
    rings = [np.array(w.corners) for w in words_of(compose(sheet))]
    assert len(rings) == 5
    for k, one in enumerate(rings):
        for two in rings[k + 1 :]:
            gap = np.maximum(one.min(axis=0) - two.max(axis=0), two.min(axis=0) - one.max(axis=0))
            assert gap.max() > 0


def test_exaggeration_stretches_heights_alone():
    scale = scales("m")[3]
    view = View(Drawing(), scale, (10.0, 20.0), exaggeration=5.0)
    assert view.paper((2.0, 0.0))[0] - 10.0 == pytest.approx(scale.mm(2.0))
    assert view.paper((0.0, 2.0))[1] - 20.0 == pytest.approx(5 * scale.mm(2.0))


def test_words_of_a_picture_ask_for_a_plain_font_where_ours_is_not(tmp_path):
    picture = sheets("raised-patio")["raised patio cut-and-fill"]
    (file,) = write(picture, tmp_path / "words", ("svg",))
    families = re.findall(r"font(?:-family)?: ?([^;\"]*sans[^;\"]*)", file.read_text("utf-8"), re.I)
    assert families
    assert all(each.rstrip().endswith(", sans-serif") for each in families)
