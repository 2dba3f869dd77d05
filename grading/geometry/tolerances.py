"""How near two numbers must be to be one: every tolerance that more than one place holds to.

Those that a tape, a level and a saw have come first, then those that rounding has. What is less
than a thousandth and stands elsewhere says beside it why it is a tolerance of its own.
"""

from __future__ import annotations

from math import ceil, floor

from grading.units import INCH

TOGETHER = INCH
"""A door, a wall and an edge of paving no farther apart than this were measured as one: common
practice, no source. A tape across a yard tells no less, and coordinates of a house that stands
askew, written to hundredths of a foot, lie some millimetres off its walls. [m]"""

TAPED = INCH / 4
"""What is longer by less than this is as long: nobody cuts, spikes or orders one more piece for it,
and a yard that stands askew is measured no finer. Common practice, no source. [m]"""

TOLD_LEVEL = 5e-4
"""A finish that falls less than this is told as level: 0.05 %. [ratio]"""

SAME_PLACE = 1e-3
"""Two spots nearer than this in plan are one spot shot twice: common practice, no source; a
hand-held rod is not set on a mark more closely. [m]"""

SAME_ELEVATION = 5e-3
"""Two shots on one spot may differ by this much in elevation: common practice, no source; the
reading of a staff through a builder's level. [m]"""

LEVEL = 1e-3
"""What differs in level by less than this lies at one level: no rod is read finer. [m]"""

SEEN = 5e-4
"""What lies nearer than this is told and drawn as if it were not apart: half of what a rod reads.
[m]"""

READ = {"ft": INCH / 16, "m": 1e-3}
"""What a tape and a rod are read to by hand, in each unit: common practice, no source. [m]"""

SAME = 1e-5
"""What passes a limit by less than this is at it: rounding, and no probe's reading. [m]"""

ON_ARC = 5e-3
"""What lies no farther than this from an arc is on it, or on the chords that stand for it. [m]"""

REACH = 0.01
"""How far a surface is drawn beyond what it must cover, so that rounding leaves nothing out. [m]"""

THREAD = 1e-4
"""Parts of a shape nearer than this are one, and what is narrower is no part of it. [m]"""

TOUCH = 1e-6
"""What lies nearer than this touches, and what is shorter is nothing: what is left of the rounding
of coordinates that were cut, projected and joined. [m, or of a length]"""

SLIVER = TOUCH
"""Less paving or hole than this comes of outlines that touch. [m2]"""

TOLD_EARTH = 1e-3
"""Less earth or stone than this is not told: a litre. [m3]"""

FLAT = 1e-6
"""What falls less than this falls nowhere. [ratio]"""

WHOLE = 1e-6
"""What was measured or solved for, and is this near to a whole number of courses, risers or
sixteenths, is that many. [1]"""

SOLVED = 1e-8
"""What a finish that was solved for may be short of a limit by rounding. [m or ratio]"""

ROUNDING = 1e-9
"""What differs by less than this was added up in another order. [SI, of numbers near 1]"""

NOTHING = 1e-12
"""What stands for a length or a variance of nothing where something is divided by it. [SI]"""


def whole_up(count: float, rounding: float = ROUNDING) -> int:
    """Return the whole number of pieces that a number of them takes, rounding left out."""
    return ceil(count - rounding)


def whole_down(count: float, rounding: float = ROUNDING) -> int:
    """Return how many whole pieces there are in a number of them, rounding left out."""
    return floor(count + rounding)


def pieces_of(length: float, each: float) -> int:
    """Return how many pieces of a length [m] go into another [m], the last one cut."""
    return max(ceil((length - TAPED) / each), 0)
