"""A drop of water run from anywhere on the page: its way, and where it ends."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import shapely

from grading.units import METRES
from grading.water.words import drop_words
from viz.desk.places import placed
from viz.desk.seen import Seen
from viz.words.plain import opened

NO_PLAN = "No drop runs before there is a plan."
_FARTHEST = 1e7  # m: what is farther is on no grid


def drop(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the way of a drop from a place, in the site's unit, and where it ends in words.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `at`, the place as [x, y], in the unit of the site.

    Returns
    -------
    dict
        `way`, a list of [x, y], empty off the map; `words`; `kind` of its end, or empty.
    """
    plan = seen.plan
    if plan is None:
        return {"way": [], "words": NO_PLAN, "kind": ""}
    try:
        at = np.array([float(each) for each in told["at"]][:2]) * METRES[plan.site.unit]
    except (KeyError, TypeError, ValueError):
        at = np.full(2, np.nan)
    if at.shape != (2,) or not (np.abs(at) < _FARTHEST).all():
        return {"way": [], "words": f"{opened(drop_words(None, 0.0, plan.site.unit))}.", "kind": ""}
    way, end = plan.water.path(at), plan.water.end(at)
    length = float(shapely.length(shapely.linestrings(way))) if len(way) > 1 else 0.0
    return {
        "way": placed(way, plan.site.unit),
        "words": f"{opened(drop_words(end, length, plan.site.unit))}.",
        "kind": "" if end is None else end[1],
    }
