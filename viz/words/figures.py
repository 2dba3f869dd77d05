"""Figures as they stand on a drawing: the site's own unit first, the other beside it."""

from __future__ import annotations

from grading import units
from grading.units import (
    SHORT_TON,
    TONNE,
    cubic_yards,
    feet_inches,
    inches,
    length,
    millimetres,
    square_feet,
)

DIRT = 8  # earth is dug to the nearest 1/8 in, paving set to 1/16 in: common practice, no source

Pair = tuple[str, str]


def small(metres: float, unit: str, denominator: int = 16) -> str:
    """Return a thickness or depth [m]: 9 3/8 in (238 mm), or the other way about."""
    return _both(small_pair(metres, unit, denominator))


def run(metres: float, unit: str, denominator: int = 16) -> str:
    """Return a length along the ground [m] as a dimension: 18' 0" (5486 mm), or the other way."""
    return beside((feet_inches(metres, denominator), millimetres(metres)), unit)


def stretch(metres: float, unit: str, denominator: int = 16) -> str:
    """Return a length along the ground [m] in a sentence: 18' 0" (5.49 m), or the other way."""
    return beside((units.run(metres, "ft", denominator), units.run(metres, "m")), unit)


def level(metres: float, unit: str, denominator: int = 16) -> str:
    """Return an elevation [m]: 100' 7 13/16" (30.678 m), or the other way about."""
    return _both(level_pair(metres, unit, denominator))


_NOTHING = 1e-6  # m3: rounding


def earth(cubic_metres: float, unit: str) -> str:
    """Return a volume [m3] in both units: 8.8 yd³ (6.7 m³).

    What is there and rounds to nothing is said to be under 0.1: under 0.1 yd³ (0.1 m³).
    """
    yards, metres = cubic_yards(cubic_metres), cubic_metres
    if metres > _NOTHING and f"{yards:.1f}" == "0.0":
        return f"under {beside(('0.1 yd³', '0.1 m³'), unit)}"
    under = metres > _NOTHING and f"{metres:.1f}" == "0.0"
    return beside((f"{yards:.1f} yd³", "under 0.1 m³" if under else f"{metres:.1f} m³"), unit)


def earth_between(one: float, other: float, unit: str) -> str:
    """Return how much more or less one volume is than another [m3]: 5.9 yd³ (4.5 m³) more."""
    more = one - other
    if round(abs(cubic_yards(more)), 1) == 0:
        return "no more and no less"
    return f"{earth(abs(more), unit)} {'more' if more > 0 else 'less'}"


def mass(kilograms: float, unit: str) -> str:
    """Return a mass [kg] in both units: 8.8 ton (8.0 tonne)."""
    return beside((f"{kilograms / SHORT_TON:.1f} ton", f"{kilograms / TONNE:.1f} tonne"), unit)


def counted(count: int, word: str, words: str = "") -> str:
    """Return a number of things: 1 trip, 2 trips."""
    return f"{count} {word if count == 1 else words or f'{word}s'}"


def ground_area(square_metres: float, unit: str) -> str:
    """Return a plan area [m2] in both units: 504 ft² (46.8 m²)."""
    return beside((f"{square_feet(square_metres):.0f} ft²", f"{square_metres:.1f} m²"), unit)


def beside(pair: Pair, unit: str) -> str:
    """Return a pair of the same figure in feet and in metres, the site's own unit first."""
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
    return f"{pair[0]} ({pair[1]})"
