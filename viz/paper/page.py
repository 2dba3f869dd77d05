"""Paper: page sizes, stated scales, and the scale that fits."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction

from msgspec import Struct

from grading.units import FOOT, INCH

MM = 1000.0  # millimetres of paper in a metre
INCH_MM = INCH * MM
POINT = 72 / INCH_MM
"""Points in a millimetre: 72 in an inch."""


class Scale(Struct, frozen=True):
    """A stated scale: metres of site to one metre of paper, and how it is written."""

    ratio: float
    words: str

    def mm(self, metres: float) -> float:
        """Return the length on paper [mm] of a length on site [m]."""
        return metres * MM / self.ratio

    def metres(self, mm: float) -> float:
        """Return the length on site [m] of a length on paper [mm]."""
        return mm * self.ratio / MM


def _inches_to_the_foot(words: str) -> Scale:
    whole, _, part = words.rpartition(" ")
    inches = Fraction(part) + (Fraction(whole) if whole else 0)
    ratio = round(FOOT / INCH) / inches
    return Scale(float(ratio), f"{words} in = 1 ft (1:{float(ratio):g})")


def _feet_to_the_inch(feet: int) -> Scale:
    ratio = feet * round(FOOT / INCH)
    return Scale(float(ratio), f"1 in = {feet} ft (1:{ratio})")


# The architect's and engineer's scales found on any rule sold; metric ones as in ISO 5455.
IMPERIAL = tuple(
    _inches_to_the_foot(words)
    for words in ("6", "3", "1 1/2", "1", "3/4", "1/2", "3/8", "1/4", "3/16", "1/8", "3/32", "1/16")
) + tuple(_feet_to_the_inch(feet) for feet in (20, 30, 40, 50, 60, 100, 200))
METRIC = tuple(
    Scale(float(ratio), f"1:{ratio}")
    for ratio in (2, 5, 10, 20, 25, 50, 100, 200, 250, 500, 1000, 2000)
)


def scales(unit: str) -> tuple[Scale, ...]:
    """Return the scales used on a site in "ft" or "m", largest first."""
    return IMPERIAL if unit == "ft" else METRIC


def fitting_scale(
    unit: str, width: float, height: float, room: tuple[float, float], at_most: float = 0.0
) -> Scale:
    """Return the largest stated scale at which a subject fits its room.

    Parameters
    ----------
    unit : "ft" or "m".
    width, height : Size of the subject. [m]
    room : (2,) Width and height on paper. [mm]
    at_most : Smallest ratio allowed (8 allows 1:8 and smaller drawings).
    """
    for scale in scales(unit):
        fits = scale.mm(width) <= room[0] and scale.mm(height) <= room[1]
        if fits and scale.ratio >= at_most:
            return scale
    return scales(unit)[-1]


class Box(Struct, frozen=True):
    """An upright rectangle on paper. [mm]"""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def width(self) -> float:
        """Width [mm]."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """Height [mm]."""
        return self.y1 - self.y0

    @property
    def middle(self) -> tuple[float, float]:
        """Centre (2,) [mm]."""
        return (self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2

    def columns(self, shares: Iterable[float], gap: float = 0.0) -> list[Box]:
        """Return the box cut into columns of the given shares, `gap` [mm] apart."""
        parts = list(shares)
        free = self.width - gap * (len(parts) - 1)
        out, x = [], self.x0
        for part in parts:
            wide = free * part / sum(parts)
            out.append(Box(x, self.y0, x + wide, self.y1))
            x += wide + gap
        return out


class Page(Struct, frozen=True):
    """A sheet of paper: name, width, height, margin and height of the title block. [mm]"""

    paper: str
    width: float
    height: float
    margin: float = 9.0
    title: float = 25.0

    @property
    def frame(self) -> Box:
        """The border line [mm]."""
        m = self.margin
        return Box(m, m, self.width - m, self.height - m)

    @property
    def body(self) -> Box:
        """The room left for drawings above the title block [mm]."""
        f = self.frame
        return Box(f.x0 + 3, f.y0 + self.title + 3, f.x1 - 3, f.y1 - 3)


def page_for(unit: str, paper: str | None = None, portrait: bool = False) -> Page:
    """Return the page for a site: letter in feet, A4 in metres unless named otherwise.

    Raises ValueError for a paper that is neither "letter" nor "a4".
    """
    name = (paper or ("letter" if unit == "ft" else "a4")).lower()
    sizes = {"letter": (11 * INCH_MM, 8.5 * INCH_MM), "a4": (297.0, 210.0)}
    if name not in sizes:
        raise ValueError(f"paper {paper!r}: expected letter or a4")
    wide, high = sizes[name]
    if portrait:
        wide, high = high, wide
    return Page(name, wide, high)
