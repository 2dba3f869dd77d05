"""Everything that `plan --out` writes: what is handed over, and with it, if asked, the details.

What is handed over is the homeowner's paper, the crew's, the page that turns and the plan for
scripts. Drawings, tables, stills and the film are made when they are asked for and not before.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path

import grading
from grading.errors import CannotDraw
from grading.pipeline import Plan
from viz.drawings.drawing_set import write_drawings
from viz.files import write_with
from viz.page.html import write_page
from viz.pictures.film import film_begun
from viz.pictures.render import abandon
from viz.pictures.stills import pictures_begun
from viz.sheets.write import HANDED, WORDS, sheets_made
from viz.table import write_tables
from viz.tables.in_unit import in_unit
from viz.tables.plan import plan_tables
from viz.terminal import report
from viz.terminal.progress import Steps

PAGE = "yard.html"
"""The page that turns in a browser."""

DETAILS = "details"
"""The folder of all that is not handed over."""

_Step = Callable[[], object]

_HANDED = (
    ("writing the plan", 0.5),
    ("making the page", 3.0),
    *((f"setting {WORDS[kind]}", 3.0) for kind in HANDED),
)
"""Each step in order, and how long it takes beside the others."""

_DETAILS = (
    ("writing report and tables", 0.5),
    ("drawing sections and plans", 6.0),
    ("finishing the stills", 3.0),
    ("finishing the film", 3.0),
)


def write(
    plan: Plan, folder: Path, say: Callable[[str], None], *, details: bool = False,
    png: bool = False,
) -> list[Path]:  # fmt: skip
    """Write the outputs of a plan into a folder, and return the files.

    Parameters
    ----------
    plan : Plan
    folder : Path
        Made where it is not there; files of earlier runs on the same site are replaced.
    say : callable
        Told what is being done, and what this machine cannot draw.
    details : bool
        Whether the report, tables, drawings, stills and film are made too.
    png : bool
        Whether drawings among these are written as PNG beside SVG.

    Raises
    ------
    SiteError
        The folder cannot be written, or holds what is not this site's.
    """
    written = write_with(folder, lambda made: _make(plan, made, say, details, png), plan.site)
    if not details and (folder / DETAILS / "report.txt").is_file():
        say(f"{folder / DETAILS} is of an earlier run: --details makes it anew")
    return written


def _make(plan: Plan, folder: Path, heard: Callable[[str], None], details: bool, png: bool) -> None:
    formats = ("svg", "png") if png else ("svg",)
    weights = [weight for _, weight in (*_HANDED, *(_DETAILS if details else ()))]
    with Steps(weights, heard) as progress:
        steps: list[_Step] = [
            lambda: _write_record(plan, folder),
            lambda: write_page(plan, folder / PAGE),
            *(make for _, make in sheets_made(plan, folder, progress.say, HANDED)),
        ]
        try:
            # What is rendered in a process of its own goes on while this one sets the papers.
            if details:
                steps += _details(plan, folder / DETAILS, formats)
            _step_by_step(steps, progress)
        except BaseException:
            abandon()
            raise


def _write_record(plan: Plan, folder: Path) -> None:
    text = json.dumps(grading.record(plan), indent=2, allow_nan=False)
    (folder / "plan.json").write_text(text + "\n", encoding="utf-8")


def _details(plan: Plan, folder: Path, formats: Sequence[str]) -> list[_Step]:
    """Return the steps that make the details; what is rendered beside this process is begun."""
    tables, stills, film = (folder / name for name in ("tables", "stills", "film"))
    for each in (tables, stills, film):
        each.mkdir(parents=True)
    pictures, filmed = pictures_begun(plan), film_begun(plan, every=False, alone=True)

    def told() -> None:
        (folder / "report.txt").write_text(f"{report.text(plan)}\n", encoding="utf-8")
        found = plan_tables(plan).items()
        write_tables({name: in_unit(each, plan.site.unit) for name, each in found}, tables)

    return [
        told,
        lambda: write_drawings(plan, folder / "drawings", formats),
        lambda: pictures(stills),
        lambda: filmed(film),
    ]


def _step_by_step(steps: Sequence[_Step], progress: Steps) -> None:
    """Take each step; what one library cannot draw here keeps nothing else from coming out."""
    why = ""
    for (words, _), step in zip((*_HANDED, *_DETAILS), steps, strict=False):
        progress.begin(words)
        try:
            step()
        except CannotDraw as error:
            what, _, because = str(error).partition(": ")
            progress.say(f"{what}." if because and because == why else str(error))
            why = because
