"""`fallaway levels`: the level book as a crew would check it, printed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from tabulate import tabulate

from grading.errors import Problem, SiteError
from grading.records.survey import levels_record
from grading.site.model import Site
from grading.survey.closure import Closure
from grading.survey.levels import Levels, PageCheck
from grading.survey.setups import Sight
from grading.units import METRES, Unit, counted, size
from viz.terminal.lines import in_json

CURVATURE = "The curve of the earth and the bending of light are left out:"
_CURVED = {"ft": "1/100 in over 200 ft", "m": "0.25 mm over 60 m"}
"""0.0675 K² m, K in km: any text on surveying."""

RODS = {
    "ft-in": "feet and inches", "ft": "feet and hundredths", "m": "metres", "cm": "centimetres",
    "mm": "millimetres",
}  # fmt: skip
"""What a rod is marked in, in words."""


def no_book(site: Site) -> SiteError:
    """Return the error of a site that has no level book."""
    mend = "Write [[levels]] with a file and its rod, and a [[benchmark]]; see README."
    found = f"a site whose levels come from {site.spots.file}"
    return SiteError([Problem("site.toml, key levels", found, "[[levels]]", mend)])


def as_json(site: Site, levels: Levels) -> str:
    """Return the level books of a site, reduced, as JSON in SI."""
    return in_json(levels_record(site, levels))


def text(site: Site, levels: Levels) -> str:
    """Return the level books of a site, reduced, as they are printed in the terminal.

    Parameters
    ----------
    site : Site
    levels : Levels
        Those of the site.
    """
    return "\n".join(_text(site, levels))


def tilted_words(tilt: float, unit: Unit) -> str:
    """Say how far out the level is, as its two-peg test told.

    Parameters
    ----------
    tilt : float
        How much too high it reads for each metre of sight. [ratio]
    unit : "ft" or "m"
    """
    side = "high" if tilt > 0 else "low"
    return (
        f"The level reads {size(abs(tilt) * 100 * METRES[unit], unit, 64)} too {side} in "
        f"100 {unit}, as the two pegs told: readings are corrected for it"
    )


def _text(site: Site, levels: Levels) -> Iterator[str]:
    unit = site.unit
    yield site.name
    for book in site.levels:
        yield f"\nLevel book {book.file}, rod in {RODS[book.rod]}; elevations in {unit}"
        if book.collimation is not None:
            yield tilted_words(float(book.collimation), unit)
        yield _table(book.file, levels, unit)
        for page in levels.pages:
            if page.file == book.file:
                yield _page(page, unit)
    yield ""
    for each in levels.closures:
        yield closed_words(each, unit)
    if levels.closures:
        yield f"limit: {levels.limit_source}"
    yield adjusted_words(levels)
    for sentence in levels.faults:
        yield f"FAIL {sentence}"
    for sentence in (*levels.unchecked, *levels.close, *levels.warnings):
        yield f"look again: {sentence}"
    yield f"\n{CURVATURE} {_CURVED[unit]}."


def _table(file: str, levels: Levels, unit: Unit) -> str:
    headers = ["line", "point", "backsight", "height of\ninstrument", "intermediate", "foresight",
               "elevation", "adjusted", "sd", ""]  # fmt: skip
    rows = list(book_rows(file, levels, unit))
    if not levels.adjusted:
        headers.remove("adjusted")
        rows = [(*row[:7], *row[8:]) for row in rows]
    align = ("right", "left", *["right"] * (len(headers) - 3), "left")
    return tabulate(rows, headers, colalign=align, disable_numparse=True)


def book_rows(file: str, levels: Levels, unit: Unit) -> Iterator[tuple[str, ...]]:
    """Give a row for each line of a book; of a turning point the foresight stands first.

    Each has its line, point, backsight, height of instrument, intermediate, foresight, elevation,
    adjusted elevation, standard deviation and marks.
    """
    lines: dict[int, list[tuple[int, Sight]]] = {}
    for place, setup in enumerate(levels.reduction.setups):
        for sight in setup.sights if setup.file == file else ():
            lines.setdefault(sight.row.line, []).append((place, sight))
    points = {point.key: point for point in levels.points}
    for line, sights in lines.items():
        written = dict(zip(_kinds(sights), sights[0][1].row.written, strict=True))
        instrument = elevation = ""
        for place, sight in sights:
            height = levels.reduction.heights[place]
            if sight.kind == "backsight":
                instrument = _level(float(height), unit)
                if len(sights) == 1:
                    elevation = _level(float(levels.reduction.points[sight.point]), unit)
            else:
                elevation = _level(float(height - sight.reading), unit)
        point = points[sights[0][1].point]
        marks = [
            "benchmark" if point.fixed else "",
            "rod upside down" if sights[0][1].inverted else "",
        ]
        yield (
            str(line), point.name, written.get("backsight", ""), instrument,
            written.get("intermediate", ""), written.get("foresight", ""), elevation,
            _level(point.z, unit), size(point.sd, unit) if point.sd else "",
            ", ".join(mark for mark in marks if mark),
        )  # fmt: skip


def _kinds(sights: Sequence[tuple[int, Sight]]) -> list[str]:
    """Return the kinds of the readings of one row in the order in which they are written."""
    return sorted(sight.kind for _, sight in sights)


def _level(metres: float, unit: Unit) -> str:
    return f"{metres / METRES[unit]:.3f}"


def _page(page: PageCheck, unit: Unit) -> str:
    first, last = page.setups
    which = f"set-up {first}" if first == last else f"set-ups {first} to {last}"
    backs, fores = float(page.backsights), float(page.foresights)
    holds = "the same, so the arithmetic holds" if page.holds else "which is not the same"
    return (
        f"page check, {which}: backsights {_level(backs, unit)} less foresights "
        f"{_level(fores, unit)} is {_level(backs - fores, unit)}; last elevation less first is "
        f"{_level(float(page.last - page.first), unit)}, {holds}"
    )


def closed_words(each: Closure, unit: Unit) -> str:
    """Say how far levels are off that come back to a point, and whether they close."""
    closing = each.closing
    over = counted(each.setups, "set-up")
    sign = "+" if each.off > 0 else "-" if each.off < 0 else ""
    verdict = {"pass": "closes", "warn": "closes, look again", "fail": "DOES NOT CLOSE"}
    third = ""
    if each.third_order is not None:
        third = f" (levelling of third order: {size(each.third_order, unit)} over this length)"
    return (
        f"{closing.sight.name} ({closing.file}, line {closing.sight.row.line}): misclosure "
        f"{sign}{size(abs(each.off), unit)} over {over}, limit {size(each.limit, unit)}{third}: "
        f"{verdict[each.status]}"
    )


def adjusted_words(levels: Levels) -> str:
    """Say whether the misclosures were spread, and over what."""
    if levels.failed:
        return "Not adjusted: a mistake is found and mended, not spread over the rest."
    if not levels.adjusted:
        return "Nothing to adjust: elevations stand as they were reduced."
    way = "by the length of the sights" if levels.by_distance else "by set-up"
    return f"Adjusted {way}: the plan uses the adjusted elevations."
