"""Where the water goes, for a spreadsheet: shares, low edges, low spots, downspouts."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.pipeline import Plan
from grading.water.words import verdict_words
from viz.table import Cells, Table, elevations


def water_tables(plan: Plan) -> dict[str, Table]:
    """Return the tables of a site's water.

    Parameters
    ----------
    plan : Plan
    """
    water = plan.water
    shares = Table.of(
        {
            "area": area.name, "destination": part.destination, "kind": part.kind,
            "share (%)": round(part.share * 100, 3), "verdict": verdict_words(water, area),
        }
        for area in water.areas
        for part in area.shares
    )  # fmt: skip
    edges = Table.of(
        {
            "area": area.name, "share (%)": round(edge.share * 100, 1), **_place(edge.at),
            **elevations("level", edge.z), "destination": edge.destination,
            "flow (L/s)": "" if area.runoff is None else round(edge.flow * 1000, 3),
        }
        for area in water.areas
        for edge in area.edges
    )  # fmt: skip
    spots = Table.of(
        {
            **_place(spot.at),
            "depth (mm)": round(spot.depth * 1000, 1),
            "water (L)": round(spot.volume * 1000, 1),
            **elevations("stands at", spot.level),
        }
        for spot in water.low_spots
    )
    spouts = Table.of(
        {
            "downspout": spout.name,
            "destination": spout.destination,
            "kind": spout.kind,
            "over": " and ".join(spout.crosses),
            "from the house (m)": "" if spout.from_house is None else round(spout.from_house, 3),
            "flow (L/s)": "" if spout.runoff is None else round(spout.runoff * 1000, 3),
        }
        for spout in water.downspouts
    )
    return {"water": shares, "low-edges": edges, "low-spots": spots, "downspouts": spouts}


def _place(at: NDArray[np.float64]) -> Cells:
    x, y = np.round(at, 3).tolist()
    return {"x (m)": x, "y (m)": y}
