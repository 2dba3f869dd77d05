"""Levels do not depend on how they were booked."""

from __future__ import annotations

import tempfile
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from make.sites.level_book import book_of, levelled, marks
from msgspec.structs import replace

from grading.catalogue.rules import Limits
from grading.errors import SiteError
from grading.reading.level_csv import read_level_book
from grading.site.survey_tables import LevelsTable
from grading.survey.levels import levels_from
from grading.survey.ties import fixes

heights = st.lists(st.integers(-80, 80), min_size=2, max_size=12)  # eighths below the sill
instruments = st.integers(90, 200)


def eighths(count):
    """Write eighths of an inch as a crew books them: 4 3 1/2."""
    feet, rest = divmod(abs(count), 96)
    inches, part = divmod(rest, 8)
    return f"{'-' if count < 0 else ''}{feet} {inches}{f' {part}/8' if part else ''}"


def booked(points, splits, highs, two_rows):
    """Return a book of points, the instrument moved before those of `splits`, closed at its end."""
    rows, high = ["point,bs,is,fs"], highs[0]
    rows.append(f"sill,{eighths(high)},,")
    for place, z in enumerate(points):
        move = place in splits
        if move:
            after = highs[1 + place % (len(highs) - 1)]
            fore, back = eighths(high - z), eighths(after - z)
            if two_rows:
                rows += [f"p{place},,,{fore}", f"p{place},{back},,"]
            else:
                rows.append(f"p{place},{back},,{fore}")
            high = after
        else:
            rows.append(f"p{place},,{eighths(high - z)},")
    rows.append(f"sill,,,{eighths(high)}")
    return "\n".join(rows) + "\n"


@given(
    heights, st.sets(st.integers(0, 11)), st.lists(instruments, min_size=2, max_size=5),
    st.booleans(),
)  # fmt: skip
@settings(max_examples=150)
def test_booking_the_same_levels_in_any_split_into_set_ups_gives_the_same(
    points, splits, highs, two_rows
):
    with tempfile.TemporaryDirectory() as folder:
        text = booked(points, splits, highs, two_rows)
        levels = levelled(Path(folder), text, rod="ft-in", sill=30.48)
    eighth = Fraction(254, 80000)
    found = {point.name: point for point in levels.points}
    for place, z in enumerate(points):
        assert found[f"p{place}"].raw == Fraction("30.48") + z * eighth
        assert found[f"p{place}"].z == float(found[f"p{place}"].raw)
    assert levels.worst.off == 0
    assert not levels.failed
    assert not levels.adjusted
    assert all(page.holds for page in levels.pages)
    assert len(levels.reduction.setups) == 1 + len([s for s in splits if s < len(points)])


@given(heights, st.integers(0, 11), st.integers(1, 40))
@settings(max_examples=60)
def test_a_misclosure_is_spread_and_goes_nowhere(points, split, off):
    """Adjusted levels are the raw ones less a share of the misclosure that grows along the line."""
    text = booked(points, {split}, [100, 120], True)
    lines = text.rstrip().split("\n")
    lines[-1] = f"sill,,,{eighths(100 if split >= len(points) else 120)} 0"
    with tempfile.TemporaryDirectory() as folder:
        book = book_of(Path(folder), text, "ft-in")
    rows = (*book.rows[:-1], _shifted(book.rows[-1], Fraction(off, 10000)))
    moved = type(book)(book.file, book.rod, rows)
    limits = Limits({"level-misclosure": 1.0}, "m")
    levels = levels_from([moved], marks(sill=30.48), limits, "m")
    taken = [float(point.raw) - point.z for point in levels.points if not point.fixed]
    whole = -off / 10000
    setups = len(levels.reduction.setups)
    for point, share in zip(levels.points[1:], taken, strict=True):
        assert 0 <= share / whole <= 1
        before = point.setup
        assert share / whole == pytest.approx(
            (before + 1) / setups if point.key in _turns(levels) else (before + 0.5) / setups
        )


def _shifted(row, by):
    return replace(row, fore=row.fore + by)


def _turns(levels):
    """Return the points that carry the levels on."""
    backs = [setup.sights[0].point for setup in levels.reduction.setups[1:]]
    return set(backs)


BOOK = booked([3, -5, 12, 40, 7], {1, 3}, [100, 120, 95], True)


@given(st.binary(max_size=80), st.integers(0, len(BOOK)), st.integers(0, 30))
@settings(max_examples=200)
def test_a_book_cut_off_or_overwritten_is_read_or_refused_with_a_sentence(junk, at, cut):
    data = BOOK.encode()
    data = data[:at] + junk + data[at + cut :]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "levels.csv"
        path.write_bytes(data)
        levels, problems = _read(path)
    assert all("levels.csv" in each.where and each.found and each.expected for each in problems)
    assert (levels is None) == bool(problems)
    assert levels is None or all(-100 < point.z < 200 for point in levels.points)


def _read(path):
    """Return the levels of a file, or what is wrong with it."""
    table = LevelsTable(file="levels.csv", rod="ft-in")
    try:
        book = read_level_book(path, table, "ft", (), 7.62)
        return levels_from([book], marks(sill=30.48), Limits({}), "ft"), ()
    except SiteError as error:
        return None, error.problems


points_ = st.tuples(st.floats(1, 11), st.floats(1, 11))
WALLED = np.array([[0.0, 0.0], [12.0, 0.0], [14.0, 10.0], [-1.0, 12.0]])


@given(points_, st.permutations(range(4)), st.floats(-3.1, 3.1), st.integers(2, 4))
@settings(max_examples=60)
def test_ties_place_a_point_in_whatever_order_and_however_the_yard_is_turned(
    point, order, turn, count
):
    refs = WALLED[list(order)[:count]]
    away = np.hypot(*(np.array(point) - refs).T)
    c, s = np.cos(turn), np.sin(turn)
    turned = np.array([[c, -s], [s, c]])
    for spin, back in ((np.eye(2), np.eye(2)), (turned, turned.T)):
        found = fixes(refs @ spin.T, away, np.full(count, 0.006))
        nearest = min(found, key=lambda fix: np.hypot(*(back @ fix.xy - point)))
        if not nearest.flat:
            assert back @ nearest.xy == pytest.approx(point, abs=1e-6)
        assert not nearest.astray
