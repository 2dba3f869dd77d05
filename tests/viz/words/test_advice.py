import csv
import io
import re

import pytest
from make.plans.advised import advised, patio

from grading.units import INCH
from viz.table import csv_text
from viz.tables.advice import advice_tables
from viz.words.advice import area_lines, ground_lines


@pytest.fixture(scope="module")
def advice():
    wall = {"name": "bench", "kind": "seat wall", "at": [5, 2.5], "size": [4, 0.3], "height": 0.4}
    post = {"name": "post", "kind": "pergola post", "at": [3, 2.5], "size": [0.3]}
    house = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3], "age": 3}
    walk = patio(name="walk", base="dense", outline=[[9, 0], [10.5, 0], [10.5, 5], [9, 5]])
    return advised(
        [patio(reason="stock"), walk], features=[wall, post], house=house,
        frost={"index": 800, "mean": 7, "season": 120},
    )  # fmt: skip


def test_the_lines_say_what_is_advised_and_why_not_the_rest(advice):
    said = "\n".join(area_lines(advice, "patio", "m"))
    assert said.startswith("Advised: dense-graded base\nChosen against it: panel (stock)")
    for name in ("dense: advised", "open: not advised", "panel: not advised"):
        assert f"  {name}" in said
    assert "with care: bench must be level" in said
    assert "It would take a shorter wall, or one along the contour" in said
    assert "[common practice, no source]" in said
    assert (
        "Edge: plastic edge screwed to the panel with panel screws; with care: the panel runs"
        in said
    )
    ground = "\n".join(ground_lines(advice, "patio", "m"))
    assert "What the trade does not agree on:" in ground


def test_things_backfill_joins_frost_and_load_are_told(advice):
    lines = [*area_lines(advice, "patio", "m"), *ground_lines(advice, "patio", "m")]
    said = "\n".join(lines)
    assert "a wedge of 0 mm to 80 mm, 0.048 m³, more than the 38 mm allowed" in said
    assert "post: the finish falls 6 mm under it" in said
    assert "whose depth is not given: [[feature]] base" in said
    assert " *none (not enough): the house is 3 years old" in said
    assert "Join 1: panel meets dense beside walk" in said
    assert "not a promise" in said
    assert "panels carry foot traffic only" in said


def test_the_lines_are_in_the_sites_unit(advice):
    lines = [*area_lines(advice, "patio", "ft"), *ground_lines(advice, "patio", "ft")]
    said = "\n".join(lines)
    assert "3 1/8 in" in said
    assert "psf" in said


def test_every_measure_in_a_table_has_its_unit_above_it(advice):
    tables = advice_tables(advice)
    assert set(tables) == {
        "advice", "weighed", "features", "backfill", "frost", "loads",
    }  # fmt: skip
    for table in tables.values():
        assert table.rows
        assert all(len(row) == len(table.headers) for row in table.rows)
        for row in table.rows:
            for header, cell in zip(table.headers, row, strict=True):
                if isinstance(cell, float | int):
                    assert re.search(r"\(.+\)$", header), header


def test_the_tables_are_what_was_computed(advice):
    rows = list(csv.DictReader(io.StringIO(csv_text(advice_tables(advice)["features"]))))
    assert [row["thing"] for row in rows] == ["bench", "post"]
    assert float(rows[0]["wedge greatest (mm)"]) == 80
    assert float(rows[0]["own base filled (m3)"]) == pytest.approx(
        (4 + 12 * INCH) * (0.3 + 12 * INCH) * 6 * INCH, abs=1e-3
    )
    assert rows[1]["own base filled (m3)"] == ""
    rows = list(csv.DictReader(io.StringIO(csv_text(advice_tables(advice)["advice"]))))
    advised_bases = {
        (row["area"], row["option"])
        for row in rows
        if row["about"] == "base" and row["advised"] == "yes"
    }
    assert advised_bases == {("patio", "dense"), ("walk", "dense")}


def test_nothing_of_what_there_is_not():
    said = "\n".join(area_lines(advised(house=None), "patio", "m"))
    for word in ("Backfill", "Frost", "meets", "Chosen against"):
        assert word not in said
