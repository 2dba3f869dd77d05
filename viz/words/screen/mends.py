"""What fails and what mends it, with what that takes more or less."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from grading.answers.led import Led, Told
from grading.answers.mends import Tried
from grading.units import HOUR, SHORT_TON, TONNE, Unit, volume
from viz.words.check_figures import WORTH
from viz.words.plain import counted
from viz.words.screen.lines import labelled
from viz.words.screen.told import of_area, told_words


def fail_lines(led: Led, mends: Mapping[Told, Sequence[Tried]], most: int) -> Iterator[str]:
    """Yield a line for each thing that fails, and below it what mends it, the cheapest first.

    Parameters
    ----------
    led : Led
    mends : mapping of Told to sequence of Tried
        What was tried and mends it; none where only the check says how.
    most : int
        So many mends of each, at the most.
    """
    named: set[str] = set()
    for told in led.fails:
        yield from labelled("FAIL", of_area(told, told_words(told, led), led))
        tried = mends.get(told, ())[:most]
        known = [each.mend.name for each in tried if each.mend.name in named]
        if known:
            # Told in full where it was told first.
            yield from labelled("", f"mend  {' or '.join(known)}, as above")
        anew = [each for each in tried if each.mend.name not in named]
        for number, each in enumerate(anew, start=1 + len(known)):
            named.add(each.mend.name)
            yield from labelled("", f"mend {number}  {mend_words(each, led)}")
        if not tried and told.worst.mend:
            yield from labelled("", f"mend  {told.worst.mend}")


def mend_words(tried: Tried, led: Led) -> str:
    """Say what a mend changes, what it takes more or less, and what else then fails."""
    return f"{tried.mend.words}: {takes_words(tried, led)}  [{tried.mend.name}]"


def takes_words(tried: Tried, led: Led) -> str:
    """Say what a mend takes more or less, and what else then fails."""
    more = more_words(tried.cut, tried.stone, tried.time, led.plan.site.unit)
    takes = ", ".join(more) or "no more to dig, lay or do"
    still = tried.failing
    rest = "all else holds"
    if still:
        rest = f"{counted(still)} other thing{'s' if still > 1 else ''} still fail"
        rest += "" if still > 1 else "s"
    return f"{takes}; {rest}"


def more_words(cut: float, stone: float, time: float, unit: Unit) -> list[str]:
    """Say what something takes more or less, each figure that is worth telling.

    Parameters
    ----------
    cut, stone, time : float
        Dug in the bank [m3], stone and sand brought in [kg], of one person [s].
    unit : "ft" or "m"
    """
    ton, name = (SHORT_TON, "tons") if unit == "ft" else (TONNE, "tonnes")
    found = (
        _more(cut, volume(abs(cut), unit), "to dig", WORTH[unit]),
        _more(stone, f"{abs(stone) / ton:.1f} {name}", "of stone", 0.05 * ton),
        _more(time, f"{abs(time) / HOUR:.0f} h", "of work", 0.5 * HOUR),
    )
    return [words for words in found if words]


def _more(value: float, words: str, what: str, least: float) -> str:
    if abs(value) < least:
        return ""
    return f"{'+' if value > 0 else '-'} {words} {what}"
