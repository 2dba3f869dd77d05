"""The third page of the crew's sheet: where to stop, the edge cut through, layers, steps."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from grading.answers.site import joins_words, site_answer
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.dig.hole import LEAST_REFILL
from grading.order.quantities import lift_count, lift_limit
from grading.order.sequence import BuildUp, Step, build_ups
from grading.setout.model import SetOut
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
from viz.words.plain import opened

_BUILT = {"base": "built-base", "bedding": "built-bedding", "paver": "built-surface"}
"""The rule of how well each role is built."""


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
    for plan in job.plan.areas:
        several = len(job.plan.areas) > 1
        title = f"{area_title(plan)}: layers" if several else "Layers"
        title += f" on {plan.chosen_dig.system.called}"
        blocks.append(together([
            heading(title, "from the bottom up, compacted"),
            _layers(job, plan),
            *(words(said, small=True) for said in _said(job, plan)),
            listed(_steps(job, plan), boxes=True, numbered=True, columns=2),
        ]))  # fmt: skip
    joins = [f"{said}." for said in joins_words(site_answer(job.plan), job.unit)]
    if joins:
        blocks.append(together([heading("Where two bases meet"), listed(joins)]))
    if forbidden(job.plan):
        blocks += level_blocks(job, found)
    return Page("Dig, stone, pavers", tuple(blocks), flows=True)


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


def _layers(job: Job, plan: AreaPlan) -> Block:
    crew, unit = job.plan.crew, job.unit
    takeoff = job.order.of(plan).takeoffs[plan.chosen]
    stone, dig = takeoff.stone, plan.chosen_dig
    rows = []
    if dig.fill > LEAST_REFILL:
        refill = dig.refill
        deep = "" if refill is None else f"to {size(refill.greatest, unit, DIRT)}"
        rows.append([
            FILL.capitalize(), deep, _limit(stone, crew, unit), some_volume(dig.fill, unit),
            size(dig.build_up, unit), _within(job, "built-subgrade"),
        ])  # fmt: skip
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
        rows.append([
            printable(layer.name, 60), size(layer.thickness, unit), lifts,
            paved_area(part.area, unit) if laid else some_volume(part.volume, unit),
            size(top, unit) if top else "is the top", _within(job, _BUILT.get(layer.role, "")),
        ])  # fmt: skip
    return table(
        [Column("Layer", kind="name"), Column("thick"), Column("lifts"), Column("in place"),
         Column("below paver top"), Column("within"), Column("ok", 9.0, "tick")],
        rows,
    )  # fmt: skip


def _within(job: Job, rule: str) -> str:
    return f"\N{PLUS-MINUS SIGN}{size(job.plan.limits[rule], job.unit, 8)}" if rule else ""


def _limit(stone: str, crew: Crew, unit: Unit) -> str:
    entry = lift_limit(stone, crew)
    return "one" if entry is None else f"{size(entry.likely, unit)} at most"


def _steps(job: Job, plan: AreaPlan) -> Iterator[str]:
    """Give the steps of an area in the order in which they are taken, on its own base."""
    unit, dig = job.unit, plan.chosen_dig
    takeoff = job.order.of(plan).takeoffs[plan.chosen]
    built = _chosen(job, plan)
    if any(step.phase == "dig" for step in built.steps):
        first = any(step.phase == "dig" and "topsoil" in step.title for step in built.steps)
        apart = ", topsoil first and by itself," if first else ""
        yield (
            f"Dig{apart} to the rods: {volume(dig.cut, unit)} in the bank over "
            f"{paved_area(dig.dig_area, unit)}, {size(dig.max_dig, unit, DIRT)} at the deepest. "
            "Trim, press firm, read it, write it down."
        )
    if takeoff.structures:
        yield (
            "Build what holds back stone, and what lies under it, before the stone: "
            f"{', '.join(each.name for each in takeoff.structures)}; see Build."
        )
    base = [step for step in built.steps if step.phase == "base" and step.pieces]
    for (kind, name), steps in groupby(
        base, lambda step: (step.pieces[0].kind, step.pieces[0].name)
    ):
        yield _laid(job, plan, kind, name, list(steps))
    pavers = takeoff.pavers.pavers
    sides = " × ".join(size(side, unit) for side in (pavers.width, pavers.length))
    sides = sides.replace(" in ×", " ×").replace(" mm ×", " ×")
    yield (
        f"Lay pavers {sides}, {pavers.pattern}, joint {size(pavers.joint, unit)}; where they stand "
        "is told with the order."
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
