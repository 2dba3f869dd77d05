"""The first screen: a plan in at most fourteen lines, the answer first, then what can hurt."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator, Mapping, Sequence

from grading.answers.led import Led, Told
from grading.answers.mends import Tried
from grading.answers.site import AreaAnswer
from grading.catalogue.tables import table
from grading.checks.check import Check
from grading.design.door_steps import DoorStep
from grading.design.model import Design
from grading.order.days import RAIN, days_of
from grading.order.takeoff import Takeoff
from grading.pipeline import Plan
from grading.price.model import price_of
from grading.signs import listed
from grading.structures.holding.holds import STEPS, holding_of
from grading.units import CUBIC_YARD, HOUR, SHORT_TON, TONNE, Unit, size, taped_rate, volume
from grading.units.shares import share_words
from grading.water.words import ends_of, place_words
from viz.words.figures import DIRT
from viz.words.plain import counted, opened, things_fail
from viz.words.price import money, screen_words

WIDE = 100
"""Columns of the first screen."""

LINES = 14
"""Lines of the first screen; every failure is told with its first mend, past them if need be."""

MOST_LOOKS = 3
"""Of more looks the first two are told, and how many more there are."""

LABEL = 5
"""Letters of what stands before each line."""

REPORTED = "--full"
"""Where the rest of what is told shortly stands."""


def labelled(label: str, words: str, most: int | None = None) -> list[str]:
    """Return the lines of something said behind a label, folded under its own beginning.

    Parameters
    ----------
    label, words : str
    most : int, optional
        So many lines at the most; what is left out is then said to stand in the rest.
    """
    indent = " " * (LABEL + 3)
    made = textwrap.wrap(
        words, WIDE, initial_indent=f"{label.rjust(LABEL + 1)}  ", subsequent_indent=indent,
        break_long_words=False, break_on_hyphens=False, max_lines=most, placeholder=" ... --full",
    )  # fmt: skip
    return made or [label.rjust(LABEL + 1)]


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


def said_of(told: Told, plan: Plan) -> str:
    """Return the sentence of checks that do not pass: what it is, and what is done about it.

    Parameters
    ----------
    told : Told
    plan : Plan
        That they are of.

    Returns
    -------
    str
        Empty where `led.toml` has none.
    """
    words = table("answers", "led")["said"].get(told.rule, {})
    worst = told.worst
    kinds = {"fail": ("fail", "look"), "warn": ("look",), "unknown": ("unknown", "look")}
    below = worst.value is not None and worst.value < 0 and "below" in words
    kind = ("below", *kinds[told.status]) if below else kinds[told.status]
    pattern = next((str(words[each]) for each in kind if each in words), "")
    if not pattern:
        return ""
    unit = plan.site.unit
    limit = None if worst.limit is None or worst.value is None else worst.value - worst.limit
    return pattern.format(
        own=_own(worst),
        value=_figure(worst, abs(worst.value or 0.0) if below else worst.value, unit),
        limit=_figure(worst, worst.limit, unit),
        by=_figure(worst, None if limit is None else abs(limit), unit),
        away=_away(worst, unit),
        share="some" if worst.value is None else _share(min(max(worst.value, 0.0), 1.0)),
        where=_where(told),
        misread=size(plan.limits["sill-read"], unit),
        holds=_holds(told, plan),
        refill=_refill(told, plan),
    )


def _share(share: float) -> str:
    words = share_words(share)
    return "all" if words == "100 %" else words


def told_words(told: Told, led: Led) -> str:
    """Return the sentence of checks, or where there is none what the worst of them found."""
    return said_of(told, led.plan) or _own(told.worst)


def _own(check: Check) -> str:
    return check.text.partition("; ")[0].partition(". ")[0]


def _away(check: Check, unit: Unit) -> str:
    """Say how much something falls away from what follows, or back to it."""
    fall = check.value or 0.0
    return f"{taped_rate(abs(fall), unit)} {'away from' if fall >= 0 else 'BACK to'}"


def _figure(check: Check, value: float | None, unit: Unit) -> str:
    if value is None:
        return "some"
    if check.unit == "ratio":
        return taped_rate(value, unit)
    return size(value, unit, DIRT if check.rule in _EARTH else 16)


_EARTH = frozenset(
    {"organics", "lawn-shoulder", "raised-edge", "raised-fill", "lawn-sunk", "sunken-edge",
     "survey-margin", "guard-height", "low-spot-ground", "steps-to-lawn", "pipe-cover"}
)  # fmt: skip
"""Rules whose figure is of earth, told to what earth is dug to."""


def _where(told: Told) -> str:
    # A wall is told once, whichever way it may give: "wall of patio, slide".
    found = (check.where.removesuffix(", slide").removesuffix(", overturn")
             for check in told.checks)  # fmt: skip
    names = list(dict.fromkeys(filter(None, found)))
    if not names:
        return told.area or "it"
    if len(names) > 1 and all(name.startswith("wall ") for name in names):
        names = ["walls " + names[0].removeprefix("wall "),
                 *(name.removeprefix("wall ") for name in names[1:])]  # fmt: skip
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def _takeoff(told: Told, plan: Plan) -> Takeoff | None:
    for area in plan.order.areas:
        if area.area.name == told.area:
            return area.takeoffs[area.area.chosen]
    return None


def _holds(told: Told, plan: Plan) -> str:
    """Say what holds a raised edge, of all that is built there; else that it has to be chosen."""
    area = next((each for each in plan.areas if each.area.name == told.area), None)
    parts = () if area is None else holding_of(plan, area, area.chosen).parts
    if area is None or not parts or not all(part.kind for part in parts):
        return f"say what holds that edge ({REPORTED})"
    built = plan.order.of(area).takeoffs[area.chosen].structures
    found: dict[str, None] = {}  # the longest first
    for part in parts:
        # Steps that lead down from the edge are of the same kind as those all round it.
        names = [each.name for each in built if each.kind == part.kind != STEPS]
        found |= dict.fromkeys(names or [part.choice.of(part.kind).option.in_plain_words])
    alone = len(found) == 1 and parts[0].kind != STEPS
    return f"{listed(list(found))} hold{'s' if alone else ''} it"


def _refill(told: Told, plan: Plan) -> str:
    """Say what refills a hole dug to the bottom of its topsoil."""
    takeoff, unit = _takeoff(told, plan), plan.site.unit
    if takeoff is None or takeoff.dig.fill_for_organics < _WORTH[unit]:
        return ""
    return f", and fill with {volume(takeoff.dig.fill_for_organics, unit)} of stone"


_WORTH: Mapping[Unit, float] = {"ft": CUBIC_YARD / 20, "m": 0.005}
"""Less stone than this would be told as none. [m3]"""


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
    found = [_of_area(each, told_words(each, led), led) for each in led.looks]
    found += [f"site  {opened(words)}" for words in led.plan.warnings]
    shown = found if len(found) <= most else found[: max(most - 1, 1)]
    for words in shown:
        yield from labelled("look", words, lines)
    if len(found) > len(shown):
        yield from labelled("", f"and {len(found) - len(shown)} more: --full")


def _of_area(told: Told, words: str, led: Led) -> str:
    name = told.area or ("site" if len(led.plan.areas) > 1 else led.plan.areas[0].name)
    return f"{name}  {words}"


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


def least_fall(plan: Design) -> float:
    """Return the least fall of any plane that is paved. [ratio]

    Parameters
    ----------
    plan : Design
    """
    return min(facet.plane.fall for area in plan.areas for facet in area.finish.surface.paved)


def fall_words(led: Led) -> str:
    """Say how the paving falls off the walls, and where its rain ends."""
    unit, least = led.plan.site.unit, led.least_away
    if least is None:
        fall = f"{taped_rate(least_fall(led.plan), unit)}, {NO_WALL}"
    elif least < 0:
        fall = f"{taped_rate(-least, unit)} {BACK}"
    else:
        walls = sum(len(area.walls) for area in led.plan.areas)
        fall = f"{taped_rate(least, unit)} {'or more off every' if walls > 1 else 'off the'} wall"
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
    loads = {"barrow": "barrows"}.get(haul.way.carrier, f"loads by {haul.way.carrier}")
    what = "stone and panels" if haul.panels.count else "stone"
    return (
        f"{volume(led.answer.takes.cut, unit)} in the ground, "
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


def price_words(led: Led) -> str:
    """Say the price to the crew; empty where it has not said how it makes one."""
    price = price_of(led.plan)
    if price is None or not led.fails:
        return screen_words(led.plan)
    return f"none until it passes (as drawn about {money(price.total, price.currency)})"


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
        yield from labelled("FAIL", _of_area(told, told_words(told, led), led))
        tried = mends.get(told, ())[:most]
        known = [each.mend.name for each in tried if each.mend.name in named]
        if known:
            # Told in full where it was told first.
            yield from labelled("", f"mend  {' or '.join(known)}, as above")
        anew = [each for each in tried if each.mend.name not in named]
        for number, each in enumerate(anew, start=1 + len(known)):
            named.add(each.mend.name)
            yield from labelled("", f"mend {number}  {mend_words(each, led)}")
        by_hand = told.worst.text.partition("To mend it: ")[2].partition("; or ")[0]
        if not tried and by_hand:
            yield from labelled("", f"mend  {by_hand}")


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
        _more(cut, volume(abs(cut), unit), "to dig", _WORTH[unit]),
        _more(stone, f"{abs(stone) / ton:.1f} {name}", "of stone", 0.05 * ton),
        _more(time, f"{abs(time) / HOUR:.0f} h", "of work", 0.5 * HOUR),
    )
    return [words for words in found if words]


def _more(value: float, words: str, what: str, least: float) -> str:
    if abs(value) < least:
        return ""
    return f"{'+' if value > 0 else '-'} {words} {what}"
