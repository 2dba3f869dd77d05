"""What a drain is ordered as: pipe, channel, fittings, stone, fabric, lawn put back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from grading.crew.lines import Line, Maker, Work, stone_line, with_more
from grading.crew.model import Crew
from grading.geometry.tolerances import SLIVER, TOUCH
from grading.units import INCH, Unit, area, run, size, volume

WIDE = 4 * INCH
"""Pipe wider than this is ordered as wide pipe. [m]"""


class Parts(NamedTuple):
    """The parts of one drain. Lengths in m, areas in m2, volumes in m3, compacted.

    Attributes
    ----------
    name : str
        Of the drain.
    solid, perforated, diameter : float
        Lengths of pipe, and its inner diameter.
    way : str
        Where the solid pipe goes, or that it goes nowhere; ends what is said of its length.
    along : str
        Where the perforated pipe lies.
    bends, adapters, cleanouts, pop_ups, screens : int
        Fittings.
    channel, width : float
        Length of channel, and its inner width.
    ends, basins : int
        End pieces of channels; basins with their grates.
    concrete : float
        Round a channel or a basin.
    stone : float
        Clean stone.
    stone_how : str
    under : float
        Stone of the base under the concrete of a channel.
    under_of : str
        What that is.
    fabric : float
        Laps included.
    fabric_how : str
    sod : float
    """

    name: str
    solid: float = 0.0
    perforated: float = 0.0
    diameter: float = WIDE
    way: str = ""
    along: str = ""
    bends: int = 0
    adapters: int = 0
    cleanouts: int = 0
    pop_ups: int = 0
    screens: int = 0
    channel: float = 0.0
    width: float = 0.0
    ends: int = 0
    basins: int = 0
    concrete: float = 0.0
    stone: float = 0.0
    stone_how: str = ""
    under: float = 0.0
    under_of: str = ""
    fabric: float = 0.0
    fabric_how: str = ""
    sod: float = 0.0

    def maker(self, unit: Unit) -> Maker:
        """Return what makes its lines."""
        return Maker(_lines, (self, unit))

    def works(self, crew: Crew) -> tuple[Work, ...]:
        """Return what is to be done for it that no item of the order tells of by itself."""
        concrete = self.concrete * crew["concrete-density"]
        works = (
            Work("set channel drain", self.channel, "m", "set-channel"),
            Work("set basin", self.basins, "each", "set-basin"),
            Work("place concrete round the drain", concrete, "kg", "drain-concrete"),
            Work("lay drain pipe", self.solid, "m", "lay-drain-pipe"),
            Work("fittings and ends of drains", self._fittings, "each", "fit-drain"),
        )
        return tuple(work for work in works if work.amount > 0)

    @property
    def _fittings(self) -> int:
        return self.bends + self.adapters + self.cleanouts + self.pop_ups + self.screens


def _lines(parts: Parts, unit: Unit, crew: Crew) -> Iterator[Line]:
    """Yield the lines of a drain, from its upper end down."""
    of = f" of {parts.name}"
    more = crew["drain-waste"]
    if parts.channel > TOUCH:
        how = f"{size(parts.width, unit)} wide inside, with its grate"
        yield with_more("channel", f"channel{of}", "m", parts.channel, how, more)
    for item, count, title in (
        ("channel-end", parts.ends, "closed end and outlet"),
        ("basin", parts.basins, "basin with its grate"),
    ):
        if count:
            yield Line(item, f"{title}{of}", "each", count, count, "counted")
    if parts.concrete > SLIVER:
        mass = parts.concrete * crew["concrete-density"]
        how = f"{volume(parts.concrete, unit)} round it"
        waste = crew["concrete-waste"]
        yield with_more("drain-concrete", f"concrete{of}", "kg", mass, how, waste)
    if parts.perforated > TOUCH:
        how = f"{run(parts.perforated, unit)} {parts.along}"
        waste = crew["underdrain-waste"]
        yield with_more("underdrain", "underdrain", "m", parts.perforated, how, waste)
    if parts.solid > TOUCH:
        item = "wide-drain-pipe" if parts.diameter > WIDE + TOUCH else "drain-pipe"
        how = f"{size(parts.diameter, unit)} pipe, {run(parts.solid, unit)} {parts.way}"
        yield with_more(item, f"solid pipe{of}", "m", parts.solid, how, more)
    for item, count, title in (
        ("drain-adapter", parts.adapters, "adapters"),
        ("drain-bend", parts.bends, "bends"),
        ("cleanout", parts.cleanouts, "cleanouts"),
        ("pop-up", parts.pop_ups, "pop-up with a weep hole"),
        ("drain-screen", parts.screens, "outlet with a rodent screen"),
    ):
        if count:
            yield Line(item, f"{title}{of}", "each", count, count, "counted")
    if parts.stone > SLIVER:
        yield stone_line("open-graded", f"clean stone{of}", parts.stone, parts.stone_how, crew)
    if parts.under > SLIVER:
        how = "of the base, between its concrete and the bottom of the hole"
        yield stone_line(parts.under_of, f"stone under{of.removeprefix(' of')}", parts.under, how,
                         crew)  # fmt: skip
    if parts.fabric > SLIVER:
        yield Line("geotextile", f"geotextile{of}", "m2", parts.fabric, parts.fabric,
                   parts.fabric_how)  # fmt: skip
    if parts.sod > SLIVER:
        how = f"{area(parts.sod, unit)} over its trench"
        yield with_more("sod", f"lawn repair{of}", "m2", parts.sod, how, crew["sod-waste"])


def wrapped(side: float, lap: float, length: float) -> float:
    """Return the fabric round a square body of stone: its four sides and a lap. [m2]"""
    return (4 * side + lap) * length
