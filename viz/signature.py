"""Whether a plan may be signed: the one sentence that every drawing, picture, page and sheet has.

Each kind of output has its own way to put it at its head; none words it itself.
"""

from __future__ import annotations

from grading.design.model import Design
from grading.signs import listed

COLOUR, ON_IT = "#8f1d1d", "#ffffff"
"""Of the band, and of the words on it."""

_NAMED = 3  # spots; the check names more, the band is one line


def not_for_signature(plan: Design) -> str:
    """Return why a plan is not for signature, or "" where nothing stands against it.

    Parameters
    ----------
    plan : Design
    """
    shots = plan.ground.shots
    if shots is None or not shots.suspects:
        return ""
    names = [each.name.removeprefix("spot ") for each in shots.suspects]
    more = len(names) - _NAMED
    if more > 0:
        told = f"spots {', '.join(names[:_NAMED])} and {more} more are"
    elif len(names) > 1:
        told = f"spots {listed(names)} are"
    else:
        told = f"spot {names[0]} is"
    return f"NOT FOR SIGNATURE until {told} read again"
