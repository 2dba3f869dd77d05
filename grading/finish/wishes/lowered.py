"""Edges that are to stand no higher above the ground than a site says, as a wish of the finish."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from grading.finish.layout import Block
from grading.finish.wishes.held_edges import holders_of
from grading.finish.wishes.model import Wish
from grading.finish.wishes.of_site import NEARBY, Maker
from grading.geometry.arrays import Floats
from grading.geometry.free_edges import free_edges
from grading.ground.model import Ground
from grading.site.hold_table import Hold
from grading.site.model import Area, Site
from grading.units import size

_EVERY = 0.25  # m: how often an edge is looked at


def lowered_points(site: Site, area: Area, hold: Hold, ground: Ground) -> Floats:
    """Return the places of the edge that a table speaks of, (k, 3), the ground beside them. [m]

    Parameters
    ----------
    site : Site
    area : Area
        Whose edge it is.
    hold : Hold
    ground : Ground
        Existing.
    """
    found = [np.zeros((0, 3))]
    for line in free_edges(area.polygon, *holders_of(site, area)):
        points = shapely.get_coordinates(shapely.segmentize(line, _EVERY))
        if hold.at is not None:
            side = shapely.LineString(hold.at)
            away = shapely.distance(side, shapely.points(points))
            # Round a corner the nearest place of that side is its end.
            opposite = shapely.get_coordinates(shapely.shortest_line(side, shapely.points(points)))
            back = shapely.distance(line, shapely.points(opposite[::2]))
            points = points[(away <= NEARBY) & (away <= back + _EVERY)]
        z = ground.elevation(points)
        known = np.isfinite(z)
        found.append(np.column_stack([points[known], z[known]]))
    return np.vstack(found)


def lowered_wishes(site: Site, block: Block, ground: Ground) -> Iterator[Wish]:
    """Yield what a site wishes of edges that are to stand lower.

    Parameters
    ----------
    site : Site
    block : Block
        The area, its shape, and its share of the unknowns.
    ground : Ground
        Existing.
    """
    area, maker = block.area, Maker(block, site.unit)
    for hold in site.holds_of(area.name):
        if hold.kind != "lower finish" or hold.height is None:
            continue
        points = lowered_points(site, area, hold, ground)
        if len(points):
            words = f"the edge of {area.name}"
            yield maker.make(
                "lower-finish",
                f"at most {size(hold.height, site.unit)} above the ground along {words}",
                f"{words}, which is to stand lower: {{by}} too low",
                maker.rows(points[:, :2]), upper=points[:, 2] + hold.height, about=words,
                limit=hold.height,
            )  # fmt: skip
