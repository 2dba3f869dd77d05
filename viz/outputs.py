"""Everything that `--out` writes: tables, drawings, pictures and the page."""

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
from viz.table import write_tables
from viz.tables.plan import plan_tables
from viz.terminal import report


def write(plan: Plan, folder: Path, say: Callable[[str], None]) -> list[Path]:
    """Write every output of a plan into a folder, and return the files.

    Parameters
    ----------
    plan : Plan
    folder : Path
        Made where it is not there; files of earlier runs on the same site are replaced.
    say : callable
        Told what is being done, and what this machine cannot draw.

    Raises
    ------
    SiteError
        The folder cannot be written, or holds what is not this site's.
    """
    return write_with(folder, lambda made: _make(plan, made, say), plan.site)


def _make(plan: Plan, folder: Path, say: Callable[[str], None]) -> None:
    text = json.dumps(grading.record(plan), indent=2, allow_nan=False)
    (folder / "plan.json").write_text(text + "\n", encoding="utf-8")
    words = f"{report.text(plan)}\n\n{report.surfaces(plan)}\n"
    (folder / "report.txt").write_text(words, encoding="utf-8")
    write_tables(plan_tables(plan), folder)
    # What is rendered in a process of its own goes on while this one draws.
    say("staging the pictures and the film ...")
    pictures, film = pictures_begun(plan), film_begun(plan)
    steps: tuple[tuple[str, Callable[[], object]], ...] = (
        ("drawing sections and plans ...", lambda: write_drawings(plan, folder)),
        ("making the page ...", lambda: write_page(plan, folder / "layers.html")),
        ("finishing the pictures of the layers ...", lambda: pictures(folder)),
        ("finishing the film of the build-up ...", lambda: film(folder)),
    )
    try:
        _step_by_step(steps, say)
    except BaseException:
        abandon()
        raise


def _step_by_step(
    steps: Sequence[tuple[str, Callable[[], object]]], say: Callable[[str], None]
) -> None:
    """Take each step; what one library cannot draw here keeps nothing else from coming out."""
    why = ""
    for words, step in steps:
        say(words)
        try:
            step()
        except CannotDraw as error:
            what, _, because = str(error).partition(": ")
            say(f"{what}." if because and because == why else str(error))
            why = because
