"""A layer as it was built, as plain data: lengths in m, volumes in m3, slopes as ratios."""

from __future__ import annotations

from typing import Any

from msgspec import to_builtins

from grading.asbuilt.model import AsBuilt
from grading.asbuilt.straightedge import Straightedge
from grading.catalogue.rules import RULES
from grading.records.fields import each, fields, finite, maybe

SCHEMA = "fallaway/verify/1"


def asbuilt_record(found: tuple[AsBuilt, ...]) -> dict[str, Any]:
    """Return what was built of some areas as plain data, ready for JSON.

    Parameters
    ----------
    found : tuple of AsBuilt
        Of one layer.
    """
    first = found[0]
    return {
        "schema": SCHEMA,
        "site": first.design.site.name,
        "layer": first.layer,
        "areas": [area_record(one) for one in found],
        "failed": any(one.failed for one in found),
    }


def area_record(found: AsBuilt) -> dict[str, Any]:
    """Return one layer of one area as plain data."""
    unit = found.design.site.unit
    return {
        "name": found.area.area.name,
        "base": found.area.chosen,
        "tolerance": {"value": found.tolerance, "source": RULES[found.rule].source_in(unit)},
        "shots": each(found.shots, "name at z design off status"),
        "walls": [{**to_builtins(wall), "odd": list(wall.odd)} for wall in found.walls],
        "planes": [to_builtins(plane) for plane in found.planes],
        "straightedge": maybe(found.straightedge, _board),
        "thickness": maybe(found.thickness, to_builtins),
        "to_dig": found.to_dig,
        "to_dig_within": maybe(found.to_dig_within, "low high"),
        "to_add": found.to_add,
        "to_add_within": maybe(found.to_add_within, "low high"),
        **fields(found, "covered share_within failed"),
    }


def _board(board: Straightedge) -> dict[str, Any]:
    return {
        **fields(board, "gap at limit sd"),
        "apart": finite(board.apart),
        **fields(board, "status=verdict places"),
    }
