"""Rods for a stated reading on the benchmark: made at the desk, corrected in the yard by one sum.

Rod = height of the instrument - elevation; where the benchmark reads d more today than was stated,
the instrument stands d higher, and so does every reading. A plan's rods are those of the crew's
sheet and of its JSON alike.
"""

from __future__ import annotations

import math

from grading.design.model import Design
from grading.geometry.tolerances import READ, TOUCH
from grading.setout.instrument import Instrument, benchmarks_of
from grading.setout.model import Layer, SetOut, set_out
from grading.units import FOOT, INCH, Unit

MOST_ROWS = 30
"""Points of all areas whose rods are printed: one page, read at arm's length. The grid is spaced
twice as far where there are more; `fallaway stakes` has them all."""

_HEAD = 4  # rows that the head of one more area takes
_WIDER = (2, 4, 8)  # how many times the usual spacing of the grid
_WHOLE = {"ft": FOOT, "m": 0.5}  # m: the stated reading is a whole number of these
_LEAST = {"ft": 3 * FOOT, "m": 1.0}  # m: a lower reading on the benchmark is not stated
_OVER = {"ft": FOOT, "m": 0.3}  # m: the line of sight above all that is read

_EARTH = ("hole", "subgrade", "base")
"""Roles of surfaces that a shovel and a plate leave: soil and stone."""


def rod_step(layer: Layer, unit: Unit) -> float:
    """Return what the rod on a surface is told to the nearest of. [m]

    Parameters
    ----------
    layer : Layer
    unit : "ft" or "m"

    Notes
    -----
    Soil and stone to 1/8 in or 5 mm, what is screeded and laid to 1/16 in or 1 mm: common practice,
    no source.
    """
    return made_to(layer.role in _EARTH, unit)


def made_to(earth: bool, unit: Unit) -> float:
    """Return what a surface is made to, of soil and stone or of what is laid, as `rod_step`. [m]"""
    if earth:
        return INCH / 8 if unit == "ft" else 5e-3
    return READ[unit]


def stated_on(design: Design, highest: float) -> Instrument:
    """Return an instrument at a stated height: a whole reading on the first benchmark.

    Parameters
    ----------
    design : Design
    highest : float
        Of all that is read; the line of sight stands well above it. [m]
    """
    site = design.site
    unit, known = site.unit, benchmarks_of(site)
    whole = _WHOLE[unit]
    if known:
        own = {each.name: float(each.z) for each in site.benchmarks}
        name, z = next(iter((own or known).items()))
    else:
        # Nobody said where the levels hang: a mark that the crew levels up for itself.
        z = math.ceil(highest / whole - TOUCH) * whole
        name = ""
    need = max(highest + _OVER[unit] - z, _LEAST[unit])
    reading = math.ceil(need / whole - TOUCH) * whole
    return Instrument(name, z, reading, site.in_force["rod-length"])


def by_rod(design: Design) -> SetOut:
    """Return the stakes of the crew's sheet, with the rod of each for a stated reading.

    Parameters
    ----------
    design : Design
    """
    found = set_out(design)
    spacing = min(each.grid.spacing for each in found.areas)
    for widen in _WIDER:
        if _rows(found) <= MOST_ROWS - _HEAD * (len(found.areas) - 1):
            break
        found = set_out(design, grid=widen * spacing)
    levels = [layer.z for each in found.areas for stake in each.stakes for layer in stake.layers]
    levels += [board.z for each in found.areas for string in each.strings
               for board in (string.start, string.end)]  # fmt: skip
    return SetOut(design, stated_on(design, max(levels)), found.references, found.areas)


def _rows(found: SetOut) -> int:
    return sum(bool(stake.layers) for each in found.areas for stake in each.stakes)
