"""How high is the step? A strip of the wall at each door, all to one scale."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
from msgspec import Struct
from msgspec.structs import replace
from shapely import affinity

from grading.design.area import AreaPlan
from grading.design.door_steps import DoorStep, door_steps
from grading.design.levels import levels_at
from grading.design.steps import shared_edges
from grading.dig.beds import REFILL
from grading.dig.hole import Dig
from grading.geometry.arrays import Floats
from grading.geometry.tolerances import THREAD
from grading.pipeline import Plan
from grading.section.built import STANDING, Built
from grading.section.square import high_edge_cut
from grading.structures.flights import flights_between
from grading.units import Unit
from viz.drawings.answers.page import BODY, answer_sheet, foot
from viz.drawings.placing import arrows_between, label_column
from viz.drawings.section.built import built_of, shown_in
from viz.paper.compose import Sheet, View
from viz.paper.drawing import CUT, FAINT, FINE, GROUND, OUTLINE, THIN, Drawing, Pen
from viz.paper.lettering import fitting_size, fold
from viz.paper.page import Box, Scale, fitting_scale
from viz.words.figures import DIRT, level, small
from viz.words.paving.edges import step_words_in_both

QUESTION = "How high is the step?"
MOST = 3  # strips side by side
NAMES = 33.5  # mm: levels beside a strip
DIMENSION = 16.0  # mm: the step on its other side
WIDEST = 34.0  # mm: a strip
_DOOR = 0.25  # m: half of the door shown, whose width no site gives
_OVER, _UNDER = 0.13, 0.08  # m shown over the highest level and under the lowest
_PAVED, _LAWN = 0.1, 0.08  # m of paving and of lawn shown beside what is built between them
_SIZE = 2.15
_SEEN = 2.5  # mm of refill in a strip that is named
_SIDING = Pen(0.35, "#1a1a1a", (2.4, 0.8))


class Strip(Struct, frozen=True):
    """What one strip shows.

    The levels of sill, finish and ground [m], and of what hangs over the wall, by name; the dig
    under the finish and the refill there [m]; of a step between areas the two areas' names, the
    finish of the upper one [m], how many risers go up to it, and how high each is [m]; what is
    built at a free edge, the edge at 0 and the lawn beyond it.
    """

    name: str
    dig: Dig
    sill: float | None
    finish: float
    ground: float | None
    over: tuple[tuple[str, float], ...] = ()
    refill: float = 0.0
    areas: tuple[str, str] | None = None
    upper: float | None = None
    risers: int = 0
    riser: float = 0.0
    built: tuple[Built, ...] = ()

    @property
    def levels(self) -> list[float]:
        """Every level in it. [m]"""
        all_ = [self.sill, self.upper, self.finish, self.ground, *(z for _, z in self.over)]
        return [z for z in all_ if z is not None]

    @property
    def reach(self) -> float:
        """How far what is built stands out from the edge. [m]"""
        standing = [each.shape for each in self.built if each.material in STANDING]
        return max((float(shape.bounds[2]) for shape in standing), default=0.0)

    def edge(self, half: float) -> float:
        """Return where the paving ends in a strip that is so wide to either side. [m]"""
        if self.whole:
            return half
        return -half + _PAVED if self.reach else 0.0

    @property
    def whole(self) -> bool:
        """Whether the paving goes on over all of it, as it does before a door or a step."""
        return self.sill is not None or self.upper is not None


def step_answer(plan: Plan, area: AreaPlan) -> tuple[str, str, str, Sheet]:
    """Return key, question, words and sheet: the step at each door."""
    sheet = answer_sheet("step", QUESTION)
    unit = plan.site.unit
    doors = door_steps(area)
    steps = _between_areas(plan, area)[:1]
    strips = [_at_door(plan, area, step) for step in sorted(doors, key=lambda one: -one.step)]
    strips = strips[: MOST - len(steps)] + steps
    edges = _off_the_edge(plan, area)
    # Without a door both ends of the edge are told, with doors the higher one.
    strips += (edges if not strips else edges[:1])[: MOST - len(strips)]
    tall = max((max(s.levels) - min(s.levels) for s in strips), default=0.1) + _OVER + _UNDER
    count = max(len(strips), 2)
    room = min(BODY.columns([1] * count, 3.0)[0].width - NAMES - DIMENSION, WIDEST)
    across = max((_PAVED + strip.reach + _LAWN for strip in strips if strip.reach), default=0.0)
    scale = fitting_scale(unit, across, tall, (room, BODY.height - 6.0), at_most=4)
    for box, strip in zip(BODY.columns([1] * count, 3.0), strips, strict=False):
        _draw(sheet, box, strip, area, scale, unit)
    about = "true scale, the same for each; seen facing the wall, or the step."
    if doors:
        about += " Widths of doors are not surveyed."
    foot(sheet, unit, scale, about)
    return "step", QUESTION, words_of(plan, area), sheet


def _at_door(plan: Plan, area: AreaPlan, step: DoorStep) -> Strip:
    over = tuple((ceiling.name or ceiling.kind, z) for ceiling, z in step.ceilings)
    return Strip(
        step.door.name or "door", area.chosen_dig, float(step.door.sill), step.finish, step.ground,
        over, _refill_at(plan, area, step.at), risers=step.risers, riser=step.riser,
    )  # fmt: skip


def _refill_at(plan: Plan, area: AreaPlan, at: Floats) -> float:
    """Return how thick the refill lies at a point of an area; 0 where no ground is known. [m]"""
    return float(np.nan_to_num(levels_at(plan, area, np.asarray(at, float)[None]).refill[0]))


def _between_areas(plan: Plan, area: AreaPlan) -> list[Strip]:
    """Return the steps between this area and others, where each is greatest, highest first."""
    name = area.area.name
    edges = [edge for edge in shared_edges(plan) if edge.risers and not edge.flush
             and name in (edge.upper, edge.lower)]  # fmt: skip
    strips = []
    for edge in sorted(edges, key=lambda one: -one.drop[1]):
        lower, (high, low), riser = plan.area(edge.lower), edge.levels, edge.drop[1]
        if edge.risers > 1:
            # From the edge down to the foot of the steps, where the lower finish has gone on.
            flight = max(flights_between(plan, edge), key=lambda one: one.width)
            high, low = (float(ends.mean()) for ends in flight.levels)
            riser = flight.riser
        strips.append(Strip(
            f"{'down' if edge.upper == name else 'up'} to {edge.other(name)}", lower.chosen_dig,
            None, low, None, refill=_refill_at(plan, lower, edge.at),
            areas=(edge.upper, edge.lower), upper=high, risers=edge.risers, riser=riser,
        ))  # fmt: skip
    return strips


def _off_the_edge(plan: Plan, area: AreaPlan) -> list[Strip]:
    """Return where the paving stands highest and lowest over the ground at a free edge."""
    found = area.edge_extremes
    if found is None:
        return []
    strips = []
    for (run, k), which in ((found[1], "highest"), (found[0], "lowest")):
        levels = float(run.finish[k]), float(run.ground[k])
        strips.append(
            Strip(f"at the free edge, where {which}", area.chosen_dig, None, *levels,
                  refill=_refill_at(plan, area, run.points[k]),
                  built=_built(plan, area) if which == "highest" else ())
        )  # fmt: skip
    return strips


def _built(plan: Plan, area: AreaPlan) -> tuple[Built, ...]:
    """Return what is built where the free edge stands highest, the edge at 0, outwards positive."""
    edge = high_edge_cut(plan.sections, area)
    if edge is None:
        return ()
    return tuple(
        replace(each, shape=affinity.translate(each.shape, -edge.at))
        for each in built_of(plan.order, edge.cut)
    )


def _draw(sheet: Sheet, box: Box, strip: Strip, area: AreaPlan, scale: Scale, unit: Unit) -> None:
    wide = min(max(box.width - NAMES - DIMENSION, 6.5), WIDEST)
    half = scale.metres(wide / 2)
    low, high = min(strip.levels) - _UNDER, max(strip.levels) + _OVER
    middle = box.x0 + NAMES + wide / 2
    y = box.y0 + (box.height - 6.0 - scale.mm(high - low)) / 2
    view = View(Drawing(strip.name), scale, (middle, y - scale.mm(low)))
    sheet.views.append(view)
    draw = view.drawing
    size = fitting_size(strip.name, 2.8, box.width - 2, 2.0)
    sheet.paper.paragraph((box.x0 + 1, box.y1), fold(strip.name, size, box.width - 2, True),
                          size=size, bold=True)  # fmt: skip
    if strip.sill is not None:
        _wall(draw, strip, half, high)
    if strip.upper is not None:
        _risers(draw, strip, half)
    _paving(draw, strip, half, low)
    edge = strip.edge(half)
    draw.line([(-half, strip.finish), (edge, strip.finish)], CUT, "level")
    if strip.ground is not None:
        draw.line([(-half, strip.ground), (edge, strip.ground)], GROUND, "level")
    for _, z in strip.over:
        draw.line([(-half, z), (half, z)], _SIDING, "level")
    draw.line([(-half, low), (-half, high), (half, high), (half, low)], FAINT, "frame", closed=True)
    _names(view, strip, box, half, low, unit)
    _dimension(view, strip, box, half, unit)


def _risers(draw: Drawing, strip: Strip, half: float) -> None:
    """The face of a step between areas as it is met: one riser over the other."""
    assert strip.upper is not None
    ends = np.linspace(strip.finish, strip.upper, strip.risers + 1).tolist()
    for low, high in pairwise(ends):
        draw.area(shapely.box(-half, low, half, high), fill="#ececea", pen=THIN, layer="riser")
    draw.line([(-half, strip.upper), (half, strip.upper)], CUT, "level")


def _wall(draw: Drawing, strip: Strip, half: float, high: float) -> None:
    """The wall with its siding above, and the lower part of the door."""
    assert strip.sill is not None
    edge = min((z for _, z in strip.over), default=None)
    draw.area(shapely.box(-half, strip.finish, half, high), fill="#ececea", layer="house wall")
    if edge is not None and edge < high:
        draw.area(shapely.box(-half, edge, half, high), fill="#f6f2e8", layer="siding")
    wide = min(_DOOR, half * 0.62)
    if strip.sill < high:
        leaf = shapely.box(-wide, strip.sill, wide, high)
        draw.area(leaf, fill="#ffffff", pen=THIN, layer="door")
    draw.line([(-wide * 1.12, strip.sill), (wide * 1.12, strip.sill)], CUT, "sill")


def _paving(draw: Drawing, strip: Strip, half: float, low: float) -> None:
    """The build-up under the finish; off the edge it ends midway, with the ground beside it."""
    top, ground = strip.finish, strip.ground
    edge = strip.edge(half)
    layers = [(layer.thickness, layer.material, "layer") for layer in strip.dig.system.layers]
    for thickness, kind, name in (*layers, (strip.refill, "refill", "refill")):
        bottom = max(top - thickness, low)
        if bottom < top - THREAD:
            draw.area(shapely.box(-half, bottom, edge, top), kind, layer=name)
        top = bottom
    if top > low + THREAD:
        draw.area(shapely.box(-half, low, edge, top), "soil", layer="soil")
    if not strip.whole and ground is not None:
        draw.area(shapely.box(edge, low, half, ground), "soil", layer="soil")
        draw.line([(edge, ground), (half, ground)], OUTLINE, "ground")
        draw.turf([(edge, ground), (half, ground)])
    window = shapely.box(-half, low, half, max(strip.levels) + _OVER)
    moved = [replace(each, shape=affinity.translate(each.shape, edge)) for each in strip.built]
    for each in shown_in(moved, window):
        draw.area(each.shape, each.material, pen=THIN, layer=each.structure.kind)


def _names(
    view: View, strip: Strip, box: Box, half: float, low: float, unit: Unit
) -> None:  # fmt: skip
    said = [("finish", strip.finish, level(strip.finish, unit))]
    if strip.areas is not None and strip.upper is not None:
        said = [(strip.areas[0], strip.upper, level(strip.upper, unit)),
                (strip.areas[1], strip.finish, level(strip.finish, unit))]  # fmt: skip
    if strip.sill is not None:
        said.append(("sill", strip.sill, level(strip.sill, unit)))
    if strip.ground is not None:
        said.append(("ground today", strip.ground, level(strip.ground, unit, DIRT)))
    said += [(name, z, level(z, unit)) for name, z in strip.over]
    under = strip.finish - strip.dig.build_up
    seen = min(strip.refill, under - low)
    if view.scale.mm(seen) > _SEEN and not strip.reach:
        said.append((f"{REFILL} here", under - seen / 2, small(strip.refill, unit, DIRT)))
    labels = [(-half, z, f"{fold(name, _SIZE, NAMES - 5)}\n{words}") for name, z, words in said]
    label_column(view, labels, box.x0 + NAMES - 4.5, (box.y0, box.y1 - 5.0), _SIZE,
                 0.3 * _SIZE + 0.9, across="right", dot=False)  # fmt: skip


def _dimension(view: View, strip: Strip, box: Box, half: float, unit: Unit) -> None:
    """The step at the door; off the edge, the height above the ground; the siding's clearance."""
    draw = view.drawing
    low, high, words = strip.finish, strip.sill, "step"
    if strip.upper is not None:
        high = strip.upper
    elif strip.sill is None:
        if strip.ground is None:
            return
        low, high = sorted((strip.ground, strip.finish))
        words = "above\nground" if strip.finish >= strip.ground else "below\nground"
    assert high is not None
    at = half + view.scale.metres(2.0)
    for z in (low, high):
        draw.line([(half, z), (at + view.scale.metres(0.9), z)], FINE, "extension")
    middle = (low + high) / 2
    if not arrows_between(view, at, low, high, 6.0, far=5.0, head=1.8, layer="step"):
        draw.line([(at, low), (at, high)], THIN, "step")
    said = small(high - low, unit).replace(" (", "\n(")
    said = f"{words}\n{said}" if strip.whole else f"{said}\n{words}"
    if strip.risers > 1:
        each = small(strip.riser, unit).replace(" (", "\n(")
        said += f"\n{strip.risers} risers of\n{each}"
    size = fitting_size(said, 2.4, box.x1 - view.paper((at, middle))[0] - 1.3, 1.7, 0.05)
    draw.text((at, middle), said, size=size, bold=True, across="left",
              shift=(1.3, 0.0), layer="step")  # fmt: skip


def _at_door_words(step: DoorStep, unit: Unit) -> str:
    down = step.words(lambda metres: small(metres, unit))
    how = f"the step down from the sill is {down}"
    if step.risers > 1:
        how = f"{down} lead down from the sill"
    return f"At the {step.door.name or 'door'} {how}"


def words_of(plan: Plan, area: AreaPlan) -> str:
    """Say how high the step is at each door, between areas, and off the edge."""
    unit = plan.site.unit
    said = [_at_door_words(step, unit) for step in door_steps(area)]
    if not said:
        said.append("No door opens onto this paving")
    for edge in shared_edges(plan):
        if area.area.name in (edge.upper, edge.lower) and not edge.flush:
            way = "Down" if area.area.name == edge.upper else "Up"
            said.append(
                f"{way} to {edge.other(area.area.name)}: {step_words_in_both(edge, unit, plan)}"
            )
    high = area.edge_heights[0]
    if high > 0:
        said.append(f"At its free edge it stands up to {small(high, unit)} above the ground")
    elif area.edge_runs:
        said.append(f"At its free edge it lies at least {small(-high, unit)} below the ground")
    return ". ".join(said) + "."
