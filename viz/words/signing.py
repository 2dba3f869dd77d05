"""What stands against signing a plan, told to who would sign it: the worst first, a line each."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct

from grading.answers.led import failing
from grading.design.edge_holding import PARTS
from grading.pipeline import Plan
from grading.signs import listed
from grading.structures.holding.holds import holding_of
from grading.units import run
from viz.signature import not_for_signature
from viz.words.home.reasons import alike_at, asked_otherwise, reason
from viz.words.plain import counted, opened, things_fail


class Against(Struct, frozen=True):
    """Why a plan is not for signature, in whole sentences; none where nothing stands against it.

    Attributes
    ----------
    survey : str
        What was shot that does not fit; empty where all of it does.
    things : tuple of str
        What has to be solved, a sentence or more to each: what fails, as the crew counts it, then
        raised edges that nothing holds.
    fails : int
        How many of them fail.
    """

    survey: str
    things: tuple[str, ...]
    fails: int

    @property
    def any(self) -> bool:
        """Whether anything stands against it."""
        return bool(self.survey or self.things)

    @property
    def reasons(self) -> tuple[str, ...]:
        """All of it, the worst first."""
        return (*filter(None, (self.survey,)), *self.things)

    @property
    def lead(self) -> str:
        """What is said first: how many things have to be solved, in words."""
        if self.survey:
            return "The survey is in doubt: no figure here is to be relied on."
        many = len(self.things)
        lead = f"{opened(counted(many))} {'thing has' if many == 1 else 'things have'} to be solved"
        if 0 < self.fails < many:
            # The crew's count is of what fails: who reads both finds the one in the other.
            edges = many - self.fails
            held = "one is a raised edge" if edges == 1 else f"{counted(edges)} are raised edges"
            does = "fails" if self.fails == 1 else "fail"
            return f"{lead} first: {counted(self.fails)} {does}, {held} that nothing holds yet."
        return f"{lead} first."


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
        named = f"spots {listed(names)} do" if len(names) > 1 else f"spot {names[0]} does"
        survey = (
            f"What was measured at {named} not fit what lies around: it is measured again first."
        )
    failed = [
        told for told in failing(plan.checks) if not (survey and told.rule.startswith("survey"))
    ]
    assert bool(survey) == bool(not_for_signature(plan))
    if survey:
        # On figures that are in doubt nothing else is worth a sentence of its own.
        many = len(failed)
        return Against(
            survey, (f"On these figures {things_fail(many)} too.",) if many else (), many
        )
    things: list[str] = []
    last = ""
    for told in failed:
        words = reason(plan, told)
        if words == last and told.area:
            things.append(alike_at(told.area))
            continue
        # Two things of which the same is said are still two.
        said = [words, *(asked_otherwise(told.area, nth) for nth in range(2, len(failed) + 1))]
        things.append(last := next(each for each in said if each not in things))
    return Against("", (*things, *_unheld(plan)), len(things))


def _unheld(plan: Plan) -> Iterator[str]:
    """Yield which raised edge nothing holds: what would, a crew does not build by itself."""
    for area in plan.areas:
        long = holding_of(plan, area, area.chosen).unheld
        if long:
            yield (
                f"Nothing holds {run(long, plan.site.unit, PARTS)} of the raised edge of "
                f"{area.area.name} yet."
            )
