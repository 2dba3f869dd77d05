"""How near things drawn in plan must be to belong together: the one answer to it."""

from __future__ import annotations

from grading.units import INCH

TOGETHER = INCH
"""A door, a wall and an edge of paving no farther apart than this were measured as one: common
practice, no source. A tape across a yard tells no less, and coordinates of a house that stands
askew, written to hundredths of a foot, lie some millimetres off its walls. [m]"""
