"""The rows on edges and joints: what a site gives against its base, and the weather it needs."""

from __future__ import annotations

from collections.abc import Iterator

from grading.catalogue.verdicts import About, Choice
from grading.checks.maker import Check, Maker, Status
from grading.choice.advice import AreaAdvice
from grading.conditions.season import is_cold, laid_words
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.worded import Said, Worded, in_plan

_NEEDS = {
    "polymeric sand": "a dry day and night above freezing",
    "wet-laid compound": "that nothing freezes until it has set",
}
"""The weather that what fills joints needs, of what needs some."""


def edge_checks(plan: Design, area: AreaPlan, advice: AreaAdvice, make: Maker) -> Iterator[Check]:
    """Yield the checks of what holds an area's edge and of what fills its joints.

    Parameters
    ----------
    plan : Design
    area : AreaPlan
        One of the plan's.
    advice : AreaAdvice
        On that area.
    make : Maker
        Of checks of that area.
    """
    if area.edge_runs:
        yield from _given("edge", area, area.area.edge, advice.edge_laid, advice.edge, make)
    yield from _given("joint", area, area.area.joint, advice.joint_laid, advice.joint, make)
    yield from _weather(plan, area, advice, make)


def _given(
    about: About, area: AreaPlan, given: str | None, laid: str, choice: Choice, make: Maker
) -> Iterator[Check]:
    """Check an edge or a joint that the site gives."""
    if given is None:
        return
    verdict, best = choice.of(given), choice.advised
    strong = [each for each in verdict.reasons if each.level in ("rules out", "against")]
    said = "; ".join(each.text for each in strong)
    on = area.chosen_dig.system.called
    if laid != given:
        yield make.check(
            about, "fail", None,
            Worded(f'{about} = "{given}"', f"{about} {given}")
            + f" is not used on {on}: {said}. {laid} is laid instead",
            mend=in_plan(
                f'write {about} = "{laid}", or leave `{about}` out; it would take '
                f"{strong[0].change}",
                f"choose {laid}, or what is advised; it would take {strong[0].change}",
            ),
        )  # fmt: skip
        return
    text = f"{given} on {on}, as it is given"
    if strong:
        text += f": {said}"
        if best is not None and best.option.name != given:
            text += f"; {best.option.name} is advised. It would take {strong[0].change}"
    yield make.check(about, "warn" if strong else "pass", None, text)


def _weather(plan: Design, area: AreaPlan, advice: AreaAdvice, make: Maker) -> Iterator[Check]:
    joint = advice.joint_laid
    if joint not in _NEEDS:
        return
    cold, laid = is_cold(plan.site.laying, plan.site.frost), laid_words(plan.site.laying)
    text: Said = f"{joint} in the joints of {area.name} needs {_NEEDS[joint]}"
    status: Status
    mend = ""
    if cold is None:
        status = "unknown"
        text += ", and when it is laid is not given" + Worded(": [laying] date or season", "")
    elif cold:
        status = "warn"
        text += f", and it is laid {laid}, in the cold season"
        mend = "wait for such weather, or sweep plain sand in until it comes"
    else:
        status, text = "pass", text + f"; it is laid {laid}, outside the cold season"
    yield make.check("joint-weather", status, None, text, mend=mend)
