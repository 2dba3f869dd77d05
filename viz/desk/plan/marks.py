"""What a yard has beside its paving, on the page: what bounds it, where water goes, the survey."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from contextlib import suppress
from typing import Any

import numpy as np
import shapely

from grading.pipeline import Plan
from grading.reading.partly import Partly
from grading.reading.survey_table import LEFT_OUT, row_of
from grading.site.model import Spots
from grading.units import Unit, length, read_length, size
from grading.water.ponds import pond_of
from viz.desk.places import place, placed, point_ways, rings
from viz.desk.survey.settling import entries
from viz.words.figures import DIRT
from viz.words.paving.structures import structures_in

MOST_SPOTS = 600
"""Spots that are drawn, those that stand out first: more would be one grey."""


def marks_view(document: Mapping[str, Any], partly: Partly) -> list[dict[str, Any]]:
    """Return everything that is a point, a line or a small thing, each with its points.

    Parameters
    ----------
    document : mapping
        The site file as TOML has it.
    partly : Partly
        What of it can be read.
    """
    unit = partly.unit
    found = [*_lines(document, partly), *_spouts(document, partly), *_things(document, partly)]
    ground = document.get("ground", {})
    for k, crease in enumerate(ground.get("breaklines", [])):
        if not isinstance(crease, list):
            break
        points = [xy[:2] for xy in crease if isinstance(xy, list) and _numbers(xy[:2])]
        if len(points) > 1:
            at = f"ground/breaklines/{k}"
            found.append(_mark(at, "crease", "crease of the ground", points, []))
    for kind, many in (("benchmark", partly.benchmarks), ("reference", partly.references)):
        for way, each in many.items():
            if kind == "reference" and hasattr(each, "at"):
                found.append(_mark(way, kind, each.name, [place(each.at, unit)], [f"{way}/at"]))
    return found


def _numbers(values: list[Any]) -> bool:
    return all(isinstance(each, int | float) for each in values)


def _lines(document: Mapping[str, Any], partly: Partly) -> Iterator[dict[str, Any]]:
    unit = partly.unit
    for kind, many in (
        ("ceiling", partly.ceilings), ("floor", partly.floors), ("meet", partly.meets),
        ("outfall", partly.outfalls),
    ):  # fmt: skip
        for way, each in many.items():
            called = each.name or getattr(each, "kind", None) or "what is met"
            level = "" if each.z is None else length(float(np.min(each.z)), unit)
            points = placed(each.at, unit)
            ways = point_ways(f"{way}/at", _written(document, way).get("at"), len(points))
            words = {"meet": "meets "}.get(kind, "") + called
            mark = _mark(way, kind, f"{words} {level}".strip(), points, ways)
            mark["what"] = getattr(each, "kind", None) or ""
            mark["closed"] = bool(getattr(each, "closed", False))
            yield mark


def _spouts(document: Mapping[str, Any], partly: Partly) -> Iterator[dict[str, Any]]:
    unit = partly.unit
    for way, spout in partly.downspouts.items():
        points, ways = [place(spout.at, unit)], [f"{way}/at"]
        turns = [] if spout.via is None else placed(spout.via, unit)
        if spout.to is not None:
            points += [*turns, place(spout.to, unit)]
            via = _written(document, way).get("via")
            ways += [*point_ways(f"{way}/via", via, len(turns)), f"{way}/to"]
        yield _mark(way, "downspout", spout.name or "downspout", points, ways)


def _things(document: Mapping[str, Any], partly: Partly) -> Iterator[dict[str, Any]]:
    unit = partly.unit
    for way, thing in partly.features.items():
        middle = thing.polygon.centroid.coords[0] if thing.at is None else thing.at
        ways = [] if thing.at is None else [f"{way}/at"]
        mark = _mark(way, "feature", thing.name or thing.kind, [place(middle, unit)], ways)
        yield {**mark, "what": thing.kind, "rings": rings(thing.polygon, unit)}
    for way, step in partly.steps.items():
        if step.at is not None:
            yield _mark(way, "step", "steps to the lawn", [place(step.at, unit)], [f"{way}/at"])
    for k, hold in enumerate(document.get("hold", [])):
        at = hold.get("at") if isinstance(hold, Mapping) else None
        if isinstance(at, list) and at and all(isinstance(p, list) and _numbers(p) for p in at):
            called = f"{hold.get('kind', 'held')} here"
            yield _mark(f"hold/{k}", "hold", called, at, point_ways(f"hold/{k}/at", at, len(at)))


def _mark(
    way: str, kind: str, label: str, points: list[list[float]], ways: Any
) -> dict[str, Any]:  # fmt: skip
    return {"at": way, "kind": kind, "label": label, "points": points, "ways": list(ways)}


def _written(document: Mapping[str, Any], way: str) -> Mapping[str, Any]:
    key, number = way.split("/")
    found: Mapping[str, Any] = document[key][int(number)]
    return found


def spots_view(
    document: Mapping[str, Any], partly: Partly, suspects: Iterable[str]
) -> list[dict[str, Any]]:
    """Return the spots with their levels, and whether each fits, stands out or was left out.

    Parameters
    ----------
    document : mapping
        The site file as TOML has it.
    partly : Partly
        What of it can be read.
    suspects : iterable of str
        What settles each spot that stands out: its id or its line.
    """
    spots, unit = partly.spots, partly.unit
    if spots is None:
        return []
    standing = dict.fromkeys(_named(suspects, spots), "stands out")
    left, levels = _settled(document, spots, unit)
    standing |= dict.fromkeys(left, "left out")
    rows = [*standing, *(row for row in range(len(spots.xyz)) if row not in standing)]
    return [
        {
            "id": spots.ids[row] if row < len(spots.ids) else str(row + 1),
            "xy": place(spots.xyz[row], unit),
            "level": length(levels.get(row, float(spots.xyz[row, 2])), unit, DIRT),
            "standing": standing.get(row, "fits"),
        }
        for row in rows[:MOST_SPOTS]
    ]


def _settled(
    document: Mapping[str, Any], spots: Spots, unit: Unit
) -> tuple[list[int], dict[int, float]]:
    """Return the rows that are left out, and the levels that stand for those read again. [m]"""
    left: list[int] = []
    levels: dict[int, float] = {}
    for each in entries(document):
        row = row_of(str(each.get("id", "")), spots)
        if row is None:
            continue
        if each.get("as") == LEFT_OUT:
            left.append(row)
        elif "z" in each:
            with suppress(ValueError, TypeError):  # what cannot be read is told in the sheet
                levels[row] = read_length(each["z"], unit)
    return left, levels


def _named(words: Iterable[str], spots: Spots) -> list[int]:
    return [row for word in words if (row := row_of(word, spots)) is not None]


def structures_view(plan: Plan | None, stale: bool) -> dict[str, Any]:
    """Return what is built and where water stands, of what was worked out already.

    Neither is worked out for the plan: the numbers are not held up by it.
    """
    worked_out = () if plan is None or stale else vars(plan)
    built: list[dict[str, Any]] = []
    low: list[dict[str, Any]] = []
    if plan is not None and "order" in worked_out:
        unit = plan.site.unit
        built = [
            {
                "kind": each.kind,
                "name": each.name,
                "rings": rings(shapely.union_all([one.footprint for one in each.solids]), unit),
            }
            for each in structures_in(plan.order)
        ]
    if plan is not None and "water" in worked_out:
        unit = plan.site.unit
        low = [
            {
                "label": f"low spot {number}: {size(spot.depth, unit)}",
                "xy": place(spot.at, unit),
                "rings": rings(pond_of(plan.water, spot), unit),
            }
            for number, spot in enumerate(plan.water.low_spots, start=1)
        ]
    return {"structures": built, "low_spots": low}
