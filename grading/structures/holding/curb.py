"""A curb of concrete along a low raised edge, on a pad of dense-graded base."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise

import numpy as np
import shapely

from grading.crew.lines import Line, Maker, stone_line, with_more
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.dig.hole import Dig
from grading.geometry.arrays import polygons
from grading.geometry.free_edges import stretch as part_of_line
from grading.geometry.tolerances import pieces_of
from grading.structures.holding.block_wall import strip_along
from grading.structures.holding.earth import Trench, dug_for
from grading.structures.holding.stretches import Stretch
from grading.structures.model import Solid, Structure
from grading.units import FOOT, Unit, run, size, small_volume

_PIECE = 2 * FOOT  # own: m, how often the bottom of its trench is told anew along a fall
_CONCRETE, _PAD = "concrete", "dense-graded"


def curb_structure(
    plan: Design, area: AreaPlan, dig: Dig, name: str, stretch: Stretch, plain: str
) -> Structure:
    """Return a curb as it is built along a stretch of an area's edge on a base system.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
    dig : Dig
        One of the area's.
    name : str
    stretch : Stretch
    plain : str
        What is said of all curbs of the area to who pays for them.

    Notes
    -----
    It is cast along the finish, so it falls with it; the pad under it does too.
    """
    crew, unit = plan.crew, plan.site.unit
    wide, high, thick = crew["curb-width"], curb_height(crew), crew["curb-pad"]
    spread = max(crew["curb-pad-width"] - wide, 0.0) / 2
    pieces = _pieces(stretch.line)
    solids: list[Solid] = []
    trenches: list[Trench] = []
    pad = 0.0
    for piece in pieces:
        at = shapely.get_coordinates(piece)
        top = float(np.mean(area.finish.surface.at(at)))
        under = strip_along(piece, -spread, wide + spread)
        solids.append(Solid(_CONCRETE, strip_along(piece, 0.0, wide), top - high, top))
        solids.append(Solid(_PAD, under, top - high - thick, top - high))
        trenches.append((under, top - high - thick))
        pad += float(shapely.area(under)) * thick
    long = stretch.length
    said = (
        f"{name}: {run(long, unit, 1)} of concrete {size(wide, unit)} wide and {size(high, unit)} "
        f"high along the edge, which stands {_span(stretch, unit)} above the ground, on a pad of "
        f"dense-graded base {size(thick, unit)} thick"
    )
    return Structure(
        kind="curb",
        name=name,
        area=area.name,
        solids=tuple(solids),
        makers=(
            Maker(_concrete, (name, long, crew["curb-section"], unit)),
            Maker(_pad, (name, pad, thick, unit)),
        ),
        dug=dug_for(plan, area, dig, trenches),
        said=said,
        plain=plain,
        stands=polygons(strip_along(stretch.line, 0.0, wide + spread)),
    )


def curbs_plain(area: str, stretches: Sequence[Stretch], unit: Unit) -> str:
    """Say what all curbs of an area are, to who pays for them."""
    long = run(sum(each.length for each in stretches), unit, 1)
    high = size(max(float(each.heights.max()) for each in stretches), unit)
    start = f"A curb of concrete, {long} long, holds"
    if len(stretches) > 1:
        start = f"Curbs of concrete, {long} long in all, hold"
    return f"{start} the edge of {area} where it stands up to {high} above the lawn"


def curb_height(crew: Crew) -> float:
    """Return how high a curb is, what stands in the ground included. [m]"""
    return crew["curb-section"] / crew["curb-width"]


def _span(stretch: Stretch, unit: Unit) -> str:
    low, high = (size(float(end), unit) for end in (stretch.heights.min(), stretch.heights.max()))
    return high if low == high else f"{low} to {high}"


def _pieces(line: shapely.LineString) -> Sequence[shapely.LineString]:
    points = shapely.get_coordinates(line)
    bounds = np.linspace(0.0, float(line.length), pieces_of(float(line.length), _PIECE) + 1)
    return [part_of_line(points, float(low), float(high)) for low, high in pairwise(bounds)]


def _concrete(name: str, long: float, section: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    net = long * section * crew["concrete-density"]
    how = f"{small_volume(long * section, unit)} of it along {run(long, unit)}"
    yield with_more("concrete", f"concrete of {name}", "kg", net, how, crew["concrete-waste"])


def _pad(name: str, compacted: float, thick: float, unit: Unit, crew: Crew) -> Iterator[Line]:
    how = f"{size(thick, unit)} thick, {small_volume(compacted, unit)} compacted"
    yield stone_line("dense-graded", f"pad of {name}", compacted, how, crew)
