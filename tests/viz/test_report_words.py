"""A site in metres is told in metres, one in feet in feet, and no figure finer than it is known."""

import re
from functools import cache

import pytest
from advised import planned
from sitefolder import write_site

import grading
from viz.drawings.answers.heave import heave_answer
from viz.drawings.compose import compose, words_of
from viz.drawings.figures import stretch
from viz.report import surfaces, text

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
    assert re.findall(r".{20}[0-9] (?:in|ft|psf|gpm)\b", own) == []
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


def test_a_stretch_is_told_in_both_units_the_own_one_first():
    assert stretch(19.099, "m") == "19.1 m (62' 7 15/16\")"
    assert stretch(3.048, "ft") == "10' 0\" (3.05 m)"


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
