"""What is built beside and below the paving, as plain data in SI."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from grading.crew.model import Crew
from grading.records.fields import each, fields, finite, maybe
from grading.records.order import LINE
from grading.structures.drains.model import Drain
from grading.structures.model import Structure

_WORK = "task=title amount measure rate"


def structures_record(structures: Iterable[Structure], crew: Crew) -> list[dict[str, Any]]:
    """Return structures as plain data, ready for JSON: m, m2, m3, kg, m3/s.

    Parameters
    ----------
    structures : iterable of Structure
    crew : Crew
        Its figures make the lines.
    """
    return [_structure(one, crew) for one in structures]


def _structure(one: Structure, crew: Crew) -> dict[str, Any]:
    return {
        **fields(one, "kind name area said plain"),
        "dug": fields(one.dug, "bank topsoil put_back filled turfed"),
        "lines": each((line for maker in one.makers for line in maker.lines(crew)), LINE),
        "works": each(one.works, _WORK),
        "parts": sorted({solid.material for solid in one.solids}),
        **fields(one, "cautions not_counted"),
        **({"drain": _drain(one)} if isinstance(one, Drain) else {}),
    }


def _drain(one: Drain) -> dict[str, Any]:
    """Return where a drain is led to and what it takes; null what it has not, or is not known."""
    led, takes, well = one.led, one.capacity, one.well
    return {
        "runs": each(one.runs, "kind size line inverts"),
        "outlet": None if led is None else {
            "name": led.outlet,
            "low_enough": led.reached if led.known else None,
            "z": finite(led.z),
            "slope": finite(led.slope),
            "least_slope": led.least,
            "too_high_by": finite(led.short),
        },
        "capacity": None if takes is None else {
            "parts": dict(takes.parts), "governs": takes.governing[0], "coming": takes.coming
        },
        "cover": maybe(one.cover, "least shallow"),
        "well": None if well is None else {
            **fields(well, "drained needed stone sides soak tested from_house"),
            "hours": finite(well.hours),
        },
    }  # fmt: skip
