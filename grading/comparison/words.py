"""What two plans of one yard say in words: the headline, what is seen of it, and each figure."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from grading.comparison.figures import JOB, PRICE, Figure, Value
from grading.comparison.model import BaseChange, Comparison, Turned
from grading.comparison.placed import LEVEL, Displaced, Kind, Trait
from grading.comparison.written import Difference
from grading.geometry.tolerances import READ, SEEN
from grading.order.days import halves
from grading.order.telling import Telling, money, telling_by
from grading.signs import listed
from grading.units import (
    CUBIC_YARD,
    FOOT,
    HOUR,
    INCH,
    Unit,
    number,
    run,
    size,
    slope,
    taped_rate,
    volume,
)

DIRT, PAVING = 8, 16
"""Parts of an inch that a dig and a height of paving are told to; common practice, no source."""

STAYS = "What you see does not change."

_STATUS = {
    "pass": "passes",
    "warn": "is to be looked at",
    "fail": "FAILS",
    "unknown": "is not known",
}
_NOTICED = 8  # rows of one list of points that are told one by one


def value_words(
    figure: Figure, value: Value, unit: Unit, telling: Telling, plain: bool = False
) -> str:
    """Write a figure of either plan; empty where that plan has none.

    Parameters
    ----------
    figure : Figure
    value : float, str or None
        Its value before or after, or what comes to it.
    unit : "ft" or "m"
    telling : Telling
    plain : bool
        Told to a homeowner, who is told no per cent.
    """
    if value is None or isinstance(value, str):
        return value or ""
    match figure.measure:
        case "depth":
            return size(value, unit, DIRT)
        case "height":
            return size(value, unit, PAVING)
        case "slope":
            return taped_rate(value, unit) if plain else slope(value, unit)
        case "volume":
            return volume(value, unit)
        case "time":
            return f"{value / HOUR:.0f} h"
        case "days":
            return halves(value)
        case "money":
            if figure.key == PRICE:  # made because the crew says how, whatever its cost is told in
                return money(value, telling.currency)
            return telling.words(value)
        case _:
            return f"{value:.0f}"


def more_words(figure: Figure, unit: Unit, telling: Telling, plain: bool = False) -> str:
    """Write what comes to a figure, with its sign; "none" where it is told alike."""
    both = (figure.before, figure.after)
    told = [value_words(figure, value, unit, telling, plain) for value in both]
    if told[0] == told[1]:
        return "none"
    if figure.numbers is None:
        return ""
    before, after = figure.numbers
    more, step = after - before, _step(figure, unit, telling, plain)
    if step:
        # Of the figures as they are told: who subtracts one from the other finds this.
        more = (round(after / step) - round(before / step)) * step
    return f"{'+' if more > 0 else '-'} {value_words(figure, abs(more), unit, telling, plain)}"


def _step(figure: Figure, unit: Unit, telling: Telling, plain: bool) -> float:
    """Return what a figure is told to the nearest of, 0 where the difference tells itself."""
    match figure.measure:
        case "depth" | "height":
            parts = DIRT if figure.measure == "depth" else PAVING
            return INCH / parts if unit == "ft" else READ[unit]
        case "slope":
            of = INCH / PAVING / FOOT if unit == "ft" else READ[unit]
            return of if plain else 0.0
        case "volume":
            return 0.1 * CUBIC_YARD if unit == "ft" else 0.01
        case "time":
            return HOUR
        case "days":
            return 0.5
        case "money":
            return 1.0 if telling.priced or figure.key == PRICE else telling.whole / 100
        case _:
            return 0.0


def figure_rows(
    figures: Sequence[Figure], unit: Unit, telling: Telling
) -> list[tuple[str, str, str, str]]:
    """Return figures in words, each with what it was, what it is, and how much more that is."""
    return [
        (
            one.title,
            value_words(one, one.before, unit, telling),
            value_words(one, one.after, unit, telling),
            more_words(one, unit, telling),
        )
        for one in figures
    ]


def changes(found: Comparison, unit: Unit) -> tuple[Figure, ...]:
    """Return the figures that are told otherwise than before.

    Parameters
    ----------
    found : Comparison
    unit : "ft" or "m"
    """
    telling = telling_both(found)
    return tuple(figure for figure in found.figures if more_words(figure, unit, telling) != "none")


def telling_both(found: Comparison) -> Telling:
    """Return how money of two plans is told: where no prices are given, as parts of the first.

    Parameters
    ----------
    found : Comparison
    """
    return telling_by(found.after.crew, found.before.order.total.cost.total)


def headline(found: Comparison, unit: Unit) -> str:
    """Say in one sentence what is different, the cause before what comes of it.

    Parameters
    ----------
    found : Comparison
    unit : "ft" or "m"
    """
    told = changes(found, unit)
    topsoil = [one for one in told if one.key == "topsoil"]
    if topsoil:
        told_of = {
            one.area: tuple(value_words(one, value, unit, telling_both(found))
                            for value in (one.before, one.after))
            for one in sorted(topsoil, key=lambda figure: -abs(figure.more or 0.0))
        }  # fmt: skip
        before, after = most = next(iter(told_of.values()))
        alike = listed([one.area for one in topsoil if told_of[one.area] == most])
        return f"Topsoil under {alike} is {after} deep on average, not {before}."
    if found.new or found.gone:
        parts = [f"{name} is added" for name in found.new]
        parts += [f"{name} is left out" for name in found.gone]
        return f"{'; '.join(parts)}."
    if found.bases:
        return "; ".join(map(_other_base, found.bases)) + "."
    if found.moved >= SEEN:
        return f"The finish moves by up to {size(found.moved, unit, PAVING)}."
    if found.displaced:
        things = list(things_words(found, unit))
        return things[0] if len(things) == 1 else f"{len(things)} things change place or form."
    if told:
        count = "1 figure changes" if len(told) == 1 else f"{len(told)} figures change"
        return f"Of what is counted, {count}."
    return "Nothing that is counted changes."


def seen_words(found: Comparison, unit: Unit) -> str:
    """Say what changes of what is seen of the paving.

    Parameters
    ----------
    found : Comparison
    unit : "ft" or "m"
    """
    if found.looks_alike:
        return STAYS
    if found.moved >= SEEN:
        return f"The top of the paving moves by up to {size(found.moved, unit, PAVING)}."
    return "What you see changes as told here; the top of the paving stays at its height."


def below_headline(
    found: Comparison, unit: Unit, plain: bool = False, headed: bool = True
) -> Iterator[str]:
    """Say what stands on another base, in another place or form, but what is the headline itself.

    Parameters
    ----------
    found : Comparison
    unit : "ft" or "m"
    plain : bool
        For who pays for it.
    headed : bool
        Whether the headline stands above.
    """
    first = headline(found, unit) if headed else ""
    bases = (f"{base_words(one, plain)}." for one in found.bases)
    yield from (said for said in (*bases, *things_words(found, unit)) if said != first)


def things_words(found: Comparison, unit: Unit) -> Iterator[str]:
    """Say how each thing that stands, lies or is built is otherwise, a sentence each.

    Parameters
    ----------
    found : Comparison
    unit : "ft" or "m"
    """
    for each in found.displaced:
        yield f"{each.thing.called}: {_placed(each, unit)}."


def _placed(each: Displaced, unit: Unit) -> str:
    if each.before is None:
        return "added"
    if each.after is None:
        return "left out"
    said = [f"moved {run(each.moved, unit)}"] if each.moved else []
    if each.reshaped:
        said.append(f"its outline changes by up to {run(each.reshaped, unit)}")
    for key in each.otherwise:
        then, now = (
            _trait(key, thing.traits.get(key), unit) for thing in (each.before, each.after)
        )
        said.append(f"{key} now {now}, not {then}")
    return "; ".join(said)


def _trait(key: str, value: Trait, unit: Unit) -> str:
    if value is None:
        return "left open"
    if isinstance(value, float):
        return number(value, unit) if key == LEVEL else size(value, unit)
    return value.plain if isinstance(value, Kind) else str(value)


def base_words(change: BaseChange, plain: bool = False) -> str:
    """Say that an area stands on another base, and why.

    Parameters
    ----------
    change : BaseChange
    plain : bool
        For who pays for it.
    """
    why = change.why_plain if plain else change.why
    said = _other_base(change)
    # What who pays is told is a sentence of its own.
    return f"{said}{'. ' if plain else ': '}{why}" if why else said


def _other_base(change: BaseChange) -> str:
    return f"{change.area} stands on {change.after}, not on {change.before}"


def turned_words(turned: Turned) -> str:
    """Say how a check comes out now, and how it did.

    Parameters
    ----------
    turned : Turned
    """
    before, after = turned.before, turned.after
    if after is None:
        return f"no longer asked: {turned.check.text}"
    now = _STATUS[after.status]
    if before is None:
        return f"new, {now}: {after.text}"
    return f"{now}, before it {_STATUS[before.status]}: {after.text}"


def written_words(found: Comparison) -> Iterator[str]:
    """Say what the two folders say differently, line by line; of long lists only how many rows.

    Parameters
    ----------
    found : Comparison
    """
    files: dict[str, list[Difference]] = {}
    for each in found.written:
        files.setdefault(each.file, []).append(each)
    for file, differences in files.items():
        if Path(file).suffix == ".csv" and len(differences) > _NOTICED:
            new = sum(each.before is None for each in differences)
            gone = sum(each.after is None for each in differences)
            other = len(differences) - new - gone
            parts = (f"{new} new" if new else "", f"{gone} gone" if gone else "",
                     f"{other} changed" if other else "")  # fmt: skip
            yield f"{file}: {', '.join(filter(None, parts))} of its rows"
            continue
        for each in differences:
            yield f"{file}, {each.where}: {_told(each.before)} -> {_told(each.after)}"


def _told(words: str | None) -> str:
    return "not there" if words is None else words


def of_area(figures: tuple[Figure, ...], area: str = JOB) -> tuple[Figure, ...]:
    """Return the figures of one area, or of the whole job."""
    return tuple(figure for figure in figures if figure.area == area)
