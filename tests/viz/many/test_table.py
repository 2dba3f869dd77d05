"""The table of many yards: a unit a column, sums that a spreadsheet works out, the worst first."""

from __future__ import annotations

import io
import re

import openpyxl
import pytest
from msgspec.structs import replace

from viz.many.command import _status
from viz.tables.yards import Figures, Yard, lost_yard, refused_yard, write_yards, yards_table
from viz.terminal import yards as printed
from viz.words.screen.yards import crashed_words

FIGURES = Figures("panels", 7.64554857984, 0.1524, 0.02, 30, 12, 2, 2.5, 1.5, 3.0)
IN_FEET = Yard("ash", "look", "BUILD IT, after one look", job="Ash", plan="abcdef", unit="ft",
               looks=1, figures=FIGURES)  # fmt: skip
IN_METRES = replace(IN_FEET, site="elm", unit="m")
PRICED = replace(
    IN_FEET, site="oak", verdict="build", figures=replace(FIGURES, price=12490.0, currency="$")
)
FAILING = replace(IN_FEET, site="yew", verdict="fail", failed=True, fails=2, said="patio: low")
STOPPED = replace(IN_FEET, site="fir", verdict="stop", figures=None, plan="", said="spot 3")
WRONG = refused_yard("bog", "site.toml: found nothing")
LOST = lost_yard("fen", "It crashed.")


def cells(table, row=0):
    return dict(zip(table.headers, table.rows[row], strict=True))


def test_one_unit_has_one_column():
    found = cells(yards_table([IN_FEET]))
    assert found["dig in the ground (yd3)"] == pytest.approx(10.0)  # 10 yd3 by definition
    assert found["deepest dig (in)"] == pytest.approx(6.0)
    assert found["least fall off a wall (%)"] == 2.0
    found = cells(yards_table([IN_METRES]))
    assert found["dig in the ground (m3)"] == pytest.approx(7.6455, abs=1e-3)
    assert found["deepest dig (mm)"] == pytest.approx(152.4)
    for table in (yards_table([IN_FEET]), yards_table([IN_METRES])):
        assert sum(header.startswith("dig") for header in table.headers) == 1


def test_no_column_holds_two_units():
    table = yards_table([IN_FEET, WRONG, IN_METRES])
    feet, wrong, metres = (cells(table, row) for row in range(3))
    assert (feet["dig in the ground (m3)"], metres["dig in the ground (yd3)"]) == ("", "")
    assert "" not in (feet["dig in the ground (yd3)"], metres["dig in the ground (m3)"])
    assert wrong["dig in the ground (m3)"] == wrong["dig in the ground (yd3)"] == ""
    assert feet["days (day)"] == metres["days (day)"] == 2.5


def test_a_price_stands_there_where_a_crew_makes_one():
    assert "price (money)" not in yards_table([IN_FEET]).headers
    assert "price" not in printed.text([IN_FEET], None)
    assert "$12,490" in printed.text([IN_FEET, PRICED], None)
    table = yards_table([IN_FEET, PRICED])
    assert [cells(table, row)["price (money)"] for row in (0, 1)] == ["", 12490.0]
    assert [cells(table, row)["currency"] for row in (0, 1)] == ["", "$"]


def test_where_a_shot_does_not_fit_no_number_is_told():
    found = cells(yards_table([STOPPED]))
    told = {value for value in found.values() if value != ""}
    assert told == {"fir", "Ash", STOPPED.words, "spot 3"}


def test_the_workbook_sums_what_is_shown(tmp_path):
    yards = [IN_FEET, IN_METRES, FAILING, WRONG]
    write_yards(yards, tmp_path)
    book = openpyxl.load_workbook(tmp_path / "yards.xlsx")
    (sheet,) = book.worksheets
    heads = [cell.value for cell in sheet[1]]
    (row,) = [cell.row for cell in sheet["A"] if cell.value == "sum of the rows shown"]
    told = openpyxl.load_workbook(tmp_path / "yards.xlsx", data_only=True).active
    for head, whole in {
        "dig in the ground (yd3)": 20.0, "bins (count)": 6, "loads out (count)": 90,
        "days (day)": 7.5,
    }.items():  # fmt: skip
        cell = sheet.cell(row, heads.index(head) + 1)
        # 109 sums the rows that are shown (ECMA-376, SUBTOTAL; from memory).
        (cells,) = re.findall(r"=SUBTOTAL\(109,(\w+:\w+)\)", cell.value)
        summed = sum(each.value or 0 for (each,) in sheet[cells])
        assert summed == pytest.approx(whole, abs=2e-3)
        assert told.cell(row, cell.column).value == pytest.approx(summed)
        assert sheet[cells][0][0].row == 2
        assert sheet[cells][-1][0].row == 1 + len(yards)


def test_the_same_rows_are_the_same_bytes(tmp_path):
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        write_yards([IN_FEET, PRICED, WRONG], tmp_path / name)
    for file in ("yards.csv", "yards.xlsx"):
        assert (tmp_path / "one" / file).read_bytes() == (tmp_path / "two" / file).read_bytes()


def test_what_a_person_wrote_is_no_formula(tmp_path):
    write_yards([replace(WRONG, site="=1+1", said='=HYPERLINK("x")')], tmp_path)
    text = (tmp_path / "yards.csv").read_text(encoding="utf-8-sig")
    assert "\n'=1+1," in text
    sheet = openpyxl.load_workbook(io.BytesIO((tmp_path / "yards.xlsx").read_bytes())).active
    assert {cell.data_type for cell in sheet[2]} <= {"s", "n"}


def test_the_worst_is_told_first_and_none_is_left_uncounted():
    yards = [PRICED, IN_FEET, FAILING, STOPPED, WRONG, LOST]
    text = printed.text(yards, None)
    assert text.splitlines()[0] == (
        "6 yards: 1 to build, 1 to build after a look, 1 not to be built, 1 with a shot that does "
        "not fit, 1 not planned, for what is written is wrong, 1 not planned, for no fault of the "
        "site"
    )
    names = [line.split()[0] for line in text.splitlines()[4:10]]
    assert names == ["fen", "bog", "fir", "yew", "ash", "oak"]
    assert "bog  site.toml: found nothing" in text
    assert "fen  It crashed." in text


def test_of_very_many_the_worst_are_told_and_how_many_more_there_are(tmp_path):
    yards = [replace(PRICED, site=f"y{k}") for k in range(100)] + [WRONG]
    text = printed.text(yards, tmp_path)
    assert "\nbog" in text
    assert text.endswith(f"and 61 more; all: {tmp_path / 'yards.csv'}")
    assert len(text.splitlines()) < printed.MOST + 10


@pytest.mark.parametrize(
    ("yards", "status"),
    [([PRICED, IN_FEET], 0), ([FAILING, PRICED], 1), ([FAILING, LOST], 3), ([LOST, WRONG], 2),
     ([WRONG], 2), ([STOPPED], 0), ([replace(STOPPED, failed=True)], 1)],
)  # fmt: skip
def test_the_exit_status_tells_the_worst_of_the_inputs_first(yards, status):
    assert _status(yards) == status


@pytest.mark.parametrize(
    ("code", "name", "words"),
    [
        (-9, "SIGKILL", "was ended from outside (SIGKILL), as a machine that is short of memory"),
        (-11, "SIGSEGV", "crashed (SIGSEGV)"),
        (-77, "", "crashed (signal 77)"),
        (3, "", "ended by itself (exit status 3)"),
    ],
)
def test_a_process_that_ended_is_told_by_how(code, name, words):
    assert words in crashed_words(code, name)
