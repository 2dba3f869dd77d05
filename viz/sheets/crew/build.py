"""The third page of the crew's sheet: where to stop, the edge cut through, layers, steps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from msgspec import Struct

from grading.answers.site import joins_words, site_answer
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.dig.hole import LEAST_REFILL
from grading.order.quantities import lift_count, lift_limit
from grading.order.sequence import BuildUp, Step, build_ups
from grading.setout.model import SetOut
from grading.signs import listed as listing
from grading.units import Unit, nominals, size, some_volume, volume
from grading.units.writing import area as paved_area
from viz.sheets.blocks import (
    Block,
    Column,
    Page,
    boxed,
    drawing,
    heading,
    listed,
    table,
    together,
    words,
)
from viz.sheets.compile import Compiled, printable
from viz.sheets.crew.edge import FILL, edge_sheets
from viz.sheets.crew.rods import level_blocks
from viz.sheets.head import Job, area_title
from viz.words.figures import DIRT
from viz.words.lookouts import forbidden, stops
from viz.words.paving.pavers import face_words
from viz.words.plain import opened

_BUILT = {"base": "built-base", "bedding": "built-bedding", "paver": "built-surface"}
"""The rule of how well each role is built."""

_NAMES = 44  # letters of the names of areas that head columns of one table


def build_page(job: Job, found: SetOut, sheet: Compiled) -> Page:
    """Return the page that is dug and built from.

    Parameters
    ----------
    job : Job
    found : SetOut
        With the instrument that rods are stated for.
    sheet : Compiled
        Takes the drawings.
    """
    blocks: list[Block] = [
        boxed([words("Stop and call before you go on", bold=True),
               listed(stops(job.plan), boxes=True, columns=2)], heavy=True),
    ]  # fmt: skip
    for made, title, aside in edge_sheets(job):
        alt = f"{title}: layers, lifts, existing ground and what holds the edge, cut square to it"
        blocks.append(together([heading(title, aside), drawing(sheet.drawing(made, alt))]))
    for alike in _alike(job):
        first = alike[0]
        names = listing([area_title(each.plan) for each in alike])
        title = f"{names}: layers" if len(job.plan.areas) > 1 else "Layers"
        blocks.append(together([
            heading(f"{title} on {first.base}", "from the bottom up, compacted"),
            _table(alike),
            *(words(said, small=True) for said in first.said),
            listed(_steps(alike), boxes=True, numbered=True, columns=2),
        ]))  # fmt: skip
    joins = [f"{said}." for said in joins_words(site_answer(job.plan), job.unit)]
    if joins:
        blocks.append(together([heading("Where two bases meet"), listed(joins)]))
    if forbidden(job.plan):
        blocks += level_blocks(job, found)
    return Page("Dig, stone, pavers", tuple(blocks), flows=True)


class _Laid(Struct, frozen=True):
    """What is told of how an area is laid; areas of which the same is told share a part.

    layers are the rows of its table but for how much of each lies in place, amounts; steps are
    those after the dig and what is built in it.
    """

    plan: AreaPlan
    base: str
    layers: tuple[tuple[str, ...], ...]
    amounts: tuple[str, ...]
    said: tuple[str, ...]
    topsoil: bool
    dig: str
    built: tuple[str, ...]
    steps: tuple[str, ...]

    def as_laid(self, other: _Laid) -> bool:
        """Whether the same is told of both, but for steps that only one of them takes."""
        told = [(each.base, each.layers, each.said, each.topsoil, bool(each.dig))
                for each in (self, other)]  # fmt: skip
        fewer, more = sorted((self.steps, other.steps), key=len)
        return told[0] == told[1] and set(fewer) <= set(more)


def _alike(job: Job) -> list[list[_Laid]]:
    """Return how areas are laid, those that are laid alike together, as their names leave room."""
    found: list[list[_Laid]] = []
    for plan in job.plan.areas:
        laid = _laid_of(job, plan)
        same = next((group for group in found if all(map(laid.as_laid, group))), None)
        names = [] if same is None else [each.plan.area.name for each in (*same, laid)]
        if same is None or sum(map(len, names)) > _NAMES:
            found.append([laid])
        else:
            same.append(laid)
    return found


def _laid_of(job: Job, plan: AreaPlan) -> _Laid:
    unit, dig = job.unit, plan.chosen_dig
    built, takeoff = _chosen(job, plan), job.order.of(plan).takeoffs[plan.chosen]
    rows = list(_layers(job, plan))
    digs = [step for step in built.steps if step.phase == "dig"]
    told = (
        f"{volume(dig.cut, unit)} in the bank over {paved_area(dig.dig_area, unit)}, "
        f"{size(dig.max_dig, unit, DIRT)} at the deepest"
    )
    return _Laid(
        plan, dig.system.called, tuple(row for row, _ in rows), tuple(much for _, much in rows),
        tuple(_said(job, plan)), any("topsoil" in step.title for step in digs),
        told if digs else "", tuple(each.name for each in takeoff.structures),
        tuple(_after_the_dig(job, plan, built)),
    )  # fmt: skip


def _said(job: Job, plan: AreaPlan) -> Iterator[str]:
    """Give what holds the edge and fills the joints, then how thick a lift may be, and by whom."""
    advice, unit = job.plan.advice.area(plan.area.name), job.unit
    joint = advice.joint_shown and advice.joint_shown.option.title
    chosen = [
        f"{what}: {told}." for what, told in (("Edge", advice.holding), ("Joints", joint)) if told
    ]
    if chosen:
        yield " ".join(chosen)
    stones = [
        part.layer.material
        for part in reversed(plan.chosen_dig.layers)
        if part.layer.role == "base"
    ]
    if plan.chosen_dig.fill > LEAST_REFILL:
        stones.insert(0, job.order.of(plan).takeoffs[plan.chosen].stone)
    entries = dict.fromkeys(lift_limit(stone, job.plan.crew) for stone in stones)
    told = [f"{entry.title}: {size(entry.likely, unit)} ({nominals(entry.source, unit)})."
            for entry in entries if entry is not None]  # fmt: skip
    if told:
        yield opened(" ".join(told))


def _table(alike: Sequence[_Laid]) -> Block:
    """Return layers from the bottom up, with how much of each lies in place in each area."""
    amounts = ["in place"] if len(alike) == 1 else [f"{each.plan.area.name}, in place"
                                                   for each in alike]  # fmt: skip
    rows = [
        [*row[:3], *much, *row[3:]]
        for row, *much in zip(alike[0].layers, *(each.amounts for each in alike), strict=True)
    ]
    return table(
        [Column("Layer", kind="name"), Column("thick"), Column("lifts"),
         *(Column(head) for head in amounts),
         Column("below paver top"), Column("within"), Column("ok", 9.0, "tick")],
        rows, whole=True,
    )  # fmt: skip


def _layers(job: Job, plan: AreaPlan) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield layers from the bottom up: how they are laid, and how much of each lies in place."""
    crew, unit = job.plan.crew, job.unit
    takeoff = job.order.of(plan).takeoffs[plan.chosen]
    stone, dig = takeoff.stone, plan.chosen_dig
    if dig.fill > LEAST_REFILL:
        refill = dig.refill
        deep = "" if refill is None else f"to {size(refill.greatest, unit, DIRT)}"
        yield (
            (FILL, deep, _limit(stone, crew, unit), size(dig.build_up, unit),
             _within(job, "built-subgrade")),
            some_volume(dig.fill, unit),
        )  # fmt: skip
    # As they are laid and ordered: less what drains, steps and walls take the place of.
    for part, top in zip(reversed(takeoff.layers), reversed(dig.system.tops()), strict=True):
        layer = part.layer
        lifts = "one"
        if layer.role == "base":
            count = lift_count(layer.thickness, layer.material, crew)
            lifts = f"{count} of {size(layer.thickness / count, unit)}"
        elif layer.role in ("paver", "panel"):
            lifts = ""
        laid = layer.role in ("paver", "panel")
        yield (
            (printable(layer.name, 60), size(layer.thickness, unit), lifts,
             size(top, unit) if top else "is the top", _within(job, _BUILT.get(layer.role, ""))),
            paved_area(part.area, unit) if laid else some_volume(part.volume, unit),
        )  # fmt: skip


def _within(job: Job, rule: str) -> str:
    return f"\N{PLUS-MINUS SIGN}{size(job.plan.limits[rule], job.unit, 8)}" if rule else ""


def _limit(stone: str, crew: Crew, unit: Unit) -> str:
    entry = lift_limit(stone, crew)
    return "one" if entry is None else f"{size(entry.likely, unit)} at most"


def _steps(alike: Sequence[_Laid]) -> Iterator[str]:
    """Give the steps of areas that are laid alike, in the order in which they are taken."""
    first = alike[0]
    if first.dig:
        apart = ", topsoil first and by itself," if first.topsoil else ""
        named = [f"{each.plan.area.name} {each.dig}" for each in alike]
        told = "; ".join(named) if len(alike) > 1 else first.dig
        yield f"Dig{apart} to the rods: {told}. Trim, press firm, read it, write it down."
    built = [name for each in alike for name in each.built]
    if built:
        yield (
            "Build what holds back stone, and what lies under it, before the stone: "
            f"{', '.join(built)}; see Build."
        )
    for step in max((each.steps for each in alike), key=len):
        own = [each.plan.area.name for each in alike if step in each.steps]
        yield step if len(own) == len(alike) else f"{listing(own)}: {step}"


def _after_the_dig(job: Job, plan: AreaPlan, built: BuildUp) -> Iterator[str]:
    """Give the steps of an area from its dug bottom up, on its own base."""
    unit = job.unit
    base = [step for step in built.steps if step.phase == "base" and step.pieces]
    for (kind, name), steps in groupby(
        base, lambda step: (step.pieces[0].kind, step.pieces[0].name)
    ):
        yield _laid(job, plan, kind, name, list(steps))
    pavers = built.laid.pavers.pavers
    yield (
        f"Lay pavers {face_words(pavers, unit)}, {pavers.pattern}, "
        f"joint {size(pavers.joint, unit)}; where they stand is told with the order."
    )
    yield f"{built.steps[-1].title}; compact, sweep off, read the finish, write it down."


def _laid(job: Job, plan: AreaPlan, kind: str, name: str, steps: Sequence[Step]) -> str:
    """Return how a layer is put down: its lifts, told once."""
    unit, last = job.unit, steps[-1]
    pieces = [piece for step in steps for piece in step.pieces if piece.name == name]
    if kind == "refill":
        lifts = "one lift" if len(pieces) == 1 else f"{len(pieces)} lifts"
        return f"{FILL.capitalize()} up to the base, in {lifts}, each compacted."
    role = next((part.layer.role for part in plan.chosen_dig.layers if part.layer.name == name), "")
    high = size(pieces[0].thickness, unit)
    if role == "base":
        lifts = f"one lift of {high}" if len(pieces) == 1 else f"{len(pieces)} lifts of {high}"
        return f"Place {printable(name, 60)}: {lifts}, each compacted; read its top."
    if role == "bedding":
        return f"Screed {printable(name, 60)}, {high}; nobody steps on it."
    if role == "panel":
        return f"Lay {printable(name, 60)}s, {high}, tight, joints staggered."
    return f"{last.title}."


def _chosen(job: Job, plan: AreaPlan) -> BuildUp:
    ups = build_ups(job.order, plan, (plan.outline,), job.unit)
    return next(each for each in ups if each.base == plan.chosen)
