"""The rows on what holds a raised edge, and on how a wall stands: never a pass by default."""

from __future__ import annotations

from collections.abc import Iterator
from math import isinf

from grading.catalogue.edge_kinds import WALL
from grading.checks.maker import Check, Maker, Status, maker_of
from grading.conditions.load import pressure
from grading.design.area import AreaPlan
from grading.design.model import Design
from grading.geometry.tolerances import SOLVED
from grading.structures.holding.first_look import FirstLook, first_look, ground_words, tells
from grading.structures.holding.holds import (
    BLOCK_WALL,
    CURB,
    LOWER,
    SHOULDER,
    SLOPE,
    STEPS,
    Held,
    holding_of,
)
from grading.units import Unit, run, size
from grading.worded import Said, Worded, in_plan, joined

_A = {
    BLOCK_WALL: "a wall of blocks", SLOPE: "a slope of grass", CURB: "a curb",
    SHOULDER: "a shoulder of dense-graded base", STEPS: "steps all round",
}  # fmt: skip
"""What is built, within a sentence."""

_HELPS = (
    "take a deeper unit or one with more setback, put clean stone behind it, lower the finish, or "
    "have it designed"
)


def holding_checks(plan: Design) -> Iterator[Check]:
    """Yield the checks of what holds raised edges.

    Parameters
    ----------
    plan : Design
    """
    for area in plan.areas:
        make = maker_of(plan).of(area.name)
        dig = area.chosen_dig
        for part in holding_of(plan, area, area.chosen).parts:
            yield _suits(part, area, make)
            yield from _as_high(part, make)
            for wall in part.walls:
                look = first_look(plan, area, dig, wall, part.asked)
                yield from _stands(look, plan.site.unit, make)
                yield _permit(look, plan.site.unit, make)
                yield from _designed(look, plan.site.unit, make)


def _suits(part: Held, area: AreaPlan, make: Maker) -> Check:
    """Check the way that is given, or tell the one that is advised."""
    unit, long = make.unit, run(part.length, make.unit, 1)
    edge = f"{long} of edge of {area.name}, up to {size(part.height, unit)} above the ground"
    best = part.choice.advised
    if not part.kind:
        said = "; ".join(each.text for each in part.choice.verdicts[0].against[:1])
        wall = part.choice.of(BLOCK_WALL).against
        said = wall[0].text if wall else said
        return make.check(
            "hold", "warn", None,
            f"nothing that a crew builds by itself holds {edge}: {said}. It is neither ordered nor "
            "in the hours",
            mend="have it designed by a licensed professional, or lower the finish",
        )  # fmt: skip
    if part.refused is not None:
        reason = part.refused.reasons[0]
        given = "edge" if part.asked is None else "kind"
        wish = WALL if part.asked is None else part.wish
        takes = f"; it would take {reason.change}"
        mend = in_plan("leave `edge` out" + takes, "choose what is advised" + takes)
        if part.asked is not None:
            mend = in_plan(f'write kind = "{part.kind}", or leave [[hold]] out{takes}',
                           f"choose {part.kind}, or what is advised{takes}")  # fmt: skip
        return make.check(
            "hold", "fail", None,
            Worded(f'{given} = "{wish}"', f"{wish}, as it is asked for,")
            + f" is not used along {edge}: {reason.text}. Counted instead is {_A[part.kind]}",
            mend=mend,
        )  # fmt: skip
    held = part.choice.of(part.kind)
    strong = [each for each in held.reasons if each.level == "against"]
    text = f"{edge}, is held by {_A[part.kind]}, as {'given' if part.given else 'advised'}"
    if strong:
        text += f": {'; '.join(each.text for each in strong)}"
        if part.given and best is not None and best.option.name != part.kind:
            text += f"; {best.option.name} is advised. It would take {strong[0].change}"
    status: Status = "warn" if strong else "pass"
    return make.check("hold", status, None, text)


def _as_high(part: Held, make: Maker) -> Iterator[Check]:
    asked = part.asked
    if asked is None or asked.height is None or asked.kind == LOWER:
        return
    fine = part.height <= asked.height + SOLVED
    text = (
        f"the edge that a {part.kind or 'wall'} holds stands up to {size(part.height, make.unit)} "
        f"above the ground, {size(asked.height, make.unit)} at the most as "
        + Worded("[[hold]] gives it", "it is asked for")
    )
    status: Status = "pass" if fine else "fail"
    mend: Said = ""
    if not fine:
        mend = in_plan(
            'write kind = "lower finish" with that height, or a greater height',
            "have it held by a lower finish of that height, or give a greater height",
        )
    yield make.check(
        "hold-height",
        status,
        part.height,
        text,
        limit=asked.height,
        mend=mend,
    )


def _stands(look: FirstLook, unit: Unit, make: Maker) -> Iterator[Check]:
    """Check sliding, overturning and the pressure under the toe of a wall where it shows most."""
    wall = look.wall
    where = f"where it shows most, {size(look.segment.shown, unit)}"
    if look.unknown:
        unsaid = f"how {wall.name} stands is not said: " + joined(look.unknown, "; ")
        yield make.check("wall-safety", "unknown", None, unsaid, where=wall.name)
        return
    limit, worst, best = make.limits["wall-safety"], look.worst, look.best
    ground = ground_words(look, unit)
    for word, low, high, more in (
        ("slide", worst.sliding, best.sliding, f"; {ground}"),
        ("overturn", worst.overturning, best.overturning, ", on the same ground"),
    ):
        span = f"{low:.2f} to {high:.2f}" if f"{low:.2f}" != f"{high:.2f}" else f"{low:.2f}"
        asked = f"{limit:.2g} asked{make.limits.clause('wall-safety')}"
        factor = f"it withstands {span} times what pushes it {where}, of {asked}{more}"
        mend = ""
        if low >= limit:
            status: Status = "pass"
            text: Said = f"{wall.name} does not {word}: {factor}"
        elif high < limit:
            status = "fail"
            text, mend = f"{wall.name} may {word}: {factor}", _HELPS
        else:
            status = "unknown"
            text = f"whether {wall.name} may {word} is not known: {factor}. To tell: "
            text += tells(look, slides=word == "slide")
        yield make.check(
            "wall-safety", status, low, text, limit=limit, where=f"{wall.name}, {word}", mend=mend
        )
    yield _toe(look, unit, make)


def _toe(look: FirstLook, unit: Unit, make: Maker) -> Check:
    low, high, limit = look.best.toe, look.worst.toe, look.bearing
    span = " to ".join(
        dict.fromkeys("more than any soil bears" if isinf(each) else pressure(each, unit)
                      for each in (low, high))
    )  # fmt: skip
    text: Said = (
        f"{look.wall.name} presses {span} under its face; the soil is presumed to bear "
        f"{pressure(limit, unit)}"
    )
    status: Status = "pass" if high <= limit else "fail" if low > limit else "unknown"
    if status == "unknown":
        text += ". To tell: " + tells(look, slides=False)
    value = None if isinf(high) else high
    return make.check("wall-toe", status, value, text, limit=limit, unit="Pa",
                      where=look.wall.name, mend=_HELPS if status == "fail" else "")  # fmt: skip


def _permit(look: FirstLook, unit: Unit, make: Maker) -> Check:
    """Say what the model code has of a permit, and who decides."""
    wall, limit = look.wall, make.limits["wall-permit"]
    facts = (
        f"{wall.name} is {size(wall.total, unit)} from the bottom of its pad to its top, "
        f"{size(look.segment.shown, unit)} of it shown, and carries {wall.area}"
    )
    ask = "ask the building department before it is sold"
    if wall.total > limit + SOLVED:
        text = (
            f"{facts}: over {size(limit, unit)} the model code asks for a permit"
            f"{make.limits.clause('wall-permit')}; {ask}"
        )
        return make.check("wall-permit", "warn", wall.total, text, limit=limit, where=wall.name)
    clause = make.limits.clause("wall-permit")
    text = (
        f"{facts}. The model code asks for no permit up to {size(limit, unit)} unless it carries a "
        f"surcharge{clause}, and whether paving with people on it is one is for the place to say, "
        f"as many ask for one at less: {ask}"
    )
    return make.check("wall-permit", "unknown", wall.total, text, limit=limit, where=wall.name)


def _designed(look: FirstLook, unit: Unit, make: Maker) -> Iterator[Check]:
    """Say from where on the model code asks for a design, where the wall is that high."""
    rule, shown = "wall-permit-surcharged", look.segment.shown
    if not make.passes(rule, shown):
        return
    text = (
        f"{look.wall.name} holds up to {size(shown, unit)}, with people or a load on it: it is "
        "designed by a licensed professional where the place takes that for more than soil"
        f"{make.limits.clause(rule)}; ask the building department"
    )
    yield make.check(rule, "warn", shown, text, limit=make.limits[rule], where=look.wall.name)
