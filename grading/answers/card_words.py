"""What the decision card says in words: where the advice turns, and what deeper topsoil takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar

from grading.answers.card import Advised, Card, Deeper, advised_bases, reckoned_depth
from grading.design.over_topsoil import topsoil_of, topsoil_steps
from grading.geometry.tolerances import SAME
from grading.order.margins.break_even import Turn
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.units import HOUR, Unit, counted, size, volume

Base = TypeVar("Base", str, str | None)

FINEST = 8
"""Topsoil is told to the nearest eighth of an inch: nobody probes finer."""

FINISH_STAYS = (
    "The finish stays as it is planned, on every base and over every depth: one depth of topsoil "
    "all over the site, dug to its bottom and refilled."
)
"""What the card holds to."""


def depth_words(depth: float, unit: Unit) -> str:
    """Write a depth of topsoil [m]."""
    return size(depth, unit, FINEST)


def topsoil_words(plan: Plan) -> str:
    """Say what topsoil a plan reckons with: 2 in, or 6 in to 8 in as it was probed."""
    unit, depth = plan.site.unit, reckoned_depth(plan)
    if depth is not None:
        return depth_words(depth, unit)
    least, most = (depth_words(each, unit) for each in topsoil_of(plan))
    return f"{least} to {most}" if least != most else least


def called(plan: Plan, base: str | None) -> str:
    """Return what a base is called within a sentence."""
    if base is None:
        return "no base that there is"
    return plan.areas[0].digs[base].system.called


def advised_words(card: Card) -> Iterator[str]:
    """Say for each area which base is advised over which topsoil, and where it turns.

    Parameters
    ----------
    card : Card
    """
    plan = card.plan
    for place, area in enumerate(plan.areas):
        turns = [
            Turn(turn.value, turn.before[place], turn.after[place])
            for turn in card.advised_turns
            if turn.before[place] != turn.after[place]
        ]
        steady = card.rows[-1].advised[place]
        yield f"Advised for {area.name}: {_spans(plan, turns, steady)}."


def cheapest_words(card: Card) -> str:
    """Say which base is the cheapest over which topsoil, and where it turns.

    Parameters
    ----------
    card : Card
    """
    spans = _spans(card.plan, card.cheapest_turns, card.rows[-1].cheapest)
    return f"Cheapest under the whole site: {spans}."


def turned_words(depth: float, unit: Unit) -> str:
    """Write the depth of topsoil [m] at which something turns.

    One that lies below a depth of the card, and would be written as it, turns just under it: the
    row of that depth has what comes after.
    """
    said = depth_words(depth, unit)
    under = [step for step in topsoil_steps(unit) if depth_words(step, unit) == said]
    return f"just under {said}" if under and depth < under[0] - SAME else said


def _spans(plan: Plan, turns: Sequence[Turn[Base]], last: str | None) -> str:
    """Write bases and the depths that each holds to."""
    unit = plan.site.unit
    end = depth_words(topsoil_steps(unit)[-1], unit)
    if not turns:
        return f"{called(plan, last)} whatever the topsoil, from none to {end}"
    said = []
    before = depth_words(0.0, unit)
    for number, turn in enumerate(turns):
        at = turned_words(turn.value, unit)
        if at != before:
            start = "to" if number == 0 else "from there to"
            said.append(f"{called(plan, turn.before)} {start} {at} of topsoil")
        elif number == 0:
            said.append(f"{called(plan, turn.before)} with no topsoil")
        before = at
    said.append(f"{called(plan, turns[-1].after)} from there to {end}")
    return ", ".join(said)


def _by_step(plan: Plan, deeper: Sequence[Deeper], takes: Sequence[str]) -> str:
    """Say what each step takes, and once what all of them take alike."""
    depths = [depth_words(one.more, plan.site.unit) for one in deeper]
    if len(set(takes)) == 1:
        return f"up to {depths[-1]} deeper {takes[0]}"
    return "; ".join(f"{depth} deeper {each}" for depth, each in zip(depths, takes, strict=True))


_LEAST = 0.05  # m3: what is less is told as nothing
_SOON = 0.5 * HOUR  # s: the same


def advice_turned(plan: Plan, deeper: Sequence[Deeper]) -> str:
    """Say from which depth on another base would be advised than is now, and than is planned.

    Parameters
    ----------
    plan : Plan
    deeper : sequence of Deeper
        What one step more takes, and further ones.
    """
    now = advised_bases(plan)
    for one in deeper:
        said = [
            f"{area.name} on {called(plan, base)}"
            for area, base, before in zip(plan.areas, one.advised, now, strict=True)
            if base not in (before, area.chosen)
        ]
        if said:
            more = depth_words(one.more, plan.site.unit)
            return f"With {more} more we would advise {', '.join(said)}."
    return ""


def crew_deeper_words(plan: Plan, deeper: Sequence[Deeper]) -> str:
    """Say what the next steps of topsoil take more, for the crew, on the bases chosen.

    Parameters
    ----------
    plan : Plan
    deeper : sequence of Deeper
    """
    said = _by_step(plan, deeper, [_crew_takes(plan, one) for one in deeper])
    return f"Topsoil deeper than the {topsoil_words(plan)} reckoned with: {said}"


def _crew_takes(plan: Plan, one: Deeper) -> str:
    """Say what a step takes more; a load fewer, for topsoil swells less, is told as nothing."""
    unit, cost = plan.site.unit, round(one.cost)
    said = []
    if max(one.cut, one.fill) >= _LEAST:
        said += [f"{volume(one.cut, unit)} more dug", f"{volume(one.fill, unit)} refilled"]
    if one.trips > 0:
        said.append(f"+{counted(one.trips, 'trip')}")
    if one.bins > 0:
        said.append(f"+{counted(one.bins, 'bin')}")
    if one.time >= _SOON:
        said.append(f"{one.time / HOUR:+.0f} h")
    if cost > 0:
        telling = telling_of(plan.order)
        of = "" if telling.priced else " of the cost"
        said.append(f"+{telling.words(one.cost)}{of}")
    return ", ".join(said) or "takes nothing more"


def advised_names(plan: Plan, advised: Advised) -> str:
    """Write which base is advised: one name where it is the same everywhere.

    Parameters
    ----------
    plan : Plan
    advised : tuple of str or None
    """
    names = ["none" if base is None else base for base in advised]
    if len(set(names)) == 1:
        return names[0]
    return ", ".join(f"{area.name} {name}" for area, name in zip(plan.areas, names, strict=True))
