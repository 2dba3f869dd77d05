"""The decision card as it is printed, written and drawn: one number everywhere, nothing hidden."""

import csv
import io
import json
import re
from functools import cache

import pytest
import shapely
from make.by_lot import by_lot
from make.plans.drawn import planned
from make.plans.jobs import priced
from measure.on_paper import outside, overlaps
from msgspec.structs import replace

import sample_sites
from grading.answers.card import card_of
from grading.site.done_tables import Done
from grading.units import CUBIC_YARD, INCH
from viz import cli
from viz.drawings.charts.card import card_chart
from viz.paper.compose import compose, words_of
from viz.paper.page import page_for
from viz.table import csv_text
from viz.tables.card import sheet_of, verdicts
from viz.terminal import card, report

SITES = ("back-patio", "raised-patio", "garden-court", "flush-walk", "front-walk")


@cache
def made(name):
    return sheet_of(planned(name))


@cache
def chart(name):
    return card_chart(made(name), page_for(planned(name).site.unit))


@pytest.mark.parametrize("name", by_lot(SITES))
def test_the_table_for_a_spreadsheet_is_the_card(name):
    found, plan = made(name).card, planned(name)
    table = card.card_table(found)
    rows = list(csv.reader(io.StringIO(csv_text(table))))
    assert rows[0] == list(table.headers)
    whole = [dict(zip(rows[0], row, strict=True)) for row in rows[1:] if row[2] == "whole site"]
    jobs = [(row, base, job) for row in found.rows for base, job in row.jobs.items()]
    for cells, (row, base, job) in zip(whole, jobs, strict=True):
        assert cells["base"] == base
        part = 100 * job.cost.total / plan.order.total.cost.total
        assert float(cells["cost (% of the job)"]) == pytest.approx(part, abs=0.051)
        assert int(cells["bins of soil (count)"]) == job.haul.bins.count
        assert (cells["reckoned with"] == "yes") == row.reckoned
        assert (cells["cheapest"] == "yes") == (base == row.cheapest)
        if plan.site.unit == "ft" and row.depth is not None:
            assert float(cells["topsoil (in)"]) == pytest.approx(row.depth / INCH, abs=1e-3)
            dug = float(cells["dig, bank (yd³)"])
            assert dug == pytest.approx(job.cut / CUBIC_YARD, abs=0.006)


def test_several_areas_have_rows_of_their_own():
    table = card.card_table(made("flush-walk").card)
    where = {row[2] for row in table.rows}
    assert where == {"whole site", "patio", "walk"}


@pytest.mark.parametrize("name", by_lot(SITES))
def test_no_words_of_the_page_lie_on_others_or_off_it(name):
    inks = compose(chart(name))
    assert not overlaps(inks)
    assert not outside(inks, chart(name).page)


@pytest.mark.parametrize("name", by_lot(SITES))
def test_the_lines_of_the_page_are_the_costs_of_the_card(name):
    rows = [row for row in made(name).card.rows if row.depth is not None]
    for base in rows[0].jobs:
        line = chart(name).paper.of(f"line {base}")[0]
        costs = [row.jobs[base].cost.total for row in rows]
        heights = [y for _, y in line.points]
        assert len(heights) == len(costs)
        spread = max(costs) - min(costs)
        if spread < 1:
            continue
        scale = (max(heights) - min(heights)) / spread
        for height, cost in zip(heights, costs, strict=True):
            assert height - min(heights) == pytest.approx((cost - min(costs)) * scale, abs=1e-6)


def test_bases_are_told_apart_without_colour():
    lines = [part for part in chart("back-patio").paper.parts if part.layer.startswith("line ")]
    pens = {part.layer: part.pen for part in lines}
    assert len({pen.dash for pen in pens.values()}) == 3
    assert {pen.colour for pen in pens.values()} == {"#1a1a1a"}
    said = {words.words for words in words_of(compose(chart("back-patio")))}
    assert {"dense", "open", "panel"} <= said


def test_the_strip_says_what_is_advised_and_where_it_turns():
    strips = chart("back-patio").paper.of("strip")
    said = [words.words for words in words_of(compose(chart("back-patio")))]
    assert "5 in" in said
    assert "6 3/4 in" in said
    first, second = (shapely.Polygon(strip.rings[0]).bounds for strip in strips[:2])
    # The advice turns at 5 of the 12 inches.
    assert (first[2] - first[0]) / (second[2] - first[0]) == pytest.approx(5 / 12, abs=1e-3)


@pytest.mark.parametrize(
    "name", ["back-patio", pytest.param("garden-court", marks=pytest.mark.long)]
)
def test_text_and_json_of_the_command(name, capsys):
    site = str(sample_sites.path(name))
    said = card.text(made(name))
    for sentence in verdicts(made(name)):
        assert sentence in said
    assert re.search(r"^(2 in|50 mm) \*", said, re.MULTILINE)
    assert cli.main(["card", site, "--json"]) == cli.DONE
    data = json.loads(capsys.readouterr().out)
    assert [row["topsoil"] for row in data["rows"]] == [
        row.depth for row in card_of(planned(name)).rows
    ]


def test_the_command_writes_one_table_and_one_picture(tmp_path, capsys):
    out = tmp_path / "out"
    assert cli.main(["card", str(sample_sites.path("front-walk")), "--out", str(out)]) == cli.DONE
    capsys.readouterr()
    names = {path.name for path in out.iterdir() if not path.name.startswith(".")}
    assert names == {"card.csv", "card.json", "card.pdf", "card.png", "card.svg", "card.txt"}
    assert (out / "card.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_the_report_tells_deeper_topsoil_and_where_the_card_is():
    said = report.text(planned("back-patio"))
    assert "Topsoil deeper than the 2 in reckoned with: 1 in deeper" in said
    assert "`fallaway card SITE`" in said
    assert "Half-way" not in said


def test_half_way_is_told_in_the_report_and_on_the_card():
    plan = planned("back-patio")
    done = {"dug": [{"share": "60 %", "depth": "6 in"}], "bought": [{"item": "panels", "count": 9}]}
    table = Done.model_validate(done, context={"unit": "ft"})
    plan = replace(plan, site=replace(plan.site, done=table))
    own = priced(plan)
    for said in (report.text(plan), card.text(sheet_of(plan))):
        assert "Cheapest to finish from here: panel base, " in said
        assert " of the whole job paid for nothing unless it is taken back" in said
        assert "$" not in said
    for said in (report.text(own), card.text(sheet_of(own))):
        assert "Half-way: dug of the hole of patio, spread over it: 60 % to 6 in" in said
        assert "Cheapest to finish from here: panel base, $" in said
        assert "9 × panels, $171 paid for nothing unless it is taken back" in said
