"""Level things on a fall, corner by corner: in closed form on a plane that falls 2 % from a wall.

Sand under a corner and what masonry loses there instead make up the fall between them.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from make.plans.advised import advised, patio, planned, rules
from make.plans.furnished import furnished
from make.sites.on_a_plane import planar_spots, written

from grading.catalogue.rules import RULES
from grading.conditions.level_things import courses
from grading.conditions.level_words import courses_words, setting_words
from grading.conditions.seats import seats_of
from grading.errors import SiteError
from grading.records.advice import advice_record
from grading.setout.stated import by_rod
from grading.site.model import GroundSpec
from grading.units import INCH
from viz.words.advice import area_lines
from viz.words.paving.structures import structures_in
from viz.words.uncounted import not_counted

FALL = 0.02
TABLE = {"kind": "gas fire feature", "name": "table", "at": [5, 2.5], "size": [1.2, 0.8],
         "bearing": 0, "height": 0.4}  # fmt: skip
RING = {"kind": "gas fire feature", "name": "ring", "at": [5, 2.5], "size": [1.2]}
BENCH = {"kind": "seat wall", "name": "bench", "at": [5, 2.5], "size": [4.0, 0.45], "bearing": 0,
         "height": 0.45}  # fmt: skip


def of(**kwargs):
    """Return how the one thing on a patio is set out."""
    (thing,) = advised(**kwargs).levels
    return thing


def finish(at):
    return 30.1 - FALL * float(at[1])


def test_the_sand_at_each_corner_is_the_fall_from_the_highest():
    thing = of(features=[TABLE])
    assert len(thing.corners) == 4
    highest = finish([0, 2.5 - 0.6])
    for corner in thing.corners:
        assert corner.finish == pytest.approx(finish(corner.at))
        assert corner.sand == pytest.approx(highest - finish(corner.at))
        assert corner.sand + corner.lost == pytest.approx(FALL * 1.2)
        assert corner.shows == pytest.approx(0.4 + corner.sand)
    assert sorted(c.sand for c in thing.corners) == pytest.approx([0, 0, 0.024, 0.024])
    assert thing.line == pytest.approx(2 * (1.2 + 0.8))


def test_corners_go_clockwise_from_the_highest():
    turned = of(features=[{**TABLE, "bearing": 30}])
    around = np.array([corner.at for corner in turned.corners])
    assert [c.name for c in turned.corners] == [f"corner {k}" for k in (1, 2, 3, 4)]
    assert turned.corners[0].finish == max(c.finish for c in turned.corners)
    x, y = around.T
    area = 0.5 * np.sum(x * np.roll(y, -1) - np.roll(x, -1) * y)
    assert area == pytest.approx(-1.2 * 0.8)


def test_least_bedding_lies_under_every_corner():
    plain, more = of(features=[TABLE]), of(features=[{**TABLE, "bedding": 0.01}])
    for one, other in zip(plain.corners, more.corners, strict=True):
        assert other.sand - one.sand == pytest.approx(0.01)


def test_a_round_thing_has_four_sides():
    """Its sides across the fall lie half-way between the high and the low one."""
    thing = of(features=[RING])
    sand = {corner.name: corner.sand for corner in thing.corners}
    assert sand == pytest.approx({
        "the high side": 0, "the low side": FALL * 1.2, "the right side": FALL * 0.6,
        "the left side": FALL * 0.6,
    }, abs=1e-6)  # fmt: skip
    low = next(corner for corner in thing.corners if corner.name == "the low side")
    assert low.at == pytest.approx([5, 2.5 + 0.6])
    # One who looks down the fall, along +y, has +x at the right hand.
    right = next(corner for corner in thing.corners if corner.name == "the right side")
    assert right.at == pytest.approx([5.6, 2.5])
    assert thing.line == pytest.approx(math.pi * 1.2, rel=1e-3)


def test_on_a_base_of_its_own_it_is_the_base_that_lies_below_the_corners():
    thing = of(features=[{**TABLE, "stands": "own base"}])
    top = thing.seat.own_base.top
    for corner in thing.corners:
        assert corner.sand is None
        assert corner.lost is None
        assert corner.base_below == pytest.approx(finish(corner.at) - top)


def test_a_table_that_is_no_masonry_loses_no_course():
    thing = of(features=[{**TABLE, "kind": "other"}])
    assert all(corner.lost is None for corner in thing.corners)
    assert "lowest course" not in " ".join(setting_words(thing, "m"))


def test_a_wall_shows_its_height_at_the_high_end_and_the_fall_more_at_the_low():
    thing = of(features=[BENCH])
    high, low = thing.ends
    assert high.shows == pytest.approx(0.45)
    assert low.shows == pytest.approx(0.45 + FALL * 4)
    course = 6 * INCH
    assert (high.courses.whole, low.courses.whole) == (2, 3)
    assert high.courses.part == pytest.approx(0.45 - 2 * course)
    assert low.courses.part == pytest.approx(0.53 - 3 * course)
    across = of(features=[{**BENCH, "bearing": 90}])
    assert [end.shows for end in across.ends] == pytest.approx([0.45 + FALL * 0.225] * 2)


def test_which_end_of_a_wall_is_its_high_one_is_where_the_finish_is():
    up = of(features=[{**BENCH, "bearing": 180}])
    assert up.ends[0].shows < up.ends[1].shows
    wide = of(features=[{**BENCH, "size": [0.45, 4.0], "bearing": 90}])
    assert [end.shows for end in wide.ends] == pytest.approx([0.45, 0.45 + FALL * 4])


def test_a_wall_of_no_height_has_no_ends_told():
    assert of(features=[{**BENCH, "height": None}]).ends == ()


@pytest.mark.parametrize(
    ("shows", "whole", "part"),
    [(18, 3, 0), (19.25, 3, 1.25), (17.75, 2, 5.75), (6, 1, 0), (5, 0, 5), (18 - 1e-9, 3, 0)],
)
def test_courses_are_counted_whole_with_the_rest_of_one(shows, whole, part):
    found = courses(shows * INCH, 6 * INCH)
    assert found.whole == whole
    assert found.part == pytest.approx(part * INCH, abs=1e-6)


def test_courses_in_words():
    assert courses_words(courses(19.25 * INCH, 6 * INCH), 6 * INCH, "ft") == (
        "3 courses of 6 in and 1 1/4 in of one more"
    )
    assert courses_words(courses(6 * INCH, 6 * INCH), 6 * INCH, "ft") == "1 course of 6 in"
    # An eighth of an inch is a joint: nobody lays a course of it.
    assert courses_words(courses(18.125 * INCH, 6 * INCH), 6 * INCH, "ft") == "3 courses of 6 in"


@pytest.mark.parametrize("course", [0.1, 0.15, 0.2])
def test_a_course_that_is_given_makes_them_whole(course):
    """The base sinks by less than a course, and never lies higher than the rules bury it."""
    free, given = of(features=[BENCH]), of(features=[{**BENCH, "course": course}])
    tall = given.top - given.seat.own_base.top
    assert tall / course == pytest.approx(round(tall / course), abs=1e-9)
    assert given.laid == round(tall / course)
    assert given.spare == 0
    sunk = free.seat.own_base.top - given.seat.own_base.top
    assert -1e-9 <= sunk < course
    lowest = finish([0, 4.5])
    assert lowest - given.seat.own_base.top >= max(6 * INCH, 0.1 * 0.45) - 1e-9


def test_without_one_it_is_said_by_how_much_they_are_not_whole():
    """0.45 and a fall of 0.08 over its low end, buried by 6 in: 4.48 courses of 6 in, so 5."""
    thing = of(features=[BENCH])
    tall = 0.45 + FALL * 4 + 6 * INCH
    assert thing.laid == math.ceil(tall / (6 * INCH)) == 5
    assert thing.spare == pytest.approx(5 * 6 * INCH - tall)
    assert "5 courses from its base to its top" in " ".join(setting_words(thing, "ft"))


STEPS = {"kind": "steps", "name": "stoop", "at": [3, 0.15], "size": [1.2, 0.3], "bearing": 90}
DOOR = {"name": "door", "at": [3, 0], "sill": 30.5}


def stoop(**more):
    (thing,) = advised(features=[STEPS | more.pop("steps", {})], doors=[DOOR], **more).levels
    return thing.risers


def test_steps_are_counted_from_the_sill_to_the_finish_at_their_foot():
    """30.5 over 30.1 less 2 % of 0.3: 0.406, in risers of at most 7 3/4 in three of 0.1353."""
    risers = stoop()
    assert risers.drop == pytest.approx(0.4 + FALL * 0.3)
    assert risers.count == 3
    assert risers.each == pytest.approx(risers.drop / 3)
    assert risers.height == pytest.approx(0.4 - risers.each)
    assert risers.last is None
    assert risers.fits is None


@pytest.mark.parametrize("lawn", [29.5, 30.0, 30.3])
def test_how_the_lawn_lies_is_no_part_of_it(lawn):
    """The finish is given: a lawn that lies lower makes no more of them."""
    low = stoop(height=lambda x, y: lawn - 0.02 * y + 0 * x, ground=GroundSpec())
    assert (low.count, low.drop) == (3, pytest.approx(0.406))


def test_steps_of_another_height_have_a_last_riser_that_is_not_alike():
    alike = stoop(steps={"height": 0.4 - 0.406 / 3})
    assert alike.fits
    assert alike.last == pytest.approx(alike.each)
    low = stoop(steps={"height": 0.2})
    assert low.last == pytest.approx(0.2)
    assert low.fits is False


@pytest.mark.parametrize(("height", "status"), [(0.2647, "pass"), (0.2, "warn"), (None, "unknown")])
def test_what_does_not_come_out_alike_is_a_warning(height, status):
    made = planned(features=[{**STEPS, "height": height}], doors=[DOOR])
    (check,) = [one for one in made.checks if one.rule == "door-steps"]
    assert check.status == status
    assert "from the sill of door down to the finish at their foot" in check.text
    assert ("how high they are is not given" in check.text) == (height is None)
    assert "IRC R311.7.5.1" in check.source


def test_steps_at_no_door_have_none_to_count_from():
    (thing,) = advised(features=[{**STEPS, "at": [7, 3]}], doors=[DOOR]).levels
    assert thing.risers is None


@pytest.mark.parametrize(
    ("height", "high"),
    [
        ("18 in", False),
        ("457.2 mm", False),
        (0.4572, False),
        ("18 1/16 in", True),
        ("17 in", False),
    ],
)
def test_exactly_eighteen_inches_is_allowed_wherever_it_is_asked(height, high):
    """One meaning: at most 18 in, that height itself included."""
    wall = {**BENCH, "size": [0.6, 0.45], "bearing": 90, "height": height}
    made = planned([patio(base="panel")], features=[wall])
    (seat,) = seats_of(made)
    assert seat.too_high is high
    assert ("height" in seat.why) is high
    assert ("panel-tall" in rules(made.advice, "panel")) is high
    told = planned([patio(base="panel")], features=[{**wall, "stands": "bedding"}])
    (check,) = [one for one in told.checks if one.rule == "panel-feature-height"]
    assert (check.status == "fail") is high


def test_no_sentence_says_under_where_it_means_at_most():
    assert "under" not in RULES["panel-feature-height"].source
    assert "itself included" in RULES["panel-feature-height"].source


def test_it_reaches_the_report_the_record_and_what_the_order_leaves_out():
    made = planned(features=[TABLE, {**BENCH, "at": [7.5, 2.5]}])
    lines = "\n".join(area_lines(made.advice, "patio", "m"))
    assert "24 mm at corner 2" in lines or "24 mm at corner 3" in lines
    assert "level on top, it shows 450 mm" in lines
    table, bench = advice_record(made.advice, "patio")["features"]
    assert [c["sand"] for c in table["set_out"]["corners"]] == [
        c.sand for c in made.advice.levels[0].corners
    ]
    assert len(bench["set_out"]["ends"]) == 2
    assert bench["set_out"]["courses_laid"] == 5
    (said,) = [one.said for one in structures_in(made.order) if one.said.startswith("table ")]
    assert "a wedge of sand up to 24 mm thick" in said
    assert not [words for words in not_counted(made) if "under table" in words]


def test_the_crews_sheet_has_a_table_for_each():
    from viz.paper.page import page_for
    from viz.sheets.crew.rods import level_blocks
    from viz.sheets.head import Job

    made = furnished("in feet")
    told = [str(each) for each in level_blocks(Job(made, made.order, page_for("ft")), by_rod(made))]
    assert len(told) == len(made.advice.levels) == 3
    assert "sand under it" in told[0]
    assert "base below finish" in told[1]
    assert "shows 18" in told[1]


SITE = """
name = "yard"
unit = "ft"
spots = "spots.csv"
[[area]]
name = "patio"
outline = [[0, 0], [20, 0], [20, 14], [0, 14]]
[[feature]]
at = [10, 7]
size = ["4 ft", "18 in"]
"""


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ('kind = "kitchen"\nheight = "3 ft"\ncourse = "6 in"', "a course of what is no wall"),
        ('kind = "seat wall"\ncourse = "6 in"', "courses of no height"),
        ('kind = "seat wall"\nheight = "18 in"\ncourse = 6', 'Inches are written as "6 in"'),
        ('kind = "seat wall"\nheight = "18 in"\ncourse = "0 in"', "a length greater than zero"),
    ],
)
def test_a_course_that_could_change_nothing_is_refused(tmp_path, more, said):
    with pytest.raises(SiteError) as error:
        written(tmp_path, SITE + more, planar_spots((20, 14), (100.0, 0.0, -0.02)))
    assert "key feature[1].course" in str(error.value)
    assert said in str(error.value)
