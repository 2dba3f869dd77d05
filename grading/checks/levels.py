"""The checks of level books: whether the levels close, and whether ties of a point agree."""

from __future__ import annotations

from collections.abc import Iterator

from grading.checks.maker import Check, Maker, Status
from grading.site.model import Site
from grading.survey.closure import LIMIT
from grading.survey.levels import Levels, levels_of
from grading.survey.taped import taped_of
from grading.units import counted, size

TIES = "ties"


def level_checks(site: Site, make: Maker) -> tuple[Check, ...]:
    """Return the checks of the level books of a site; none where it has none.

    Parameters
    ----------
    site : Site
    make : Maker
    """
    levels = levels_of(site)
    if levels is None:
        return ()
    return (*_closure(levels, make), *_ties(site, make))


def _closure(levels: Levels, make: Maker) -> Iterator[Check]:
    worst = levels.worst
    value, limit = (None, None) if worst is None else (abs(worst.off), worst.limit)
    said: tuple[tuple[Status, tuple[str, ...]], ...] = (
        ("fail", levels.faults), ("unknown", levels.unchecked), ("warn", levels.close),
    )  # fmt: skip
    status, texts = next((each for each in said if each[1]), ("pass", ()))
    for text in texts:
        yield make.check(LIMIT, status, value, text, limit=limit)
    if worst is not None and not texts:
        over = counted(worst.setups, "set-up")
        within = f"within {size(abs(worst.off), make.unit)}" if worst.off else "exactly"
        text = f"the levels close {within} over {over}"
        yield make.check(LIMIT, "pass", value, text, limit=limit)


def _ties(site: Site, make: Maker) -> Iterator[Check]:
    tied = taped_of(site).tied
    faults = [text for text in (each.fault(site.unit) for each in tied) if text]
    for text in faults:
        yield make.check(TIES, "fail", None, text)
    checked = [each for each in tied if len(each.lengths) > 2]
    if checked and not faults:
        what = "the ties of 1 point agree" if len(checked) == 1 else (
            f"the ties of {len(checked)} points agree"
        )  # fmt: skip
        yield make.check(TIES, "pass", None, what)
