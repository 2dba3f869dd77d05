"""A level book as it was written: rows in the order read, and where the rod stood."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from msgspec import Struct, field

from grading.units.rods import RodUnit


class Place(Struct, frozen=True):
    """Where a point is, as it was taped: in one of three ways.

    Attributes
    ----------
    xy : (float, float) or None
        Site axes. [m]
    wall : str
        The wall that it was taped along, empty where it was not; the only one may be left unnamed.
    along, out : float or None
        From the left end of that wall, as one faces it from the yard, and square out from it. [m]
    ties : mapping
        Taped distance by the name of the reference that the tape was held to. [m]
    side : str
        "left" or "right" of the way from the first of these references to the second; empty where
        nothing was said.
    """

    xy: tuple[float, float] | None = None
    wall: str = ""
    along: float | None = None
    out: float | None = None
    ties: Mapping[str, float] = field(default_factory=dict)
    side: str = ""


class BookRow(Struct, frozen=True):
    """One row of a level book: one position of the rod.

    Attributes
    ----------
    line : int
        Of the file, from 1.
    point : str
        Its name, empty where it has none.
    back, inter, fore : Fraction or None
        The readings, below zero where the rod was held upside down. [m]
    written : str
        The readings as they stand in the file, those there are, the backsight first.
    distance : Fraction or None
        From the instrument to the rod. [m]
    place : Place or None
    code, note : str
    """

    line: int
    point: str
    back: Fraction | None = None
    inter: Fraction | None = None
    fore: Fraction | None = None
    written: tuple[str, ...] = ()
    distance: Fraction | None = None
    place: Place | None = None
    code: str = ""
    note: str = ""


class LevelBook(Struct, frozen=True):
    """One file of levels.

    Attributes
    ----------
    file : str
        Its name inside the folder.
    rod : RodUnit
        What the rod is marked in.
    rows : tuple of BookRow
    by_eye : bool
        Places were paced or judged by eye, not taped.
    collimation : Fraction or None
        How much too high the instrument reads for each metre of sight, as a two-peg test found;
        None where it was not tested. [ratio]
    """

    file: str
    rod: RodUnit
    rows: tuple[BookRow, ...]
    by_eye: bool = False
    collimation: Fraction | None = None
