"""What is said of many yards: what fails in each, and how many come out how."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from grading.answers.led import Led
from grading.units import MINUTE
from viz.words.plain import counted
from viz.words.screen.led import base_called
from viz.words.screen.told import told_words

REFUSED = "NOT PLANNED: what is written is wrong"
STOPPED = "NOT PLANNED: no fault of the site"
"""Verdicts of a site that has no plan."""

UNANSWERED = "It was handed to a worker of the cluster, and no answer came back."

TABLE_NAME = "the table of many yards"
"""Whose the folder is that the table is written into."""


def fails_words(led: Led) -> str:
    """Return what fails of a plan, a line each, the worst first.

    Parameters
    ----------
    led : Led
    """
    return "\n".join(f"{each.area or 'site'}: {told_words(each, led)}" for each in led.fails)


def shots_words(led: Led) -> str:
    """Return what is said of the shots that do not fit, a line each.

    Parameters
    ----------
    led : Led
    """
    return "\n".join(each.text for each in led.astray)


def bases_words(led: Led) -> str:
    """Say what the paving stands on, in a cell: one base, or the areas on each.

    Parameters
    ----------
    led : Led
    """
    groups: dict[str, list[str]] = {}
    for one in led.answer.areas:
        groups.setdefault(base_called(one.base, one.title), []).append(one.area)
    if len(groups) == 1:
        return next(iter(groups))
    return "; ".join(f"{', '.join(areas)}: {called}" for called, areas in groups.items())


_TALLY = {
    "build": "to build", "look": "to build after a look", "fail": "not to be built",
    "stop": "with a shot that does not fit", "refused": "not planned, for what is written is wrong",
    "fault": "not planned, for no fault of the site",
}  # fmt: skip


def tally_words(verdicts: Iterable[str]) -> str:
    """Say how many yards come out how: 3 yards: 2 to build, 1 not to be built.

    Parameters
    ----------
    verdicts : iterable of str
        That of each yard.
    """
    counts = Counter(verdicts)
    whole = counts.total()
    parts = [f"{counts[key]} {words}" for key, words in _TALLY.items() if counts.get(key)]
    return f"{whole} yard{'' if whole == 1 else 's'}: {', '.join(parts)}"


def planning_words(count: int) -> str:
    """Say that so many yards are being planned."""
    return f"planning {counted(count)} yard{'' if count == 1 else 's'}"


def kept_words(count: int) -> str:
    """Say how many were not planned again."""
    was = "1 yard was" if count == 1 else f"{count} yards were"
    return f"{was} planned before from the same files by the same version, and not planned again"


def crashed_words(code: int, name: str) -> str:
    """Say what is known of a process that ended while it planned.

    Parameters
    ----------
    code : int
        Its exit status, less than 0 where a signal ended it.
    name : str
        Of the signal, if any.
    """
    if name == "SIGKILL":
        why = "was ended from outside (SIGKILL), as a machine that is short of memory does"
    elif code < 0:
        why = f"crashed ({name or f'signal {-code}'})"
    else:
        why = f"ended by itself (exit status {code})"
    return f"The process that planned it {why}; the other yards went on without it."


def hung_words(seconds: float) -> str:
    """Say that a process was ended which came no further.

    Parameters
    ----------
    seconds : float
        How long it was waited for.
    """
    return (
        f"The process that planned it was ended: it came no further in {seconds / MINUTE:.3g} "
        "minutes; the other yards went on without it."
    )


def version_words(there: str, here: str) -> str:
    """Say that a worker of a cluster has another version than the command.

    Parameters
    ----------
    there, here : str
        The versions.
    """
    return f"A worker of the cluster has fallaway {there}, and this is {here}: make them the same."
