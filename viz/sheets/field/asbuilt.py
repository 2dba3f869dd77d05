"""What was built against the design on paper: verdicts, a map of the shots, and their list."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from grading.asbuilt.model import AsBuilt
from grading.asbuilt.words import CALLED, lines_of, notes_of, off_words, tolerance_words
from grading.pipeline import Plan
from grading.units import METRES, length
from viz.file_names import area_slugs
from viz.files import write_with
from viz.paper.page import page_for
from viz.paper.players import write
from viz.sheets.compile import Compiled, printable
from viz.sheets.field.built_map import built_map
from viz.sheets.head import Job, head_of
from viz.table import Table, csv_text


def asbuilt_data(job: Job, sheet: Compiled, found: Sequence[AsBuilt]) -> dict[str, Any]:
    """Return what the template reads.

    Parameters
    ----------
    job : Job
    sheet : Compiled
    found : sequence of AsBuilt
        Of one layer.
    """
    return {
        **head_of(job, sheet),
        "layer": CALLED[found[0].layer],
        "areas": [_area(job, sheet, each) for each in found],
    }


def _area(job: Job, sheet: Compiled, found: AsBuilt) -> dict[str, Any]:
    unit = job.unit
    name = printable(found.area.area.name, 44)
    alt = f"Plan of {found.area.area.name}: each shot with how far it lies from the design"
    return {
        "title": name,
        "lines": [
            {"status": status, "words": printable(words, 600)}
            for status, words in lines_of(found, unit)
        ],
        "notes": [printable(words, 400) for words in notes_of(found, unit)],
        "map": sheet.drawing(built_map(job.plan, found), alt),
        "shots": [
            [
                printable(shot.name, 40), length(shot.z, unit), length(shot.design, unit),
                off_words(shot, unit), shot.status, printable(shot.note, 80),
            ]
            for shot in found.shots
        ],
        "tolerance": tolerance_words(found, unit),
    }  # fmt: skip


def shots_table(found: Sequence[AsBuilt]) -> Table:
    """Return every shot as numbers for a spreadsheet, in the site's unit."""
    unit = found[0].design.site.unit
    per = METRES[unit]
    heads = ("area", "shot", f"x ({unit})", f"y ({unit})", f"as built ({unit})",
             f"design ({unit})", f"off ({unit})", "status", "note", "photo")  # fmt: skip
    rows = [
        (
            each.area.area.name, shot.name,
            *(round(v / per, 8) for v in (*shot.at, shot.z, shot.design, shot.off)),
            shot.status, shot.note, shot.photo,
        )
        for each in found
        for shot in each.shots
    ]  # fmt: skip
    return Table(heads, tuple(rows))


def write_asbuilt(
    plan: Plan, found: Sequence[AsBuilt], folder: Path, say: Callable[[str], None]
) -> list[Path]:
    """Write what was built as PDF and CSV, and its map of each area as SVG; return the files.

    Parameters
    ----------
    plan : Plan
    found : sequence of AsBuilt
        Of one layer.
    folder : Path
    say : callable
        Told what is being done.

    Raises
    ------
    SiteError
        A logo that cannot be used, or a folder that cannot be written.
    """
    name = f"as-built-{found[0].layer}"

    def make(made: Path) -> None:
        say("setting what was built ...")
        job = Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))
        with Compiled("asbuilt") as sheet:
            (made / f"{name}.pdf").write_bytes(sheet.pdf(asbuilt_data(job, sheet, found)))
        text = csv_text(shots_table(found))
        (made / f"{name}.csv").write_text(text, encoding="utf-8-sig")
        files = dict(zip((area.area.name for area in plan.areas), area_slugs(plan), strict=True))
        for each in found:
            write(built_map(plan, each), made / f"{name}-{files[each.area.area.name]}", ("svg",))

    return write_with(folder, make, plan.site)
