"""Where the water goes is one sentence: in the report, the checks, the answer and the sheet."""

from __future__ import annotations

import re
from functools import cache
from types import SimpleNamespace

import numpy as np
import pytest
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.catalogue.rules import Limits
from grading.checks.maker import Check
from grading.conditions.frost import reached_words
from grading.design.door_steps import door_steps
from grading.pipeline import plan
from grading.site.model import Outfall
from grading.site.water_tables import Downspout
from grading.units import size
from grading.water.edges import LEAST_SHARE
from grading.water.model import Share
from grading.water.plain import plain_rain
from grading.water.words import around_sentences, ends_words, rain_words, to_words
from viz.drawings.answers.water import words_of
from viz.scene.staging import stage
from viz.sheets.homeowner.told import steps_told, water_told
from viz.terminal import report
from viz.words.home.around import around_told

HOUSE = {"walls": [[0, 0], [10, 0]], "inside": [6, -3]}
DOOR = {"name": "back door", "at": [4, 0], "sill": 10.25}


def _patio(z: float, fall: str, bearing: float, y: float = 0.0) -> dict:
    outline = [(1, y), (9, y), (9, 5), (1, 5)]
    plane = {"at": (1.0, y), "z": z, "fall": fall, "bearing": bearing}
    return {"name": "patio", "outline": outline, "plane": plane, "base": "panel"}


def _away(x, y):
    return 10.0 - 0.03 * y + 0 * x


def _back(x, y):
    return 10.0 + 0.03 * y + 0 * x


SWALE = {"kind": "swale", "name": "the contour swale", "at": [[-2, 8], [12, 8]]}
DRAIN = {"kind": "drain", "name": "channel drain", "at": [[1, 0.3], [9, 0.3]]}
SITES = {
    "away": (_away, _patio(10.1, "2 %", 0), [SWALE]),
    "back over a drain": (_away, _patio(10.0, "2 %", 180), [SWALE, DRAIN]),
    "lawn to the house": (_back, _patio(10.4, "2 %", 0), [SWALE]),
    "no place": (_away, _patio(10.1, "2 %", 0), []),
}


def _planned(height, patio, outfalls):
    site = site_of(grid_of_spots(height), [patio], house=HOUSE, doors=[DOOR])
    named = [Outfall.model_validate(table, context={"unit": "m"}) for table in outfalls]
    return plan(replace(site, outfalls=tuple(named)))


@cache
def planned(name: str):
    return _planned(*SITES[name])


def _flat(text: str) -> str:
    return re.sub(r"\s+", " ", text)


@pytest.mark.parametrize("name", SITES)
def test_the_same_sentence_stands_everywhere(name):
    made = planned(name)
    (area,) = made.water.areas
    said = rain_words(made.water, area)
    job = SimpleNamespace(plan=made, unit=made.site.unit)
    sheet = " ".join(water_told(job))
    (check,) = [each for each in made.checks if each.rule == "low-edge"]
    for text in (report.text(made), words_of(made, made.areas[0]), check.text):
        assert said[1:] in _flat(text)
    # Who pays for it reads no per cent, and the same places.
    for each in plain_rain(made.water, made.water.areas):
        assert each in sheet
    assert "%" not in "".join(plain_rain(made.water, made.water.areas))
    for share in area.shares:
        if share.share > LEAST_SHARE:
            assert to_words(share.destination, share.kind).removeprefix("to ") in sheet
    for words in around_sentences(made.water, area, made.places):
        assert words in words_of(made, made.areas[0])
    # What is around it, too: without the place along a tape.
    for words in around_told(made, area):
        assert words in sheet
        assert "end of wall" not in words


@pytest.mark.parametrize("name", ["back over a drain", "lawn to the house"])
def test_what_reaches_the_house_is_said_first_and_never_denied(name):
    made = planned(name)
    (area,) = made.water.areas
    assert area.share("foundation") > 0
    assert re.search(r"goes: \d+ % to the foundation of the house", rain_words(made.water, area))
    words = words_of(made, made.areas[0])
    assert words.startswith(("Some of it would", "All of it would"))
    for text in (words, report.text(made)):
        assert "none of it at the house" not in text
        assert "Not from this paving" not in text


def test_the_answer_answers_for_the_ground_too():
    """The patio falls away, and the lawn carries all of it back."""
    words = words_of(planned("lawn to the house"), planned("lawn to the house").areas[0])
    assert "Some does from the ground around" in words
    assert "of the ground runs to the foundation at wall 1" in words


def test_the_picture_says_what_reaches_the_house():
    for name, told in (("lawn to the house", True), ("away", False)):
        made = planned(name)
        labels = [label.text for label in stage(made, made.areas[0], "panel").labels]
        assert ("water to: the foundation of the house" in labels) == told


def test_shares_on_one_line_add_up():
    for name in SITES:
        line = rain_words(planned(name).water, planned(name).water.areas[0])
        told = [int(each) for each in re.findall(r"(?<!than )\b(\d+) %", line.split(";")[0])]
        assert sum(told) in (99, 100), line
        assert " 0 %" not in line


@pytest.mark.parametrize("off", [0.0, 0.15, 0.4])
def test_a_step_has_one_value_in_picture_table_and_check(off):
    """Also where the paving stands off the wall, and the finish falls on the way to the sill."""
    patio = _patio(10.1, "3 %", 0, y=off)
    made = _planned(_away, patio, [SWALE])
    (step,) = door_steps(made.areas[0])
    assert step.finish == pytest.approx(10.1)
    (check,) = [each for each in made.checks if each.rule == "door-step"]
    assert isinstance(check, Check)
    assert check.value == pytest.approx(step.step)
    scene = stage(made, made.areas[0], "panel")
    shown = [label.text for label in scene.labels if label.text.startswith("back door: ")]
    assert shown
    assert all(text.startswith(f"back door: {size(step.step, 'm')} step") for text in shown)
    job = SimpleNamespace(plan=made, unit="m")
    (row,) = steps_told(job)["rows"]
    assert row["door"] == "back door"
    assert row["step"].startswith("150 mm")
    assert Limits({}).pair("door-step")[0] < step.step


@pytest.mark.parametrize(
    ("inner", "said"), [(0.0, "all"), (0.002, "nearly all"), (0.07, "all but 7 %")]
)
def test_how_far_the_cold_reaches_is_said_as_a_person_would(inner, said):
    assert reached_words(inner) == said


def test_heights_of_the_yard_are_those_of_the_test():
    assert _back(np.array([1.0]), np.array([2.0])) == pytest.approx(10.06)


def _cornered(*areas, **kwargs):
    """Return a yard round the outside corner of a house whose levels were read inside it too."""

    def height(x, y):
        return 30.0 - 0.02 * (np.maximum(x - 4, 0) + y)

    xs, ys = np.meshgrid(np.linspace(-12, 14, 14), np.linspace(-12, 10, 12))
    points = np.column_stack([xs.ravel(), ys.ravel()])
    spots = np.column_stack([points, height(*points.T)])
    house = {"walls": [[-12, 0], [4, 0], [4, -12]], "inside": [-3, -5]}
    outline = [(-6, 0), (4, 0), (4, 4), (-6, 4)]
    plane = {"at": (-6.0, 0.0), "z": 30.1, "fall": "2 %", "bearing": 0}
    patio = {"name": "patio", "outline": outline, "plane": plane, "base": "panel"}
    return plan(site_of(spots, [patio, *areas], house=house, **kwargs))


def test_levels_read_inside_an_open_house_send_no_water_to_its_walls():
    made = _cornered()
    assert not any(wall.reaches for wall in made.water.at_walls)
    (first, second) = [check for check in made.checks if check.rule == "ground-water"]
    assert first.status == second.status == "pass"
    assert not re.search(r"-\d", report.text(made).split("Water:")[1])


def test_paving_behind_the_line_says_that_the_house_ends_sooner():
    """A side yard that is planned too is ground, whatever lies before it."""
    plane = {"at": (-11.0, -11.0), "z": 30.1, "fall": "2 %", "bearing": 180}
    ring = [(-11, -11), (-8, -11), (-8, -8), (-11, -8)]
    yard = {"name": "court", "outline": ring, "plane": plane, "base": "panel"}
    made = _cornered(yard)
    court = next(one for one in made.water.areas if one.name == "court")
    assert court.shares


def test_roof_water_that_reaches_the_house_is_said_on_every_paper():
    spout = {"name": "left spout", "at": [5, 0], "roof": 30}
    made = _planned_with(_back, _patio(10.4, "2 %", 180), [spout])
    area = made.areas[0]
    (check,) = [one for one in made.checks if one.rule == "downspout-reach"]
    assert check.status == "fail"
    said = "left spout runs to the foundation of the house"
    job = SimpleNamespace(plan=made, unit="m")
    papers = [report.text(made), check.text, words_of(made, area), " ".join(water_told(job))]
    assert all(said in paper for paper in papers)
    assert "from the roof" in words_of(made, area)
    assert "Not from this paving" not in words_of(made, area)


@pytest.mark.parametrize("deep", [2.0, 4.0])
def test_ground_is_called_unknown_only_where_the_check_of_it_says_so(deep):
    """Paved as far out as is looked there is no ground to judge; before that it was measured.

    The patio is 2 or 4 m deep on a lawn of 3 %, and ground counts to 10 ft (3.05 m) from a wall.
    """
    outline = [(1, 0), (9, 0), (9, deep), (1, deep)]
    made = _planned(_away, {**_patio(10.1, "2 %", 0), "outline": outline}, [SWALE])
    told = " ".join(water_told(SimpleNamespace(plan=made, unit="m")))
    checked = [one.status for one in made.checks if one.rule == "ground-fall-away"]
    assert len(checked) == (deep < 3.05)
    assert "unknown" not in checked
    assert "not known well enough" not in told


def test_a_puddle_on_the_paving_is_on_the_homeowners_page():
    """Far from the house too: it is their patio that it stands on."""

    def rim(x, y):
        return 10.0 + 0.15 * (y > 4.5) + 0 * x

    made = _planned_with(rim, _patio(10.1, "2 %", 0), [])
    (check,) = [one for one in made.checks if one.rule == "low-spot-paving"]
    assert check.status == "fail"
    said = check.text.split(". To mend it")[0]
    job = SimpleNamespace(plan=made, unit="m")
    assert said[1:] in words_of(made, made.areas[0])
    told = "After rain, water would stand up to 17 mm deep on the patio: 61 L."
    assert said.startswith("water stands 17 mm deep on paving")
    assert "61 L of it" in said
    assert told in water_told(job)


def _planned_with(height, patio, spouts):
    site = site_of(grid_of_spots(height), [patio], house=HOUSE, doors=[DOOR])
    made = [Downspout.model_validate(table, context={"unit": "m"}) for table in spouts]
    return plan(replace(site, downspouts=tuple(made)))


def test_a_name_that_two_things_were_given_is_one_place_to_who_reads():
    made = plan(site_of(grid_of_spots(_away), [_patio(10.0, "2 %", 0)], house=HOUSE))
    shares = (Share("bank", "lawn", 0.6), Share("swale", "swale", 0.1), Share("bank", "floor", 0.3))
    area = replace(made.water.areas[0], shares=shares)
    assert ends_words(area) == "90 % to bank, 10 % to swale"
