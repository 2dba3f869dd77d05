"""The detail where two base systems meet: both build-ups, cut square to their join."""

from __future__ import annotations

from collections.abc import Iterator

from grading.conditions.joins import Join
from grading.pipeline import Plan
from grading.section.cut import Cut
from grading.section.square import Side, join_cut, with_what_is_there
from grading.units import Unit, run
from viz.drawings.details.cuts import Detail
from viz.drawings.placing import Label
from viz.paper.compose import View
from viz.paper.drawing import HIDDEN, OUTLINE
from viz.words.figures import level, small

SHOWN = 0.42  # m of either side, where nothing reaches farther
BELOW, ABOVE = 0.07, 0.08  # m shown under the deeper subgrade and over the finish
_LAYERS_AT = 0.62  # of what is shown of a side: where its layers are named


def join_detail(plan: Plan, join: Join, number: int, unit: Unit) -> Detail | None:
    """Return the section across a join, on its right the deeper build-up or what is there.

    Parameters
    ----------
    plan : Plan
    join : Join
    number : int
        Of the join, as the plan marks it.
    unit : "ft" or "m"

    Returns
    -------
    Detail or None
        None where the edge runs so that no line square to it goes from one side to the other.
    """
    made = join_cut(plan.sections, join)
    if made is None:
        return None
    at, left, right, taper = made.at, made.left, made.right, made.taper
    low = max(at - max(SHOWN, 1.1 * taper), made.cut.ends[0])
    high = min(at + SHOWN, made.cut.ends[1])
    if join.there:
        made = with_what_is_there(made, high)
    # Where each side's subgrade ends against the other.
    cut, ends, top = made.cut, made.subgrades, right.finish(made.cut, at)
    roof = max(left.finish(cut, low), right.finish(cut, high), left.finish(cut, at)) + ABOVE
    window = (low, min(*ends, cut.deepest_in(low, high)) - BELOW, high, roof)
    labels: list[Label] = [
        *_of_layers(left, cut, at - _LAYERS_AT * min(SHOWN, at - low), unit, beside=right),
        *_of_layers(right, cut, at + _LAYERS_AT * (high - at), unit),
        (at, top - 0.01, "the step between them" if join.at_step else "soldier course along it"),
    ]
    if "geotextile" in join.detail:
        labels.append((at, sum(ends) / 2 + 0.02, "geotextile on the face"))
    if taper:
        labels.append((at - taper / 2, sum(ends) / 2, f"taper over {run(taper, unit)} or more"))

    def marks(view: View) -> None:
        view.drawing.line([(at, min(ends)), (at, top)], OUTLINE, "join")
        if taper:
            start = at - taper
            view.drawing.line([(at, ends[1]), (start, left.subgrade(cut, start))], HIDDEN, "taper")

    name = f"Join {number}: {left.name} on {left.dig.system.called}, "
    name += f"{right.name} on {right.dig.system.called}"
    name += ", which is there already" if join.there else ""
    return Detail(name, cut, window, tuple(labels), marks)


def _of_layers(
    side: Side, cut: Cut, s: float, unit: Unit, beside: Side | None = None
) -> Iterator[Label]:
    """Name the finish and every layer of a side where it is cut.

    Of the layers at its top those that go on as they are `beside` it are named there.
    """
    z = side.finish(cut, s)
    yield s, z, f"{side.name} {level(z, unit)}"
    others = () if beside is None else beside.dig.system.layers
    system, going_on = side.dig.system, True
    for number, (layer, top) in enumerate(zip(system.layers, system.tops(), strict=True)):
        going_on = going_on and number < len(others) and layer == others[number]
        if not going_on:
            words = f"{layer.name} {small(layer.thickness, unit)}"
            yield s, z - top - layer.thickness / 2, words
