"""Where the free edge of paving stands highest and lowest over the ground."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from grading.dig.edge_runs import EdgeRun

Place = tuple["EdgeRun", int]  # a run, and the number of a point of it


def extremes(area: Any) -> tuple[Place, Place] | None:
    """Return where the finish stands least and most above the ground along the free edges."""
    places = [
        (float(run.height[k]), number, k)
        for number, run in enumerate(area.edge_runs)
        for k in np.flatnonzero(np.isfinite(run.height)).tolist()
    ]
    if not places:
        return None
    # Where all stand alike the two are told at the two ends, so that neither hides the other.
    most = max(places, key=lambda one: (round(one[0], 4), -one[1], -one[2]))
    least = min(places, key=lambda one: (round(one[0], 4), -one[1], -one[2]))
    runs = area.edge_runs
    return (runs[least[1]], least[2]), (runs[most[1]], most[2])
