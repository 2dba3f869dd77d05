"""The finish for a spreadsheet: planes, folds, what else it could be, edges that areas share."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from grading.design.folds import folds_of, panes_of
from grading.design.steps import shared_edges
from grading.pipeline import Plan
from viz.table import Cells, Table, elevations, plan_areas, volumes
from viz.words.paving.edges import step_words


def finish_tables(plan: Plan) -> dict[str, Table]:
    """Return the tables of a plan's finish.

    Parameters
    ----------
    plan : Plan
    """
    return {
        "finish-planes": _planes(plan),
        "folds": _folds(plan),
        "finishes": _outcomes(plan),
        "shared-edges": _edges(plan),
    }


def _slope(ratio: float) -> float:
    """Return a slope to a millionth, a tenth of a millimetre in a hundred metres; no zero below."""
    return round(ratio, 6) + 0.0


def _planes(plan: Plan) -> Table:
    return Table.of(
        {
            "area": each.area.name, "plane": number, "z0 (m)": pane.plane.z0,
            "dzdx": _slope(pane.plane.dzdx), "dzdy": _slope(pane.plane.dzdy),
            "fall (%)": round(pane.plane.fall * 100, 3),
            "bearing (deg)": round(pane.plane.bearing, 2), **plan_areas("paved", pane.region.area),
        }
        for each in plan.areas
        for number, pane in enumerate(panes_of(each), start=1)
    )  # fmt: skip


def _folds(plan: Plan) -> Table:
    return Table.of(
        {
            "area": each.area.name,
            "fold": fold.kind,
            **_end("high", fold.line[0], fold.levels[0]),
            **_end("low", fold.line[1], fold.levels[1]),
            "fall along (%)": round(fold.fall * 100, 3),
        }
        for each in plan.areas
        for fold in folds_of(each)
    )


def _end(which: str, at: NDArray[np.float64], z: float) -> Cells:
    x, y = np.round(at, 4).tolist()
    return {f"x {which} (m)": x, f"y {which} (m)": y, **elevations(f"level {which}", float(z))}


def _outcomes(plan: Plan) -> Table:
    return Table.of(
        {
            "areas": " and ".join(area.name for area in group.group.areas),
            "finish": each.objective,
            "in use": "yes" if each.objective == group.aimed_at else "",
            **volumes("moved", each.moved),
            **volumes("cut", max(each.cut, 0.0)),
            **volumes("fill", max(each.fill, 0.0)),
            **volumes("dug and refilled with organics", each.work),
            **volumes("left over bank", each.hauled),
            "greatest fall (%)": round(each.greatest_fall * 100, 3),
        }
        for group in plan.groups
        for each in group.outcomes
    )


def _edges(plan: Plan) -> Table:
    return Table.of(
        {
            "upper": edge.upper, "lower": edge.lower, "how": step_words(edge, plan.site.unit, plan),
            "risers": edge.risers, "least drop (mm)": round(edge.drop[0] * 1000, 1) + 0.0,
            "greatest drop (mm)": round(edge.drop[1] * 1000, 1) + 0.0,
            "length (m)": round(edge.length, 3),
        }
        for edge in shared_edges(plan)
    )  # fmt: skip
