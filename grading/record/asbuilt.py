"""A layer as it was built, as plain data: lengths in m, volumes in m3, slopes as ratios."""

from __future__ import annotations

import math
from dataclasses import asdict
from typing import Any

from grading.asbuilt.model import AsBuilt
from grading.asbuilt.straightedge import Straightedge
from grading.catalogue.rules import RULES
from grading.record.fields import maybe

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
        "areas": [area_record(each) for each in found],
        "failed": any(each.failed for each in found),
    }


def area_record(found: AsBuilt) -> dict[str, Any]:
    """Return one layer of one area as plain data."""
    unit = found.design.site.unit
    thick = found.thickness
    return {
        "name": found.area.area.name,
        "base": found.area.chosen,
        "tolerance": {"value": found.tolerance, "source": RULES[found.rule].source_in(unit)},
        "shots": [
            {
                "name": shot.name,
                "at": list(shot.at),
                "z": shot.z,
                "design": shot.design,
                "off": shot.off,
                "status": shot.status,
            }
            for shot in found.shots
        ],
        "walls": [{**asdict(wall), "odd": list(wall.odd)} for wall in found.walls],
        "planes": [asdict(plane) for plane in found.planes],
        "straightedge": None if found.straightedge is None else _board(found.straightedge),
        "thickness": None if thick is None else asdict(thick),
        "to_dig": found.to_dig,
        "to_dig_within": maybe(found.to_dig_within, "low high"),
        "to_add": found.to_add,
        "to_add_within": maybe(found.to_add_within, "low high"),
        "covered": found.covered,
        "share_within": found.share_within,
        "failed": found.failed,
    }


def _board(board: Straightedge) -> dict[str, Any]:
    return {
        "gap": board.gap,
        "at": None if board.at is None else board.at.tolist(),
        "limit": board.limit,
        "sd": board.sd,
        "apart": board.apart if math.isfinite(board.apart) else None,
        "status": board.verdict,
        "places": [place.tolist() for place in board.places],
    }
