"""The crew's sheet as data: what is set out, dug, laid, ordered, moved and looked after.

The sheet is a list of makers of sections. One more is appended to `MAKERS`: it is handed the job
and the sheet that takes its drawings, and yields `Section`s of the blocks that there are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any

import numpy as np

from grading.answers.halfway_words import left_words
from grading.conditions.level_words import beside_words
from grading.conditions.seat_words import stands_words
from grading.crew.model import Crew
from grading.design.area import AreaPlan
from grading.design.door_steps import door_steps
from grading.design.levels import Grid, Levels, grid_of, levels_at
from grading.design.points import circles_of, letters, named_points, with_holes
from grading.geometry.outline import Curve
from grading.order.hauling import Loads
from grading.order.labour import Task
from grading.order.quantities import lift_count, lift_limit
from grading.units import HOUR, Unit, feet_inches, length, nominals, size, slope, volume
from viz.drawings.section.sheet import section_sheet
from viz.paper.page import page_for
from viz.sheets.as_one import as_one, joins_drawn
from viz.sheets.blocks import (
    MARGIN,
    Block,
    Cell,
    Section,
    drawing,
    listed,
    page,
    sketch,
    table,
    words,
)
from viz.sheets.compile import Compiled, printable
from viz.sheets.grid_plan import grid_plan
from viz.sheets.head import Job, area_title, head_of, size_words
from viz.sheets.plain import paver_size
from viz.table import CUBIC
from viz.tables.order import HEAVY, LIGHT, amount_of, cubic, heavy, light, pallets_words
from viz.words.figures import DIRT, earth, ground_area, run, small, stretch
from viz.words.finish import CHOSEN
from viz.words.folds import falls_words
from viz.words.uncounted import not_counted

Say = Callable[[str], None]
Maker = Callable[[Job, Compiled], Iterator[Section]]

_REFILL = 1e-3  # m: less refill is none

_STATUS = {"fail": "FAIL", "warn": "LOOK", "unknown": "NOT KNOWN"}  # the worst first
_CARE = (
    "Have utilities located before digging; hand-dig beside every mark. Private lines are not "
    "marked by the public locator.",
    "Gas, electrical and drainage connections belong to licensed trades; structure, frost depth, "
    "guards, steps and walls to the local code.",
    "Cutting makes silica dust: water or extraction, and a respirator. Eyes, ears, feet, back.",
    "A bigger reading on the rod is a lower point. Close the levelling back on the benchmark.",
    "Soft, wet or black soil below the subgrade: stop, photograph, measure, call before filling.",
    "Photograph and measure every layer before it is covered.",
)  # common practice, no source


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


def _name(job: Job, plan: AreaPlan, what: str) -> str:
    return f"{area_title(plan)}: {what}" if len(job.plan.areas) > 1 else what.capitalize()


def setting_out(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield the plan of each area, then its levels at every corner and along the grid."""

    for plan in job.plan.areas:
        points = with_holes(plan, named_points(plan))
        circles = circles_of(plan)
        centres = letters(len(points.names) + len(circles))[len(points.names) :]
        grid = grid_of(plan, job.unit, points.xy)
        names = (*points.names, *grid.names)
        xy = np.concatenate([points.xy, grid.xy])
        wide = job.page.width - 2 * MARGIN
        made = grid_plan(job.plan, plan, grid, points, wide, centres)
        alt = f"Plan of {plan.area.name}: corners lettered, grid points numbered, house hatched"
        yield Section(
            _name(job, plan, "set out and dig"),
            (
                words(_summary(job, plan), bold=True),
                drawing(sheet.drawing(made, alt)),
                words(_walls(job, plan)),
                words(
                    f"Grid lines {stretch(grid.spacing, job.unit)} apart, along the house and out "
                    "from it, from the outermost edges of the paving. Elevations above the site's "
                    f"own datum, told {_told_to(job.unit)}."
                ),
                words(_below(job, plan)),
                *_centre_table(job, centres, circles, grid),
            ),
            fresh=True,
        )
        yield Section(
            _name(job, plan, "levels"),
            (_level_table(job, names, levels_at(job.plan, plan, xy), grid.measured(xy)),),
            fresh=True,
        )


def _below(job: Job, plan: AreaPlan) -> str:
    said = (
        f"Subgrade lies {small(plan.chosen_dig.build_up, job.unit)} below the finish, everywhere: "
        "it falls as the finish does. Dig is from the ground of today to the bottom of the hole"
    )
    if plan.chosen_dig.fill > 5e-3:
        said += (
            ", which is Dug to: where topsoil goes deeper than the subgrade, or the ground lies "
            "below it, the hole is filled up to subgrade in lifts"
        )
    return f"{said}."


def _told_to(unit: Unit) -> str:
    fine, rough = (f"1/{parts} in" for parts in (16, DIRT))
    if unit == "ft":
        return f"to the nearest {fine} for finish and subgrade, {rough} for earth"
    return "to the millimetre"


def _summary(job: Job, plan: AreaPlan) -> str:
    dig, unit = plan.chosen_dig, job.unit
    chosen = "" if plan.base_from == "given" else f" ({CHOSEN[plan.base_from]})"
    said = [
        f"{size_words(plan, unit)} on {dig.system.called}{chosen}",
        f"finish to subgrade {small(dig.build_up, unit)}",
        f"falls {falls_words(plan, lambda fall: slope(fall, unit))}",
        f"dig {earth(dig.cut, unit)} in the bank over {ground_area(dig.dig_area, unit)}, "
        f"{earth(dig.spoil_loose, unit)} loose",
        f"deepest {small(dig.max_dig, unit, DIRT)}",
        f"refill {earth(dig.fill, unit)}" if dig.fill > 5e-3 else "no refill",
    ]
    return "; ".join(said) + "."


def _walls(job: Job, plan: AreaPlan) -> str:
    parts = [
        f"{fall.wall.name} {slope(fall.fall_away, job.unit)}, "
        f"{small(fall.drop, job.unit)} in {stretch(fall.over, job.unit)}"
        for fall in plan.walls
    ]
    doors = [
        f"{step.door.name} {step.words(lambda metres: small(metres, job.unit))}"
        for step in door_steps(plan)
    ]
    said = [
        f"Away from the house: {'; '.join(parts)}." if parts else "No wall of the house in reach."
    ]
    if doors:
        said.append(f"Step down from the sill: {'; '.join(doors)}.")
    return " ".join(said)


def _pair(metres: float, unit: Unit, denominator: int) -> tuple[str, str]:
    pair = feet_inches(metres, denominator), length(metres, "m")
    return pair if unit == "ft" else pair[::-1]


def _small_pair(metres: float, unit: Unit) -> tuple[str, str]:
    first, second = small(metres, unit, DIRT).rstrip(")").split(" (")
    return first, second


def _level_table(job: Job, names: Sequence[str], levels: Levels, measured: Any) -> dict[str, Any]:
    unit = job.unit
    # Where refill lies under the subgrade the hole has a bottom of its own.
    refilled = bool(np.any(levels.subgrade - levels.dug > _REFILL))
    rows: list[list[Cell]] = []
    for k, name in enumerate(names):
        # Adding zero turns a rounded -0.0 into 0.0.
        along, out = (_pair(round(float(v), 6) + 0.0, unit, 16)[0] for v in measured[k])
        rows.append(
            [
                name,
                (f"{along} along", f"{out} out"),
                _pair(float(levels.existing[k]), unit, DIRT),
                _pair(float(levels.finish[k]), unit, 16),
                _pair(float(levels.subgrade[k]), unit, 16),
                *([_pair(float(levels.dug[k]), unit, DIRT)] if refilled else []),
                _small_pair(float(levels.depth[k]), unit),
            ]
        )
    heads = ["Point", "Where", "Existing", "Finish", "Subgrade", "Dig", "Subgrade is", "Finish is"]
    shares = [11.0, 23, 26, 31, 31, 17, 23, 23]
    if refilled:
        heads = ["", "Where", "Existing", "Finish", "Subgrade", "Dug to", "Dig", "Dug is",
                 "Finish is"]  # fmt: skip
        shares = [8, 22, 25, 28, 28, 25, 23, 14, 16]
    return table(heads, rows, shares, left=2, pencil=2, large=True)


def setting_level(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield how what stands level is set: the sand at its corners, its line to cut, its courses."""
    unit = job.unit
    for thing in job.plan.advice.levels:
        masonry = any(corner.lost is not None for corner in thing.corners)
        bedded = thing.seat.stands == "bedding"
        rows: list[list[Cell]] = []
        for corner in thing.corners:
            under = corner.sand if bedded else corner.base_below
            cells = [under, *([corner.lost] if masonry else []), corner.shows]
            rows.append(
                [
                    corner.name,
                    printable(corner.where, 200),
                    _pair(corner.finish, unit, 16),
                    *("" if each is None else small(each, unit) for each in cells),
                ]
            )
        heads = [
            "Where", "", "Finish", "Bedding under it" if bedded else "Base below finish",
            *(["Or off its lowest course"] if masonry else []), "Shows above", "Is",
        ]  # fmt: skip
        shares = [22.0, 52, 26, 26, *([26] if masonry else []), 24, 14]
        said = [f"it stands {stands_words(thing.seat)}", *beside_words(thing, unit)]
        yield Section(
            f"Set level: {printable(thing.seat.name, 60)}",
            (
                table(heads, rows, shares, left=2, pencil=1),
                listed([printable(each, len(each)) for each in said]),
            ),
        )


def _centre_table(
    job: Job, names: Sequence[str], circles: Sequence[Curve], grid: Grid
) -> Iterator[Block]:
    """Give where the centre of each arc lies, and its radius: of the outline, and of holes."""
    if not circles:
        return
    measured = grid.measured(np.array([circle.centre for circle in circles]))
    rows: list[list[Cell]] = []
    for name, circle, place in zip(names, circles, measured, strict=True):
        along, out = (run(round(float(v), 6) + 0.0, job.unit) for v in place)
        rows.append([name, f"{along} along", f"{out} out", run(circle.radius, job.unit)])
    heads = ("Centre of an arc", "Where", "", "Radius")
    yield table(heads, rows, (34, 50, 50, 50), left=3, large=True)


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
            _name(job, plan, "layers and lifts"),
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


def ordering(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield the order list of the whole site, rounded up as it is sold."""
    unit, priced = job.unit, job.plan.crew.card.show_prices
    total, sign = job.order.total, job.order.crew.currency
    rows = []
    for supply in total.supplies:
        needed, word = amount_of(supply.amount, supply.measure, unit)
        also = [
            f"{cubic(supply.loose_order, unit):g} {CUBIC[unit]} loose" if supply.loose else "",
            pallets_words(supply),
            f"{light(supply.mass, unit):,} {LIGHT[unit]}" if supply.mass else "",
        ]
        order = f"{round(supply.count, 3):g} {_many(supply.package.word, supply.count)}"
        row = [supply.title, order, f"{needed:g} {_many(word, 1)}", ", ".join(filter(None, also))]
        rows.append([*row, f"{sign}{supply.cost:,.0f}"] if priced else row)
    heads = ["Item", "Order", "Needed", "That is"] + (["Cost"] if priced else [])
    shares = [38, 40, 34, 54] + ([22] if priced else [])
    left_out = not_counted(job.plan)
    blocks = [words(said, bold=True) for said in left_words(job.plan)]
    blocks.append(table([*heads, "Came"], rows, [*shares, 18], left=1, pencil=1))
    if left_out:
        blocks.append(words("Not in this list, nor in the hours:", bold=True))
        blocks.append(listed(left_out))
    yield Section(
        "Order list, whole site" if len(job.plan.areas) > 1 else "Order list", tuple(blocks)
    )


def _many(word: str, count: float) -> str:
    """Return a package's word, for as many as there are."""
    if word == "each":
        return ""
    if count == 1:
        return word
    return f"{word}es" if word.endswith("x") else f"{word}s"


def moving(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield what is carried, in how many trips and bins, and the hours of each task."""
    unit, total = job.unit, job.order.total
    haul, tons, spoil = total.haul, HEAVY[unit], total.haul.spoil

    def told(found: Loads) -> str:
        return f"{found.count}, by {found.governed}" if found.governed else str(found.count)

    rows = [
        ["Soil out", f"{volume(spoil.bank, unit)} bank", f"{volume(spoil.loose, unit)} loose",
         f"{heavy(spoil.mass, unit):g} {tons}", str(haul.out.count)],
        ["Stone and sand in", "", f"{volume(haul.stone_loose, unit)} loose",
         f"{heavy(haul.stone_mass, unit):g} {tons}", str(haul.stone.count)],
        ["Pavers in", "", "", f"{heavy(haul.pavers_mass, unit):g} {tons}", str(haul.pavers.count)],
    ]  # fmt: skip
    if haul.panels.count:
        weight = f"{heavy(haul.panels_mass, unit):g} {tons}"
        rows.append(["Panels in", "", "", weight, str(haul.panels.count)])
    hours = [[task.title, _amount(task, unit), f"{task.mean / HOUR:.1f}"] for task in total.tasks]
    low, high = (job.order.days(total, share) for share in (0.1, 0.9))
    crew = job.order.crew
    hours.append(["all tasks, of one person", "", f"{total.time.mean / HOUR:.1f}"])
    yield Section(
        "Moving it, and hours",
        (
            words(
                f"Moved {haul.way.words}. Bins of soil: {told(haul.bins)}. "
                f"Deliveries of stone and sand: {told(haul.deliveries)}."
            ),
            table(("Load", "In the ground", "As carried", "Weight", "Trips"), rows,
                  (44, 36, 40, 36, 20), left=1),
            table(("Task", "How much", "Hours, mean", "Took"), hours, (80, 44, 34, 30),
                  pencil=1, last_bold=True),
            words(
                f"Eight jobs in ten take {low:.1f} to {high:.1f} days of a crew of "
                f"{crew['crew-size']:.0f}."
            ),
        ),
    )  # fmt: skip


def _amount(task: Task, unit: Unit) -> str:
    amount, word = amount_of(task.amount, task.measure, unit)
    return f"{amount:g} {word}" if task.measure else ""


def looking(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield every check that does not pass, what looked odd, and the usual cautions."""
    left = [check for status in _STATUS for check in job.plan.checks if check.status == status]
    blocks = []
    if left:
        rows = [
            [
                _STATUS[check.status],
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
        blocks.append(listed([f"Look again: {each}" for each in job.plan.warnings]))
    yield Section("Checks that do not pass", tuple(blocks))
    yield Section("Before and while you dig", (listed(_CARE, boxes=True),))
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
    setting_level,
    building_up,
    ordering,
    moving,
    looking,
    joins_drawn,
    sections_drawn,
]
"""The sections of the crew's sheet, in order."""
