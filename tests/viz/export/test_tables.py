"""The workbook and the CSV of a plan: numbers as numbers, and the plan's own."""

from __future__ import annotations

import csv
import re

import numpy as np
import openpyxl
import pytest
import shapely
from make.plans.exported import SITES, interpolated
from make.plans.sampled import sampled
from make.sites.on_a_plane import spots_csv, written
from make.sites.site_folder import AREA, HEAD, write_site

from grading import plan as made
from grading import read_site
from grading.design.door_steps import door_steps
from grading.design.levels import grid_of
from grading.design.points import corners_of, named_points
from grading.geometry.tolerances import TOGETHER
from grading.records.plan import record
from grading.units import feet_inches
from viz.export.formats import export
from viz.export.levels import levels_table
from viz.file_names import area_slugs
from viz.table import Table, csv_text
from viz.tables.plan import plan_tables

# International foot and inch, exact by definition (1959); typed here so that ours are checked.
LONG = {"ft": 0.3048, "m": 1.0}
SMALL = {"ft": 0.0254, "m": 0.001}
FLAT = {"ft": 0.3048**2, "m": 1.0}
EARTH = {"ft": 0.9144**3, "m": 1.0}


@pytest.fixture(scope="module", params=SITES)
def book(request, tmp_path_factory):
    plan = sampled(request.param)
    folder = tmp_path_factory.mktemp(request.param)
    files = export(plan, folder, ["xlsx", "csv"])
    names = ["plan.xlsx", *(f"{name}-points.csv" for name in area_slugs(plan))]
    assert sorted(files) == sorted(folder / name for name in names)
    return plan, openpyxl.load_workbook(folder / "plan.xlsx", data_only=True), folder


def rows_of(sheet):
    """Return the rows of a sheet's table by header; the heading stands over it."""
    lines = [list(line) for line in sheet.iter_rows(min_row=2, values_only=True)]
    headers = [each for each in lines[0] if each is not None]
    found = []
    for line in lines[1:]:
        if all(each is None for each in line):
            break
        found.append(dict(zip(headers, line, strict=False)))
    return found


def cell(row, start):
    words = "finish (feet and inches)"
    (key,) = (header for header in row if header.startswith(f"{start} (") and header != words)
    return row[key]


def test_there_is_a_sheet_for_each_subject_and_each_says_the_caution(book):
    plan, sheets, _ = book
    levels = [f"Levels {area.area.name}" for area in plan.areas]
    beside = ["Beside"] if any(area["structures"] for area in record(plan)["areas"]) else []
    assert sheets.sheetnames == ["Summary", "Layers", "Dig", *beside, *levels, "Checks", "Spots"]
    for sheet in sheets:
        words = [str(each) for line in sheet.iter_rows(values_only=True) for each in line if each]
        assert words[0].startswith(plan.site.name)
        assert any("utilities located before digging" in word for word in words)


def test_every_number_is_a_number_with_a_unit_in_its_header(book):
    _, sheets, _ = book
    for sheet in sheets:
        if sheet.title == "Checks":  # a value and its unit side by side
            continue
        for row in rows_of(sheet):
            for header, value in row.items():
                if isinstance(value, int | float):
                    assert re.search(r" \([^)]+\)$", header), header
                elif value is not None and header.endswith(")"):
                    assert header == "finish (feet and inches)", (header, value)


def test_headers_stay_in_sight_and_every_table_can_be_sifted(book):
    _, sheets, _ = book
    for sheet in sheets:
        assert sheet.freeze_panes == "B3", sheet.title
        rows = len(rows_of(sheet))
        assert sheet.auto_filter.ref.startswith("A2:")
        assert sheet.auto_filter.ref.endswith(str(rows + 2)), sheet.title


def test_figures_are_shown_with_the_places_of_their_unit(book):
    plan, sheets, _ = book
    summary = sheets["Summary"]
    shown = {cell.value: summary.cell(3, cell.column).number_format for cell in summary[2]}
    assert shown["checks failed (count)"] == "#,##0"
    assert shown["water runs to (degrees clockwise from +y)"] == "0"
    large, earth, small = {"ft": ("ft²", "yd³", "in"), "m": ("m²", "m³", "mm")}[plan.site.unit]
    assert shown[f"paving ({large})"] == "#,##0.0"
    assert shown[f"cut, bank ({earth})"] == "#,##0.00"
    assert shown[f"deepest dig ({small})"] == ("0.00" if small == "in" else "0")


def test_summary_dig_and_layers_are_the_record_of_the_plan(book):
    plan, sheets, _ = book
    unit = plan.site.unit
    areas = {area["name"]: area for area in record(plan)["areas"]}
    summary, dig, layers = (rows_of(sheets[name]) for name in ("Summary", "Dig", "Layers"))
    assert [row["area"] for row in summary] == list(areas)
    for row in summary:
        told = areas[row["area"]]
        chosen = told["bases"][told["base"]]
        assert row["base"] == told["base"]
        assert cell(row, "paving") * FLAT[unit] == pytest.approx(told["plan_area"], rel=1e-12)
        assert cell(row, "cut, bank") * EARTH[unit] == pytest.approx(chosen["cut"], rel=1e-12)
        assert cell(row, "build-up") * SMALL[unit] == pytest.approx(chosen["build_up"], rel=1e-12)
    assert len(dig) == sum(len(area["bases"]) for area in areas.values())
    for row in dig:
        told = areas[row["area"]]["bases"][row["base"]]
        for start, key, per in (
            ("build-up", "build_up", SMALL), ("dig in plan", "dig_area", FLAT),
            ("cut, bank", "cut", EARTH), ("of it organics", "organics", EARTH),
            ("refill, compacted", "fill", EARTH), ("backfill beside", "backfill", EARTH),
            ("spoil, loose", "spoil_loose", EARTH), ("deepest dig", "max_dig", SMALL),
            ("mean dig", "mean_dig", SMALL),
            ("cut against the one chosen", "cut_difference", EARTH),
        ):  # fmt: skip
            value = cell(row, start) * per[unit]
            assert value == pytest.approx(told[key], rel=1e-12, abs=1e-12), start
    expected = [
        (area["name"], base, part["name"], part["material"], part)
        for area in areas.values()
        for base, made in area["bases"].items()
        for part in made["layers"]
    ]
    assert len(layers) == len(expected)
    for row, (*words, part) in zip(layers, expected, strict=True):
        assert [row[key] for key in ("area", "base", "layer", "material")] == words
        assert cell(row, "thickness") * SMALL[unit] == pytest.approx(part["thickness"], rel=1e-12)
        assert cell(row, "area") * FLAT[unit] == pytest.approx(part["area"], rel=1e-12)
        assert cell(row, "compacted") * EARTH[unit] == pytest.approx(part["volume"], rel=1e-12)


def reckoned(path):
    """Return every cell that holds a formula with what a general library works it out to be.

    The library is `formulas`, which knows nothing of the values that are written beside them; it
    has no sums of what is shown, which with nothing sifted out are sums: their own number, 109, is
    that of a sum without hidden rows (ECMA-376, SUBTOTAL; from memory).
    """
    import formulas

    book = openpyxl.load_workbook(path)
    found = {}
    for sheet in book:
        for line in sheet.iter_rows():
            for each in line:
                if each.data_type != "f":
                    continue
                words = each.value.replace("SUBTOTAL(109,", "SUM(")
                made = formulas.Parser().ast(words)[1].compile()
                given = [numbers(book, sheet, name) for name in made.inputs]
                found[sheet.title, each.coordinate] = float(np.asarray(made(*given)).item())
    return found


def numbers(book, sheet, name):
    """Return the figures of a range; one that is a formula itself is worked out by hand."""
    cells = sheet[name]
    cells = cells if isinstance(cells, tuple) else ((cells,),)

    def value(each):
        if each.data_type != "f":
            return each.value or 0.0
        first, second, per = re.fullmatch(r"=(\w+)\*(\w+)/([\d.]+)", each.value).groups()
        return sheet[first].value * sheet[second].value / float(per)

    return np.array([[value(each) for each in line] for line in cells], float)


def test_sums_and_products_are_worked_out_by_the_spreadsheet(book):
    plan, sheets, folder = book
    found = reckoned(folder / "plan.xlsx")
    for (name, place), value in found.items():
        assert sheets[name][place].value == pytest.approx(value, rel=1e-9, abs=1e-9), (name, place)
    unit = plan.site.unit
    told = record(plan)["areas"]
    layers = [part for area in told for base in area["bases"].values() for part in base["layers"]]
    assert sum(name == "Layers" for name, _ in found) == len(layers) + 1
    sums = {
        (name, sheets[name].cell(2, sheets[name][place].column).value): value
        for (name, place), value in found.items()
        if sheets[name].cell(sheets[name][place].row, 1).value == "sum of the rows shown"
    }
    mark = {"ft": "yd³", "m": "m³"}[unit]
    chosen = [area["bases"][area["base"]] for area in told]
    for header, wanted in (
        (("Summary", f"cut, bank ({mark})"), sum(each["cut"] for each in chosen)),
        (("Layers", f"compacted ({mark})"), sum(part["volume"] for part in layers)),
        (("Dig", f"refill, compacted ({mark})"),
         sum(base["fill"] for area in told for base in area["bases"].values())),
    ):  # fmt: skip
        assert sums[header] * EARTH[unit] == pytest.approx(wanted, rel=1e-9, abs=1e-9)


def test_what_is_built_beside_the_paving_is_in_the_book(book):
    plan, sheets, _ = book
    built = [each for area in record(plan)["areas"] for each in area["structures"]]
    if not built:
        assert "Beside" not in sheets.sheetnames
        return
    rows = rows_of(sheets["Beside"])
    assert [row["name"] for row in rows] == [each["name"] for each in built]
    for row, each in zip(rows, built, strict=True):
        assert row["what it is"] == each["said"]


def test_levels_are_read_off_the_surfaces(book):
    plan, sheets, _ = book
    unit, per = plan.site.unit, LONG[plan.site.unit]
    ground = plan.ground
    for area in plan.areas:
        rows = rows_of(sheets[f"Levels {area.area.name}"])
        xy = np.array([[cell(row, "x"), cell(row, "y")] for row in rows]) * per
        told = np.array([cell(row, "existing") for row in rows]) * per
        # matplotlib's interpolation between the same spots.
        other = interpolated(ground.points, ground.triangles, xy)
        inside = np.isfinite(other)
        assert inside.mean() > 0.8
        assert told[inside] == pytest.approx(other[inside], abs=1e-8)
        for row, at in zip(rows, xy, strict=True):
            point = shapely.Point(at)
            finish = cell(row, "finish")
            # What is nearer than an inch belongs to it.
            if area.outline.distance(point) <= TOGETHER:
                z = float(area.finish.surface.at(at[None])[0])
                assert finish * per == pytest.approx(z, abs=1e-8)
                if unit == "ft":
                    assert row["finish (feet and inches)"] == feet_inches(z)
            else:
                assert finish is None
            for base, dig in area.digs.items():
                subgrade, dug = cell(row, f"{base} subgrade"), cell(row, f"{base} dug to")
                if dig.polygon.distance(point) > TOGETHER:
                    assert subgrade is None
                    assert dug is None
                    continue
                depth = cell(row, f"{base} dig") * SMALL[unit]
                existing = cell(row, "existing") * per
                organics = cell(row, "organics") * SMALL[unit]
                assert dug * per == pytest.approx(existing - depth, abs=2e-8)
                assert dug <= subgrade + 1e-8
                deep = max(existing - subgrade * per, organics)
                assert depth == pytest.approx(deep, abs=2e-8)
                if finish is not None:
                    assert (finish - subgrade) * per == pytest.approx(dig.build_up, abs=2e-8)


def test_points_carry_the_letters_and_numbers_of_the_crews_sheet(book):
    """The sheet letters corners and numbers its grid: a row of the table is a point on paper."""
    plan, sheets, _ = book
    per = LONG[plan.site.unit]
    for area in plan.areas:
        rows = rows_of(sheets[f"Levels {area.area.name}"])
        corners = [row for row in rows if row["kind"] == "corner"]
        assert [row["point"] for row in corners] == [chr(97 + k) for k in range(len(corners))]
        at = np.array([[cell(row, "x"), cell(row, "y")] for row in corners]) * per
        drawn = [corner for corner, _ in corners_of(area.outline)]
        assert at == pytest.approx(np.array(drawn), abs=1e-8)
        grid = [row for row in rows if row["kind"] == "grid"]
        assert [row["point"] for row in grid] == [str(k + 1) for k in range(len(grid))]
        told = np.array([[cell(row, "x"), cell(row, "y")] for row in grid]) * per
        sheet = grid_of(area, plan.site.unit, named_points(area).xy)
        assert told == pytest.approx(sheet.xy, abs=1e-8)
        assert all(cell(row, "finish") is not None for row in rows)


FAR = """name = "far & turned"
unit = "ft"
spots = "spots.csv"
[house]
walls = [[2100312.40, 700145.85], [2100339.13, 700159.47]]
inside = [2100329.40, 700145.53]
[[door]]
name = "kitchen door"
at = [2100320.42, 700149.94]
sill = 100.5
[[area]]
name = "terrace"
base = "panel"
outline = [[2100314.18, 700146.76], [2100333.78, 700156.75], [2100328.34, 700167.44],
           [2100308.73, 700157.45]]
"""


@pytest.fixture(scope="module")
def far(tmp_path_factory):
    """A house turned by 27 degrees, its door rounded to hundredths and so just off the paving."""
    folder = tmp_path_factory.mktemp("far")
    x, y = np.meshgrid(np.arange(0, 36, 4.0), np.arange(0, 36, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), 100 - 0.01 * y.ravel()]).round(2)
    spots += [2100306.15, 700140.55, 0]
    return made(written(folder, FAR, spots_csv(spots.round(2)))), folder


def test_a_door_of_a_turned_house_has_the_finish_of_its_step(far):
    plan, _ = far
    (area,) = plan.areas
    table = levels_table(plan, area)
    (row,) = (dict(zip(table.headers, row, strict=True)) for row in table.rows if row[1] == "door")
    (step,) = door_steps(area)
    assert row["point"] == "kitchen door"
    assert row["finish (ft)"] * 0.3048 == pytest.approx(step.finish, abs=1e-8)
    assert 1.5 <= (100.5 - row["finish (ft)"]) * 12 <= 7.75


def test_a_survey_far_from_its_origin_comes_back_as_it_was_written(far):
    plan, folder = far
    (path,) = export(plan, folder / "out", ["landxml"])
    text = path.read_text(encoding="utf-8")
    assert ">700144.55 2100306.15 99.96<" in text
    numbers = re.findall(r"(?<![\w\"])[\d.]+(?=[ <])", text)
    assert max(len(number.replace(".", "")) for number in numbers) == 12


def test_the_csv_is_the_same_table(book):
    plan, _, folder = book
    for area, name in zip(plan.areas, area_slugs(plan), strict=True):
        with (folder / f"{name}-points.csv").open(encoding="utf-8-sig", newline="") as file:
            lines = list(csv.reader(file))
        table = levels_table(plan, area)
        assert lines[0] == list(table.headers)
        # Nobody reads a millionth of a millimetre: a tenth of one is kept, and no zero has a minus.
        wanted = [[str(round(each, 4) + 0.0 if isinstance(each, float) else each) for each in row]
                  for row in table.rows]  # fmt: skip
        assert lines[1:] == wanted


def test_spots_and_checks_are_all_there(book):
    plan, sheets, _ = book
    per = LONG[plan.site.unit]
    spots = rows_of(sheets["Spots"])
    told = np.array([[cell(row, key) for key in "xyz"] for row in spots]) * per
    assert told == pytest.approx(plan.site.spots.xyz, abs=1e-8)
    checks = rows_of(sheets["Checks"])
    assert [row["text"] for row in checks] == [check.text for check in plan.checks]
    for row, check in zip(checks, plan.checks, strict=True):
        assert row["source"] == check.source
        if check.value is not None and np.isfinite(check.value):
            assert row["value"] == pytest.approx(check.value, rel=1e-12)


def test_the_same_bytes_on_every_run(tmp_path):
    plan = sampled(SITES[1])
    once, again = tmp_path / "once", tmp_path / "again"
    for folder in (once, again):
        export(plan, folder, ["xlsx", "csv", "landxml", "stl", "glb", "dxf"])
    for file in sorted(once.rglob("*")):
        if file.is_file():
            assert file.read_bytes() == (again / file.relative_to(once)).read_bytes(), file.name


def test_words_are_no_formulas_and_numbers_stay_numbers():
    """Signs as OWASP lists them for "CSV Injection"."""
    words = ["=1+1", "+1", "-2.50", "-", "@SUM(A1)", "\t=1", "＝1+1", "=cmd|' /C calc'!A0", "-1-2"]
    words += ["a=b", "5 - 3", "", "'quoted", "plain", "-0' 3 1/2\""]
    table = Table(("name", "z (m)"), tuple((word, -1.5) for word in words))
    rows = list(csv.reader(csv_text(table).splitlines()))[1:]
    changed = {word: cell for word, (cell, _) in zip(words, rows, strict=True) if word != cell}
    assert changed == {
        word: f"'{word}"
        for word in ("=1+1", "-", "@SUM(A1)", "\t=1", "＝1+1", "=cmd|' /C calc'!A0", "-1-2",
                     "-0' 3 1/2\"")
    }  # fmt: skip
    assert {cell for _, cell in rows} == {"-1.5"}


def test_a_name_comes_out_of_every_table_as_words(tmp_path):
    spots = "x,y,z\n" + "".join(
        f"{x},{y},{100 - y / 50}\n" for x in (0, 15, 30) for y in (0, 10, 20)
    )
    area = AREA.replace("patio", "=HYPERLINK(A1)", 1)
    house = "[house]\nwalls = [[0, 0], [30, 0]]\ninside = [15, -9]\n"
    door = '[[door]]\nname = "+1+1"\nat = [12, 0]\nsill = 100.6\n'
    plan = made(read_site(write_site(tmp_path / "site", HEAD + house + door + area, spots=spots)))
    export(plan, tmp_path / "out", ["csv"])
    for name, table in plan_tables(plan).items():
        (tmp_path / "out" / f"{name}.csv").write_text(csv_text(table), encoding="utf-8-sig")
    files = list((tmp_path / "out").glob("*.csv"))
    cells = [
        cell
        for file in files
        for row in csv.reader(file.read_text(encoding="utf-8-sig").splitlines())
        for cell in row
    ]
    assert {"'=HYPERLINK(A1)", "'+1+1"} <= set(cells)
    for cell in cells:
        assert not cell.startswith(("=", "@")), cell
        if cell.startswith(("+", "-")):
            float(cell)
