"""The advice in words and tables: for the terminal, and for a spreadsheet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from grading.catalogue.suitability import NOT_WHERE_RAISED
from grading.catalogue.verdicts import Choice, Reason, Verdict
from grading.choice.advice import Advice, AreaAdvice
from grading.choice.compared import COUNTED, Weighed
from grading.conditions.backfill import BackfillZone
from grading.conditions.frost import CAUTION as FROST_CAUTION
from grading.conditions.frost import code_words
from grading.conditions.joins import Join
from grading.conditions.level_things import LevelThing
from grading.conditions.level_words import setting_words
from grading.conditions.load import LoadStress, pressure
from grading.conditions.seats import stands_words, why_words
from grading.order.telling import money
from grading.units import HOUR, Unit, area, percent, run, size, small_volume, volume
from grading.units.shares import share_words
from grading.worded import of_file
from viz.table import Table

LEVEL_WORDS = {
    "rules out": "ruled out", "against": "speaks against it", "care": "with care", "for": "for it",
}  # fmt: skip
"""How strongly a reason speaks of an option, in words."""


Cite = Callable[[str], str]
"""Writes the source of a sentence behind it: in full, or as its number in a list."""


def _in_full(source: str) -> str:
    return f"[{source}]"


def reason_words(reason: Reason, cite: Cite = _in_full) -> str:
    """Say how strongly a reason speaks, what it is, what would change it, and its source."""
    said = f"{LEVEL_WORDS[reason.level]}: {reason.text}"
    if reason.change:
        said += f". It would take {reason.change}"
    return f"{said} {cite(reason.source)}"


def _choice(choice: Choice, cite: Cite) -> Iterator[str]:
    best = choice.advised
    for verdict in choice.verdicts:
        mark = "advised" if verdict is best else "not advised"
        name = verdict.option.name
        title = "" if choice.about == "base" else f" ({verdict.option.title})"
        yield f"  {name}{title}: {mark}"
        if verdict is best and choice.caveat:
            yield f"    {choice.caveat}"
        yield from (f"    {reason_words(reason, cite)}" for reason in verdict.reasons)
        if verdict is not best and not verdict.reasons:
            yield f"    {choice.passed_over(name)}"
        if verdict is best:
            yield from (f"    would speak against it: {sentence}" for sentence in verdict.nears)


def _beside(one: AreaAdvice, unit: Unit) -> Iterator[str]:
    """Set what the bases that remain take beside each other."""
    if len(one.weighed) < 2:
        return
    yield f"What the bases that remain take ({COUNTED}):"
    yield Table.of(
        {
            "base": each.base, "dig": volume(each.cut, unit), "trips": each.trips,
            "hours": f"{each.time / HOUR:.0f}", "cost": _cost(each, one),
        }
        for each in one.weighed
    ).grid()  # fmt: skip
    if one.dearer:
        yield f"What it costs: {one.dearer}."


def _cost(each: Weighed, one: AreaAdvice) -> str:
    """Write what a base costs; where nobody gave prices, beside the cheapest that remains."""
    if each.currency:
        return money(each.cost, each.currency)
    more = one.beside_least(each) - 1
    return "the least" if more <= 0 else f"{percent(more, 0)} more"


def _short(choice: Choice, best: Verdict | None, title: str = "") -> str:
    if best is None:
        return f"{choice.about.capitalize()}: every one is ruled out"
    said = "; as it is given" if best is not choice.advised else ""
    said += f"; {choice.caveat}" if choice.caveat and not said else ""
    # How much of an edge is raised is told with what holds it there.
    told = [reason for reason in best.reasons if reason.rule != NOT_WHERE_RAISED or not title]
    said += "".join(f"; {LEVEL_WORDS[reason.level]}: {reason.text}" for reason in told)
    return f"{choice.about.capitalize()}: {title or best.option.title}{said}"


def area_lines(advice: Advice, name: str, unit: Unit, cite: Cite = _in_full) -> Iterator[str]:
    """Give the advice on one area, line by line.

    Parameters
    ----------
    advice : Advice
    name : str
        The name of the area.
    unit : "ft" or "m"
    cite : callable
        Writes the source of a reason behind it; in full when left out.
    """
    one = advice.area(name)
    best = one.base.advised
    yield f"Advised: {'no base that there is' if best is None else best.option.called}"
    if one.overruled:
        reason = one.reason or "no reason given"
        yield f"Chosen against it: {one.chosen} ({reason})"
    yield from _choice(one.base, cite)
    yield from _beside(one, unit)
    yield _short(one.edge, one.edge_shown, one.holding)
    yield _short(one.joint, one.joint_shown)
    yield f"Laying: {one.stacks.words}"
    yield from _things([thing for thing in advice.levels if thing.seat.area == name], unit)
    for zone in advice.backfill:
        if zone.area == name:
            yield from _zone(zone, unit)
    for number, join in enumerate(advice.joins, start=1):
        if name in join.areas:
            yield f"Join {number}: {' meets '.join(join.bases)} beside {other_side(join, name)}"
    if one.unknown:
        yield "Not known, and not judged: " + "; ".join(map(of_file, one.unknown))


def ground_lines(advice: Advice, name: str, unit: Unit) -> Iterator[str]:
    """Give the frost and the load under one area, and what the trade does not agree on.

    Parameters
    ----------
    advice, name, unit : as for `area_lines`
    """
    one = advice.area(name)
    yield from _ground(advice, one, unit)
    if one.disagreements:
        yield "What the trade does not agree on:"
        yield from (f"  {sentence}" for sentence in one.disagreements)


def other_side(join: Join, name: str) -> str:
    """Return what an area of a join meets along it."""
    return join.areas[1] if join.areas[0] == name else join.areas[0]


def _things(things: Iterable[LevelThing], unit: Unit) -> Iterator[str]:
    for thing in things:
        seat = thing.seat
        verdict = "more than" if seat.too_thick else "within"
        yield (
            f"{seat.name}: the finish falls {size(seat.fall, unit)} under it; on bedding a wedge "
            f"of {size(seat.wedge.least, unit)} to {size(seat.wedge.greatest, unit)}, "
            f"{small_volume(seat.wedge.volume, unit)}, {verdict} the {size(seat.limit, unit)} "
            "allowed"
        )
        own = seat.own_base
        if seat.stands == "bedding" == seat.advised:
            pass
        elif own is None:
            yield "  on a footing of its own, whose depth is not given: [[feature]] base"
        else:
            yield (
                f"  on a base of its own: {area(own.cut_out, unit)} of the paving's base cut out, "
                f"{small_volume(own.excavation, unit)} more dug, "
                f"{small_volume(own.stone, unit)} of it filled"
            )
        yield f"  stands {stands_words(seat)}; {why_words(seat, unit)}"
        yield from (f"  {words}" for words in setting_words(thing, unit))


def _zone(zone: BackfillZone, unit: Unit) -> Iterator[str]:
    yield (
        f"Backfill of the foundation: {area(zone.paving, unit)} of the paving within "
        f"{run(zone.width, unit)} of the wall"
        + (
            ""
            if zone.uses_up is None
            else f"; {size(zone.uses_up, unit)} of settlement at the wall levels it"
        )
    )
    for one in zone.treatments:
        mark = "*" if one.treatment == zone.chosen else " "
        yield f" {mark}{one.treatment} ({one.judgement}): {of_file(one.text)}"


def _ground(advice: Advice, one: AreaAdvice, unit: Unit) -> Iterator[str]:
    frost = [depth for depth in advice.frost if depth.area == one.area]
    if frost:
        yield "Frost below the finish:"
        yield Table.of(
            {
                "base": depth.base,
                "Stefan": size(depth.stefan, unit, 1),
                "modified\nBerggren": (
                    "" if depth.berggren is None else size(depth.berggren, unit, 1)
                ),
                "below the\nbuild-up": size(depth.in_subgrade, unit, 1),
                "share clear\nof the edge": share_words(depth.inner),
            }
            for depth in frost
        ).grid()
        yield from filter(None, [code_words(frost[0], unit)])
        yield FROST_CAUTION
    yield from _loads([load for load in advice.loads if load.area == one.area], one, unit)


def _loads(stresses: Sequence[LoadStress], one: AreaAdvice, unit: Unit) -> Iterator[str]:
    """Set what presses on the soil below every base beside each other."""
    if not stresses:
        return
    bases = list(dict.fromkeys(each.base for each in stresses))
    cells = {(each.load, each.base): _stress(each, unit) for each in stresses}
    yield "Stress on the subgrade below each base, elastic; spread 2 down to 1 out:"
    yield Table.of(
        {
            "load": load,
            **{f"{base} *" if base == one.built else base: cells[load, base] for base in bases},
            "presumed\nbearing": pressure(stresses[0].bearing, unit),
        }
        for load in dict.fromkeys(each.load for each in stresses)
    ).grid()
    said = {each.refused: each.base for each in stresses if each.refused}
    yield from (f"  no: {rule}" for rule in said)
    yield from (f"  {words}" for words in one.boards)


def _stress(stress: LoadStress, unit: Unit) -> str:
    told = f"{pressure(stress.boussinesq, unit)}; {pressure(stress.two_to_one, unit)}"
    return f"{told} no" if stress.refused else told
