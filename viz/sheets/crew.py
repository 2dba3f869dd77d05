"""The crew's sheet as data: what is set out, dug, laid, ordered, moved and looked after.

The sheet is a list of makers of sections. One more is appended to `MAKERS`: it is handed the job
and the sheet that takes its drawings, and yields `Section`s of the blocks that there are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

from grading.crew.model import Crew
from grading.order.quantities import lift_count, lift_limit
from grading.units import Unit, nominals, size
from viz.drawings.section.sheet import section_sheet
from viz.paper.page import page_for
from viz.sheets.as_one import as_one, joins_drawn
from viz.sheets.blocks import (
    MARGIN,
    Cell,
    Section,
    listed,
    page,
    sketch,
    table,
    words,
)
from viz.sheets.brought import moving, ordering
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, Say, head_of, section_title
from viz.sheets.set_out import setting_level, setting_out
from viz.sheets.taped import taping
from viz.words.cautions import CREW
from viz.words.checks import STATUS, look_again_words
from viz.words.figures import earth, small
from viz.words.plain import paver_size

Maker = Callable[[Job, Compiled], Iterator[Section]]


def crew_data(job: Job, sheet: Compiled, say: Say) -> dict[str, Any]:
    """Return what the crew's template reads.

    Parameters
    ----------
    job : Job
    sheet : Compiled
        Takes the drawings.
    say : callable
        Told what is being done.
    """
    say("drawing the plans and sections for the crew ...")
    sections = [section.data() for make in MAKERS for section in make(job, sheet)]
    return {**head_of(job, sheet), "margin": MARGIN, "sections": sections}


def building_up(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield the layers of each area from the bottom up, in the lifts they are compacted in."""
    crew, unit = job.plan.crew, job.unit
    for order in job.order.areas:
        plan = order.area
        dig = plan.chosen_dig
        rows: list[list[Cell]] = []
        sources = []
        if dig.fill > 5e-3:
            stone = order.takeoffs[plan.chosen].stone
            rows.append(["refill to subgrade", "as deep as it is dug", _limit(stone, crew, unit),
                         earth(dig.fill, unit), small(dig.build_up, unit)])  # fmt: skip
            sources.append(lift_limit(stone, crew))
        for part, top in zip(reversed(dig.layers), reversed(dig.system.tops()), strict=True):
            layer = part.layer
            lifts = "one"
            if layer.role == "base":
                count = lift_count(layer.thickness, layer.material, crew)
                lifts = f"{count} of {size(layer.thickness / count, unit)}"
                sources.append(lift_limit(layer.material, crew))
            rows.append([layer.name, small(layer.thickness, unit), lifts, earth(part.volume, unit),
                         small(top, unit) if top else "is the finish"])  # fmt: skip
        told = [
            f"{entry.title}: {size(entry.likely, unit)} ({nominals(entry.source, unit)})."
            for entry in dict.fromkeys(sources)
            if entry is not None
        ]
        heads = ("From the bottom up", "Thick, compacted", "Lifts", "Compacted", "Top below finish",
                 "Top is")  # fmt: skip
        advice = job.plan.advice.area(plan.area.name)
        chosen = [
            f"{what}: {words}."
            for what, words in (
                ("Edge", advice.holding),
                ("Joints", advice.joint_shown and advice.joint_shown.option.title),
            )
            if words
        ]
        pavers = order.takeoffs[plan.chosen].pavers.pavers
        yield Section(
            section_title(job, plan, "layers and lifts"),
            (
                table(heads, rows, (42, 34, 28, 34, 36, 20), pencil=1),
                words(
                    f"Pavers {paver_size(pavers, unit)}, "
                    f"{pavers.pattern}, joint {small(pavers.joint, unit)}. " + " ".join(chosen)
                ),
                words(f"{advice.stacks.words}."),
                *([words(" ".join(told))] if told else []),
            ),
        )


def _limit(stone: str, crew: Crew, unit: Unit) -> str:
    entry = lift_limit(stone, crew)
    return "one" if entry is None else f"of {size(entry.likely, unit)} at most"


def looking(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield every check that does not pass, what looked odd, and the usual cautions."""
    unmet = [status for status in STATUS if status != "pass"]
    left = [check for status in unmet for check in job.plan.checks if check.status == status]
    blocks = []
    if left:
        rows = [
            [
                STATUS[check.status].upper(),
                printable(check.area or "site"),
                check.text,
                f"[{check.source}]",
            ]
            for check in left
        ]
        blocks.append(table(("", "Area", "What", "By"), rows, (22, 34, 82, 50), left=4))
    else:
        blocks.append(words("Every check passes."))
    if job.plan.warnings:
        blocks.append(listed(look_again_words(job.plan)))
    yield Section("Checks that do not pass", tuple(blocks))
    yield Section("Before and while you dig", (listed(CREW, boxes=True),))
    yield Section("Sketch what you bury: two tapes from named corners, and how deep", (sketch(),))


def sections_drawn(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield the cross-sections of each area, each on a page of its own at its stated scale."""

    across = page_for(job.unit, job.page.paper)
    for plan in job.plan.areas:
        for which in ("down", "across"):
            made = section_sheet(job.plan, plan, which, across)
            alt = f"{made.title}: layers, existing ground, finish and dig, with levels under it"
            yield Section("", (page(sheet.drawing(made, alt), printable(made.title, 60)),))


MAKERS: list[Maker] = [
    as_one,
    setting_out,
    taping,
    setting_level,
    building_up,
    ordering,
    moving,
    looking,
    joins_drawn,
    sections_drawn,
]
"""The sections of the crew's sheet, in order."""
