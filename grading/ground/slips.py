"""The slip of the pen that makes one level of another: a foot, two digits changed about, a 6 for 9.

The commonest slips of field books are printed in NAVEDTRA 14069, Engineering Aid 3: figures
changed about (48.26 for 48.62), a 6 for a 9, the wrong foot mark. [from memory]
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from grading.units import METRES, Unit, number

# A slip is believed when it brings the level this near to the ground around it, or near against
# how far off it was, where that is much. [file's unit, ratio, file's unit]
NEAR, OF_IT, AT_MOST = 0.12, 0.01, 1.0


def likely_slip(z: float, ground: float, unit: Unit) -> str:
    """Return the level that was most likely meant, as the file would have it, or "".

    Parameters
    ----------
    z : float
        The level in the file. [m]
    ground : float
        The level of the ground around it. [m]
    unit : "ft" or "m"
        What the file is written in.
    """
    wanted = ground / METRES[unit]
    near = max(NEAR, min(OF_IT * abs(z - ground) / METRES[unit], AT_MOST))
    for meant in _edits(number(z, unit)):
        if abs(meant - wanted) <= near:
            return number(meant * METRES[unit], unit)
    return ""


def _edits(text: str) -> Iterator[float]:
    """Yield the levels that one slip would have made into this one, commonest first."""
    yield from (float(text) + step for step in (-1.0, 1.0))
    digits = [place for place, letter in enumerate(text) if letter.isdigit()]
    for place in digits:  # a key struck twice
        if text[place : place + 1] == text[place + 1 : place + 2]:
            yield float(text[:place] + text[place + 1 :])
    for a, b in pairwise(digits):  # two digits changed about
        letters = list(text)
        letters[a], letters[b] = letters[b], letters[a]
        yield float("".join(letters))
    for place in digits:
        for one, other in ("69", "96"):
            if text[place] == one:
                yield float(text[:place] + other + text[place + 1 :])
    value = float(text)
    yield from (value / 10, value * 10, value / 100, value * 100)  # the point moved
    yield -value
    yield from (value * METRES["ft"], value / METRES["ft"])  # the other unit
    yield from (value + step for step in (-10.0, 10.0, -100.0, 100.0))
