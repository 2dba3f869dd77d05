"""The slip of the pen or of the eye that makes one figure of another.

The commonest slips of field books are printed in NAVEDTRA 14069, Engineering Aid 3: figures
changed about (48.26 for 48.62), a 6 for a 9, the wrong foot mark, a mark read from its wrong end
(.22 for .28). [from memory] How often each is made is common practice, no source: it only ranks
them where several would do.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Literal

import numpy as np
from msgspec import Struct

from grading.geometry.tolerances import ROUNDING
from grading.units import FOOT, INCH, METRES, Unit, number

Marks = Literal["ft-in", "ft", "m", "cm", "mm"]
"""What a figure is written in: feet and inches, feet and tenths, and metric."""

BELIEVED = 2.5
"""A slip is believed when it brings the figure within so many standard deviations of the ground."""

# Near against how far off it was, where that is much. [ratio, m]
_OF_IT, _AT_MOST = 0.01, 1.0 * FOOT

_EACH: dict[str, float] = {"ft-in": FOOT, "ft": FOOT, "m": 1.0, "cm": 0.01, "mm": 0.001}
_PLACES: dict[str, int] = {"ft": 2, "m": 3, "cm": 1, "mm": 0}

# Kind of slip: what it is called, and how often it is made against a misread foot.
_KINDS: dict[str, tuple[str, float]] = {
    "foot": ("the wrong foot mark", 1.0),
    "metre": ("the wrong metre mark", 1.0),
    "decimetre": ("the wrong decimetre mark", 1.0),
    "swap": ("two digits changed about", 1.0),
    "unit": ("feet for metres", 0.3),
    "sign": ("the sign", 0.3),
    "six for nine": ("a 6 for a 9", 0.3),
    "twice": ("a digit written twice", 0.2),
    "point": ("the point moved", 0.2),
    "wrong end": ("a mark read from its wrong end", 0.15),
    "inch for tenth": ("an inch read as a tenth", 0.1),
    "ten": ("ten or a hundred off", 0.1),
}


class Cause(Struct, frozen=True):
    """A slip that would have made the figure that is booked.

    Attributes
    ----------
    kind : str
        What it is called: "two digits changed about".
    figure : float
        The figure that was meant. [m]
    written : str
        The same as it would have been booked.
    off : float
        How far the ground would then be from it. [m]
    """

    kind: str
    figure: float
    written: str
    off: float


def causes(
    figure: float, marks: Marks, ground: float, sd: float, sign: bool = True
) -> tuple[Cause, ...]:
    """Return the slips that would explain a figure, the likeliest first.

    Parameters
    ----------
    figure : float
        As it is booked: a level, or the reading of a rod. [m]
    marks : "ft-in", "ft", "m", "cm" or "mm"
        What it is booked in.
    ground : float
        What it would be by the ground around it. [m]
    sd : float
        How well that is known: its standard deviation, reading noise included. [m]
    sign : bool
        Whether a sign may have been lost: not where no figure of the file has one.

    Notes
    -----
    Every figure that one slip makes into this one is tried. It is likely as such slips are made,
    and as it lies near to the ground.
    """
    near = max(BELIEVED * sd, min(_OF_IT * abs(figure - ground), _AT_MOST))
    best: dict[str, tuple[float, Cause]] = {}
    for kind, meant in _edits(figure, marks):
        off = ground - meant
        words, often = _KINDS[kind]
        same = abs(meant - figure) < ROUNDING  # two like digits changed about are no slip
        if same or abs(off) > near or (kind == "sign" and not sign):
            continue
        likely = float(np.log(often)) - 0.5 * (off / sd) ** 2
        written = _like(meant, figure, marks)
        if written not in best or best[written][0] < likely:
            best[written] = likely, Cause(words, meant, written, off)
    ranked = sorted(best.values(), key=lambda each: -each[0])
    return tuple(cause for _, cause in ranked)


def booked(figure: float, marks: Marks) -> str:
    """Write a figure [m] as it is booked: 4.26, or 4' 3 1/8"."""
    if marks in ("ft", "m"):
        return number(figure, _unit(marks))
    if marks != "ft-in":
        return f"{figure / _EACH[marks]:.{_PLACES[marks]}f}"
    eighths = round(abs(figure) / INCH * 8)
    feet, rest = divmod(eighths, 96)
    inches, part = divmod(rest, 8)
    while part and part % 2 == 0:
        part //= 2
    below = 8 if rest % 2 else 4 if rest % 4 else 2
    fraction = f" {part}/{below}" if part else ""
    return f"{'-' if figure < 0 else ''}{feet}' {inches}{fraction}\""


def _like(meant: float, figure: float, marks: Marks) -> str:
    """Write a figure [m] to as many places as another of its file, or as a rod is read to."""
    if marks not in ("ft", "m"):
        return booked(meant, marks)
    places = max(len(booked(figure, marks).partition(".")[2]), _PLACES[marks])
    return booked(round(meant / _EACH[marks], places) * _EACH[marks], marks)


def _unit(marks: Marks) -> Unit:
    return "ft" if marks in ("ft", "ft-in") else "m"


def _edits(figure: float, marks: Marks) -> Iterator[tuple[str, float]]:
    """Yield the figures that one slip would have made into this one, and its kind. [m]"""
    each = _EACH[marks]
    if _unit(marks) == "ft":
        yield from (("foot", figure + step) for step in (-FOOT, FOOT))
    else:
        yield from (("metre", figure + step) for step in (-1.0, 1.0))
        yield from (("decimetre", figure + step) for step in (-0.1, 0.1))
    if marks == "ft-in":
        yield from _of_inches(figure)
    else:
        yield from ((kind, value * each) for kind, value in _of_digits(figure, marks))
    yield "sign", -figure
    yield from (("unit", figure * factor) for factor in (METRES["ft"], 1 / METRES["ft"]))


def _of_digits(figure: float, marks: Marks) -> Iterator[tuple[str, float]]:
    text = booked(figure, marks)
    digits = [place for place, letter in enumerate(text) if letter.isdigit()]
    for a, b in pairwise(digits):
        letters = list(text)
        letters[a], letters[b] = letters[b], letters[a]
        yield "swap", float("".join(letters))
    for place in digits:
        if text[place : place + 1] == text[place + 1 : place + 2]:
            yield "twice", float(text[:place] + text[place + 1 :])
        if text[place] in "69":
            other = "9" if text[place] == "6" else "6"
            yield "six for nine", float(text[:place] + other + text[place + 1 :])
    last, value = digits[-1], float(text)
    if "." in text and text[last] != "0":
        yield "wrong end", float(text[:last] + str(10 - int(text[last]))[-1] + text[last + 1 :])
    yield from (("point", value * factor) for factor in (0.1, 10.0, 0.01, 100.0))
    yield from (("ten", value + step) for step in (-10.0, 10.0, -100.0, 100.0))
    if marks == "ft":
        # 4.3 for 4' 3": tenths of a foot were written where inches were read
        whole, part = divmod(abs(value), 1.0)
        inches = part * 10
        if inches < 12:
            yield "inch for tenth", float(np.sign(value)) * (whole + inches / 12)


def _of_inches(figure: float) -> Iterator[tuple[str, float]]:
    sign = -1.0 if figure < 0 else 1.0
    eighths = round(abs(figure) / INCH * 8)
    feet, rest = divmod(eighths, 96)
    inches, part = divmod(rest, 8)

    def made(new_feet: float, new_inches: float) -> float:
        return sign * (new_feet * FOOT + (new_inches + part / 8) * INCH)

    if feet < 12 and inches != feet:
        yield "swap", made(inches, feet)  # 3' 4" for 4' 3"
    for turned in _turned(feet):
        yield "swap", made(turned, inches)
    for turned in _turned(inches):
        if turned < 12:
            yield "swap", made(feet, turned)
    for old, new in ((6, 9), (9, 6)):
        if inches == old:
            yield "six for nine", made(feet, new)
        if feet % 10 == old:
            yield "six for nine", made(feet - old + new, inches)
    # 4' 3" where the rod said 4.3: its tenths were taken for inches
    yield "inch for tenth", sign * (feet + (inches + part / 8) / 10) * FOOT
    yield from (("ten", figure + step * FOOT) for step in (-10.0, 10.0))


def _turned(value: int) -> Sequence[int]:
    text = str(value)
    found = []
    for a in range(len(text) - 1):
        turned = int(text[:a] + text[a + 1] + text[a] + text[a + 2 :])
        if turned != value:
            found.append(turned)
    return found
