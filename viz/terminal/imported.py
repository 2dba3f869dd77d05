"""What became of files that were imported, in words and tables."""

from __future__ import annotations

import math
from collections.abc import Iterator

from grading.survey.sources.imported import Imported
from grading.survey.sources.registration import Registration
from grading.units import Unit, inches, length, millimetres
from viz.table import Table


def text(done: Imported) -> str:
    """Return what was read, what of it was kept, how it lies on the site, and what to do next."""
    return "\n".join(_lines(done)) + "\n"


def _lines(done: Imported) -> Iterator[str]:
    sources = tuple(
        (each.file, each.kind, f"{each.points:,}", f"{each.breaklines:,}", each.unit, each.told_by)
        for each in done.sources
    )
    heads = ("file", "kind", "points", "breaklines", "unit", "unit told by")
    yield Table(heads, sources).grid(2, 2)
    yield ""
    steps = tuple((step.name, f"{step.came:,}", f"{step.left:,}") for step in done.steps)
    yield Table(("what was kept", "before", "after"), steps).grid(1)
    yield ""
    if done.laid is not None:
        yield Table(LAID_HEADS, tuple(laid_rows(done.laid, done.unit))).grid(1)
        yield laid_words(done, done.laid)
        yield ""
    known = "" if math.isnan(done.sd_z) else f", each known to {small(done.sd_z, done.unit)}"
    yield f"{done.spots:,} spots written to {done.told.table}{known}."
    if done.told.breaklines is not None:
        yield f"Breaklines written to {done.told.breaklines}."
    yield ""
    if done.told.changed:
        yield f"site.toml uses them. Next: fallaway plan {done.site}"
        return
    yield "site.toml stays as it is. For the site to use them, write there:"
    yield ""
    yield from (f"    {line}" for line in done.told.lines)
    if done.told.alone:
        yield ""
        yield "or, in the place of the survey that it has:"
        yield ""
        yield f"    {done.told.alone}"


LAID_HEADS = ("common point", "off in x", "off in y", "off in z", "off the others")


def laid_rows(laid: Registration, unit: Unit) -> list[tuple[str, ...]]:
    """Return how far each common point is off when a scan is laid onto a site, in words."""
    return [
        (
            name,
            *(small(float(part), unit) for part in off),
            "" if math.isnan(alone) else small(float(alone), unit),
        )
        for name, off, alone in zip(laid.common.names, laid.residuals, laid.alone, strict=True)
    ]


def laid_words(done: Imported, laid: Registration) -> str:
    """Say how a scan was laid onto a site, and how well that leaves it known."""
    turned = "turned about the vertical" if laid.unknowns == 4 else "turned and tilted"
    away = length(done.far_away, done.unit)
    return (
        f"The scan was {turned} and shifted to fit them. At the corner farthest from them, {away} "
        f"away, that leaves its elevation known to {small(done.z_sd_far, done.unit)}."
    )


def small(metres: float, unit: Unit) -> str:
    """Return how far off something is: to 1/16 in, or to the millimetre."""
    return inches(metres) if unit == "ft" else millimetres(metres)
