"""Half-way in words: what is done, what finishes cheapest from here, and what the doors say."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.answers.card_words import called
from grading.catalogue.items import TITLES
from grading.halfway.left import Finishing, FromHere, Lifted, from_here, parts_of
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.units import HOUR, Unit, counted, percent, size, volume

FINEST = 8
"""A dig is told to the nearest eighth of an inch: nobody digs finer."""

COUNTED = (
    "Still to come on each base, the finish kept. What is bought, dug or standing there is not "
    "counted again; setting up and cleaning up are, as for a whole job."
)
"""What the table of what is still to come counts."""


def done_words(plan: Plan, found: FromHere) -> str:
    """Say what is done.

    Parameters
    ----------
    plan : Plan
    found : FromHere
    """
    unit = plan.site.unit
    said = []
    for area in plan.areas:
        parts = parts_of(found.done, area)
        if parts:
            of = ", ".join(
                f"{percent(part.share, 0)} to {size(part.depth, unit, FINEST)}" for part in parts
            )
            moved = volume(found.dug[area.name], unit)
            said.append(f"dug of the hole of {area.name}, spread over it: {of}, {moved}")
    bought = [f"{count:g} × {TITLES[item]}" for item, count in found.done.counts.items()]
    if bought:
        said.append(f"bought: {', '.join(bought)}")
    bins = found.done.bins
    if bins:
        said.append(f"{bins} bin{' stands' if bins == 1 else 's stand'} there, with what is dug")
    return f"Half-way: {'; '.join(said)}."


def left_words(plan: Plan) -> Iterator[str]:
    """Say beside a list of the whole job what of it is done and what is to come; nothing else.

    Parameters
    ----------
    plan : Plan
    """
    found = from_here(plan.order, plan.advice)
    if found is None:
        return
    yield f"The whole job, as if nothing were done. {done_words(plan, found)}"
    planned = {area.chosen for area in plan.areas}
    unit = plan.site.unit
    for one in found.bases:
        if planned != {one.base}:
            continue
        buy = ", ".join(
            f"{supply.count:g} × {TITLES[supply.item]}"
            for supply in one.to_buy
            if supply.item in found.done.counts and supply.count
        )
        yield (
            f"Still to come on {called(plan, one.base)}: {_to_come(one, unit)}, "
            f"{one.cost.time.mean / HOUR:.0f} h"
            + (f"; of what is bought in part {buy} more." if buy else ".")
        )


def _to_come(one: Finishing, unit: Unit) -> str:
    """Say what is still to dig and to carry; of what is done, nothing."""
    volumes = ((one.cut, "to dig"), (one.fill, "to refill"))
    told = [(volume(each, unit), what) for each, what in volumes]
    said = [f"{value} {what}" for value, what in told if value != volume(0.0, unit)]
    counts = ((one.haul.trips, "trip"), (one.haul.bins.count, "bin"))
    said += [counted(count, word) for count, word in counts if count]
    return ", ".join(said) or "nothing to dig, to refill or to carry"


def finish_words(plan: Plan, found: FromHere) -> Iterator[str]:
    """Say what finishes cheapest from here, what would be lost, and what changes at the doors.

    Parameters
    ----------
    plan : Plan
    found : FromHere
    """
    yield _cheapest(plan, found)
    yield from _unused(plan, found)
    yield from _doors(plan, found)


def _money(plan: Plan, amount: float) -> str:
    telling = telling_of(plan.order)
    return telling.words(amount) if telling.priced else f"{telling.words(amount)} of the whole job"


def _cheapest(plan: Plan, found: FromHere) -> str:
    best = found.cheapest
    if best is None:
        return "No base that there is can finish it."
    said = (
        f"Cheapest to finish from here: {called(plan, best.base)}, "
        f"{_money(plan, best.cost.total)} still to pay"
    )
    others = sorted((one for one in found.bases if one is not best), key=lambda one: one.cost.total)
    beside = [
        f"{called(plan, one.base)} {_money(plan, one.cost.total)}"
        + (" (cannot be built)" if one.level == "rules out" else "")
        for one in others
    ]
    said += f"; {', '.join(beside)}." if beside else "."
    for one in found.bases:
        if one.level == "rules out" and one.cost.total < best.cost.total:
            said += f" Not {called(plan, one.base)}: {one.because}."
    if best.level == "against":
        said += f" What speaks against it all the same: {best.because}."
    planned = {area.chosen for area in plan.areas}
    if planned != {best.base}:
        on = " and ".join(sorted(called(plan, base) for base in planned))
        said += f' The plan is on {on}: for the other write base = "{best.base}".'
    return said


def _alike(said: Iterator[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    """Join the names of bases of which the same is said."""
    joined: dict[str, list[str]] = {}
    for name, words in said:
        joined.setdefault(words, []).append(name)
    for words, names in joined.items():
        yield " and ".join(names), words


def _unused(plan: Plan, found: FromHere) -> Iterator[str]:
    def each() -> Iterator[tuple[str, str]]:
        for one in found.bases:
            if one.unused:
                lost = ", ".join(f"{part.count:g} × {part.title}" for part in one.unused)
                cost = _money(plan, sum(part.cost for part in one.unused))
                yield called(plan, one.base), f"{lost}, {cost}"

    for names, lost in _alike(each()):
        yield (
            f"On {names} what is bought is left over: {lost} paid for nothing unless it is taken "
            "back."
        )


def _doors(plan: Plan, found: FromHere) -> Iterator[str]:
    unit = plan.site.unit
    if not found.steps:
        return
    steps = ", ".join(
        f"{step.door.name} {size(step.step, unit)} down from its sill" for step in found.steps
    )
    yield f"Nothing changes at the doors on any base, for the finish stays: {steps}."
    bases = dict.fromkeys(each.base for each in found.lifted)
    lifts = (
        (called(plan, base), _lift(plan, [each for each in found.lifted if each.base == base]))
        for base in bases
    )
    for names, words in _alike(lifts):
        yield f"That holds only where it is dug on for {names}: {words}."


def _lift(plan: Plan, lifted: Sequence[Lifted]) -> str:
    unit, first = plan.site.unit, lifted[0]
    planned = plan.area(first.step.area).chosen
    ends = []
    for each in lifted:
        least, most = (size(limit, unit) for limit in each.step.limit)
        fits = f"within the {least} to {most}" if each.allowed else f"not the {least} to {most}"
        if each.left > 0:
            left = f"{size(each.left, unit)} below its sill, {fits} asked"
        else:
            left = f"{size(-each.left, unit)} above its sill: water runs in"
        ends.append(f"at {each.step.door.name} {left}")
    return (
        f"laid into a hole dug for {called(plan, planned)} it lifts the finish by "
        f"{size(first.rise, unit)}, {'; '.join(ends)}"
    )
