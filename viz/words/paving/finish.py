"""The finish in words and tables: its planes and folds, what holds it, what else it could be."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from grading.choice.sills import STEPS_COUNTED, doors_words, edge_words
from grading.design.area import AreaPlan, GroupPlan
from grading.design.folds import Fold, folds_of, panes_of, span_of, warped
from grading.design.on_grade import aimed_words, on_grade, tilt_words
from grading.design.places import Places
from grading.design.steps import shared_edges
from grading.finish.model import Binding
from grading.geometry.tolerances import SEEN, TOLD_LEVEL
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.signs import listed
from grading.units import HOUR, Unit, area, bearing, length, percent, run, size, slope
from viz.table import CUBIC, Table, cubic, moved
from viz.words.paving.edges import step_words

CHOSEN = {
    "given": "chosen",
    "advised": "advised: the site gives no base",
    "least dig and refill": (
        "the site gives no base and none is advised: this one takes the least dig and refill"
    ),
    "least earth": "the site gives no base and none is advised: this one moves the least earth",
}
"""How the base that an area is planned on was chosen, by `AreaPlan.base_from`."""

COUNTED = {
    "dig and refill": "dug and refilled",
    "earth": "of earth moved",
}
"""What finishes are weighed by, after its volume, by `Aim.measure`."""

LEAST = {"dig and refill": "Least dig and refill", "earth": "Least earth"}
"""The least of it, at the head of a line."""

_LITTLE = 0.01  # m3: what a wish holds by less is not told


def finish_lines(plan: AreaPlan, places: Places) -> Iterator[str]:
    """Yield the lines that tell an area's finish: one for each plane, then what holds it."""
    finish, panes, unit = plan.finish, panes_of(plan), places.unit
    how = "as given"
    if finish.fitted:
        how = f"fitted for the {finish.system} base, {aimed_words(plan)}"
    if len(panes) == 1:
        plane = finish.plane
        yield (
            f"Finish ({how}): falls {slope(plane.fall, unit)}, water runs towards bearing "
            f"{bearing(plane.bearing)} (clockwise from +y)"
        )
    elif warped(panes):
        least, most = span_of(panes)
        yield (
            f"Finish ({how}): warped between two edges, falls {percent(least)} to "
            f"{slope(most, unit)}; set strings along the rulings of the plan of levels"
        )
    else:
        yield f"Finish ({how}): {len(panes)} planes that meet along folds"
        for number, pane in enumerate(panes, start=1):
            yield (
                f"  plane {number}: falls {slope(pane.plane.fall, unit)} towards bearing "
                f"{bearing(pane.plane.bearing)}, {area(pane.region.area, unit)} of it paved"
            )
        for fold in folds_of(plan):
            yield f"  {_fold(fold, places)}"
    if finish.surface.folded and finish.surface.one_plane:
        yield (
            f"  its shape was to be a {plan.area.shape}, but its planes come out the same: one "
            "plane does as well, so no fold is needed"
        )
    tilted = tilt_words(plan, unit)
    if tilted:
        yield f"  {tilted}"
    yield from (f"  {words}" for words in held_lines(plan, unit))


def held_lines(plan: AreaPlan, unit: Unit) -> Iterator[str]:
    """Yield what holds an area's finish where it is, and what a step of each would take."""
    counted = COUNTED[plan.group.group.aim.measure]
    for binding in plan.finish.binding:
        if _holds(binding):
            yield _binding(binding, counted, on_grade(plan), unit)


def _fold(fold: Fold, places: Places) -> str:
    first, last = (places.at(end) for end in fold.line)
    falls = "level" if fold.fall < TOLD_LEVEL else f"falls {slope(fold.fall, places.unit)}"
    high, low = (length(float(z), places.unit) for z in fold.levels)
    return f"{fold.kind} {falls} from level {high}, {first}, to level {low}, {last}"


def _holds(binding: Binding) -> bool:
    """Say whether a step of a wish changes anything that is told."""
    changes = (binding.harder or 0.0, binding.easier or 0.0)
    return (
        binding.harder is None
        or max(abs(volume) for volume in changes) > _LITTLE
        or abs(binding.nearer) > SEEN
    )


def _binding(binding: Binding, counted: str, graded: bool, unit: Unit) -> str:
    # Stricter and looser, not more and less: more of "at most 4 %" would be read as 4.5 %. On
    # grade a looser limit may well take more work: what it wins is told before what it takes.
    harder = "it cannot be had with the rest"
    if binding.harder is not None:
        harder = f"it takes {_change(binding.harder, counted, unit)}"
    easier, wins = f"takes {_change(binding.easier or 0.0, counted, unit)}", "it"
    if graded and binding.nearer > SEEN:
        wins = "the edge lies nearer to the lawn, and it"
    elif graded and binding.nearer < -SEEN:
        wins = "it falls more gently, and"
    said = f"held by {binding.wish}: {binding.step} looser {wins} {easier}"
    if binding.rule == "meeting-gap":
        return said  # it is met, or it is not: there is no stricter
    return f"{said}; {binding.step} stricter {harder}"


def _change(volume: float, counted: str, unit: Unit) -> str:
    """Say what a step takes more, or less. [m3]"""
    if abs(volume) <= _LITTLE:
        return "as much"
    return f"{moved(abs(volume), unit)} {'more' if volume >= 0 else 'less'} {counted}"


def corner_lines(plan: AreaPlan, unit: Unit) -> Iterator[str]:
    """Yield how the inside corner that an area lies at can be drained, one line for each way."""
    ways = plan.corner_ways
    if not ways:
        return
    yield "The inside corner of the house can be drained:"
    names = {"valley": "by a valley from the corner", "plane": "by one plane across it"}
    measure = plan.group.group.aim.measure
    for way in ways:
        drop = size(way.corner_drop, unit)
        volume = moved(way.moved if measure == "earth" else way.work, unit)
        words = (
            f"  {names[way.shape]}: {volume} {COUNTED[measure]}, falls up to "
            f"{percent(way.greatest_fall)}, {drop} from the corner to the lowest paving"
        )
        if way.shape == "valley" and way.one_plane:
            words += (
                "; both its planes come out the same: one plane does as well, and no fold is needed"
            )
        if way.valley_fall is not None:
            words += f"; the valley falls {percent(way.valley_fall)} and must lead to an outlet"
        strays = ", ".join(f"{size(by, unit)} along {wall}" for wall, by in way.reveals.items())
        yield f"{words}; off level by {strays}" if strays else words


def sill_lines(plan: Plan) -> Iterator[str]:
    """Yield how a high sill can be met: what is planned, and the other way beside it."""
    unit = plan.site.unit
    if not plan.sill_ways:
        return
    telling = telling_of(plan.order)
    yield "A sill high over the lawn, both ways on the same bases:"
    yield Table.of(
        {
            "way": f"{way.kind}{' *' if way.planned else ''}", "steps": doors_words(way, unit),
            "edge above lawn": edge_words(way, unit), "dug and refilled": moved(way.work, unit),
            "trips": way.trips, "hours": f"{way.time / HOUR:.0f}",
            telling.title: telling.words(way.cost),
        }
        for way in plan.sill_ways
    ).grid()  # fmt: skip
    yield f"* planned; {STEPS_COUNTED}"


def tie_in_lines(plan: AreaPlan, unit: Unit) -> Iterator[str]:
    """Yield how the lawn is brought to an area, where the site says so."""
    tie = plan.tie_in
    if tie is None:
        return
    least, most = (_above(height, unit) for height in tie.reveal)
    yield f"Lawn beside it ({tie.edge}): as it lies, the paving stands {least} to {most}"
    if tie.edge == "stepped":
        return
    yield (
        f"  regraded at {percent(tie.slope)} over {area(tie.area, unit)}, up to "
        f"{run(tie.widest, unit)} wide: {moved(tie.cut, unit)} cut, {moved(tie.fill, unit)} fill"
    )
    if tie.open > 0:
        yield (
            f"  along {run(tie.open, unit)} of edge that slope does not meet the ground: "
            "it needs a wall or a steeper bank"
        )


def _above(height: float, unit: Unit) -> str:
    return f"{size(abs(height), unit)} {'above' if height >= 0 else 'BELOW'} it"


def edge_lines(plan: Plan) -> Iterator[str]:
    """Yield how areas meet along the edges that they share."""
    edges = list(shared_edges(plan))
    if edges:
        yield "Shared edges:"
    for edge in edges:
        way = "and" if edge.flush else "down to"
        yield f"  {edge.upper} {way} {edge.lower}: {step_words(edge, plan.site.unit, plan)}"


def finishes_table(group: GroupPlan, unit: Unit) -> Table:
    """Return what each objective gives, side by side, in the site's unit."""
    mark = CUBIC[unit]
    return Table.of(
        {
            "finish": f"{each.objective} *" if each.objective == group.aimed_at else each.objective,
            f"dug and\nrefilled\n{mark}": f"{cubic(each.work, unit):.2f}",
            f"earth\nmoved\n{mark}": f"{cubic(each.moved, unit):.2f}",
            f"cut\n{mark}": f"{cubic(max(each.cut, 0.0), unit):.2f}",
            f"fill\n{mark}": f"{cubic(max(each.fill, 0.0), unit):.2f}",
            f"left over\n{mark} bank": f"{cubic(each.hauled, unit):.2f}",
            "greatest\nfall": percent(each.greatest_fall),
        }
        for each in group.outcomes
    )


def group_lines(group: GroupPlan, unit: Unit) -> Iterator[str]:
    """Yield the finishes that areas solved together could have, and what a steeper fall costs."""
    table = finishes_table(group, unit)
    if not table.rows:
        return
    names = _names(group)
    yield f"Finishes of {names} side by side, inside the paving:"
    yield table.grid(1)
    yield "* in use"
    yield (
        "dug and refilled: all that comes out, topsoil to its bottom, and all that is put back; "
        "earth moved: cut and fill between ground and subgrade, before topsoil is weighed"
    )
    yield (
        "left over: the cut less what the fill takes up, topsoil as if it could be filled with; "
        "the order hauls all that is dug, topsoil too"
    )
    if not any(wish.rule == "fall-away" for wish in group.solved.held.wishes):
        return
    found = zip(group.tradeoff.falls.tolist(), group.tradeoff.least.tolist(), strict=True)
    costs = ", ".join(
        f"{percent(fall)} {'cannot be had' if np.isnan(volume) else moved(volume, unit)}"
        for fall, volume in found
    )
    least = LEAST[group.group.aim.measure]
    yield f"{least} for a fall away from the house of at least: {costs}"


def _names(group: GroupPlan) -> str:
    """Return the areas solved together as they are read out."""
    return listed([each.name for each in group.group.areas])
