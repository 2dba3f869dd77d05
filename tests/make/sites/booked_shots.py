"""Shots as a page books them, and the text that gives them back, written for tests by hand."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Any

from grading.pipeline import Plan
from grading.setout.model import set_out
from grading.setout.number import set_out_number
from grading.units import FOOT, INCH

HEAD = (
    "plan", "area", "stake", "layer", "x", "y", "z", "design", "reading", "rod marks", "benchmark",
    "benchmark z", "benchmark reading", "benchmark marks", "set up", "shot", "surface", "note",
)  # fmt: skip


def text_of(plan: Plan, off: float = 0.0, layers: Sequence[str] = ("subgrade",),
            stakes: Sequence[str] | None = None) -> str:  # fmt: skip
    """Write what a page gives, by the plan's own levels: every shot `off` above them. [in]"""
    found = set_out(plan)
    (each,) = found.areas
    out = io.StringIO()
    rows = csv.writer(out)
    rows.writerow(HEAD)
    door = plan.site.doors[0]
    benchmark = float(door.sill)
    sight = benchmark + 40 * INCH
    for layer in layers:
        for place, stake in enumerate(each.stakes):
            if not stake.layers or (stakes and stake.name not in stakes):
                continue
            wanted = stake.layer("finish" if layer == "surface" else layer).z
            z = wanted + off * INCH
            rows.writerow(
                [set_out_number(found), each.area.area.name, stake.name, layer, *(stake.at / FOOT),
                 z / FOOT,
                 wanted / FOOT, f"0 {(sight - z) / INCH % 12:.4f}", "ft-in", door.name,
                 benchmark / FOOT, "3 4", "ft-in", "2026-05-01T08:00:00.000Z",
                 f"2026-05-01T08:{place:02}:00.00{len(layer)}Z", layer, ""]
            )  # fmt: skip
    return out.getvalue()


def a_shot(minute: int, stake: str = "a", **more: Any) -> dict[str, Any]:
    """Return a shot as the page books it."""
    return {
        "id": f"2026-05-01T08:{minute:02}:00.000Z", "area": "patio", "stake": stake,
        "layer": "subgrade", "built": "subgrade", "reading": "4 2 1/8", "marks": "ft-in",
        "setup": "2026-05-01T07:00:00.000Z", "at": [5.0, 0.0], "z": 30.1, "wanted": 30.1, **more,
    }  # fmt: skip
