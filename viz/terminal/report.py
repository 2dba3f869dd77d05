"""A plan in words and tables: for the terminal, and for a spreadsheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from tabulate import tabulate

from grading.answers.card import deeper_of
from grading.answers.card_words import crew_deeper_words
from grading.catalogue.bases import BaseSystem
from grading.checks.areas import WORTH_TELLING
from grading.checks.maker import Check
from grading.conditions.load import pressure
from grading.design.area import AreaPlan
from grading.design.places import Places
from grading.errors import Problem, SiteError
from grading.files.toml_text import nearest, shown_value
from grading.geometry.tolerances import SEEN, TOGETHER
from grading.ground.smooth import leave_one_out
from grading.pipeline import Plan
from grading.units import (
    FOOT,
    Unit,
    area,
    percent,
    run,
    size,
    slope,
)
from grading.units.shares import part_words
from viz.signature import not_for_signature
from viz.table import CUBIC, Table, cubic, moved
from viz.tables.account import account_of
from viz.terminal import first_screen
from viz.terminal.order import order_lines
from viz.words.advice import area_lines, ground_lines
from viz.words.cautions import REPORT
from viz.words.checks import STATUS, look_again_words
from viz.words.done import done_lines
from viz.words.figures import DIRT
from viz.words.known import between_lines, known_lines
from viz.words.paving.finish import (
    CHOSEN,
    corner_lines,
    edge_lines,
    finish_lines,
    group_lines,
    sill_lines,
    tie_in_lines,
)
from viz.words.screen.answer import answer_lines
from viz.words.water import water_lines


def comparison(plan: AreaPlan, unit: Unit) -> Table:
    """Return the base systems side by side, in the site's unit."""
    mark, chosen = CUBIC[unit], plan.chosen

    def against(name: str) -> str:
        return "" if name == chosen else f"{cubic(plan.difference(name), unit):+z.2f}"

    return Table.of(
        {
            "base": f"{name} *" if name == chosen else name,
            "build-up": size(dig.build_up, unit),
            f"cut\n{mark} bank": f"{cubic(dig.cut, unit):.2f}",
            f"refill\n{mark} compacted": f"{cubic(dig.fill, unit):.2f}",
            f"spoil\n{mark} loose": f"{cubic(dig.spoil_loose, unit):.2f}",
            "deepest\ndig": size(dig.max_dig, unit, DIRT),
            "mean\ndig": size(dig.mean_dig, unit, DIRT),
            f"cut against *\n{mark}": against(name),
        }
        for name, dig in plan.digs.items()
    )


def _build_up(system: BaseSystem, unit: Unit) -> str:
    layers = ", ".join(f"{layer.name} {size(layer.thickness, unit)}" for layer in system.layers)
    said = f"{system.title}, from the top down: {layers}"
    if system.source:
        said += f" ({'rated for wheels; ' if system.wheels else ''}by {system.source})"
    return said


def _finish(plan: AreaPlan, places: Places) -> Iterable[str]:
    unit = places.unit
    yield f"{plan.area.name}: {plan.area.use}, {area(plan.paving, unit)} paved"
    yield from finish_lines(plan, places)
    for wall in plan.walls:
        out = f", from {run(wall.near, unit)} out" if wall.near > TOGETHER else ""
        yield (
            f"  away from {wall.wall.name}: {slope(wall.fall_away, unit)} over "
            f"{run(wall.over, unit)} of paving{out}"
        )
    yield from corner_lines(plan, unit)
    yield from tie_in_lines(plan, unit)


def _dig(plan: AreaPlan, unit: Unit) -> Iterable[str]:
    yield _build_up(plan.chosen_dig.system, unit)
    yield comparison(plan, unit).grid(1)
    yield f"* {CHOSEN[plan.base_from]}"
    for name, dig in plan.digs.items():
        if dig.refill_share >= WORTH_TELLING:
            yield (
                f"Organics deeper than the {name} build-up over "
                f"{part_words(dig.refill_share, 'the hole')}: "
                f"{moved(dig.fill_for_organics, unit)} more cut, and as much refill"
            )
    if plan.max_fill > SEEN:
        yield (
            f"The underside of the build-up lies up to {size(plan.max_fill, unit)} above the "
            f"ground, the finish up to {size(plan.max_raise, unit)}"
        )


_WAY = 4 * FOOT  # m: what is longer is paced or taped, and no thickness


def _limit(check: Check, unit: Unit) -> str:
    if check.limit is None:
        return ""
    if check.unit == "ratio":
        # More than all of something is so many times it: a factor of safety is no share.
        return percent(check.limit, 2) if check.limit <= 1 else f"{check.limit:.3g} times"
    if check.unit == "Pa":
        return pressure(check.limit, unit)
    # As its own sentence writes it: a thickness in inches, a way along the ground in feet.
    return run(check.limit, unit) if check.limit >= _WAY else size(check.limit, unit)


_ORDER = ("fail", "warn", "unknown", "pass")


def _checks_part(plan: Plan) -> Iterable[str]:
    """Give the checks: what fails, then what must be looked at, then what passed, a line a rule."""
    numbers = _numbers(plan)
    rows = []
    for status in _ORDER:
        own = [check for check in plan.checks if check.status == status]
        for check, text in (
            _passed(own) if status == "pass" else ((each, each.text) for each in own)
        ):
            limit, number = _limit(check, plan.site.unit), numbers[check.source]
            rows.append((STATUS[status], check.area, text, limit, f"[{number}]"))
    headers = ("", "area", "check", "limit", "source")
    widths = [None, None, 76, None, None]
    yield tabulate(rows, headers, maxcolwidths=widths, disable_numparse=True)


def _passed(checks: Sequence[Check]) -> Iterable[tuple[Check, str]]:
    """Give checks that hold, those of one rule and area as one: the nearest to its limit."""
    groups: dict[tuple[str, str], list[Check]] = {}
    for check in checks:
        groups.setdefault((check.rule, check.area), []).append(check)
    for alike in groups.values():
        nearest = min(alike, key=_room)
        more = len(alike) - 1
        yield nearest, f"{nearest.text} (and {more} more hold by more)" if more else nearest.text


def _room(check: Check) -> float:
    if check.value is None or check.limit is None:
        return 0.0
    return abs(check.value - check.limit)


def _numbers(plan: Plan) -> dict[str, int]:
    """Return the number of each source, in the order in which the report comes to it."""
    numbers: dict[str, int] = {}
    for status in _ORDER:
        for check in plan.checks:
            if check.status == status:
                numbers.setdefault(check.source, len(numbers) + 1)
    for area_plan in plan.areas:
        for verdict in plan.advice.area(area_plan.area.name).base.verdicts:
            for reason in verdict.reasons:
                numbers.setdefault(reason.source, len(numbers) + 1)
    return numbers


def _sources_part(plan: Plan) -> Iterable[str]:
    for source, number in _numbers(plan).items():
        yield f"[{number}] {source}"
    yield ""
    yield REPORT


def surfaces(plan: Plan) -> str:
    """Say how well each kind of surface foretells a spot that it has not seen."""
    errors = leave_one_out(plan.ground.surveyed_points)
    unit = plan.site.unit
    in_use = f"In use: {'smooth' if plan.ground.surface == 'smooth' else 'triangles'}."
    if not errors.count:
        return f"No spot has others all round it, so none can be foretold from the rest. {in_use}"
    return (
        "Each inner spot foretold from the others is off by (root mean square, worst): triangles "
        f"{size(errors.tin_rms, unit)}, {size(errors.tin_worst, unit)}; smooth surface "
        f"{size(errors.smooth_rms, unit)}, {size(errors.smooth_worst, unit)}. "
        f"{in_use}"
    )


def _finish_part(plan: Plan) -> Iterable[str]:
    yield from _apart(_finish(each, plan.places) for each in plan.areas)
    for lines in (
        sill_lines(plan),
        edge_lines(plan),
        *(group_lines(group, plan.site.unit) for group in plan.groups),
    ):
        yield from _after_a_gap(lines)


def _base_part(plan: Plan) -> Iterable[str]:
    numbers = _numbers(plan)

    def cite(source: str) -> str:
        return f"[{numbers[source]}]"

    yield from answer_lines(plan)
    for each in plan.areas:
        yield from ["", f"{each.area.name}:"]
        yield from area_lines(plan.advice, each.area.name, plan.site.unit, cite)


def _dig_part(plan: Plan) -> Iterable[str]:
    yield from _apart(
        [f"{each.area.name}:", *_dig(each, plan.site.unit), *between_lines(plan, each)]
        for each in plan.areas
    )
    deeper = crew_deeper_words(plan, deeper_of(plan))
    yield from ["", f"{deeper}. `fallaway card SITE` sets every depth beside the others."]
    yield from _after_a_gap(done_lines(plan))


def _ground_part(plan: Plan) -> Iterable[str]:
    for each in plan.areas:
        lines = list(ground_lines(plan.advice, each.area.name, plan.site.unit))
        if lines:
            yield from [f"{each.area.name}:", *lines]


def _survey_part(plan: Plan) -> Iterable[str]:
    triangles = int((~plan.ground.beyond).sum())
    yield f"Ground: {plan.ground.spots} spots, {triangles} triangles"
    yield from known_lines(plan)
    yield from look_again_words(plan)
    if plan.ground.surface == "smooth":
        yield surfaces(plan)


def _money_part(plan: Plan) -> Iterable[str]:
    yield from order_lines(account_of(plan), plan.crew.called)


def _apart(groups: Iterable[Iterable[str]]) -> Iterable[str]:
    for number, lines in enumerate(groups):
        yield from ["", *lines] if number else lines


def _after_a_gap(lines: Iterable[str]) -> Iterable[str]:
    found = list(lines)
    return ["", *found] if found else []


_PARTS: Mapping[str, tuple[str, Callable[[Plan], Iterable[str]]]] = {
    "checks": ("Checks", _checks_part),
    "water": ("Where the water goes", water_lines),
    "finish": ("The finish", _finish_part),
    "base": ("Which base, and why", _base_part),
    "dig": ("The dig on every base", _dig_part),
    "ground": ("Ground and frost", _ground_part),
    "survey": ("The survey", _survey_part),
    "money": ("What to order, move, work and pay", _money_part),
    "sources": ("Sources", _sources_part),
}
"""The parts of the report in order, by the name that `--only` knows: its heading, its lines."""


def chosen_parts(words: str | None) -> tuple[str, ...]:
    """Return the parts that a person names, in the order of the report; none where none is named.

    Parameters
    ----------
    words : str or None
        As written: "checks,water".

    Raises
    ------
    SiteError
        One is none of them.
    """
    if words is None:
        return ()
    named = [word.strip() for word in words.split(",")]
    problems = [
        Problem("--only", shown_value(word), f"some of {','.join(_PARTS)}", nearest(word, _PARTS))
        for word in named
        if word not in _PARTS
    ]
    if problems:
        raise SiteError(problems)
    return tuple(part for part in _PARTS if part in named)


def text_of(only: str | None) -> Callable[[Plan, str], str]:
    """Return what gives the words of a plan: some parts of the report, or all there is to say.

    Parameters
    ----------
    only : str or None
        The parts, as written.

    Raises
    ------
    SiteError
        One is none of them.
    """
    parts = chosen_parts(only)
    return (lambda plan, _: parts_text(plan, parts)) if parts else text


def parts_text(plan: Plan, parts: Sequence[str] = tuple(_PARTS)) -> str:
    """Return parts of the report of a plan, each under its heading.

    Parameters
    ----------
    plan : Plan
    parts : sequence of str
        Names of parts.
    """
    lines = list(filter(None, [not_for_signature(plan)]))
    for part in parts:
        heading, told = _PARTS[part]
        own = list(told(plan))
        if own:
            lines += ["", heading.upper(), "-" * len(heading), *own]
    return "\n".join(lines).lstrip("\n")


def text(plan: Plan, site: str = "SITE") -> str:
    """Return all that there is to say of a plan: its first screen, and every part of the report.

    Parameters
    ----------
    plan : Plan
    site : str
        What it is called in the command that is told next.
    """
    return f"{first_screen.text(plan, site)}\n\n{parts_text(plan)}"
