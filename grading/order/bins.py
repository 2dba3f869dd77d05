"""How many bins the spoil may fill, as well as the ground is known."""

from __future__ import annotations

from grading.order.hauling import loads
from grading.order.model import Order


def bins_between(order: Order) -> tuple[int, int] | None:
    """Return the least and the most bins of soil that the whole job may fill, nine times in ten.

    None where the spots are too few to say how well the ground is known.

    Parameters
    ----------
    order : Order

    Notes
    -----
    What the ground lies higher or lower than drawn is subsoil: topsoil is as deep as it was probed.
    """
    known = order.plan.uncertainty
    if known is None:
        return None
    crew, soil, spoil = order.crew, order.plan.site.ground.soil, order.total.haul.spoil

    # How well the ground is known is told of the holes of the paving, trenches beside them apart.
    drawn = order.plan.dug

    def count(cut: float) -> int:
        more = cut - drawn
        loose = max(spoil.loose + more * (1 + crew[f"{soil}-swell"]), 0.0)
        mass = max(spoil.mass + more * crew[f"{soil}-bank"], 0.0)
        return loads(loose, mass, crew["bin-volume"], crew["bin-mass"]).count

    return count(known.cut.low), count(known.cut.high)
