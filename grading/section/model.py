"""The sections of a site: through its areas down the fall and across it, or along any line."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from grading.conditions.seats import Seat
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.section.cut import Cut
from grading.section.line import Line, down_and_across
from grading.section.through import cut_through

Which = Literal["down", "across"]


class Sections(Struct, frozen=True, eq=False):
    """Cuts what is designed, with the things that stand on it.

    Attributes
    ----------
    design : Design
    seats : tuple of Seat
        How the things of the site stand.
    """

    design: Design
    seats: tuple[Seat, ...]

    def along(self, area: AreaPlan, line: Line, base: str | None = None) -> Cut:
        """Return the cut through an area along a line, on the base chosen where none is named."""
        dig: Dig = area.digs[base or area.chosen]
        return cut_through(self.design, self.seats, area, dig, line)

    def of(self, area: AreaPlan, which: Which, base: str | None = None) -> Cut:
        """Return the cut "down" the fall of an area or "across" it."""
        down, across = down_and_across(self.design, area)
        return self.along(area, down if which == "down" else across, base)
