"""The order as it is printed and written: units in every header, one number everywhere."""

from __future__ import annotations

import csv
import hashlib
import json
import re
import subprocess
import sys

import openpyxl
import pytest
from make.plans.jobs import DEPTHS, level_yard, priced
from make.plans.sampled import sampled
from make.sites.handmade import grid_of_spots, site_of

import grading
import sample_sites
from grading.order.telling import Telling, telling_of
from viz import cli
from viz.drawings.charts.costs import cost_sheets
from viz.paper.compose import compose, words_of
from viz.paper.page import page_for
from viz.tables import order as ordertables
from viz.tables.account import account_of
from viz.terminal import order
from viz.terminal.report import Table
from viz.words.figures import figure
from viz.words.paving.structures import structure_lines
from viz.words.uncounted import not_counted

# What a header may hold besides a unit: words for what is no number, and names.
WORDS = {"quantity", "unit", "item", "package", "that is", "base", "bins by", "task", "area",
         "chosen", "figure", "another base is cheapest", "source",
         "how it was reached"}  # fmt: skip
DOLLARS = Telling("$", 10_000.0, True)
PARTS = Telling("$", 10_000.0, False)
UNIT = re.compile(r"\((yd³|m³|lb|kg|ton|tonne|h|d|\S{1,4}|\S{1,4} each|trips|count|packages|"
                  r"unit beside|its unit|% of the job)\)$")  # fmt: skip


@pytest.fixture(scope="module")
def unpriced():
    return account_of(level_yard(bases=DEPTHS, organics=0.05))


@pytest.fixture(scope="module")
def account(unpriced):
    return account_of(priced(unpriced.order.plan))


def every_table(account):
    yield from order.sheets(account).items()
    total = account.order.total
    yield "percentiles", ordertables.percentiles_table(total, 3, 28800, telling_of(account.order))


@pytest.mark.parametrize("which", ["account", "unpriced"])
def test_units_in_every_header(which, request):
    for name, table in every_table(request.getfixturevalue(which)):
        assert table.headers, name
        for header in table.headers:
            assert header in WORDS or UNIT.search(header), (name, header)


def test_columns_without_a_unit_hold_words(account):
    for name, table in every_table(account):
        for k, header in enumerate(table.headers):
            if header in WORDS:
                assert all(isinstance(row[k], str) for row in table.rows), (name, header)


def test_metric_site_has_metric_headers():
    import grading

    site = grading.read_site(sample_sites.path("garden-court"))
    metric = account_of(grading.plan(site))
    text = order.text(metric)
    assert "m³" in text
    assert "tonne" in text
    assert "yd³" not in text
    assert "ft²" not in text


def test_same_number_in_text_csv_json_and_workbook(account, tmp_path):
    order.write(account, tmp_path, lambda words: None)
    supply = next(s for s in account.order.total.supplies if s.item == "panels" or s.loose)
    shown = f"{supply.count:g}"
    with (tmp_path / "order.csv").open(encoding="utf-8-sig") as file:
        rows = list(csv.DictReader(file))
    row = next(row for row in rows if row["item"] == supply.title)
    assert float(row["order (packages)"]) == supply.count
    record = json.loads((tmp_path / "order.json").read_text(encoding="utf-8"))
    kept = record["cost"]["bases"]["chosen"]["supplies"]
    assert next(s for s in kept if s["item"] == supply.item)["order"] == supply.count
    text = (tmp_path / "order.txt").read_text(encoding="utf-8")
    assert re.search(rf"{supply.title}\s+{shown}\s", text)
    book = openpyxl.load_workbook(tmp_path / "order.xlsx", data_only=True)
    cells = [[cell.value for cell in row] for row in book["Totals"].iter_rows()]
    assert any(row[:2] == [supply.title, supply.count] for row in cells)


def test_workbook_has_a_sheet_for_each_area_and_for_the_whole(account, tmp_path):
    order.write(account, tmp_path, lambda words: None)
    book = openpyxl.load_workbook(tmp_path / "order.xlsx")
    assert book.sheetnames == ["patio", "Totals", "Hours", "Money"]
    values = openpyxl.load_workbook(tmp_path / "order.xlsx", data_only=True)["Totals"]
    head = [cell.value for cell in book["Totals"][2]]
    count, price = head.index("order (packages)"), head.index("price ($ each)")
    cost = head.index("cost ($)")
    total = 0.0
    rows = len(account.order.total.supplies)
    for row in range(3, 3 + rows):
        formula = book["Totals"].cell(row, cost + 1).value
        assert re.fullmatch(r"=[A-Z]\d+\*[A-Z]\d+", formula)
        wanted = values.cell(row, count + 1).value * values.cell(row, price + 1).value
        assert values.cell(row, cost + 1).value == pytest.approx(wanted, abs=0.5)
        total += values.cell(row, cost + 1).value
    assert book["Totals"].cell(3 + rows, cost + 1).value.startswith("=SUM(")
    assert values.cell(3 + rows, cost + 1).value == pytest.approx(total)
    assert total == pytest.approx(account.order.total.cost.of("material"), abs=0.05)
    for sheet in book:
        assert sheet.page_setup.orientation == "landscape"
        last = [row[0].value for row in sheet.iter_rows() if row[0].value][-1]
        assert "utilities located" in last


def test_where_nobody_gave_prices_the_order_tells_no_money(unpriced, tmp_path):
    """Nor a price or a cost of an item; a workbook has room for them, and works them out."""
    order.write(unpriced, tmp_path, lambda words: None)
    for file in sorted(tmp_path.rglob("*")):
        if file.suffix in (".txt", ".csv", ".svg"):
            assert "$" not in file.read_text(encoding="utf-8-sig"), file.name
    text = (tmp_path / "order.txt").read_text(encoding="utf-8")
    assert "No money is told" in text
    assert "price" not in (tmp_path / "order.csv").read_text(encoding="utf-8-sig")
    record = json.loads((tmp_path / "order.json").read_text(encoding="utf-8"))["cost"]
    assert record["currency"] == "$"
    assert record["prices"] == {
        "given": False, "own": [], "built_in": "common practice, no source"
    }  # fmt: skip
    whole = record["bases"]["chosen"]["cost"]["total"]
    with (tmp_path / "order-comparison.csv").open(encoding="utf-8-sig") as file:
        for row in csv.DictReader(file):
            cost = record["bases"][row["base"].removesuffix(" *")]["cost"]["total"]
            part = float(row["cost (% of the job)"])
            assert part == pytest.approx(100 * cost / whole, abs=0.051)
            assert (part == 100.0) is row["base"].endswith(" *")


def test_a_workbook_without_prices_works_them_out_as_they_are_typed(unpriced, tmp_path):
    """The formulas are worked out by the library `formulas`, after prices are typed in."""
    import formulas

    order.write(unpriced, tmp_path, lambda words: None)
    file = tmp_path / "order.xlsx"
    shown = openpyxl.load_workbook(file, data_only=True)
    for sheet in shown:
        for row in sheet.iter_rows():
            assert not any(isinstance(cell.value, str) and "$" in cell.value for cell in row)
    head = [cell.value for cell in shown["Totals"][2]]
    price, cost = head.index("price (each, yours)") + 1, head.index("cost (by your prices)") + 1
    count = head.index("order (packages)") + 1
    rows = len(unpriced.order.total.supplies)
    assert all(not shown["Totals"].cell(3 + k, column).value
               for k in range(rows + 1) for column in (price, cost))  # fmt: skip
    book = openpyxl.load_workbook(file)
    for k in range(rows - 1):  # the last is left to be asked for
        book["Totals"].cell(3 + k, price).value = 2.0 + k
    typed = tmp_path / "typed.xlsx"
    book.save(typed)
    worked = formulas.ExcelModel().loads(str(typed)).finish().calculate()
    cells = {str(key).upper(): value for key, value in worked.items()}

    def value(row, column):
        name = f"'[TYPED.XLSX]TOTALS'!{openpyxl.utils.get_column_letter(column)}{row}"
        return cells[name].value[0, 0]

    counts = [shown["Totals"].cell(3 + k, count).value for k in range(rows)]
    wanted = [(2.0 + k) * counts[k] for k in range(rows - 1)]
    assert [value(3 + k, cost) for k in range(rows - 1)] == pytest.approx(wanted)
    assert value(2 + rows, cost) == ""
    assert value(3 + rows, cost) == pytest.approx(sum(wanted))


def test_sheets_of_awkward_names(tmp_path):
    from viz.tables.workbook import Pages

    class Book:
        def __init__(self):
            self.names = []

        def add_format(self, look):
            return look

        def add_worksheet(self, name):
            import xlsxwriter

            scratch = xlsxwriter.Workbook(str(tmp_path / "x.xlsx"))
            for other in self.names:
                scratch.add_worksheet(other)
            self.names.append(name)
            return scratch.add_worksheet(name)  # raises where the name may not be

    book = Book()
    pages = Pages(book)
    for name in ("patio", "Patio", "a/b:c", "'", "Totals", "history", "long " * 12, "long " * 12):
        pages.add(name)
    pages.add("Totals", own=True)
    assert len({name.lower() for name in book.names}) == 9
    assert book.names[-1] == "Totals"


def test_words_are_never_formulas(tmp_path):
    import xlsxwriter

    from viz.tables.workbook import Pages

    path = tmp_path / "words.xlsx"
    plain = {"strings_to_formulas": False, "strings_to_urls": False}
    with xlsxwriter.Workbook(str(path), plain) as book:
        page = Pages(book).add("patio")
        page.table(Table(("item", "cost ($)"), (("=1+1", 2.0),)))
        page.close()
    cell = openpyxl.load_workbook(path)["patio"]["A2"]
    assert (cell.value, cell.data_type) == ("=1+1", "s")


def test_the_same_bytes_on_every_run(account, tmp_path):
    sums = []
    for run in ("one", "two"):
        files = order.write(account, tmp_path / run, lambda words: None)
        sums.append({f.name: hashlib.sha256(f.read_bytes()).hexdigest() for f in files})
    assert sums[0] == sums[1]
    assert {"order.csv", "order.xlsx", "order.json", "order.txt", "costs.svg"} <= set(sums[0])


@pytest.mark.parametrize("name", sample_sites.names())
def test_the_command_on_every_sample_site(name, capsys):
    status = cli.main(["order", str(sample_sites.path(name))])
    out = capsys.readouterr().out
    assert status in (0, 1)
    assert "To order for the whole site" in out
    assert "The panel base is" in out
    assert "utilities located" in out
    assert "nan" not in out.lower().split()


def test_crew_file_beside_the_sites_counts(tmp_path, capsys):
    import shutil

    shutil.copytree(sample_sites.path("back-patio"), tmp_path / "site")
    (tmp_path / "crew.toml").write_text('currency = "€"\n[prices]\npanels = 99\n', encoding="utf-8")
    assert cli.main(["order", str(tmp_path / "site")]) in (0, 1)
    out = capsys.readouterr().out
    assert "cost (€)" in out.replace("\n", " ") or "(€)" in out
    assert "€99.00 each" in out
    assert "Figures: ../crew.toml" in out
    assert str(tmp_path) not in out


def test_a_wrong_crew_file_is_one_sentence_and_status_2(tmp_path, capsys):
    import shutil

    shutil.copytree(sample_sites.path("back-patio"), tmp_path / "site")
    (tmp_path / "crew.toml").write_text("[prices]\npannels = 9\n", encoding="utf-8")
    out = tmp_path / "out"
    assert cli.main(["order", str(tmp_path / "site"), "--out", str(out)]) == 2
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "crew.toml, key prices.pannels" in said
    assert "Did you mean `panels`?" in said
    assert not out.exists()


def test_help_of_the_command_imports_nothing_heavy():
    code = (
        "import sys; from viz import cli\n"
        "try: cli.main(['order', '--help'])\n"
        "except SystemExit: pass\n"
        "print(sorted(m for m in ('numpy','shapely','xlsxwriter','matplotlib') "
        "if m in sys.modules))"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip().endswith("[]")


def test_picture_names_every_base_and_stays_on_the_page(account):
    page = page_for("ft")
    for sheet in cost_sheets(account.order, page, ["Where the panel base stops paying."]):
        words = words_of(compose(sheet))
        text = " ".join(word.words for word in words)
        for name in ("Dense-graded", "Open-graded", "Panel base", "chosen", "trips", "yd³",
                     "Where the panel base stops paying."):  # fmt: skip
            assert name in text, name
        for word in words:
            for x, y in word.corners:
                assert page.frame.x0 <= x <= page.frame.x1, word.words
                assert page.frame.y0 <= y <= page.frame.y1, word.words


def test_picture_bars_are_to_scale(account):
    """In each column bars go as the numbers under them: dig by dig."""
    import numpy as np

    sheet = next(cost_sheets(account.order, page_for("ft")))
    jobs = ordertables.site_jobs(account.order)
    bars = [part for part in sheet.paper.parts if getattr(part, "material", "") == "soil"]
    wide = [np.ptp(np.array(bar.rings[0])[:, 0]) for bar in bars]
    cut = [job.cut for job in jobs.values()]
    assert np.array(wide) / max(wide) == pytest.approx(np.array(cut) / max(cut), rel=1e-6)


def test_no_words_of_the_picture_overlap(account):
    import shapely

    for sheet in cost_sheets(account.order, page_for("ft")):
        shapes = [shapely.Polygon(word.corners) for word in words_of(compose(sheet))]
        tree = shapely.STRtree(shapes)
        for k, shape in enumerate(shapes):
            for other in tree.query(shape):
                assert other <= k or shape.intersection(shapes[other]).area < 0.01


@pytest.mark.parametrize("pays", [True, False])
@pytest.mark.parametrize("value", [None, 25.0, 12.0])
def test_break_even_in_words(pays, value):
    from grading.order.margins.break_even import BreakEven

    found = BreakEven("panel", "dense", "price", value, 19.0, (0.0, 190.0), pays)
    said = ordertables.break_even_words(found, "ft", DOLLARS)
    assert ("is the cheapest" in said) == pays
    assert "$19.00" in said
    assert (f"${value:.2f}" if value else "changes that") in said
    parts = ordertables.break_even_words(found, "ft", PARTS)
    assert "$" not in parts
    assert "panels at the price built in" in parts
    assert (f"{100 * value / 19:.0f} % of the price built in" if value else "changes that") in parts


@pytest.mark.parametrize("pays", [True, False])
def test_a_break_even_that_leaps_is_told_as_a_leap(pays):
    from grading.order.margins.break_even import BreakEven, Step

    sides = (40.0, -85.0) if pays else (-85.0, 40.0)
    step = Step("panel", "bins of soil", "bin", 1.0 if pays else -1.0)
    found = BreakEven("panel", "dense", "organics", 0.1524, 0.05, (0.0, 0.6), pays, *sides, (step,))
    said = ordertables.break_even_words(found, "ft", DOLLARS)
    assert "costs as much as" not in said
    assert "deeper than 6 in" in said
    assert "cost the same nowhere" in said
    under, over = ("$40 less", "$85 more") if pays else ("$85 more", "$40 less")
    assert f"just under, it costs {under}, just over, {over}" in said
    parts = ordertables.break_even_words(found, "ft", PARTS)
    under, over = (words.replace("$40", "0.4 % of the job").replace("$85", "0.9 % of the job")
                   for words in (under, over))  # fmt: skip
    assert f"just under, it costs {under}, just over, {over}" in parts
    assert f"(1 bin of soil {'more' if pays else 'fewer'} with the panel base)" in said


def test_figures_are_written_in_the_unit_of_the_site(account):
    crew = account.order.crew
    shown = {entry.name: figure(entry, entry.likely) for entry in crew.entries()}
    assert shown["screed"] == "100 ft2/h"
    assert shown["dig-clay"] == "2.52 h/yd3"  # 3.3 h/m3 in yards: 3.3 * 0.9144**3
    metric = {entry.name: figure(entry, entry.likely, "m") for entry in crew.entries()}
    assert metric["dig-clay"] == "3.3 h/m3"
    assert shown["panels"] == "19 /panel"
    assert shown["bin-mass"] == "10 ton"
    assert shown["paver-breakage"] == "2 %"
    assert shown["barrow-speed"] == "165 ft/min"


@pytest.mark.parametrize("order", [(0, 1), (1, 0)])
def test_a_shared_edge_of_four_feet_is_told_as_four_feet(order):
    """It was told with a stub of the sides that run away from its ends: 4' 0 13/16\"."""
    areas = [
        {"name": "patio", "outline": [(0, 0), (16, 0), (16, 14), (0, 14)], "base": "dense"},
        {"name": "walk", "outline": [(16, 2), (28, 2), (28, 6), (16, 6)], "base": "dense"},
    ]
    spots = grid_of_spots(lambda x, y: 10 - 0.03 * x - 0.02 * y, ((-1, -1), (10, 6)))
    made = grading.plan(
        site_of(
            spots, [areas[k] for k in order], unit="ft",
            steps=[{"down": ["patio", "walk"], "risers": 1, "riser": ["4 in", "7 in"]}],
        )
    )  # fmt: skip
    (said,) = [words for words in structure_lines(made) if words.startswith("steps from patio")]
    assert "4' 0\" wide" in said
    assert not any("the step between" in words for words in not_counted(made))


def test_the_price_stands_in_the_order_where_one_is_made():
    told, bare = (order.text(account_of(sampled(name))) for name in ("flush-walk", "front-walk"))
    assert "Price: $" in told
    assert "28 % margin over" in told
    assert "Price: " not in bare
