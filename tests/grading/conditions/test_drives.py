"""What a front walk ties into is said, never guessed, and it takes the base of its drive.

Common practice, no source.
"""

import pytest
from make.plans.advised import AT_THE_WALL, advised, patio, rules
from make.sites.site_folder import AREA, HEAD, write_site

from grading import read_site
from grading.errors import SiteError
from grading.worded import of_file

FLUSH = {**AT_THE_WALL, "z": 30.0}
EDGE = {"at": [[9, 0], [9, 5]], "z": [30.0, 29.9]}
ASKS = "whether it ties into a driveway is not said: [[meet]] kind"
OUTLET = {"kind": "outlet", "name": "creek", "at": [5, 8], "z": 29}


def walk(**more):
    return patio(**{"name": "walk", "use": "front walkway", "base": None, "plane": FLUSH, **more})


def first(advice, area="walk"):
    return advice.area(area).base.advised.option.name


def asked(advice):
    return [of_file(each) for each in advice.area("walk").unknown]


def test_the_spelling_of_a_name_makes_no_driveway():
    met = {"name": "the walk beside the driveway", "kind": "walk", **EDGE}
    advice = advised([walk()], meets=[met])
    assert first(advice) == "panel"
    assert ASKS not in asked(advice)
    drive = {"name": "Zufahrt", "kind": "driveway", **EDGE}
    assert first(advised([walk()], meets=[drive])) == "dense"


@pytest.mark.parametrize("meets", [[], [{"name": "edge of the driveway", **EDGE}]])
def test_a_front_walk_asks_whether_it_ties_into_a_drive(meets):
    assert ASKS in asked(advised([walk()], meets=meets))
    assert ASKS not in asked(advised([walk(use="walkway")], meets=meets))


@pytest.mark.parametrize("base", ["dense", "open"])
def test_a_front_walk_takes_the_base_of_its_drive(base):
    drive = {"name": "drive", "kind": "driveway", "base": base, **EDGE}
    advice = advised([walk()], meets=[drive], floors=[OUTLET])
    assert first(advice) == base
    title = {"dense": "dense-graded base", "open": "open-graded base"}
    other = {"dense": "open", "open": "dense"}[base]
    (same,) = [one for one in advice.area("walk").base.of(base).reasons
               if one.rule == "meets-driveway-same"]  # fmt: skip
    assert same.text == (
        f"it ties into a driveway (drive) that stands on {title[base]}: on the same base the two "
        "move alike"
    )
    assert "meets-driveway-other" in rules(advice, other, "walk")
    assert "meets-driveway-same" not in rules(advice, other, "walk")


def test_a_drive_whose_base_is_not_given_is_not_said_to_be_the_same():
    advice = advised([walk()], meets=[{"name": "drive", "kind": "driveway", **EDGE}])
    assert first(advice) == "dense"
    assert "meets-driveway-same" not in rules(advice, "dense", "walk")
    (said,) = [one.text for one in advice.area("walk").base.of("dense").reasons
               if one.rule == "meets-driveway-unsaid"]  # fmt: skip
    assert "whose base is not given ([[meet]] base)" in said


def test_a_walk_in_pieces_is_one_walk_that_meets_the_drive():
    near = walk(name="near", outline=[[5, 0], [9, 0], [9, 2], [5, 2]])
    far = walk(name="far", outline=[[1, 0], [5, 0], [5, 2], [1, 2]])
    drive = {"name": "drive", "kind": "driveway", "base": "dense",
             "at": [[9, 0], [9, 2]], "z": [30.0, 29.96]}  # fmt: skip
    advice = advised([far, near], meets=[drive])
    assert first(advice, "near") == first(advice, "far") == "dense"
    assert advice.joins == ()


@pytest.mark.parametrize(
    ("written", "key"), [('kind = "pool"', "kind"), ('base = "granite"', "base")]
)
def test_what_is_met_is_of_a_kind_and_on_a_base_that_there_is(tmp_path, written, key):
    meet = f'[[meet]]\nname = "drive"\nat = [[2, 4], [2, 8]]\nz = [99.9, 99.8]\n{written}\n'
    with pytest.raises(SiteError) as caught:
        read_site(write_site(tmp_path / "site", HEAD + AREA + meet))
    (problem,) = caught.value.problems
    assert "meet" in problem.where
    assert key in problem.where
