"""Where a survey came from and how its levels close, as plain data in SI."""

from __future__ import annotations

from typing import Any

import numpy as np

from grading.records.fields import each, fields, finite
from grading.site.model import Site
from grading.survey.levels import LevelPoint, Levels, levels_of
from grading.survey.setups import Setup
from grading.survey.taped import Taped, TiedPoint, taped_of

LEVELS, TIES = "fallaway/levels/1", "fallaway/ties/1"

_SIGHT = "kind point=name line=row.line reading=booked distance=row.distance"
_PAGE = "file setups backsights foresights first last holds"
_CLOSURE = (
    "point=closing.sight.name file=closing.file line=closing.sight.row.line misclosure=off limit "
    "third_order status setups between_benchmarks=closing.between"
)


def survey_record(site: Site) -> dict[str, Any]:
    """Return the files of a survey with how well they know the ground, and how its levels close.

    Parameters
    ----------
    site : Site
    """
    spots, levels = site.spots, levels_of(site)
    files = {file: number for number, file in enumerate(dict.fromkeys(spots.sources))}
    of = np.array([files[file] for file in spots.sources], dtype=int)
    return {
        "sources": [
            {
                "file": file,
                "spots": int((of == number).sum()),
                "sd_z": float(np.median(spots.sd_z[of == number])),
                "sd_xy": float(np.median(spots.sd_xy[of == number])),
            }
            for file, number in files.items()
        ],
        "closure": None if levels is None else _closed(levels),
    }


def _closed(levels: Levels) -> dict[str, Any]:
    worst = levels.worst
    return {
        "misclosure": None if worst is None else worst.off,
        "limit": None if worst is None else worst.limit,
        **fields(levels, "limit_source adjusted"),
    }


def levels_record(site: Site, levels: Levels) -> dict[str, Any]:
    """Return the level books of a site, reduced, as plain data: lengths in m.

    Parameters
    ----------
    site : Site
    levels : Levels
        Those of the site.
    """
    return {
        "schema": LEVELS,
        "site": site.name,
        "setups": [
            _setup(levels, place, setup) for place, setup in enumerate(levels.reduction.setups)
        ],
        "points": [_point(levels, taped_of(site), point) for point in levels.points],
        **_closed(levels),
        "closures": each(levels.closures, _CLOSURE),
        "page_check": each(levels.pages, _PAGE),
        "by_distance": levels.by_distance,
        "spread": finite(levels.spread),
        "collimation": {
            book.file: None if book.collimation is None else float(book.collimation)
            for book in site.levels
        },
        "faults": list(levels.faults),
        "warnings": [*levels.unchecked, *levels.close, *levels.warnings],
    }


def _setup(levels: Levels, place: int, setup: Setup) -> dict[str, Any]:
    return {
        **fields(setup, "file number"),
        "hi": float(levels.reduction.heights[place]),
        "hi_adjusted": levels.heights[place],
        "benchmark": setup.sights[0].name,
        "sights": [
            {
                **fields(sight, _SIGHT),
                "z": float(levels.reduction.heights[place] - sight.reading),
            }
            for sight in setup.sights
        ],
    }


def _point(levels: Levels, places: Taped, point: LevelPoint) -> dict[str, Any]:
    place = places.places.get(point.key)
    setup = levels.reduction.setups[point.setup]
    return {
        **fields(point, "name z raw sd"),
        "file": setup.file,
        "line": point.sight.row.line,
        "setup": setup.number,
        **fields(point, "inverted benchmark=fixed"),
        "at": None if place is None else place.xy.tolist(),
        "sd_xy": None if place is None else place.sd,
    }


def ties_record(site: Site, places: Taped) -> dict[str, Any]:
    """Return the points of a site that ties place as plain data: lengths in m.

    Parameters
    ----------
    site : Site
    places : Taped
        Those of the site.
    """
    return {
        "schema": TIES,
        "site": site.name,
        "points": [_tied(point) for point in places.tied],
        "faults": [text for text in (point.fault(site.unit) for point in places.tied) if text],
        "warnings": [text for point in places.tied for text in point.warnings(site.unit)],
    }


def _tied(point: TiedPoint) -> dict[str, Any]:
    fix, suspect = point.fix, point.fix.suspect
    return {
        **fields(point, "name file line xy=fix.xy covariance=fix.covariance"),
        "ellipse": {**fields(fix.ellipse, "major minor bearing"), "level": 0.95},
        "angle": fix.angle,
        "mirror": point.mirror or None,
        "ties": [
            {
                "to": name,
                "length": float(point.lengths[tie]),
                "residual": float(fix.residuals[tie]),
                "w": finite(float(fix.odd[tie])),
            }
            for tie, name in enumerate(point.references)
        ],
        "suspect": None
        if suspect is None
        else {"to": point.references[suspect], "off": fix.off(suspect)},
        "one_is_wrong": fix.astray,
    }
