"""The first screen: a plan in at most fourteen lines, the answer first, then what can hurt."""

from __future__ import annotations

from collections.abc import Iterator

from grading.answers.led import Led, least_fall
from grading.answers.site import AreaAnswer
from grading.catalogue.tables import table
from grading.design.door_steps import DoorStep
from grading.order.days import RAIN, days_of
from grading.order.telling import money
from grading.price.model import price_of
from grading.signs import listed
from grading.units import (
    CUBIC_YARD,
    SHORT_TON,
    TONNE,
    Unit,
    least_rate,
    noun,
    size,
    taped_rate,
    volume,
)
from grading.water.words import ends_of, place_words
from viz.words.figures import DIRT
from viz.words.plain import counted, opened, things_fail
from viz.words.price import placeholder_words, screen_words
from viz.words.screen.lines import MOST_LOOKS, WIDE, labelled
from viz.words.screen.told import of_area, told_words


def head(led: Led, number: str) -> str:
    """Return the first line: the name of the job, and the number of the plan."""
    if not number:
        return led.plan.site.name
    told = f"plan {number}"
    return f"{led.plan.site.name.ljust(WIDE - len(told) - 2)}  {told}"


def verdict_words(led: Led) -> str:
    """Return the verdict in one sentence."""
    looks = led.look_count
    if led.verdict == "stop":
        shots = len(led.astray)
        fit = "one shot does not fit" if shots == 1 else f"{counted(shots)} shots do not fit"
        return f"STOP: {fit}; do not build on these numbers"
    if led.verdict == "fail":
        more = f", {counted(looks)} to look at" if looks else ""
        return f"DO NOT BUILD: {things_fail(len(led.fails))}{more}"
    if led.verdict == "look":
        return f"BUILD IT, after {counted(looks)} look{'s' if looks > 1 else ''}"
    return "BUILD IT"


def look_lines(led: Led, most: int = MOST_LOOKS, lines: int | None = None) -> Iterator[str]:
    """Yield a line for each thing to look at; of more than `most` one less, and how many more.

    What looks odd in what was written follows the checks.

    Parameters
    ----------
    led : Led
    most : int
    lines : int, optional
        So many lines to each, at the most.
    """
    found = [of_area(each, told_words(each, led), led) for each in led.looks]
    found += [f"site  {opened(words)}" for words in led.plan.warnings]
    shown = found if len(found) <= most else found[: max(most - 1, 1)]
    for words in shown:
        yield from labelled("look", words, lines)
    if len(found) > len(shown):
        yield from labelled("", f"and {len(found) - len(shown)} more: --full")


def step_words(led: Led) -> str:
    """Say the step at each door, and between areas; empty where there is none."""
    unit = led.plan.site.unit
    failing = {check.where for told in led.fails if told.rule == "door-step"
               for check in told.checks}  # fmt: skip
    doors = [_door(step, step.door.name in failing, unit) for step in led.doors]
    most = max((step.limit[1] for step in led.doors if step.risers == 1), default=None)
    if most is not None and not failing:
        doors[-1] += f" ({size(most, unit)} at most)"
    between = [
        f"{edge.upper} down to {edge.lower} "
        f"{edge.risers} x {size(edge.greatest / edge.risers, unit)}"
        for edge in led.steps
    ]
    return "; ".join(filter(None, [", ".join(doors), *between]))


def _door(step: DoorStep, fails: bool, unit: Unit) -> str:
    if step.step < 0:
        return f"{step.door.name} {size(-step.step, unit)} BELOW the paving"
    words = step.words(lambda metres: size(metres, unit))
    return f"{step.door.name} {words}{' FAIL' if fails else ''}"


NO_WALL = "no wall beside it"
BACK = "BACK TO THE HOUSE"


def fall_words(led: Led) -> str:
    """Say how the paving falls off the walls, and where its rain ends."""
    unit, least = led.plan.site.unit, led.least_away
    if least is None:
        fall = f"{taped_rate(least_fall(led.plan), unit)}, {NO_WALL}"
    elif least < 0:
        fall = f"{taped_rate(-least, unit)} {BACK}"
    else:
        walls = sum(len(area.walls) for area in led.plan.areas)
        fall = f"{least_rate(least, unit)} {'or more off every' if walls > 1 else 'off the'} wall"
    ends = dict.fromkeys(
        place_words(end.name, end.kind)
        for water in led.water
        for end in ends_of(water)
        if end.share >= 0.05 or end.kind == "foundation"
    )
    return f"{fall}; rain ends at: {', '.join(ends) or 'not known'}"


def base_words(led: Led, *, why: bool = True) -> str:
    """Say which base each area stands on, with its one reason; areas alike are told together.

    Parameters
    ----------
    led : Led
    why : bool
        Whether the reasons are told.
    """
    groups: dict[tuple[str, str], list[str]] = {}
    for one in led.answer.areas:
        reason = brief(led, one) if why else ""
        groups.setdefault((base_called(one.base, one.title), reason), []).append(one.area)
    several = len(led.answer.areas) > 1
    said = []
    for (called, reason), areas in groups.items():
        words = f"{listed(areas)}  {called}" if several else called
        said.append(f"{words}: {reason}" if reason else words)
    return "; ".join(said)


def base_called(name: str, title: str) -> str:
    """Return what a base is called on a building site: clean stone; its title where it is own."""
    return str(table("answers", "led")["called"].get(name, title))


def brief(led: Led, one: AreaAnswer) -> str:
    """Return the one reason for the base of an area in a few words.

    Parameters
    ----------
    led : Led
    one : AreaAnswer
    """
    leading = one.leading
    if leading is None:
        advice = led.plan.advice.area(one.area)
        best = advice.base.advised
        if best is None:
            return "every base is ruled out"
        if best.option.name == advice.built:
            return one.why
        own = f": {advice.reason}" if advice.reason else ""
        return f"asked for, {base_called(best.option.name, best.option.called)} advised{own}"
    words = table("answers", "led")["base"].get(leading.reason.rule, leading.reason.text)
    if not leading.of_other:
        return str(words)
    return f"not {base_called(leading.about.name, leading.about.called)}, {words}"


def dig_words(led: Led) -> str:
    """Say what is dug, how deep, and how many loads go out and come in."""
    unit, haul = led.plan.site.unit, led.plan.order.total.haul
    by = "" if haul.way.carrier == "barrow" else f" by {haul.way.carrier}"
    loads = noun(haul.out.count, "load" if by else "barrow") + by
    what = "stone and panels" if haul.panels.count else "stone"
    of = "the paving " if led.digs_beside else ""
    return (
        f"{volume(led.answer.takes.cut, unit)} in the ground, {of}"
        f"{size(led.deepest, unit, DIRT)} at the deepest; {haul.out.count} {loads} out, "
        f"{haul.stone.count + haul.panels.count} of {what} in"
    )


def bins_words(led: Led) -> str:
    """Say how many bins the soil takes, and how full they come out."""
    plan = led.plan
    unit, haul = plan.site.unit, plan.order.total.haul
    count = haul.bins.count
    if not count:
        return "none"
    if haul.bins.governed == "weight":
        one, name = (SHORT_TON, "tons") if unit == "ft" else (TONNE, "tonnes")
        mass, most = (each / one for each in (haul.spoil.mass, count * plan.crew["bin-mass"]))
        return f"{count}, by weight ({mass:.1f} of {most:.0f} {name})"
    room = count * plan.crew["bin-volume"]
    of = f"{room / CUBIC_YARD:.0f} yd³" if unit == "ft" else f"{room:.0f} m³"
    return f"{count}, by volume ({volume(haul.spoil.loose, unit)} loose of {of})"


def days_words(led: Led) -> str:
    """Say how many days the crew takes, and how many eight jobs in ten take."""
    order = led.plan.order
    days = days_of(order, order.total)
    people = counted(round(days.people)) if days.people.is_integer() else f"{days.people:g}"
    who = "one person" if people == "one" else f"{people} people"
    return f"{days.words}, {who} (eight in ten: {days.between}; {RAIN})"


def price_words(led: Led, placeholders: bool = False) -> str:
    """Say the price to the crew; where it has not said how it makes one, the cost, if asked."""
    price = price_of(led.plan)
    if price is None and placeholders:
        return placeholder_words(led.plan)
    if price is None or not led.fails:
        return screen_words(led.plan)
    return f"none until it passes (as drawn about {money(price.total, price.currency)})"
