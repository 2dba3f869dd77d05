"""What is built beside the paving, in a section: where a cut meets it, and what is said of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from msgspec.structs import replace
from shapely.geometry.base import BaseGeometry

from grading.geometry.tolerances import LEVEL
from grading.order.model import Order
from grading.section.built import Built, beside_built, built_in
from grading.section.cut import Cut
from grading.section.edge import holder
from grading.units import Unit, size
from viz.drawings.placing import Label
from viz.drawings.section.body import edge_tip
from viz.words.paving.edging import HELD, restraint_words
from viz.words.paving.materials import material_words

AT_EDGE = 1.0
"""What is built so far beyond an edge is shown with it. [m]"""

_ALL = 1e5  # m: beyond any elevation


def built_of(order: Order, cut: Cut) -> tuple[Built, ...]:
    """Return what a cut meets of all that is built on the bases chosen.

    Parameters
    ----------
    order : Order
    cut : Cut
    """
    structures = [
        each for area in order.areas for each in area.takeoffs[area.area.chosen].structures
    ]
    return built_in(structures, cut)


def clear_of(cut: Cut, built: Sequence[Built]) -> Cut:
    """Return a cut without what is not laid beside the paving where what is built stands."""
    return beside_built(cut, [(each.material, each.shape) for each in built])


def shown_in(built: Sequence[Built], window: BaseGeometry) -> tuple[Built, ...]:
    """Return what of each part lies in a window of the cut, so that no label points out of it."""
    return tuple(
        replace(each, shape=part)
        for each in built
        for part in shapely.get_parts(shapely.intersection(each.shape, window))
        if isinstance(part, shapely.Polygon) and not part.is_empty
    )


def strip_of(low: float, high: float) -> shapely.Polygon:
    """Return all of a cut between two distances along it, as high and as deep as any. [m]"""
    return shapely.box(low, -_ALL, high, _ALL)


def edge_label(cut: Cut, at: float, out: float) -> Label | None:
    """Return what holds an edge, beside a place within what is drawn of it; None where nothing is.

    Parameters
    ----------
    cut : Cut
    at : float
        The edge of the paving, a distance along the cut. [m]
    out : float
        +1 where the yard lies after it, -1 before it.
    """
    if cut.raised_at(at):
        middle = holder(cut, at, out).centroid
        return middle.x, middle.y, HELD
    tip = edge_tip(cut, at, out)
    return None if tip is None else (*tip, restraint_words(cut.system))


def built_labels(built: Sequence[Built], unit: Unit) -> Iterator[Label]:
    """Yield what each part of a structure is, with its height; courses alike are counted.

    Parameters
    ----------
    built : sequence of Built
    unit : "ft" or "m"
    """
    groups: dict[tuple[int, str, float], list[Built]] = {}
    for each in built:
        high = round(_high(each) / LEVEL)
        groups.setdefault((id(each.structure), each.material, high), []).append(each)
    for (_, material, _), parts in groups.items():
        top = max(parts, key=lambda part: float(part.shape.bounds[3]))
        at = top.shape.representative_point()
        count = f", {len(parts)} of" if len(parts) > 1 else ""
        yield at.x, at.y, f"{material_words(material)}{count} {size(_high(parts[0]), unit)}"


def _high(part: Built) -> float:
    """Return how high a part stands at its middle. [m]"""
    low, floor, high, roof = part.shape.bounds
    middle = (low + high) / 2
    line = shapely.LineString([(middle, floor - 1.0), (middle, roof + 1.0)])
    return float(part.shape.intersection(line).length)
