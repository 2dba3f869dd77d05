"""Levels that do not close: a reading, or benchmarks that do not belong together."""

from __future__ import annotations

import pytest
from make.sites.level_book import levelled, point_of

from grading.units import FOOT, INCH

LOOP = """point,bs,is,fs
sill,1.500,,
a,,1.700,
TP1,1.400,,1.600
b,,1.650,
sill,,,{last}
"""


def faults(*args, **keys):
    return levelled(*args, **keys).faults


def test_a_loop_that_closes_says_nothing(tmp_path):
    levels = levelled(tmp_path, LOOP.format(last="1.300"), sill=100)
    assert levels.faults == levels.unchecked == levels.close == levels.warnings == ()
    assert [(each.setups, each.status) for each in levels.closures] == [(2, "pass")]


# Limit: 0.02 ft times the root of two set-ups, 8.6 mm; told over 1/8 in.
@pytest.mark.parametrize(
    ("off", "status"), [(3, "pass"), (4, "warn"), (8, "warn"), (9, "fail"), (-9, "fail")]
)
def test_the_limit_is_for_the_root_of_the_set_ups(tmp_path, off, status):
    levels = levelled(tmp_path, LOOP.format(last=f"{1.300 - off / 1000:.3f}"), sill=100)
    (closure,) = levels.closures
    assert closure.limit == pytest.approx(0.02 * FOOT * 2**0.5)
    assert closure.off == pytest.approx(off / 1000)
    assert closure.status == status
    assert levels.failed == (status == "fail")
    assert levels.adjusted == (status != "fail")
    assert len(levels.close) == (status == "warn")


def test_a_reading_that_is_wrong_is_told_with_its_set_ups_and_the_likely_slip(tmp_path):
    (said,) = faults(tmp_path, LOOP.format(last=f"{1.300 + FOOT:.4f}"), sill=100, unit="ft")
    assert said.startswith("sill is found 12 in too low when it is read again (levels.csv, line 6)")
    assert "a reading from set-ups 1 and 2 of levels.csv is wrong" in said
    assert "about a foot: look for a figure that is off by it" in said


def test_a_name_that_two_points_have_may_be_what_is_wrong(tmp_path):
    text = LOOP.format(last="1.300").replace("b,,1.650", "a,,1.650")
    (said,) = faults(tmp_path, text, sill=100)
    assert said.startswith("a is found 150 mm too low when it is read again (levels.csv, line 5)")
    assert "the instrument was moved, or two points are called a" in said


def test_levels_that_fail_are_not_spread(tmp_path):
    levels = levelled(tmp_path, LOOP.format(last="1.400"), sill=100)
    assert [point.z for point in levels.points] == [float(point.raw) for point in levels.points]


ACROSS = "point,bs,is,fs\nA,1.500,,\nTP1,1.400,,1.600\n{mid}B,,,1.200\n{back}"
# B is at 100.1 by these levels.


def test_two_benchmarks_that_agree_are_both_held(tmp_path):
    levels = levelled(tmp_path, ACROSS.format(mid="", back=""), A=100, B=100.104)
    assert not levels.failed
    assert levels.adjusted
    assert levels.closures[0].closing.between
    assert point_of(levels, "B").z == 100.104


def test_two_that_disagree_over_levels_not_closed_may_be_either(tmp_path):
    (said,) = faults(tmp_path, ACROSS.format(mid="", back=""), A=100, B=100.2)
    assert said.startswith("from A to B the levels miss by 100 mm: a reading from set-ups 1 and 2")
    assert "or the elevation of A or B. Read A again from the last set-up" in said


def test_two_that_disagree_over_levels_that_close_do_not_belong_together(tmp_path):
    (said,) = faults(tmp_path, ACROSS.format(mid="", back="A,,,1.300\n"), A=100, B=100.2)
    assert said == (
        "from A to B the levels miss by 100 mm, and the levels close on themselves: the "
        "elevations written for A and B do not belong together"
    )


def test_a_reading_is_blamed_where_the_levels_do_not_close_themselves(tmp_path):
    said = faults(tmp_path, ACROSS.format(mid="", back="A,,,1.400\n"), A=100, B=100.2)
    assert said[0].startswith("A is found 100 mm too low when it is read again")
    assert said[1].startswith("What benchmarks say of each other shows when")


THREE = "point,bs,fs\nA,1.500,\nB,1.400,1.600\nC,,1.200\n"
# By these levels B is 0.1 below A, and C 0.2 above B.


@pytest.mark.parametrize(
    ("b", "c", "named"), [(99.9, 100.1, None), (99.6, 100.1, "B"), (100.4, 100.1, "B")]
)
def test_of_three_benchmarks_the_one_in_the_middle_is_named(tmp_path, b, c, named):
    said = faults(tmp_path, THREE, A=100, B=b, C=c)
    if named is None:
        assert said == ()
    else:
        assert all(f"without {named} all levels close" in each for each in said)
        assert len(said) == 2


def test_a_benchmark_at_the_end_of_a_line_may_be_a_reading_as_well(tmp_path):
    # Left out, nothing closes over the set-up that leads to it.
    (said,) = faults(tmp_path, THREE, A=100, B=99.9, C=100.5)
    assert "or the elevation of B or C" in said
    back = THREE + "B,,1.400\n"
    (said,) = faults(tmp_path, back, A=100, B=99.9, C=100.5)
    assert "without C all levels close: its elevation is not of the same datum" in said


def test_two_books_close_on_each_other(tmp_path):
    first = "point,bs,is,fs\nsill,1.500,,\nhub,,,1.700\n"
    second = "point,bs,is,fs\nhub,1.400,,\nsill,,,{}\n"
    levels = levelled(tmp_path, first, second.format("1.200"), sill=100)
    assert [(each.setups, each.status) for each in levels.closures] == [(2, "pass")]
    assert levels.unchecked == ()
    (said,) = faults(tmp_path, first, second.format("1.300"), sill=100)
    assert "a reading in levels.csv or levels1.csv is wrong" in said


def test_a_book_that_hangs_on_a_later_one_waits_for_it(tmp_path):
    first = "point,bs,is,fs\nhub,1.400,,\na,,1.500,\n"
    second = "point,bs,is,fs\nsill,1.500,,\nhub,,,1.700\n"
    levels = levelled(tmp_path, first, second, sill=100)
    assert point_of(levels, "a").z == pytest.approx(99.7, abs=1e-12)


def test_turning_points_of_two_books_are_not_one(tmp_path):
    text = "point,bs,is,fs\nsill,1.500,,\nTP1,,,{}\nTP1,1.500,,\nsill,,,{}\n"
    levels = levelled(tmp_path, text.format("1.9", "1.1"), text.format("1.2", "1.8"), sill=100)
    assert not levels.failed
    assert [each.name for each in levels.points] == ["sill", "TP1", "TP1"]


def test_a_benchmark_that_is_not_read_again_is_told(tmp_path):
    levels = levelled(tmp_path, "point,bs,is\nsill,1.5,\na,,1.7\n", sill=100)
    (said,) = levels.unchecked
    assert said.startswith("levels.csv: no benchmark was read again at the end")
    assert said.endswith("Read sill last")
    assert levels.worst is None
    assert not levels.failed


def test_readings_after_the_last_closing_and_set_ups_without_one_are_told(tmp_path):
    text = LOOP.format(last="1.300") + "c,,1.4,\n"
    (said,) = levelled(tmp_path, text, sill=100).unchecked
    assert said == (
        "levels.csv: 1 reading was taken after the benchmark was read again. Read it last"
    )
    text = LOOP.format(last="1.300") + "d,,,1.2\nd,1.1,,\ne,,1.3,\n"
    said = levelled(tmp_path, text, sill=100).unchecked
    assert "levels.csv: nothing was read again from set-up 3, so nothing checks it" in said


def test_sights_of_unlike_length_are_told_unless_the_level_was_tested(tmp_path):
    text = "point,distance,bs,fs\nsill,10,1.5,\nTP1,26,,1.6\nTP1,20,1.6,\nsill,20,,1.5\n"
    (said,) = levelled(tmp_path, text, sill=100).warnings
    assert "the backsight of set-up 1 is 10 m long and its foresight 26 m" in said
    near = text.replace("TP1,26", "TP1,25")
    assert levelled(tmp_path, near, sill=100).warnings == ()


def test_sights_weigh_by_their_length_where_all_are_booked(tmp_path):
    text = "point,distance,bs,fs\nsill,10,1.5,\nTP1,10,,1.6\nTP1,30,1.6,\nsill,30,,1.504\n"
    levels = levelled(tmp_path, text, sill=100)
    assert levels.by_distance
    # A quarter of the way a quarter of the misclosure of -4 mm is taken up.
    assert point_of(levels, "TP1").z == pytest.approx(99.9 + 0.001, abs=1e-9)


def test_a_rod_in_other_marks_than_written_is_asked_about(tmp_path):
    levels = levelled(tmp_path, "point,bs,fs\nsill,1.5,\nsill,,1.5\n", rod="mm", sill=100)
    assert levels.warnings == (
        'levels.csv: the longest reading is 2 mm: is rod = "mm" what the rod is marked in?',
    )


def test_what_a_level_point_is_known_to_follows_from_its_sights(tmp_path):
    # One set-up, the sill read twice: the instrument to 3 mm over the root of 2.
    text = "point,bs,is,fs\nsill,1.5,,\na,,1.7,\nsill,,,1.5\n"
    levels = levelled(tmp_path, text, sill=100)
    assert point_of(levels, "a").sd == pytest.approx(0.003 * 1.5**0.5)
    once = levelled(tmp_path, "point,bs,is,fs\nsill,1.5,,\na,,1.7,\n", sill=100)
    assert point_of(once, "a").sd == pytest.approx(0.003 * 2**0.5)
    assert point_of(once, "sill").sd == 0
    assert point_of(once, "a").sd * 0.7 < INCH / 8


def test_the_page_is_checked_to_its_last_foresight_whatever_is_read_beside_it(tmp_path):
    text = "point,bs,is,fs\nA,2.365,,\nS1,0.685,,1.235\nx,,1.5,\nB,,,2.340\nA,,-0.01,\n"
    (page,) = levelled(tmp_path, text, A=100).pages
    assert (float(page.backsights), float(page.foresights)) == (3.05, 3.575)
    assert float(page.last) == pytest.approx(99.475, abs=1e-12)
    assert page.holds


def test_a_page_ends_where_the_levels_are_not_carried_on(tmp_path):
    text = "point,bs,is,fs\nA,2.0,,\na,,1.0,\nA,2.1,,\nb,,1.2,\n"
    pages = levelled(tmp_path, text, A=100).pages
    assert [page.setups for page in pages] == [(1, 1), (2, 2)]
    assert all(page.holds for page in pages)
