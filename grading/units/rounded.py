"""Sizes that nobody wrote, as they are built where sizes are round in millimetres."""

from __future__ import annotations

from grading.units.factors import INCH

_MM = 1e-3
_INCH_BUILT = 25.0  # mm: a board of 6 in is sold, dug and laid as 150 mm
_LARGE = 100.0  # mm: from here on an inch is built as 25 mm, and a foot as 300
_STEPS = ((5.0, 1.0), (13.0, 2.0), (float("inf"), 5.0))
"""Sizes [mm] below the first of each pair are round to the second."""


def round_metric(metres: float) -> float:
    """Return a size of whole or half inches and feet as it is built in metres: 6 in as 150 mm.

    Parameters
    ----------
    metres : float
        [m]

    Notes
    -----
    An inch is built as 25 mm and a foot as 300 mm; what is smaller than 4 in is round to the
    millimetre, to two of them or to five: 1/8 in as 3 mm, 1/2 in as 12 mm, 1 1/2 in as 40 mm.
    Common practice, no source. For sizes that are common practice: what a code publishes keeps its
    value.
    """
    built = abs(metres) / _MM
    if built >= _LARGE:
        built *= _INCH_BUILT * _MM / INCH
    step = next(step for most, step in _STEPS if built < most)
    told = round(max(round(built / step), 1 if metres else 0) * step * _MM, 6)
    return told if metres >= 0 else -told


def built_size(written: str, metres: float) -> float:
    """Return a size that is built in where sizes are round in millimetres.

    Parameters
    ----------
    written : str
        As the table has it: one in inches or feet is made round, one in metres is already.
    metres : float
        The same. [m]
    """
    return round_metric(metres) if written.rstrip("0123456789").endswith(("in", "ft")) else metres
