"""How near things drawn in plan must be to belong together: the one answer to it."""

from __future__ import annotations

from math import ceil

from grading.units import INCH

TOGETHER = INCH
"""A door, a wall and an edge of paving no farther apart than this were measured as one: common
practice, no source. A tape across a yard tells no less, and coordinates of a house that stands
askew, written to hundredths of a foot, lie some millimetres off its walls. [m]"""

SAME = 1e-5
"""What passes a limit by less than this is at it: rounding, and no probe's reading. [m]"""

TAPED = INCH / 4
"""What is longer by less than this is as long: nobody cuts, spikes or orders one more piece for it,
and a yard that stands askew is measured no finer. Common practice, no source. [m]"""

TOLD_LEVEL = 5e-4
"""A finish that falls less than this is told as level: 0.05 %. [ratio]"""


def pieces_of(length: float, each: float) -> int:
    """Return how many pieces of a length [m] go into another [m], the last one cut."""
    return max(ceil((length - TAPED) / each), 0)
