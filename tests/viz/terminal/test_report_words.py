"""A site in metres is told in metres, one in feet in feet, and no figure finer than it is known."""

import re
from functools import cache
from importlib.resources import files

import pytest
from make.plans.advised import patio, planned
from make.sites.site_folder import write_site

import grading
from grading.units import FOOT
from viz.drawings.answers.heave import heave_answer
from viz.paper.compose import compose, words_of
from viz.sheets.blocks import Column, listed, table
from viz.terminal.report import _limit, surfaces, text
from viz.words.figures import earth, in_both, stretch

HOUSE = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3]}


@cache
def made(age=None, treatment="none"):
    return planned(
        house={**HOUSE, "age": age} if age is not None else HOUSE,
        backfill={"treatment": treatment},
        features=[{"kind": "kitchen", "at": [4, 2], "size": [2.4, 0.7], "height": 0.9}],
        frost={"index": "900 C-days", "season": "130 days"},
        access={"gate": 1.0, "path": 24.0},
    )


def test_a_report_in_metres_tells_no_inches_but_those_that_a_code_is_written_in():
    said = text(made())
    # What is published in inches stands in brackets behind its metres.
    own = re.sub(r"\([^()]* (in|ft)\)", "", said)
    assert "in/ft" not in own
    assert re.search(r"falls [0-9.]+ % \([0-9]+ mm/m\)", own)
    assert re.findall(r".{20}[0-9] (?:in|ft|psf|gpm)\b(?! 10)", own) == []
    assert "joints 3 to 10 mm wide" in own
    assert "after 25 mm of settlement at wall 1" in " ".join(own.split())


def test_a_report_tells_runs_to_the_centimetre_and_places_that_can_be_taped():
    said = " ".join(text(made()).split())
    assert "over 3.05 m of paving" in said
    assert "near (" not in said
    assert "from the left end of wall 1" in said
    levels = re.findall(r"[0-9.]+ (?=m\b)", re.sub(r"level [0-9.]+ m", "", said))
    assert all(len(level.strip().partition(".")[2]) <= 2 for level in levels)


@pytest.mark.parametrize(
    ("age", "treatment", "status"),
    [(None, "none", "warn"), (3.0, "none", "warn"), (14.0, "none", "pass"), (3.0, "stone", "pass")],
)
def test_check_and_answer_agree_on_what_settlement_leaves(age, treatment, status):
    plan = made(age, treatment)
    (check,) = [one for one in plan.checks if one.rule == "settled-fall"]
    assert (check.status, check.value < 0) == (status, True)
    _, _, words, sheet = heave_answer(plan, plan.areas[0])
    drawn = " ".join(" ".join(label.words for label in words_of(compose(sheet))).split())
    if status == "warn":
        assert "BACK to the house" in check.text
        assert "BACK to the house: treat the backfill" in words
        assert "Not held to settlement" not in drawn
    else:
        assert check.text.startswith("not held to settlement: ")
        why = check.text.removeprefix("not held to settlement: ").partition(".")[0]
        assert f"That is not looked for: {why}." in words
        assert f"Not held to settlement: {why}." in drawn
    assert "1 in of" not in words


def test_a_stretch_is_told_in_the_own_unit_and_where_asked_in_both_the_own_one_first():
    assert stretch(19.099, "m") == "19.1 m"
    assert stretch(3.048, "ft") == "10' 0\""
    with in_both():
        assert stretch(19.099, "m") == "19.1 m (62' 7 15/16\")"
        with in_both(False):  # asked once, it holds for all that is made meanwhile
            assert stretch(3.048, "ft") == "10' 0\" (3.05 m)"
    assert stretch(3.048, "ft") == "10' 0\""


YARD = 'name = "Alder Row"\nunit = "ft"\nspots = "spots.csv"\n\n[[area]]\nname = "patio"\n'
YARD += "outline = [[8, 8], [18, 8], [18, 16], [8, 16]]\n"


def surfaces_of(folder, spots):
    site = grading.read_site(write_site(folder, YARD, spots=f"x,y,z\n{spots}"))
    return surfaces(grading.plan(site))


def test_a_spot_that_is_twice_in_the_file_is_one_where_surfaces_are_compared(tmp_path):
    spots = "0,0,100\n30,0,100.1\n30,20,99.4\n0,20,99.3\n15,10,99.7\n"
    once = surfaces_of(tmp_path / "once", spots)
    assert surfaces_of(tmp_path / "twice", spots + "15,10,99.7\n") == once
    assert once.startswith("Each inner spot foretold")


@pytest.mark.parametrize(
    "spots",
    ["0,0,100\n30,0,100.1\n30,20,99.4\n0,20,99.3\n", "-9,-9,100\n50,0,100.1\n0,50,99.4\n"],
    ids=["four corners", "three spots"],
)
def test_a_survey_without_an_inner_spot_says_that_none_can_be_foretold(tmp_path, spots):
    assert surfaces_of(tmp_path, spots) == (
        "No spot has others all round it, so none can be foretold from the rest. In use: triangles."
    )


def test_paving_that_begins_out_from_a_wall_is_told_from_where_it_begins():
    """The ground between it and the wall is not beyond it."""
    out = [[1, 1], [9, 1], [9, 5], [1, 5]]
    made = planned([patio(outline=out, plane={"at": [1, 1], "z": 30.1, "fall": "2 %",
                                              "bearing": 0})], house=HOUSE)  # fmt: skip
    said = " ".join(text(made).split())
    assert "over 2.05 m of paving, from 1 m out" in said
    (wall,) = made.areas[0].walls
    assert wall.over == pytest.approx(10 * FOOT - 1)
    (check,) = [one for one in made.checks if one.rule == "ground-fall-away"]
    assert check.text.startswith(
        "the ground between wall 1 and the paving falls away 2.0 % over 1 m"
    )
    shallow = [[1, 0], [9, 0], [9, 1.5], [1, 1.5]]
    (check,) = [one for one in planned([patio(outline=shallow)], house=HOUSE).checks
                if one.rule == "ground-fall-away"]  # fmt: skip
    assert check.text.startswith("the ground beyond the paving in front of wall 1 falls away 2.0 %")


def test_a_little_earth_is_not_none():
    assert earth(0.01, "ft") == "under 0.1 yd³"
    assert earth(2.0, "m") == "2.0 m³"
    with in_both():
        assert earth(0.0, "ft") == "0.0 yd³ (0.0 m³)"
        assert earth(0.01, "ft") == "under 0.1 yd³ (0.1 m³)"
        assert earth(0.01, "m") == "under 0.1 m³ (0.1 yd³)"
        assert earth(0.045, "ft") == "0.1 yd³ (under 0.1 m³)"
        assert earth(2.0, "ft") == "2.6 yd³ (2.0 m³)"


def test_nothing_of_a_check_is_cut_off_on_the_crews_sheet():
    """Its mend stands last."""
    long = "water runs on " * 40 + "to mend it: drain it"
    cells = [table([Column("What")], [[long]])["rows"][0][0], listed([long])["items"][0]]
    assert cells == [long, long]


@pytest.mark.parametrize("words", ["15/16 in", "4 5/8 in", "3.9 yd³", "5' 10 1/2\"", "24 mm"])
def test_a_figure_stays_on_one_line_with_its_unit(words):
    source = files("viz.sheets").joinpath("templates", "common.typ").read_text(encoding="utf-8")
    (written,) = re.findall(r'#let figures = regex\("(.*)"\)', source)
    pattern = written.replace("\\\\", "\\").replace('\\"', '"')
    assert re.fullmatch(pattern, words)


@pytest.mark.parametrize(("unit", "limit"), [("ft", "10' 0\""), ("m", "3.05 m")])
def test_a_limit_is_written_as_its_sentence_writes_it(unit, limit):
    fire = {"name": "fire pit", "kind": "wood fire", "at": [5, 2], "size": [1.2]}
    plan = planned([patio(base="dense")], features=[fire], unit=unit)
    (check,) = [one for one in plan.checks if one.rule == "fire-distance"]
    assert _limit(check, unit) == limit
    assert f"nearer than the usual {limit}" in check.text
