"""What a stake, a string and a rod say in words: figures to the nearest of what is read."""

from __future__ import annotations

from collections.abc import Iterator

from grading.design.area import AreaPlan
from grading.setout.instrument import Instrument, rod_words, rounded
from grading.setout.model import Stake
from grading.setout.strings import Board, String
from grading.setout.ties import Tie
from grading.units import INCH, Unit, feet_inches, inches, length
from grading.units.rods import RodUnit

LOWER = "A bigger reading is a lower point."
"""Stands on every page with rods."""

SQUARE = {
    "ft": "Square? 9' along one line and 12' along the other: 15' between the two marks.",
    "m": "Square? 3 m along one line and 4 m along the other: 5 m between the two marks.",
}  # common practice, no source


def instrument_words(instrument: Instrument, rod: RodUnit, unit: Unit, step: float) -> str:
    """Say where the instrument stands today."""
    told = rod_words(instrument.reading, rod, step)
    return (
        f"rod on {instrument.benchmark} ({length(instrument.z, unit)}) reads {told}: line of sight "
        f"at {length(instrument.height, unit)}"
    )


def grid_words(area: AreaPlan) -> str:
    """Say what its points are told along: the house, or off it the longest edge of the paving."""
    return f"along {'the house' if area.walls else 'the longest edge'}, out from it"


def tape_words(metres: float, unit: Unit, step: float) -> str:
    """Write what a tape reads. [m]"""
    told = rounded(metres, step)
    if unit == "ft":
        return feet_inches(told, max(round(INCH / step), 1))
    return f"{told:.3f} m"


def tie_words(tie: Tie, unit: Unit, step: float) -> str:
    """Say one tape of a stake."""
    if not tie.length:
        return f"at {tie.to}"
    return f"{tie.to} {tape_words(tie.length, unit, step)}"


def cut_words(stake: Stake, unit: Unit) -> str:
    """Say how deep it is dug at a stake, or filled; empty where that is not known."""
    return "" if stake.cut is None else dug_words(stake.cut, unit)


def dug_words(cut: float, unit: Unit) -> str:
    """Say how far below the lawn a surface is dug to, or, below zero, filled up to. [m]"""
    return f"{'cut' if cut >= 0 else 'fill'} {depth_words(cut, unit)}"


def depth_words(metres: float, unit: Unit) -> str:
    """Write how far something is from the lawn, which no shovel knows nearer than 1/8 in. [m]"""
    return inches(abs(metres), 8) if unit == "ft" else f"{round(abs(metres) * 1000)} mm"


def board_words(board: Board, unit: Unit, step: float, rod: str = "") -> str:
    """Say where one end of a string is, how high above the ground of today, and its rod.

    Parameters
    ----------
    board : Board
    unit : "ft" or "m"
    step : float
        What tapes are told to the nearest of. [m]
    rod : str
        What a rod reads at the mark; empty where no instrument is told of.
    """
    at = f", rod {rod}" if rod else ""
    if board.on_house:
        return f"on the house at {board.corner}{at}"
    told = f"{tape_words(board.beyond, unit, step)} past {board.corner}"
    if board.above is None:
        return f"{told}{at}"
    high = inches(board.above, 8) if unit == "ft" else f"{round(board.above * 1000)} mm"
    return f"{told}, {high} above the ground{at}"


def string_words(string: String, unit: Unit, step: float) -> Iterator[str]:
    """Give what is said of a string: what it is, how long, and what it drops."""
    yield "chalk line on the house" if string.chalked else "string"
    yield f"{tape_words(string.length, unit, step)}"
    drop = abs(string.drop)
    told = inches(drop, 16) if unit == "ft" else f"{round(drop * 1000)} mm"
    if drop < step / 2:
        yield "level"
    else:
        lower = string.end if string.drop > 0 else string.start
        yield f"falls {told} to {lower.corner}"
