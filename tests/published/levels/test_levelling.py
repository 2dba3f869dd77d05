"""Levels against worked examples of courses and textbooks, to every digit that is printed."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import sqrt

import numpy as np
import pytest
from make.sites.level_book import book_of, levelled, marks, point_of

from grading.catalogue.rules import Limits
from grading.site.survey_tables import LevelsTable
from grading.survey.levels import levels_from
from grading.survey.net import Difference, adjusted

FOOT = 0.3048

# NPTEL, Surveying (an open course), table 13.3: reduction by height of instrument.
NPTEL = """point,bs,fs
A,2.365,
S1,0.685,1.235
S2,1.745,3.570
B,,2.340
"""


def test_a_table_of_an_open_course_by_the_height_of_the_instrument(tmp_path):
    levels = levelled(tmp_path, NPTEL, A=100)
    assert [float(h) for h in levels.reduction.heights] == [102.365, 101.815, 99.990]
    assert {p.name: p.z for p in levels.points} == {"A": 100, "S1": 101.130, "S2": 98.245,
                                                     "B": 97.650}  # fmt: skip
    (page,) = levels.pages
    assert (float(page.backsights), float(page.foresights)) == (4.795, 7.145)
    assert page.holds
    rises = [float(b.raw - a.raw) for a, b in pairwise(levels.points)]
    assert sum(r for r in rises if r > 0) == pytest.approx(1.130, abs=1e-12)
    assert -sum(r for r in rises if r < 0) == pytest.approx(3.480, abs=1e-12)


def test_the_same_table_with_two_rows_for_a_turning_point(tmp_path):
    rows = "point,bs,fs\nA,2.365,\nS1,,1.235\nS1,0.685,\nS2,,3.570\nS2,1.745,\nB,,2.340\n"
    one, two = levelled(tmp_path, NPTEL, A=100), levelled(tmp_path, rows, A=100)
    assert [p.raw for p in one.points] == [p.raw for p in two.points]
    assert [p.backsights - p.foresights for p in one.pages] == [Fraction(-235, 100)]
    assert one.pages == two.pages


def test_a_review_question_of_an_examination_in_feet(tmp_path):
    # Review question 7.5 for the Fundamentals of Engineering examination: feet and hundredths.
    text = "station,backsight,foresight\nBM1,4.20,\nTP1,5.15,2.50\nTP2,3.05,3.50\nBM2,,4.10\n"
    levels = levelled(tmp_path, text, rod="ft", unit="ft", BM1=100.00)
    assert [float(h / Fraction("0.3048")) for h in levels.reduction.heights] == [
        104.20, 106.85, 106.40,
    ]  # fmt: skip
    found = {p.name: float(p.raw / Fraction("0.3048")) for p in levels.points}
    assert found == {"BM1": 100.0, "TP1": 101.70, "TP2": 103.35, "BM2": 102.30}
    (page,) = levels.pages
    foot = Fraction("0.3048")
    assert (page.backsights / foot, page.foresights / foot) == (Fraction("12.40"),
                                                                 Fraction("10.10"))  # fmt: skip


def test_a_circuit_is_spread_by_distance():
    # A standard textbook problem: BM1 728.730, closing on itself at 728.486 after 30.5 km. The
    # adjusted elevations are computed here from the rule -m L/sum(L).
    far = [0, 5.245, 11.271, 17.718, 21.964, 25.247, 30.5]
    raw = [728.730, 783.213, 891.764, 843.195, 739.708, 702.956, 728.486]
    names = ["BM1", "BM2", "BM3", "BM4", "BM5", "BM6", "BM1"]
    legs = [
        Difference(names[k], names[k + 1], raw[k + 1] - raw[k], far[k + 1] - far[k])
        for k in range(6)
    ]
    net = adjusted(legs, {"BM1": 728.730})
    found = [net.heights[name] for name in names[1:6]]
    assert np.round(np.array(found) - raw[1:6], 3).tolist() == [0.042, 0.090, 0.142, 0.176, 0.202]
    assert np.round(found, 3).tolist() == [783.255, 891.854, 843.337, 739.884, 703.158]


# Ghilani and Wolf, Elementary Surveying, problem 5.12 (columns run together where it was read; this
# pairing is the only one that closes): 1,500 m, misclosure +0.010 m.
LOOP = """point,bs,fs
BM7,4.388,
TP1,6.907,4.538
BM8,4.680,8.800
TP2,3.730,5.978
TP3,8.464,5.245
BM7,,3.598
"""


def test_a_loop_is_spread_over_its_set_ups(tmp_path):
    limits = {"level-misclosure": 0.0066}
    levels = levelled(tmp_path, LOOP, BM7=852.045, limits=limits.items())
    raw = {p.name: float(p.raw) for p in levels.points}
    assert raw == {"BM7": 852.045, "TP1": 851.895, "BM8": 850.002, "TP2": 848.704, "TP3": 847.189}
    (closure,) = levels.closures
    assert (closure.off, closure.setups) == (pytest.approx(0.010, abs=1e-12), 5)
    assert levels.adjusted
    # Computed here: -m k/n after set-up k of n, the rule of every text.
    assert {p.name: round(p.z, 9) for p in levels.points} == {
        "BM7": 852.045, "TP1": 851.893, "BM8": 849.998, "TP2": 848.698, "TP3": 847.181,
    }  # fmt: skip
    assert float(closure.closing.found) == 852.055


def test_the_loop_against_the_limit_of_third_order_and_of_second(tmp_path):
    # FGCS, Standards and Specifications for Geodetic Control Networks, 1984 (from memory): 12 and
    # 8 mm times the root of the kilometres. The page that has the loop, of 1,500 m, finds the
    # first met and the second not.
    rows = LOOP.splitlines()[1:]
    text = ["point,distance,bs,fs"]
    for row in rows:
        point, back, fore = row.split(",")
        text += [f"{point},150,,{fore}"] if fore else []
        text += [f"{point},150,{back},"] if back else []
    levels = levelled(tmp_path, "\n".join(text) + "\n", BM7=852.045)
    (closure,) = levels.closures
    assert closure.third_order == pytest.approx(0.012 * sqrt(1.5))
    assert 8 / 12 * closure.third_order < abs(closure.off) < closure.third_order


# Ghilani, Adjustment Computations, section 12.3: a net of seven lines between two benchmarks.
NET = [("X", "A", 5.10), ("A", "Y", 2.34), ("Y", "C", -1.25), ("C", "X", -6.13), ("A", "B", -0.68),
       ("Y", "B", -3.00), ("B", "C", 1.70)]  # fmt: skip
HELD = {"X": 100.00, "Y": 107.50}


def test_a_net_of_lines_of_equal_weight():
    net = adjusted([Difference(*each, 1.0) for each in NET], HELD)
    found = [round(net.heights[name], 4) for name in "ABC"]
    assert found == [105.1410, 104.4829, 106.1876]
    assert np.round(net.residuals, 4).tolist() == [
        0.0410, 0.0190, -0.0624, -0.0576, 0.0219, -0.0171, 0.0048,
    ]  # fmt: skip
    assert net.spread == pytest.approx(0.0501, abs=1e-4)
    assert [net.sd(name) * net.spread for name in "ABC"] == pytest.approx(
        [0.0309, 0.0328, 0.0309], abs=1e-4
    )
    # By another route: NumPy's own least squares.
    rows = np.array([[(b == n) - (a == n) for n in "ABC"] for a, b, _ in NET], dtype=float)
    rise = [dh - HELD.get(b, 0) + HELD.get(a, 0) for a, b, dh in NET]
    other = np.linalg.lstsq(rows, np.array(rise), rcond=None)[0]
    assert [net.heights[name] for name in "ABC"] == pytest.approx(other, abs=1e-12)


def test_the_same_net_from_level_books_one_for_each_line(tmp_path):
    # The limit is set aside: these lines are not of a builder's level.
    limits = Limits({"level-misclosure": 1.0}, "m")
    made = [book_of(tmp_path, text, "m", f"{k}.csv") for k, text in enumerate(_short(NET))]
    levels = levels_from(made, marks(**HELD), limits, "m")
    assert levels.adjusted
    found = {p.name: round(p.z, 4) for p in levels.points}
    assert {name: found[name] for name in "ABC"} == {"A": 105.1410, "B": 104.4829, "C": 106.1876}


def _short(lines):
    """Return a book for each line, its rise parted over a backsight and a foresight on a rod."""
    for a, b, rise in lines:
        back, fore = (max(rise, 0) + 0.5, max(-rise, 0) + 0.5)
        yield f"point,bs,fs\n{a},{back:.2f},\n{b},,{fore:.2f}\n"


def test_an_inverted_rod_on_a_beam(tmp_path):
    # An examination question: floor 36.00 m, rod on it 1.40, inverted under the beam 3.67.
    levels = levelled(tmp_path, "point,bs,is\nfloor,1.40,\nbeam,,-3.67\n", floor=36.00)
    beam = point_of(levels, "beam")
    assert beam.inverted
    assert beam.z == 41.07
    assert beam.z - 36.00 == pytest.approx(5.07, abs=1e-12)


def test_the_sums_of_squares_of_a_net_of_two_points():
    # J. Mahun, Open Access Surveying Library, chapter on level nets: residuals as printed, four
    # lines to Q and three to R; s0 = sqrt(.004767 / 5) is computed here.
    to_q, to_r = [-0.015, 0.015, -0.035, 0.035], [0.007, -0.033, 0.027]
    assert sum(v**2 for v in to_q) == pytest.approx(0.002900, abs=5e-7)
    assert sum(v**2 for v in to_r) == pytest.approx(0.001867, abs=5e-7)
    # Lines that end on Q and R with these residuals are adjusted to the same place, and spread.
    lines = [Difference("M", "Q", -v, 1.0) for v in to_q]
    lines += [Difference("M", "R", -v, 1.0) for v in to_r]
    net = adjusted(lines, {"M": 0.0})
    away = [*(net.heights["Q"] + v for v in to_q), *(net.heights["R"] + v for v in to_r)]
    assert net.residuals == pytest.approx(away, abs=1e-12)
    assert net.heights["Q"] == pytest.approx(0.0, abs=1e-12)
    assert net.heights["R"] == pytest.approx(-0.001 / 3, abs=1e-12)  # printed to three decimals
    assert net.spread == pytest.approx(0.0309, abs=1e-4)


def peg(readings, distances):
    table = {"file": "levels.csv", "rod": "m", "two_peg": {"readings": readings,
                                                            "distances": distances}}  # fmt: skip
    return LevelsTable.model_validate(table, context={"unit": "m"})


def test_two_pegs_from_the_middle_and_from_beside_one():
    # A question of a course: .240 m apart from the middle of 80 m; then 10 m from A 1.11, 90 m
    # from B 1.39. The error is .05 m in 100 m, and B should read 1.345.
    test = peg([["1.260", "1.500"], ["1.11", "1.39"]], [[40, 40], [10, 90]])
    assert test.collimation * 100 == Fraction("0.05")
    assert Fraction("1.39") - test.collimation * 90 == Fraction("1.345")


def test_two_pegs_with_a_line_of_sight_that_falls():
    # As printed data, answer computed: middle of CD (100 m) 2.0 and 3.0; from 120 m and 20 m off
    # 1.50 and 2.75; the right readings are 1.80 and 2.80.
    test = peg([["2.0", "3.0"], ["1.50", "2.75"]], [[50, 50], [120, 20]])
    assert test.collimation == Fraction("-0.0025")
    assert Fraction("1.50") - test.collimation * 120 == Fraction("1.80")
    assert Fraction("2.75") - test.collimation * 20 == Fraction("2.80")


def test_a_level_that_was_tested_is_corrected_for(tmp_path):
    # The second set-up of the test itself, booked: peg B comes out as the middle has it.
    text = "point,distance,bs,fs\nA,10,1.11,\nB,90,,1.39\n"
    keys = {"two_peg": {"readings": [["1.260", "1.500"], ["1.11", "1.39"]],
                        "distances": [[40, 40], [10, 90]]}}  # fmt: skip
    made = [book_of(tmp_path, text, "m", **keys)]
    levels = levels_from(made, marks(A=50), Limits({}, "m"), "m")
    assert point_of(levels, "B").z == pytest.approx(50 - 0.240, abs=1e-12)


# acet108, The Rise and Fall Method: columns run together where it was read, so which reading is
# an intermediate is inferred from the numbers of the stations.
RISE_AND_FALL = """point,bs,is,fs
TBM,1.400,,
A,,1.235,
B,1.355,,1.870
C,,3.340,
D,0.585,,1.975
E,,,0.855
"""


def test_a_line_with_intermediates(tmp_path):
    levels = levelled(tmp_path, RISE_AND_FALL, TBM=50)
    assert [float(h) for h in levels.reduction.heights] == [51.400, 50.885, 49.495]
    assert {p.name: p.z for p in levels.points} == {
        "TBM": 50, "A": 50.165, "B": 49.530, "C": 47.545, "D": 48.910, "E": 48.640,
    }  # fmt: skip
    (page,) = levels.pages
    assert page.backsights - page.foresights == Fraction("-1.360")
