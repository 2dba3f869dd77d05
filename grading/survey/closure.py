"""Whether levels close, and what may be wrong where they do not."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from math import sqrt
from typing import Literal

from msgspec import Struct

from grading.catalogue.rules import Limits
from grading.errors import SiteError
from grading.geometry.tolerances import ROUNDING
from grading.signs import listed
from grading.survey.reduction import Closing, Reduction, reduced
from grading.units import FOOT, INCH, Unit, size

LIMIT, TOLD = "level-misclosure", "level-misclosure-told"

_SLIPS = {"a foot": FOOT, "a tenth of a foot": FOOT / 10, "an inch": INCH, "10 cm": 0.1, "1 m": 1.0}
"""What a rod is misread by whole. Common practice, no source. [m]"""


class Closure(Struct, frozen=True):
    """A closing against its limit.

    status : "pass"; "warn", within the limit and worth a second look; "fail", over it.
    limit : for as many set-ups as the levels were carried over. [m]
    third_order : what a line as long may be off in levelling of third order; None where the length
        of a sight was not booked. Over the sights of a yard it is less than a rod is read to. [m]
    """

    closing: Closing
    limit: float
    status: Literal["pass", "warn", "fail"]
    third_order: float | None = None

    @property
    def off(self) -> float:
        """The misclosure: what is found less what was known. [m]"""
        return float(self.closing.off)

    @property
    def setups(self) -> int:
        """How many set-ups the levels were carried over."""
        return len(self.closing.path)


def closures_of(levels: Reduction, limits: Limits) -> tuple[Closure, ...]:
    """Return each closing of a reduction against the limit for its set-ups."""
    return tuple(_judged(each, levels, limits) for each in levels.closings)


def _judged(closing: Closing, levels: Reduction, limits: Limits) -> Closure:
    limit = limits[LIMIT] * sqrt(len(closing.path))
    off = abs(float(closing.off))
    over, told = off > limit * (1 + ROUNDING), off > limits[TOLD] * (1 + ROUNDING)
    far = _length(closing, levels)
    third = None if far is None else limits["third-order"] * sqrt(far / 1000)
    return Closure(closing, limit, "fail" if over else "warn" if told else "pass", third)


def _length(closing: Closing, levels: Reduction) -> float | None:
    """Return how far the levels were carried, back and fore sights; None where one is unknown."""
    sights = [
        sight
        for place in closing.path
        for sight in levels.setups[place].sights
        if sight.kind != "intermediate" or sight is closing.sight
    ]
    if any(sight.row.distance is None for sight in sights):
        return None
    return float(sum((sight.row.distance or Fraction(0) for sight in sights), Fraction(0)))


def worst(closures: Sequence[Closure]) -> Closure | None:
    """Return the closure that takes up the most of its limit; None where nothing closes."""
    return max(closures, key=lambda each: abs(each.off) / each.limit, default=None)


def causes(
    levels: Reduction,
    closures: Sequence[Closure],
    fixed: Mapping[str, Fraction],
    names: Mapping[str, str],
    limits: Limits,
    unit: Unit,
) -> Iterator[str]:
    """Give a sentence for each closure over its limit: a reading, or a benchmark.

    Parameters
    ----------
    levels : Reduction
    closures : sequence of Closure
        Those of the reduction.
    fixed : mapping
        Elevations of the benchmarks. [m]
    names : mapping
        What the book calls each point, by its key.
    limits : Limits
    unit : "ft" or "m"
        What the sentences are written in.

    Notes
    -----
    Where levels return to where they came from and miss, a reading is wrong, whatever the
    benchmarks are. Two benchmarks that do not agree over levels which close on themselves have
    elevations that do not belong together. Otherwise one cannot be told from the other, unless
    all closes once one benchmark is left out: then it is that one.
    """
    failed = [each for each in closures if each.status == "fail"]
    for each in failed:
        if not each.closing.between:
            yield _reading(each, levels, names, unit)
    between = [each for each in failed if each.closing.between]
    if not between:
        return
    if any(not each.closing.between for each in failed):
        yield "What benchmarks say of each other shows when the levels close on themselves."
        return
    alone = _to_blame(levels, between, fixed, limits)
    for each in between:
        closing = each.closing
        start, end = names[closing.start], names[closing.sight.point]
        missed = f"from {start} to {end} the levels miss by {size(abs(each.off), unit)}"
        known = frozenset(
            place for other in closures for place in other.closing.path
            if not other.closing.between and other.status != "fail"
        )  # fmt: skip
        closed = set(closing.path) <= known
        culprits = [names[point] for point in alone]
        if len(culprits) == 1:
            yield (
                f"{missed}, and without {culprits[0]} all levels close: its elevation is not of "
                "the same datum, or it has moved"
            )
        elif closed:
            yield (
                f"{missed}, and the levels close on themselves: the elevations written for "
                f"{start} and {end} do not belong together"
            )
        else:
            yield (
                f"{missed}: a reading {_where(closing, levels)} is wrong, or the elevation of "
                f"{start} or {end}. Read {start} again from the last set-up: where that closes, "
                "it is the elevations"
            )


def _to_blame(
    levels: Reduction, failed: Sequence[Closure], fixed: Mapping[str, Fraction], limits: Limits
) -> list[str]:
    """Return the benchmarks without any one of which all levels close, and are shown to."""
    blamed = []
    ends = {point for each in failed for point in (each.closing.start, each.closing.sight.point)}
    for point in fixed:
        if point not in ends:
            continue
        others = {name: z for name, z in fixed.items() if name != point}
        try:
            again = closures_of(reduced(levels.setups, others), limits)
        except SiteError:
            continue
        shown = {place for each in again for place in each.closing.path}
        needed = {place for each in failed for place in each.closing.path}
        if all(each.status != "fail" for each in again) and needed <= shown:
            blamed.append(point)
    return blamed


def _where(closing: Closing, levels: Reduction) -> str:
    """Say between which set-ups of which book."""
    setups = [levels.setups[place] for place in closing.path]
    files = dict.fromkeys(each.file for each in setups)
    numbers = [each.number for each in setups]
    if len(files) > 1:
        return f"in {' or '.join(files)}"
    which = f"set-up {numbers[0]}" if len(numbers) == 1 else f"set-ups {_listed(numbers)}"
    return f"from {which} of {next(iter(files))}"


def _listed(numbers: Sequence[int]) -> str:
    if numbers == list(range(numbers[0], numbers[-1] + 1)) and len(numbers) > 2:
        return f"{numbers[0]} to {numbers[-1]}"
    return listed([str(number) for number in numbers])


def _reading(each: Closure, levels: Reduction, names: Mapping[str, str], unit: Unit) -> str:
    closing = each.closing
    at, side = names[closing.sight.point], "high" if each.off > 0 else "low"
    slip = next(
        (word for word, step in _SLIPS.items() if abs(abs(each.off) - step) <= each.limit / 2), ""
    )
    hint = f", about {slip}: look for a figure that is off by it" if slip else ""
    moved = "or the instrument was moved"
    if closing.sight.point in levels.made_by:  # no benchmark, whose name is given
        moved = f"the instrument was moved, or two points are called {at}"
    return (
        f"{at} is found {size(abs(each.off), unit)} too {side} when it is read again "
        f"({closing.file}, line {closing.sight.row.line}): a reading "
        f"{_where(closing, levels)} is wrong, {moved}{hint}. Read them again"
    )
