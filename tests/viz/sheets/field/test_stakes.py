"""What is taken into the yard: cards, a spreadsheet and a drawing, all of one set-out."""

import csv
import json
import re

import ezdxf
import numpy as np
import pypdfium2
import pytest
from make.sites.compared import folder
from measure.printed import Printed

import grading
from viz import cli


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    root = tmp_path_factory.mktemp("stakes")
    site, out = folder(root / "a"), root / "out"
    words = ["stakes", str(site), "--reading", "1.2", "--every", "1.5 m", "--out", str(out)]
    assert cli.main(words) in (0, 1)
    return site, out


@pytest.fixture(scope="module")
def told(made):
    import contextlib
    import io

    text = io.StringIO()
    with contextlib.redirect_stdout(text):
        cli.main(["stakes", str(made[0]), "--reading", "1.2", "--every", "1.5 m", "--json"])
    return json.loads(text.getvalue())


def cards(path):
    document = pypdfium2.PdfDocument(path)
    return [page.get_textpage().get_text_bounded() for page in document]


def test_every_stake_stands_on_a_card_with_the_rod_of_each_layer(made, told):
    words = [" ".join(card.split()) for card in cards(made[1] / "stakes.pdf")]
    text = " ".join(words)
    for stake in told["areas"][0]["stakes"]:
        rods = " ".join(layer["rod_text"] for layer in stake["layers"])
        assert rods in text
    # Every card says where the instrument stands, and which way a rod reads.
    for card in words:
        assert "rod on garden door (10.100 m) reads 1.200: line of sight at 11.300 m" in card
        assert "A bigger reading is a lower point." in card
        assert "rod in m" in card


def test_the_last_card_has_strings_diagonals_and_what_tapes_are_held_to(made, told):
    last = " ".join(cards(made[1] / "stakes.pdf")[-1].split())
    assert "chalk line on the house" in last
    for string in told["areas"][0]["strings"]:
        for end in string["ends"]:
            assert told["hi"] - end["rod"] == pytest.approx(end["z"])
            assert f"rod {end['rod_text']}" in last
    assert "Diagonals: a-c 5.000 m; b-d 5.000 m." in last
    assert "3 m along one line and 4 m along the other" in last
    assert "H1: " in last
    assert re.search(r"rod [\d.]+; ", last), "the two ends of a string run into one"


def test_the_spreadsheet_has_the_same_stakes(made, told):
    with (made[1] / "stakes.csv").open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    stakes = told["areas"][0]["stakes"]
    assert [row["stake"] for row in rows] == [stake["name"] for stake in stakes]
    for row, stake in zip(rows, stakes, strict=True):
        assert float(row["x (m)"]) == pytest.approx(stake["at"][0], abs=5.1e-5)
        for layer in stake["layers"]:
            assert float(row[f"{layer['name']} (m)"]) == pytest.approx(layer["z"], abs=5.1e-5)
            assert row[f"{layer['name']} rod"] == layer["rod_text"]


def test_the_drawing_has_every_stake_at_its_finish(made, told):
    space = ezdxf.readfile(made[1] / "stakes.dxf").modelspace()
    points = np.array([p.dxf.location for p in space.query('POINT[layer=="stakes"]')])
    stakes = told["areas"][0]["stakes"]
    wanted = [[*s["at"], s["layers"][-1]["z"] if s["layers"] else 0.0] for s in stakes]
    assert points == pytest.approx(np.array(wanted))
    lines = list(space.query('LINE[layer=="strings"]'))
    assert len(lines) == len(told["areas"][0]["strings"])


def test_bad_words_are_refused_before_anything_is_written(made, tmp_path, capsys):
    out = tmp_path / "none"
    for words in (
        ["--benchmark", "gate", "--reading", "1"],
        ["--benchmark", "garden door"],
        ["--reading", "far"],
        ["--rod", "yards"],
        ["--grid", "1 mm"],
        ["--round", "2 m"],
    ):
        assert cli.main(["stakes", str(made[0]), *words, "--out", str(out)]) == 2
        assert words[0] in capsys.readouterr().err or "--reading" in words
        assert not out.exists()


def test_without_a_reading_levels_are_told_and_how_to_get_rods(made, capsys):
    cli.main(["stakes", str(made[0])])
    text = capsys.readouterr().out
    assert "--benchmark NAME --reading" in text
    assert "10.030 m" in text


def test_levels_of_a_datum_in_the_hundreds_stand_apart(made, tmp_path):
    """Four surfaces, each as wide as 212' 11 15/16": read back, no two of a row touch."""
    from grading.setout.stated import by_rod
    from viz.sheets.compile import Compiled
    from viz.sheets.field.stakes import cards_data
    from viz.tables.stakes import Told

    found = by_rod(grading.plan(grading.read_site(made[0])))
    data = cards_data(found, Told("m", 1e-3, "m"))
    card = next(each for each in data["cards"] if each["rows"])
    fixed, levels = card["tapes"] + 2, 4
    card["heads"] = [*card["heads"][:fixed], *["base"] * levels]
    card["rows"] = [[*row[:fixed], *["212' 11 15/16\""] * levels] for row in card["rows"]]
    data["cards"] = [card]
    with Compiled("stakes") as sheet:
        (tmp_path / "stakes.pdf").write_bytes(sheet.pdf(data))
    words = Printed(tmp_path / "stakes.pdf").words[0]
    starts = [word for word in words if word["text"] == "212'"]
    ends = [word for word in words if word["text"].endswith('15/16"')]
    assert len(starts) == len(ends) == levels * len(card["rows"])
    for end in ends:
        after = [one["x0"] for one in starts if abs(one["bottom"] - end["bottom"]) < 6]
        assert all(one < end["x0"] or one > end["x1"] + 3 for one in after)
