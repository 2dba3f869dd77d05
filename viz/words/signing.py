"""What stands against signing a plan, told to who would sign it: the worst first, a line each."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from grading.checks.check import Check
from grading.design.edge_holding import PARTS
from grading.pipeline import Plan
from grading.structures.holding.holds import holding_of
from grading.units import run
from grading.water.plain import called, plain_rain
from viz.signature import not_for_signature
from viz.words.plain import begun, stopped


@dataclass(frozen=True)
class Against:
    """Why a plan is not for signature, in whole sentences; none where nothing stands against it.

    Attributes
    ----------
    survey : str
        What was shot that does not fit; empty where all of it does.
    failing : tuple of str
        What fails.
    """

    survey: str
    failing: tuple[str, ...]

    @property
    def any(self) -> bool:
        """Whether anything stands against it."""
        return bool(self.survey or self.failing)

    @property
    def lead(self) -> str:
        """What is said first: how many things have to be solved, in words."""
        if self.survey:
            return "The survey is in doubt: no figure on this paper is to be relied on."
        many = len(self.failing)
        count = _COUNTS[many] if many < len(_COUNTS) else "Several"
        return f"{count} {'thing has' if many == 1 else 'things have'} to be solved first."


_KEY = re.compile(r'\w = "|\[\[|`')
"""What shows that words speak of a site's file."""

_COUNTS = ("Nothing", "One", "Two", "Three", "Four", "Five")


def against_signing(plan: Plan) -> Against:
    """Return what stands against signing a plan.

    Parameters
    ----------
    plan : Plan
    """
    shots = plan.ground.shots
    suspects = shots.suspects if shots is not None else ()
    survey = ""
    if suspects:
        names = [each.name.removeprefix("spot ") for each in suspects]
        *most, last = names
        named = f"spots {', '.join(most)} and {last} do" if most else f"spot {last} does"
        survey = f"What was read at {named} not fit what lies around: it is read again first."
    failed = [
        check
        for check in plan.checks
        if check.status == "fail" and not (survey and check.rule.startswith("survey"))
    ]
    assert bool(survey) == bool(not_for_signature(plan))
    if survey:
        # On figures that are in doubt nothing else is worth a sentence of its own.
        many = len(failed)
        more = f"On these figures {many} check{' fails' if many == 1 else 's fail'} too."
        return Against(survey, (more,) if many else ())
    failing = tuple(dict.fromkeys(words for check in failed for words in _plainly(plan, check)))
    return Against(survey, (*failing, *_unheld(plan)))


def _plainly(plan: Plan, check: Check) -> tuple[str, ...]:
    """Return what a check found, without how it is mended: that is for the crew."""
    if check.rule == "low-edge":
        # Where rain ends is told without shares in per cent, here as in the answer on water.
        return plain_rain(plan.water, [one for one in plan.water.areas if one.name == check.area])
    text = check.text
    for start in (". To mend it", "; to mend it", "; held there by"):
        text = text.partition(start)[0]
    if _KEY.search(text):
        # Keys of the site's file are the crew's: who pays hears that it is settled, and where.
        where = f" at {called(check.area)}" if check.area else ""
        return (
            f"Something asked for{where} cannot be built as it was asked: it is settled first.",
        )
    return (begun(stopped(text), plan.site),)


def _unheld(plan: Plan) -> Iterator[str]:
    """Yield which raised edge nothing holds: what would, a crew does not build by itself."""
    for area in plan.areas:
        parts = holding_of(plan, area, area.chosen).parts
        long = sum(part.length for part in parts if not part.kind)
        if long:
            yield (
                f"Nothing holds {run(long, plan.site.unit, PARTS)} of the raised edge of "
                f"{area.area.name} yet."
            )
