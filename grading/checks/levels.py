"""The checks of level books: whether the levels close, and whether ties of a point agree."""

from __future__ import annotations

from collections.abc import Iterator

from grading.catalogue.rules import Limits
from grading.checks.check import Check, Status
from grading.site.model import Site
from grading.survey.closure import LIMIT
from grading.survey.levels import Levels, levels_of
from grading.survey.taped import taped_of
from grading.units import Unit, size

TIES = "ties"


def level_checks(site: Site, limits: Limits) -> tuple[Check, ...]:
    """Return the checks of the level books of a site; none where it has none.

    Parameters
    ----------
    site : Site
    limits : Limits
        Those of the site.
    """
    levels = levels_of(site)
    if levels is None:
        return ()
    return (*_closure(levels, limits, site.unit), *_ties(site, limits))


def _closure(levels: Levels, limits: Limits, unit: Unit) -> Iterator[Check]:
    worst, source = levels.worst, limits.source(LIMIT)
    value, limit = (None, None) if worst is None else (abs(worst.off), worst.limit)
    said: tuple[tuple[Status, tuple[str, ...]], ...] = (
        ("fail", levels.faults), ("unknown", levels.unchecked), ("warn", levels.close),
    )  # fmt: skip
    status, texts = next((each for each in said if each[1]), ("pass", ()))
    for text in texts:
        yield Check(LIMIT, "", status, value, limit, "m", source, text)
    if worst is not None and not texts:
        over = "1 set-up" if worst.setups == 1 else f"{worst.setups} set-ups"
        within = f"within {size(abs(worst.off), unit)}" if worst.off else "exactly"
        text = f"the levels close {within} over {over}"
        yield Check(LIMIT, "", "pass", value, limit, "m", source, text)


def _ties(site: Site, limits: Limits) -> Iterator[Check]:
    tied, source = taped_of(site).tied, limits.source(TIES)
    faults = [text for text in (each.fault(site.unit) for each in tied) if text]
    for text in faults:
        yield Check(TIES, "", "fail", None, None, "", source, text)
    checked = [each for each in tied if len(each.lengths) > 2]
    if checked and not faults:
        what = "the ties of 1 point agree" if len(checked) == 1 else (
            f"the ties of {len(checked)} points agree"
        )  # fmt: skip
        yield Check(TIES, "", "pass", None, None, "", source, what)
