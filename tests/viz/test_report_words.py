"""A site in metres is told in metres, one in feet in feet, and no figure finer than it is known."""

import re
from functools import cache

import pytest
from advised import planned

from viz.drawings.answers.heave import heave_answer
from viz.drawings.compose import compose, words_of
from viz.drawings.figures import stretch
from viz.report import text

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
    # What is published in inches stands in brackets behind its metres; a slope is told both ways.
    own = re.sub(r"\([^()]* (in|ft)\)|\([^()]*in/ft\)", "", said)
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
