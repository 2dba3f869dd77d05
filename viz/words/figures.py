"""Figures as they stand on a drawing: in the site's own unit, and where asked in both.

One system is told: two figures for one thing are read as two things. Whether the other stands in
brackets behind it is asked once for all that is made, and every figure of it is told alike.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from grading import units
from grading.crew.model import Entry
from grading.units import (
    SHORT_TON,
    TONNE,
    Unit,
    cubic_yards,
    feet_inches,
    inches,
    length,
    millimetres,
    square_feet,
)
from grading.units.measures import own_unit, read_measure

DIRT = 8  # earth is dug to the nearest 1/8 in, paving set to 1/16 in: common practice, no source

Pair = tuple[str, str]

_BOTH: ContextVar[bool] = ContextVar("both systems of units are told", default=False)


@contextmanager
def in_both(wanted: bool = True) -> Iterator[None]:
    """Tell figures in both systems of units while this lasts, the site's own first.

    Parameters
    ----------
    wanted : bool
        Whether they are; else nothing changes.
    """
    token = _BOTH.set(wanted or _BOTH.get())
    try:
        yield
    finally:
        _BOTH.reset(token)


def both_told() -> bool:
    """Whether figures are told in both systems of units."""
    return _BOTH.get()


def units_words(unit: str) -> str:
    """Say in which units a drawing is: "feet and inches", with what stands in brackets."""
    own, other = "feet and inches", "metres and millimetres"
    if unit == "m":
        own, other = other, own
    return f"{own}, {other} in brackets" if both_told() else own


def small(metres: float, unit: str, denominator: int = 16) -> str:
    """Return a thickness or depth [m]: 9 3/8 in; in both 9 3/8 in (238 mm)."""
    return _both(small_pair(metres, unit, denominator))


def run(metres: float, unit: str, denominator: int = 16) -> str:
    """Return a length along the ground [m] as a dimension: 18' 0"; in both 18' 0" (5486 mm)."""
    return beside((feet_inches(metres, denominator), millimetres(metres)), unit)


def stretch(metres: float, unit: str, denominator: int = 16) -> str:
    """Return a length along the ground [m] in a sentence: 18' 0"; in both 18' 0" (5.49 m)."""
    return beside((units.run(metres, "ft", denominator), units.run(metres, "m")), unit)


def level(metres: float, unit: str, denominator: int = 16) -> str:
    """Return an elevation [m]: 100' 7 13/16"; in both 100' 7 13/16" (30.678 m)."""
    return _both(level_pair(metres, unit, denominator))


_NOTHING = 1e-6  # own: m3: rounding


def earth(cubic_metres: float, unit: str) -> str:
    """Return a volume [m3]: 8.8 yd³; in both 8.8 yd³ (6.7 m³).

    What is there and rounds to nothing is said to be under 0.1: under 0.1 yd³.
    """
    yards, metres = cubic_yards(cubic_metres), cubic_metres
    if metres > _NOTHING and f"{yards:.1f}" == "0.0":
        return f"under {beside(('0.1 yd³', '0.1 m³'), unit)}"
    under = metres > _NOTHING and f"{metres:.1f}" == "0.0"
    return beside((f"{yards:.1f} yd³", "under 0.1 m³" if under else f"{metres:.1f} m³"), unit)


def earth_between(one: float, other: float, unit: str) -> str:
    """Return how much more or less one volume is than another [m3]: 5.9 yd³ more."""
    more = one - other
    if round(abs(cubic_yards(more)), 1) == 0:
        return "no more and no less"
    return f"{earth(abs(more), unit)} {'more' if more > 0 else 'less'}"


def mass(kilograms: float, unit: str) -> str:
    """Return a mass [kg]: 8.8 ton; in both 8.8 ton (8.0 tonne)."""
    return beside((f"{kilograms / SHORT_TON:.1f} ton", f"{kilograms / TONNE:.1f} tonne"), unit)


def figure(entry: Entry, value: float, site: Unit = "ft") -> str:
    """Return a figure in the unit that its table is written in, or the site's own: 85 ft2/h."""
    unit = entry.written.lstrip("0123456789./- ") or entry.written
    unit = "/".join(own_unit(part, site) for part in unit.split("/"))
    if "/" in entry.written and entry.dimension.startswith("money"):
        unit = "/" + unit.rpartition("/")[2]
    one, _ = read_measure(f"1 {unit}")
    inverted = entry.dimension.startswith("s/") and not entry.written.split("/")[0].endswith(
        (" h", " min")
    )
    shown = one / value if inverted else value / one
    number = f"{shown:.2f}".removesuffix(".00") if unit.startswith("/") else f"{shown:.3g}"
    return f"{number} {unit}"


def ground_area(square_metres: float, unit: str) -> str:
    """Return a plan area [m2]: 504 ft²; in both 504 ft² (46.8 m²)."""
    return beside((f"{square_feet(square_metres):.0f} ft²", f"{square_metres:.1f} m²"), unit)


def beside(pair: Pair, unit: str) -> str:
    """Return the site's own of a figure in feet and in metres; in both, the other behind it."""
    return _both(_own_first(pair, unit))


def small_pair(metres: float, unit: str, denominator: int = 16) -> Pair:
    """Return a thickness or depth [m] in both units, the site's own first."""
    return _own_first((inches(metres, denominator), millimetres(metres)), unit)


def level_pair(metres: float, unit: str, denominator: int = 16) -> Pair:
    """Return an elevation [m] in both units, the site's own first."""
    return _own_first((feet_inches(metres, denominator), length(metres, "m")), unit)


def _own_first(pair: Pair, unit: str) -> Pair:
    return pair if unit == "ft" else pair[::-1]


def _both(pair: Pair) -> str:
    return f"{pair[0]} ({pair[1]})" if both_told() else pair[0]
