"""`fallaway ties`: points placed by tape from two references or more, printed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from tabulate import tabulate

from grading.errors import Problem, SiteError
from grading.records.survey import ties_record
from grading.site.model import Site
from grading.survey.taped import Taped
from grading.units import bearing, length, number, size
from viz.terminal.lines import in_json

_MIRROR = {
    "in or behind the house": "the other side lies in or behind the house",
    "by side": "on the side that is written",
    "by a third tie": "",
    "": "",
}


def no_ties(site: Site) -> SiteError:
    """Return the error of a site in which no point is placed by ties."""
    where = site.levels[0].file if site.levels else "site.toml, key levels"
    mend = 'Head columns of a level book "to A", "to B" with distances from a [[reference]].'
    return SiteError([Problem(where, "no ties", 'columns "to" a reference', mend)])


def as_json(site: Site, places: Taped) -> str:
    """Return the points that ties place as JSON in SI."""
    return in_json(ties_record(site, places))


def text(site: Site, places: Taped) -> str:
    """Return the points that ties place as they are printed in the terminal.

    Parameters
    ----------
    site : Site
    places : Taped
        Those of the site.
    """
    return "\n".join(_text(site, places))


def _text(site: Site, places: Taped) -> Iterator[str]:
    unit = site.unit
    yield f"{site.name}\nPlaces by ties, x and y in {unit}; off: as placed less as taped"
    headers = ("point", "x", "y", "95 % within", "along", "to", "taped", "off", "off / sd", "")
    rows = []
    for point in places.tied:
        fix, ellipse = point.fix, point.fix.ellipse
        for tie, name in enumerate(point.references):
            first = tie == 0
            odd = float(fix.odd[tie])
            rows.append(
                (
                    point.name if first else "",
                    number(round(float(fix.xy[0]), 4), unit) if first else "",
                    number(round(float(fix.xy[1]), 4), unit) if first else "",
                    size(ellipse.major, unit) + " / " + size(ellipse.minor, unit) if first else "",
                    bearing(ellipse.bearing) if first else "",
                    name,
                    length(float(point.lengths[tie]), unit),
                    size(float(fix.residuals[tie]), unit),
                    "not checked" if math.isnan(odd) else f"{odd:.1f}",
                    _MIRROR[point.mirror] if first else "",
                )
            )
    align = ("left", "right", "right", "right", "right", "left", "right", "right", "right", "left")
    yield tabulate(rows, headers, colalign=align, disable_numparse=True)
    for point in places.tied:
        fault = point.fault(unit)
        if fault:
            yield f"FAIL {fault}"
        for sentence in point.warnings(unit):
            yield f"look again: {sentence}"
