"""The advice in words and tables: for the terminal, and for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from tabulate import tabulate

from grading.catalogue.suitability import NOT_WHERE_RAISED
from grading.catalogue.verdicts import Choice, Reason, Verdict
from grading.choice.advice import Advice, AreaAdvice
from grading.choice.weighing import COUNTED
from grading.conditions.backfill import BackfillZone
from grading.conditions.frost import CAUTION as FROST_CAUTION
from grading.conditions.frost import code_words
from grading.conditions.joins import Join
from grading.conditions.level_things import LevelThing
from grading.conditions.level_words import setting_words
from grading.conditions.load import LoadStress, pressure
from grading.conditions.seat_words import stands_words, why_words
from grading.units import HOUR, Unit, area, cubic_yards, inches, run, size, volume
from grading.units.shares import share_words
from viz.table import Table

LEVEL_WORDS = {
    "rules out": "ruled out", "against": "speaks against it", "care": "with care", "for": "for it",
}  # fmt: skip
"""How strongly a reason speaks of an option, in words."""


def _sentence(reason: Reason) -> str:
    said = f"    {LEVEL_WORDS[reason.level]}: {reason.text}"
    if reason.change:
        said += f". It would take {reason.change}"
    return f"{said} [{reason.source}]"


def _choice(choice: Choice) -> Iterator[str]:
    best = choice.advised
    for verdict in choice.verdicts:
        mark = "advised" if verdict is best else "not advised"
        name = verdict.option.name
        title = "" if choice.about == "base" else f" ({verdict.option.title})"
        yield f"  {name}{title}: {mark}"
        if verdict is best and choice.caveat:
            yield f"    {choice.caveat}"
        yield from map(_sentence, verdict.reasons)
        if verdict is not best and not verdict.reasons:
            yield f"    {choice.passed_over(name)}"
        if verdict is best:
            yield from (f"    would speak against it: {sentence}" for sentence in verdict.nears)


def _beside(one: AreaAdvice, unit: Unit) -> Iterator[str]:
    """Set what the bases that remain take beside each other."""
    if len(one.weighed) < 2:
        return
    rows = [
        (
            each.base, volume(each.cut, unit), each.trips, f"{each.time / HOUR:.0f}",
            f"{each.currency}{each.cost:,.0f}",
        )
        for each in one.weighed
    ]  # fmt: skip
    yield f"What the bases that remain take ({COUNTED}):"
    yield tabulate(rows, ("base", "dig", "trips", "hours", "cost"), disable_numparse=True)
    if one.dearer:
        yield f"What it costs: {one.dearer}."


def _short(choice: Choice, best: Verdict | None, title: str = "") -> str:
    if best is None:
        return f"{choice.about.capitalize()}: every one is ruled out"
    said = "; as it is given" if best is not choice.advised else ""
    said += f"; {choice.caveat}" if choice.caveat and not said else ""
    # How much of an edge is raised is told with what holds it there.
    told = [reason for reason in best.reasons if reason.rule != NOT_WHERE_RAISED or not title]
    said += "".join(f"; {LEVEL_WORDS[reason.level]}: {reason.text}" for reason in told)
    return f"{choice.about.capitalize()}: {title or best.option.title}{said}"


def area_lines(advice: Advice, name: str, unit: Unit) -> Iterator[str]:
    """Give the advice on one area, line by line.

    Parameters
    ----------
    advice : Advice
    name : str
        The name of the area.
    unit : "ft" or "m"
    """
    one = advice.area(name)
    best = one.base.advised
    yield f"Advised: {'no base that there is' if best is None else best.option.called}"
    if one.overruled:
        reason = one.reason or "no reason given"
        yield f"Chosen against it: {one.chosen} ({reason})"
    yield from _choice(one.base)
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
    yield from _ground(advice, one, unit)
    if one.unknown:
        yield "Not known, and not judged: " + "; ".join(one.unknown)
    if one.disagreements:
        yield "What the trade does not agree on:"
        yield from (f"  {sentence}" for sentence in one.disagreements)


def other_side(join: Join, name: str) -> str:
    """Return what an area of a join meets along it."""
    return join.areas[1] if join.areas[0] == name else join.areas[0]


def _small(cubic_metres: float, unit: Unit) -> str:
    """Write a volume that may be less than a barrow."""
    if unit == "ft":
        return f"{cubic_yards(cubic_metres):.2f} yd³"
    return f"{cubic_metres:.3f} m³"


def _things(things: Iterable[LevelThing], unit: Unit) -> Iterator[str]:
    for thing in things:
        seat = thing.seat
        verdict = "more than" if seat.too_thick else "within"
        yield (
            f"{seat.name}: the finish falls {size(seat.fall, unit)} under it; on bedding a wedge "
            f"of {size(seat.wedge.least, unit)} to {size(seat.wedge.greatest, unit)}, "
            f"{_small(seat.wedge.volume, unit)}, {verdict} the {size(seat.limit, unit)} allowed"
        )
        own = seat.own_base
        if seat.stands == "bedding" == seat.advised:
            pass
        elif own is None:
            yield "  on a footing of its own, whose depth is not given: [[feature]] base"
        else:
            yield (
                f"  on a base of its own: {area(own.cut_out, unit)} of the paving's base cut out, "
                f"{_small(own.excavation, unit)} more dug, {_small(own.stone, unit)} of it filled"
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
        yield f" {mark}{one.treatment} ({one.judgement}): {one.text}"


def _ground(advice: Advice, one: AreaAdvice, unit: Unit) -> Iterator[str]:
    frost = [depth for depth in advice.frost if depth.area == one.area]
    if frost:
        rows = [
            (
                depth.base,
                size(depth.stefan, unit, 1),
                "" if depth.berggren is None else size(depth.berggren, unit, 1),
                size(depth.in_subgrade, unit, 1),
                share_words(depth.inner),
            )
            for depth in frost
        ]
        headers = (
            "base",
            "Stefan",
            "modified\nBerggren",
            "below the\nbuild-up",
            "share clear\nof the edge",
        )
        yield "Frost below the finish:"
        yield tabulate(rows, headers, disable_numparse=True)
        yield from filter(None, [code_words(frost[0], unit)])
        yield FROST_CAUTION
    yield from _loads([load for load in advice.loads if load.area == one.area], one, unit)


def _loads(stresses: Sequence[LoadStress], one: AreaAdvice, unit: Unit) -> Iterator[str]:
    """Set what presses on the soil below every base beside each other."""
    if not stresses:
        return
    bases = list(dict.fromkeys(each.base for each in stresses))
    cells = {(each.load, each.base): each for each in stresses}
    names = dict.fromkeys(each.load for each in stresses)
    rows = [
        (
            load,
            *(f"{pressure(each.boussinesq, unit)}; {pressure(each.two_to_one, unit)}"
              f"{' no' if each.refused else ''}"
              for each in (cells[load, base] for base in bases)),
            pressure(stresses[0].bearing, unit),
        )
        for load in names
    ]  # fmt: skip
    headers = (
        "load", *(f"{base} *" if base == one.built else base for base in bases),
        "presumed\nbearing",
    )  # fmt: skip
    yield "Stress on the subgrade below each base, elastic; spread 2 down to 1 out:"
    yield tabulate(rows, headers, disable_numparse=True)
    said = {each.refused: each.base for each in stresses if each.refused}
    yield from (f"  no: {rule}" for rule in said)
    yield from (f"  {words}" for words in one.boards)


def advice_tables(advice: Advice) -> dict[str, Table]:
    """Return the tables that a spreadsheet opens.

    They are advice, weighed, features, backfill, frost, loads.

    Parameters
    ----------
    advice : Advice
    """
    return {
        "advice": _advice_rows(advice),
        "weighed": _weighed_rows(advice),
        "features": _feature_rows(advice),
        "backfill": _backfill_rows(advice),
        "frost": _frost_rows(advice),
        "loads": _load_rows(advice),
    }


def _advice_rows(advice: Advice) -> Table:
    headers = (
        "area", "about", "option", "advised", "chosen", "level", "rule", "text", "change",
        "standing", "source", "disagreement",
    )  # fmt: skip
    rows: list[tuple[object, ...]] = []
    for one in advice.areas:
        for choice in (one.base, one.edge, one.joint):
            for verdict in choice.verdicts:
                marks = (
                    "yes" if verdict is choice.advised else "",
                    "yes" if choice.about == "base" and verdict.option.name == one.chosen else "",
                )
                head = (one.area, choice.about, verdict.option.name, *marks)
                rows += [
                    (
                        *head, reason.level, reason.rule, reason.text, reason.change,
                        reason.standing, reason.source, reason.disagree,
                    )
                    for reason in verdict.reasons
                ] or [(*head, "", "", "nothing speaks against it", "", "", "", "")]  # fmt: skip
    return Table(headers, tuple(rows))


def _both(metres: float) -> tuple[str, int]:
    return inches(metres), round(metres * 1000)


def _volumes(cubic_metres: float) -> tuple[float, float]:
    return round(cubic_yards(cubic_metres), 3), round(cubic_metres, 3)


def _weighed_rows(advice: Advice) -> Table:
    headers = (
        "area", "base", "cut bank (yd3)", "cut bank (m3)", "trips (count)", "time (h)",
        "cost (money)",
    )  # fmt: skip
    rows = [
        (
            one.area, each.base, *_volumes(each.cut), each.trips, round(each.time / HOUR, 1),
            round(each.cost, 2),
        )
        for one in advice.areas
        for each in one.weighed
    ]  # fmt: skip
    return Table(headers, tuple(rows))


def _feature_rows(advice: Advice) -> Table:
    headers = (
        "area", "thing", "kind", "planned", "advised", "wedge least (in)", "wedge least (mm)",
        "wedge greatest (in)", "wedge greatest (mm)", "wedge (yd3)", "wedge (m3)",
        "wedge limit (in)", "wedge limit (mm)", "cut out (m2)", "own base dug (yd3)",
        "own base dug (m3)", "own base filled (yd3)", "own base filled (m3)",
        "planned as",
    )  # fmt: skip
    rows = []
    for seat in advice.features:
        own = seat.own_base
        rows.append(
            (
                seat.area, seat.name, seat.feature.kind, seat.stands, seat.advised,
                *_both(seat.wedge.least), *_both(seat.wedge.greatest),
                *_volumes(seat.wedge.volume), *_both(seat.limit),
                *(
                    ("",) * 5
                    if own is None
                    else (
                        round(own.cut_out, 2), *_volumes(own.excavation), *_volumes(own.stone)
                    )
                ),
                "given" if seat.given else "advised",
            )
        )  # fmt: skip
    return Table(headers, tuple(rows))


def _backfill_rows(advice: Advice) -> Table:
    headers = (
        "area", "treatment", "chosen", "judgement", "text", "dug bank (yd3)", "dug bank (m3)",
        "spoil loose (yd3)", "spoil loose (m3)", "stone compacted (yd3)", "stone compacted (m3)",
        "geogrid (m2)", "paving lost (m2)",
    )  # fmt: skip
    rows = [
        (
            zone.area, one.treatment, "yes" if one.treatment == zone.chosen else "",
            one.judgement, one.text, *_volumes(one.excavation), *_volumes(one.spoil),
            *_volumes(one.stone), round(one.grid, 2), round(one.paving_lost, 2),
        )
        for zone in advice.backfill
        for one in zone.treatments
    ]  # fmt: skip
    return Table(headers, tuple(rows))


def _frost_rows(advice: Advice) -> Table:
    headers = (
        "area", "base", "Stefan (in)", "Stefan (mm)", "modified Berggren (mm)",
        "below the build-up (mm)", "share clear of the edge (%)",
    )  # fmt: skip
    rows = [
        (
            one.area, one.base, *_both(one.stefan),
            "" if one.berggren is None else round(one.berggren * 1000),
            round(one.in_subgrade * 1000), round(one.inner * 100),
        )
        for one in advice.frost
    ]  # fmt: skip
    return Table(headers, tuple(rows))


def _load_rows(advice: Advice) -> Table:
    headers = (
        "area", "base", "load", "depth (mm)", "elastic (kPa)", "2:1 (kPa)",
        "presumed bearing (kPa)", "refused", "amid a panel (kPa)", "at a panel's edge (kPa)",
    )  # fmt: skip
    rows = [
        (
            one.area, one.base, one.load, round(one.depth * 1000),
            round(one.boussinesq / 1000, 1), round(one.two_to_one / 1000, 1),
            round(one.bearing / 1000, 1), one.refused,
            *(
                ("", "")
                if one.board is None
                else (round(one.board.amid / 1000, 1), round(one.board.at_edge / 1000, 1))
            ),
        )
        for one in advice.loads
    ]  # fmt: skip
    return Table(headers, tuple(rows))
