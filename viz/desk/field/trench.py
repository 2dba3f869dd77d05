"""The screen in the trench as plain data: stakes, levels of every layer, benchmarks, tolerances.

The page takes a level from the line of sight by itself, where no laptop is at hand, exactly as
`grading.setout.instrument` does; so levels and limits are told in metres, as they are, and what is
told once for all in words.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from grading.asbuilt.layers import LayerName
from grading.catalogue.rules import RULES
from grading.design.area import AreaPlan
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import ROUNDING
from grading.pipeline import Plan
from grading.reading.partly import partly_of
from grading.setout.instrument import benchmarks_of, rod_marks, rounding_of, step_on
from grading.setout.model import AreaStakes, Layer, SetOut, Stake, set_out
from grading.setout.number import set_out_number
from grading.setout.words import depth_words, dug_words
from grading.units import FOOT, INCH, METRES, Unit, length, size
from grading.units.rods import ROD_FORMS, ROD_UNITS, RodUnit
from viz.desk.plan.view import turn_of
from viz.sheets.crew.sheet import NOT_TO_BE_BUILT
from viz.words.field.trench import BEYOND, LABELS, LIES, MARKS, UNTIL, VERDICT
from viz.words.lookouts import forbidden

_BUILT: Mapping[str, LayerName] = {
    "subgrade": "subgrade", "base": "base", "bedding": "bedding", "finish": "surface",
}  # fmt: skip
_DECIMALS: Mapping[RodUnit, tuple[float, int]] = {
    "ft-in": (INCH, 0), "ft": (FOOT, 2), "m": (1.0, 3), "cm": (0.01, 1), "mm": (1e-3, 0),
}  # fmt: skip
_AROUND = 0.14  # of the paving's width: what of the house is seen beside it
_THIN = 0.004  # m: what no eye sees on a plan as large as a stamp


def trench(
    plan: Plan, revision: int = 0, step: float | None = None, found: SetOut | None = None
) -> dict[str, Any]:
    """Return all that the screen in the trench shows.

    Parameters
    ----------
    plan : Plan
    revision : int
        Of the document that it is of, 0 where it is of a file.
    step : float, optional
        What rods are told to the nearest of; 1/16 in on a rod in feet, 1 mm on one in metres, where
        it is left out. [m]
    found : SetOut, optional
        Its stakes; those of the crew's sheet where they are left out.

    Returns
    -------
    dict
        Ready for JSON. Where `stop` says why, no rod is to be told: as on the crew's sheet. Places
        are told in the site's unit, `plan` in metres, turned so that the house is at the top;
        levels, limits and steps in metres.
    """
    found = found or set_out(plan)
    site, limits = plan.site, plan.limits
    again = limits["built-again"]
    turned = Turned(plan)
    return {
        "number": set_out_number(found),
        "revision": revision,
        "unit": site.unit,
        "metres": METRES[site.unit],
        "rod": rod_marks(None, site),
        "rod_length": limits["rod-length"],
        "marks": [_marks(marks, step) for marks in ROD_UNITS],
        "rounding": ROUNDING,
        "inch": INCH,
        "foot": FOOT,
        "benchmarks": [
            {"name": name, "z": z, "level": length(z, site.unit)}
            for name, z in benchmarks_of(site).items()
        ],
        "again": {"limit": again, "words": size(again, site.unit)},
        "closes": limits["level-misclosure"],
        "areas": [_area(found, each, turned) for each in found.areas],
        "plan": turned.record(),
        "stop": {"title": NOT_TO_BE_BUILT, "why": list(forbidden(plan))},
        "verdict": dict(VERDICT),
        "labels": dict(LABELS),
    }


def built_layers(each: AreaStakes) -> dict[str, LayerName]:
    """Return the surfaces of an area that shots are held against, by their names on its stakes.

    Parameters
    ----------
    each : AreaStakes
    """
    found: dict[str, LayerName] = {}
    for layer in _surfaces(each):
        kind = _BUILT.get(layer.role)
        # The topmost of several beds is what `depth_of_layer` holds shots of it against.
        if kind is not None and kind not in found.values():
            found[layer.name] = kind
    return found


def _surfaces(each: AreaStakes) -> Sequence[Layer]:
    """Return the surfaces of an area's stakes, the finish first."""
    levelled = [stake for stake in each.stakes if stake.layers]
    most = max(levelled, key=lambda stake: len(stake.layers))
    return tuple(reversed(most.layers))


def _area(found: SetOut, each: AreaStakes, turned: Turned) -> dict[str, Any]:
    plan, unit = found.design, found.design.site.unit
    built = built_layers(each)
    return {
        "name": each.area.area.name,
        "base": each.area.chosen_dig.system.called,
        "layers": [_layer(plan.limits, layer, built, unit) for layer in _surfaces(each)],
        "stakes": [_stake(found, stake, turned) for stake in each.stakes if stake.layers],
    }


def _layer(limits: Any, layer: Layer, built: Mapping[str, LayerName], unit: Unit) -> dict[str, Any]:
    kind = built.get(layer.name)
    told: dict[str, Any] = {
        "name": layer.name,
        "role": layer.role,
        "until": UNTIL.get(layer.role, LIES),
        "built": kind,
    }
    if kind is not None:
        rule = f"built-{kind}"
        told["tolerance"] = limits[rule]
        told["within"] = size(limits[rule], unit)
        told["source"] = RULES[rule].source_in(unit)
        told["beyond"] = dict(BEYOND[kind])
    return told


def _stake(found: SetOut, stake: Stake, turned: Turned) -> dict[str, Any]:
    unit = found.design.site.unit
    return {
        "name": stake.name,
        "where": found.design.places.at(stake.at),
        "at": [float(v) / METRES[unit] for v in stake.at],
        "dot": turned.at(stake.at),
        "z": {layer.name: layer.z for layer in stake.layers},
        "level": {layer.name: length(layer.z, unit) for layer in stake.layers},
        "lawn": {layer.name: lawn_words(stake, layer, unit) for layer in stake.layers},
        "known": "" if stake.either_way is None else f"± {depth_words(stake.either_way, unit)}",
        "note": stake.note,
    }


def lawn_words(stake: Stake, layer: Layer, unit: Unit) -> str:
    """Say how a surface lies to the lawn of today at a stake; empty where that was not surveyed.

    Parameters
    ----------
    stake : Stake
    layer : Layer
        One of its layers.
    unit : "ft" or "m"
    """
    if stake.existing is None:
        return ""
    if layer.role != "finish":
        return dug_words(stake.existing - layer.z, unit)
    over = layer.z - stake.existing
    return f"{depth_words(over, unit)} {'above' if over >= 0 else 'below'} the lawn"


def _marks(marks: RodUnit, step: float | None) -> dict[str, Any]:
    factor, decimals = _DECIMALS[marks]
    family: Unit = "ft" if marks in ("ft-in", "ft") else "m"
    return {
        "name": marks, "label": MARKS[marks], "metres": factor, "decimals": decimals,
        "form": ROD_FORMS[marks], "step": step_on(marks, step or rounding_of(None, family)),
    }  # fmt: skip


class Turned:
    """The yard in plan, turned by quarters so that the house is at the top, y down. [m]

    Parameters
    ----------
    plan : Plan
    area : AreaPlan, optional
        What is looked at; all of them where it is left out.
    """

    def __init__(self, plan: Plan, area: AreaPlan | None = None) -> None:
        self._plan = plan
        seen = plan.areas if area is None else (area,)
        shapes = shapely.union_all([each.outline for each in seen])
        turn = np.radians(turn_of(partly_of(plan.site)))
        cos, sin = np.round(np.cos(turn)), np.round(np.sin(turn))
        self._matrix = np.array([[cos, -sin], [-sin, -cos]])
        west, north, east, south = self._of(shapes).bounds
        edge = _AROUND * max(east - west, south - north)
        self._box = west - edge, north - edge, east - west + 2 * edge, south - north + 2 * edge

    def at(self, xy: Floats | tuple[float, float]) -> list[float]:
        """Return where a point is drawn."""
        return [round(float(v), 3) for v in self._matrix @ np.asarray(xy)]

    def record(self) -> dict[str, Any]:
        """Return what is drawn under the stakes."""
        house = self._plan.site.house
        lines = [] if house is None else [np.array([a, b]) for a, b, _ in house.segments()]
        return {
            "box": [round(float(v), 3) for v in self._box],
            "house": " ".join(self._path(line) for line in lines),
            "areas": [self._outline(area.outline) for area in self._plan.areas],
        }

    def _of(self, shape: BaseGeometry) -> BaseGeometry:
        turned: BaseGeometry = shapely.transform(shape, lambda xy: xy @ self._matrix.T)
        return turned

    def _outline(self, outline: shapely.Polygon) -> str:
        rough = shapely.simplify(outline, _THIN)
        rings = [rough.exterior, *rough.interiors]
        return " ".join(f"{self._path(np.asarray(ring.coords)[:-1])}Z" for ring in rings)

    def _path(self, points: Floats) -> str:
        return "M" + "L".join(f"{x:.3f} {y:.3f}" for x, y in points @ self._matrix.T)
