"""The sign-off: what was agreed, what was built, what was found, and who signs for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from grading.design.door_steps import door_steps
from grading.design.points import named_points
from grading.logbook.chain import Record
from grading.logbook.model import NOTE
from grading.logbook.words import faults_of, in_force, record_words, verdicts_of
from grading.pipeline import Plan
from grading.units import counted, length, noun, size, taped_rate
from viz.files import write_with
from viz.paper.page import page_for
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, head_of

_LAYERS = ("surface", "bedding", "base", "subgrade")
_TITLES = {"surface": "Finished surface", "bedding": "Bedding", "base": "Base", "subgrade":
           "Subgrade"}  # fmt: skip


def signoff_data(job: Job, sheet: Compiled, records: Sequence[Record]) -> dict[str, Any]:
    """Return what the template reads.

    Parameters
    ----------
    job : Job
    sheet : Compiled
    records : sequence of Record
    """
    head = head_of(job, sheet)
    kept = in_force(records)
    faults = list(faults_of(records))
    band = head["band"] or _band(records, faults)
    return {
        **head,
        "band": band,
        "agreed": [_agreed(job.plan, k) for k in range(len(job.plan.areas))],
        "built": list(_built(kept)),
        "missing": [_TITLES[layer] for layer in _LAYERS if layer not in {r.kind for r in kept}],
        "found": [
            printable(record_words(each), 400)
            for each in kept
            if each.kind == NOTE or each.told.get("note")
        ],
        "photos": _photos(sum(len(each.told.get("photo", ())) for each in kept)),
        "faults": [printable(fault, 300) for fault in faults],
        "sealed": _sealed(len(records)),
    }


def _sealed(count: int) -> str:
    """Say how records are kept from being changed unseen."""
    by = noun(count, "dated, numbered, sealed by its hash",
              "each dated, numbered, sealed by its hash and that of the one before")  # fmt: skip
    return f"{counted(count, 'record')}, {by}."


def _photos(count: int) -> str:
    """Say that photographs are kept; empty where none are."""
    if not count:
        return ""
    return (
        f"{counted(count, 'photograph')} {noun(count, 'is', 'are')} kept with the records, "
        f"{noun(count, 'by the hash of its file', 'each by the hash of its file')}."
    )


def _band(records: Sequence[Record], faults: Sequence[str]) -> str:
    if faults:
        return "NOT FOR SIGNATURE: the records are not as they were written"
    failed = any(status == "fail" for each in in_force(records) for status, _ in verdicts_of(each))
    return "NOT FOR SIGNATURE: what was built fails, see below" if failed else ""


def _agreed(plan: Plan, place: int) -> dict[str, Any]:
    """Return the heights and falls of an area that are agreed on."""
    area, unit = plan.areas[place], plan.site.unit
    points = named_points(area)
    finish = np.asarray(area.finish.surface.at(points.xy), float)
    return {
        "title": printable(area.area.name, 44),
        "heights": [
            {"name": name, "finish": length(float(z), unit)}
            for name, z in zip(points.names, finish, strict=True)
        ],
        "falls": [
            f"away from {wall.wall.name}: {taped_rate(wall.fall_away, unit)}" for wall in area.walls
        ],
        "steps": [
            f"{step.door.name}: {step.words(lambda metres: size(metres, unit))}"
            for step in door_steps(area)
        ],
    }


def _built(records: Sequence[Record]) -> Iterator[dict[str, Any]]:
    """Give the last record of each layer, the finished surface first."""
    for layer in _LAYERS:
        last = next((each for each in reversed(records) if each.kind == layer), None)
        if last is not None:
            lines = [
                {"status": status, "words": printable(words, 500)}
                for status, words in verdicts_of(last)
            ]
            yield {
                "title": _TITLES[layer],
                "when": f"record {last.number}, {last.date}",
                "lines": lines,
            }


def write_signoff(
    plan: Plan,
    records: Sequence[Record],
    folder: Path,
    say: Callable[[str], None],
    paper: str | None = None,
) -> list[Path]:
    """Write the sign-off of a site, and return the file.

    Parameters
    ----------
    plan : Plan
    records : sequence of Record
    folder : Path
    say : callable
        Told what is being done.
    paper : "letter" or "a4", optional

    Raises
    ------
    SiteError
        A logo that cannot be used, or a folder that cannot be written.
    """

    def make(made: Path) -> None:
        say("setting the sign-off ...")
        job = Job(plan, plan.order, page_for(plan.site.unit, paper, portrait=True))
        with Compiled("signoff") as sheet:
            (made / "signoff.pdf").write_bytes(sheet.pdf(signoff_data(job, sheet, records)))

    return write_with(folder, make, plan.site)
