"""What the edge of paving takes: plastic with screws or spikes, concrete, curb units."""

from __future__ import annotations

import math
from collections.abc import Iterator

from grading.catalogue.edge_kinds import BORDER, SHOULDER, edge_kinds
from grading.crew.lines import Line, with_more
from grading.crew.model import Crew
from grading.geometry.tolerances import pieces_of
from grading.order.takeoff import Run
from grading.units import Unit, run, size, small_volume

_LEAST_EDGE = 0.01  # m; less held edge is rounding


def spikes(
    runs: tuple[tuple[float, bool], ...], piece: float, crew: Crew, spacing: float | None = None
) -> int:
    """Return the spikes of an edge restraint; common practice, no source.

    Parameters
    ----------
    runs : tuple of (float, bool)
        Length of each run [m], and whether it closes on itself.
    piece : float
        Length of a piece of edge restraint. [m]
    crew : Crew
    spacing : float, optional
        One in how much; left out, that of edges that take no wheels. [m]

    Notes
    -----
    One to each spacing, one more at each end, three more at each joint; a ring has a joint more
    and no ends.
    """
    total, spacing = 0.0, spacing or crew["spike-spacing"]
    for long, closed in runs:
        pieces = pieces_of(long, piece)
        joints = pieces if closed else pieces - 1
        total += pieces_of(long, spacing)
        total += crew["spikes-at-joint"] * joints
        total += 0 if closed else 2 * crew["spikes-at-end"]
    return math.ceil(total)


def edge_lines(
    edge: str, runs: tuple[Run, ...], held: float, concrete: float, stone: str, unit: Unit,
    crew: Crew,
) -> Iterator[Line]:  # fmt: skip
    """Yield what the edge along some runs takes.

    Parameters
    ----------
    edge : str
        Its name in the table of edges.
    runs : tuple of Run
    held : float
        Length of free edge that something else holds. [m]
    concrete : float
        The section of its concrete, across the edge. [m2]
    stone : str
        What it stands on.
    unit : "ft" or "m"
        What `how` is written in.
    crew : Crew
    """
    long = sum(one.length for one in runs)
    ends = f"{run(long, unit)} of free edge in {len(runs)} run{'s' if len(runs) > 1 else ''}"
    also = ""
    if held > _LEAST_EDGE:
        also = f"; {run(held, unit)} more is held by a wall, a slope or what stands on it"
    if edge_kinds()[edge].fixing == "concrete":
        yield from _concrete(edge, long, concrete, ends + also, unit, crew)
        return
    yield with_more("edging", "edge restraint", "m", long, ends, crew["edging-waste"], also)
    if edge_kinds()[edge].fixing == "screws":
        spacing = crew["panel-screw-spacing"]
        count = sum(pieces_of(run.length, spacing) + 1 for run in runs)
        how = f"into the panels, one in {size(spacing, unit)} and one more for each run"
        yield Line("screws", "panel screws", "each", count, count, how)
        return
    ways = tuple((one.length, one.closed) for one in runs)
    spacing = crew["spike-spacing-wheels" if runs and runs[0].wheels else "spike-spacing"]
    count = spikes(ways, crew["edging-piece"], crew, spacing)
    how = (
        f"one in {size(spacing, unit)}, {crew['spikes-at-end']:.0f} more at each "
        f"end, {crew['spikes-at-joint']:.0f} more at each joint"
    )
    if edge == SHOULDER:
        how += "; into the shoulder of dense-graded base"
    elif stone == "open-graded":
        how += "; they do not hold in clean stone: give the edge a dense-graded shoulder"
    yield Line("spikes", "spikes", "each", count, count, how)


def _concrete(
    edge: str, long: float, section: float, ends: str, unit: Unit, crew: Crew
) -> Iterator[Line]:
    if edge == BORDER:
        yield with_more("border", "border units", "m", long, ends, crew["border-waste"])
    net = long * section * crew["concrete-density"]
    how = f"{small_volume(long * section, unit)} of it, {ends}"
    yield with_more("concrete", "concrete of the edge", "kg", net, how, crew["concrete-waste"])
