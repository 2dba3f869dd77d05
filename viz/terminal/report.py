"""A plan in words and tables: for the terminal, and for a spreadsheet."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from tabulate import tabulate

from grading.answers.card import deeper_of
from grading.answers.card_words import crew_deeper_words
from grading.catalogue.bases import BaseSystem
from grading.checks.areas import WORTH_TELLING
from grading.checks.check import Check
from grading.conditions.load import pressure
from grading.design.area import AreaPlan
from grading.design.places import Places
from grading.geometry.tolerances import TOGETHER
from grading.ground.smooth import leave_one_out
from grading.pipeline import Plan
from grading.units import (
    FOOT,
    Unit,
    area,
    percent,
    run,
    size,
    slope,
)
from grading.units.shares import share_words
from viz.signature import not_for_signature
from viz.table import CUBIC, Table, cubic, moved
from viz.words.advice import area_lines
from viz.words.answer import answer_lines
from viz.words.cautions import REPORT
from viz.words.checks import STATUS, look_again_words
from viz.words.done import done_lines
from viz.words.figures import DIRT
from viz.words.finish import (
    CHOSEN,
    corner_lines,
    edge_lines,
    finish_lines,
    group_lines,
    sill_lines,
    tie_in_lines,
)
from viz.words.holding import hold_lines
from viz.words.known import between_lines, known_lines
from viz.words.water import water_lines


def comparison(plan: AreaPlan, unit: Unit) -> Table:
    """Return the base systems side by side, in the site's unit."""
    mark, chosen = CUBIC[unit], plan.chosen

    def against(name: str) -> str:
        return "" if name == chosen else f"{cubic(plan.difference(name), unit):+z.2f}"

    return Table.of(
        {
            "base": f"{name} *" if name == chosen else name,
            "build-up": size(dig.build_up, unit),
            f"cut\n{mark} bank": f"{cubic(dig.cut, unit):.2f}",
            f"refill\n{mark} compacted": f"{cubic(dig.fill, unit):.2f}",
            f"spoil\n{mark} loose": f"{cubic(dig.spoil_loose, unit):.2f}",
            "deepest\ndig": size(dig.max_dig, unit, DIRT),
            "mean\ndig": size(dig.mean_dig, unit, DIRT),
            f"cut against *\n{mark}": against(name),
        }
        for name, dig in plan.digs.items()
    )


def _build_up(system: BaseSystem, unit: Unit) -> str:
    layers = ", ".join(f"{layer.name} {size(layer.thickness, unit)}" for layer in system.layers)
    said = f"{system.title}, from the top down: {layers}"
    if system.source:
        said += f" ({'rated for wheels; ' if system.wheels else ''}by {system.source})"
    return said


def _area(plan: AreaPlan, places: Places) -> Iterable[str]:
    chosen, unit = plan.chosen_dig, places.unit
    yield f"{plan.area.name}: {plan.area.use}, {area(plan.outline.area, unit)} paved"
    yield from finish_lines(plan, places)
    for wall in plan.walls:
        out = f", from {run(wall.near, unit)} out" if wall.near > TOGETHER else ""
        yield (
            f"  away from {wall.wall.name}: {slope(wall.fall_away, unit)} over "
            f"{run(wall.over, unit)} of paving{out}"
        )
    yield _build_up(chosen.system, unit)
    yield comparison(plan, unit).grid(1)
    yield f"* {CHOSEN[plan.base_from]}"
    for name, dig in plan.digs.items():
        if dig.refill_share >= WORTH_TELLING:
            yield (
                f"Organics deeper than the {name} build-up over {share_words(dig.refill_share)} of "
                f"the hole: {moved(dig.fill_for_organics, unit)} more cut, and as much refill"
            )
    if plan.max_fill > 5e-4:
        yield (
            f"The underside of the build-up lies up to {size(plan.max_fill, unit)} above the "
            f"ground, the finish up to {size(plan.max_raise, unit)}"
        )
    yield from corner_lines(plan, unit)
    yield from tie_in_lines(plan, unit)


_WAY = 4 * FOOT  # m: what is longer is paced or taped, and no thickness


def _limit(check: Check, unit: Unit) -> str:
    if check.limit is None:
        return ""
    if check.unit == "ratio":
        return percent(check.limit, 2)
    if check.unit == "Pa":
        return pressure(check.limit, unit)
    # As its own sentence writes it: a thickness in inches, a way along the ground in feet.
    return run(check.limit, unit) if check.limit >= _WAY else size(check.limit, unit)


def _checks(checks: Sequence[Check], unit: Unit) -> Iterable[str]:
    sources: dict[str, int] = {}
    rows = []
    for check in checks:
        number = sources.setdefault(check.source, len(sources) + 1)
        rows.append(
            (STATUS[check.status], check.area, check.text, _limit(check, unit), f"[{number}]")
        )
    headers = ("", "area", "check", "limit", "source")
    widths = [None, None, 76, None, None]
    yield tabulate(rows, headers, maxcolwidths=widths, disable_numparse=True)
    yield "Sources:"
    for source, number in sources.items():
        yield f"  [{number}] {source}"


def surfaces(plan: Plan) -> str:
    """Say how well each kind of surface foretells a spot that it has not seen."""
    errors = leave_one_out(plan.ground.surveyed_points)
    unit = plan.site.unit
    in_use = f"In use: {'smooth' if plan.ground.surface == 'smooth' else 'triangles'}."
    if not errors.count:
        return f"No spot has others all round it, so none can be foretold from the rest. {in_use}"
    return (
        "Each inner spot foretold from the others is off by (root mean square, worst): triangles "
        f"{size(errors.tin_rms, unit)}, {size(errors.tin_worst, unit)}; smooth surface "
        f"{size(errors.smooth_rms, unit)}, {size(errors.smooth_worst, unit)}. "
        f"{in_use}"
    )


def text(plan: Plan) -> str:
    """Return a plan as it is printed in the terminal."""
    unit = plan.site.unit
    triangles = int((~plan.ground.beyond).sum())
    parts = [
        plan.site.name,
        *filter(None, [not_for_signature(plan)]),
        "",
        *answer_lines(plan),
        "",
        f"Ground: {plan.ground.spots} spots, {triangles} triangles",
        *known_lines(plan),
    ]
    parts += look_again_words(plan)
    if plan.ground.surface == "smooth":
        parts.append(surfaces(plan))
    for area_plan in plan.areas:
        parts += ["", *_area(area_plan, plan.places), *between_lines(plan, area_plan)]
        parts += area_lines(plan.advice, area_plan.area.name, unit)
    sills = list(sill_lines(plan))
    parts += ["", *sills] if sills else []
    holds = list(hold_lines(plan))
    parts += ["", *holds] if holds else []
    deeper = crew_deeper_words(plan, deeper_of(plan))
    parts += ["", f"{deeper}. `fallaway card SITE` sets every depth beside the others."]
    halfway = list(done_lines(plan))
    parts += ["", *halfway] if halfway else []
    edges = list(edge_lines(plan))
    parts += ["", *edges] if edges else []
    for group in plan.groups:
        finishes = list(group_lines(group, unit))
        parts += ["", *finishes] if finishes else []
    parts += ["", *water_lines(plan)]
    parts += ["", *_checks(plan.checks, unit), "", REPORT]
    return "\n".join(parts)


def written(folder: Path, files: Sequence[Path]) -> str:
    """Say what was written where."""
    names = "\n".join(f"  {file.relative_to(folder)}" for file in files)
    return f"\nWritten to {folder}:\n{names}"
