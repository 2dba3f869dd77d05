"""What `fallaway plan SITE` prints: the answer first, in at most fourteen lines."""

from __future__ import annotations

import re
from collections.abc import Iterator

from grading.answers.led import Led, led
from grading.answers.mends import MOST, mends_of
from grading.checks.survey import quoted
from grading.pipeline import Plan
from grading.records.seal import number_of
from viz.words.screen.led import (
    base_words,
    bins_words,
    days_words,
    dig_words,
    fall_words,
    head,
    look_lines,
    price_words,
    step_words,
    verdict_words,
)
from viz.words.screen.lines import LINES, MOST_LOOKS, labelled
from viz.words.screen.mends import fail_lines
from viz.words.screen.stop import stop_lines


def text(plan: Plan, site: str, placeholders: bool = False) -> str:
    """Return the first screen of a plan.

    Parameters
    ----------
    plan : Plan
    site : str
        As it was written in the command, for the command that is told next.
    placeholders : bool
        Whether what it costs is told by prices that are built in, where the crew makes no price.
    """
    told = led(plan)
    if told.verdict == "stop":
        return "\n".join([head(told, ""), verdict_words(told), *stop_lines(told)])
    top = [head(told, number_of(told.plan)), verdict_words(told)]
    mends = mends_of(told)
    first = next((each.mend.name for tried in mends.values() for each in tried), "")
    lines: list[str] = []
    # The fullest that there is room for: more mends, looks and reasons before fewer.
    for most_mends, looks, why, most in (
        (MOST, MOST_LOOKS, True, 3), (1, MOST_LOOKS, True, 3), (1, 1, True, 2), (1, 1, False, 1),
    ):  # fmt: skip
        lines = [
            *top,
            *fail_lines(told, mends, most_mends),
            *look_lines(told, looks, most),
            *_facts(told, why, most, placeholders),
            *_next(site, first, most),
        ]
        if len(lines) <= LINES:
            break
    return "\n".join(lines)


def _facts(told: Led, why: bool, most: int, placeholders: bool) -> Iterator[str]:
    """Yield what it comes to, each fact in so many lines at the most."""
    for label, words in (
        ("step", step_words(told)),
        ("fall", fall_words(told)),
        ("base", base_words(told, why=why)),
        ("dig", dig_words(told)),
        ("bins", bins_words(told)),
        ("days", days_words(told)),
        ("price", price_words(told, placeholders)),
    ):
        if words:
            yield from labelled(label, words, most)


def _next(site: str, mend: str, most: int) -> Iterator[str]:
    site = site if re.fullmatch(r"[\w./\\:~-]+", site) else quoted(site)
    if mend:
        words = f"fallaway plan {site} --mend {mend};  or --full"
    else:
        words = f"fallaway plan {site} --out DIR;  all the numbers: --full"
    # A command is told whole, for it is copied.
    yield from labelled("next", words) if most > 1 else [f"  next  {words}"]
