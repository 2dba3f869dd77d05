"""What `fallaway plan SITE` prints: the answer first, in at most fourteen lines."""

from __future__ import annotations

from collections.abc import Iterator

from grading.answers.led import Led, led
from grading.answers.mends import mends_of
from grading.pipeline import Plan
from grading.record.seal import number_of
from viz.words.led import (
    LINES,
    MOST_LOOKS,
    base_words,
    bins_words,
    days_words,
    dig_words,
    fail_lines,
    fall_words,
    head,
    labelled,
    look_lines,
    step_words,
    verdict_words,
)
from viz.words.stop import stop_lines


def text(plan: Plan, site: str) -> str:
    """Return the first screen of a plan.

    Parameters
    ----------
    plan : Plan
    site : str
        As it was written in the command, for the command that is told next.
    """
    told = led(plan)
    if told.verdict == "stop":
        return "\n".join([head(told, ""), verdict_words(told), *stop_lines(told)])
    top = [head(told, number_of(told.plan)), verdict_words(told)]
    mends = mends_of(told)
    first = next((each.mend.name for tried in mends.values() for each in tried), "")
    fails = list(fail_lines(told, mends))
    rest: list[str] = []
    for looks, why, most in ((MOST_LOOKS, True, 3), (1, True, 2), (1, False, 1)):
        rest = [*look_lines(told, looks), *_facts(told, why, most), *_next(site, first)]
        if len(top) + len(rest) <= LINES:
            break
    return "\n".join([*top, *fails, *rest])


def _facts(told: Led, why: bool, most: int) -> Iterator[str]:
    """Yield what it comes to, each fact in so many lines at the most."""
    for label, words in (
        ("step", step_words(told)),
        ("fall", fall_words(told)),
        ("base", base_words(told, why=why)),
        ("dig", dig_words(told)),
        ("bins", bins_words(told)),
        ("days", days_words(told)),
    ):
        if words:
            yield from labelled(label, words, most)


def _next(site: str, mend: str) -> Iterator[str]:
    if mend:
        words = f"fallaway plan {site} --mend {mend}   (papers made now are not for signature)"
        words += "   or --full"
    else:
        words = f"fallaway plan {site} --out DIR;  all the numbers: --full"
    yield from labelled("next", words)
