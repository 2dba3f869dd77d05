"""What a level thing stands on, in words: who says so, and what asks for it.

The report, the checks, the details and the order all tell it in these sentences.
"""

from __future__ import annotations

from grading.conditions.seats import Seat
from grading.units import Unit, size


def stands_words(seat: Seat) -> str:
    """Say what a thing stands on and whether that was given: "on bedding, as the site says".

    Parameters
    ----------
    seat : Seat
    """
    what = "a base of its own" if seat.stands == "own base" else "bedding"
    if not seat.given:
        return f"on {what}, as advised, for the site does not say"
    if seat.stands == seat.advised:
        return f"on {what}, as the site says"
    other = "bedding would do" if seat.advised == "bedding" else "a base of its own is advised"
    return f"on {what}, as the site says, where {other}"


def why_words(seat: Seat, unit: Unit) -> str:
    """Say what asks for a base of its own under a thing, or that its wedge allows bedding.

    Parameters
    ----------
    seat : Seat
    unit : "ft" or "m"
    """
    thick, limit = size(seat.wedge.greatest, unit), size(seat.limit, unit)
    if not seat.why:
        return f"its wedge of bedding is up to {thick} thick, within the {limit} allowed"
    said = {
        "kind": f"a {seat.feature.kind} asks for one, whatever the wedge",
        "fire": "it burns wood, and panels are plastic",
        "wedge": f"on bedding its wedge would be up to {thick}, more than the {limit} allowed",
    }
    if seat.feature.height is not None and seat.height_limit is not None:
        high, most = size(seat.feature.height, unit), size(seat.height_limit, unit)
        said["height"] = f"it is {high} high, on panels at most {most}"
    return "; ".join(said[each] for each in seat.why)
