"""Everything that `--out` writes: tables, drawings, pictures and the page."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path

import grading
from grading.errors import CannotDraw, Problem, SiteError
from grading.pipeline import Plan
from viz import report
from viz.drawings.drawing_set import write_drawings
from viz.layers.film import film_begun
from viz.layers.pictures import pictures_begun
from viz.layers.render import abandon
from viz.page import write_page


def write(plan: Plan, folder: Path, say: Callable[[str], None]) -> list[Path]:
    """Write every output of a plan into a folder, and return the files.

    Parameters
    ----------
    plan : Plan
    folder : Path
        Made where it is not there; files of earlier runs are replaced.
    say : callable
        Told what is being done, and what this machine cannot draw.

    Raises
    ------
    SiteError
        The folder cannot be written.
    """
    return write_with(folder, lambda made: _make(plan, made, say))


def write_with(folder: Path, make: Callable[[Path], None]) -> list[Path]:
    """Have files made, move them into a folder, and return them.

    Parameters
    ----------
    folder : Path
        Made where it is not there; files of earlier runs are replaced.
    make : callable
        Writes into the empty folder that it is given.

    Raises
    ------
    SiteError
        The folder cannot be written.

    Notes
    -----
    All is made beside the folder first and moved in at the end, so that a run that is stopped
    leaves nothing half written.
    """
    new = [each for each in (folder, *folder.parents) if not os.path.lexists(each)]
    made = None
    try:
        folder.mkdir(parents=True, exist_ok=True)
        made = Path(tempfile.mkdtemp(prefix=".fallaway-", dir=folder))
        make(made)
        return _moved(made, folder)
    except OSError as error:
        raise _not_written(folder, error) from error
    finally:
        if made is not None:
            shutil.rmtree(made, ignore_errors=True)
        # What this run made and left empty goes again; a folder with files in it stays.
        with suppress(OSError):
            for each in new:
                each.rmdir()


def _moved(made: Path, folder: Path) -> list[Path]:
    """Move what was made into a folder, all of it or nothing, and return the files."""
    files = [file.relative_to(made) for file in sorted(made.rglob("*")) if file.is_file()]
    problems = [problem for file in files for problem in _in_the_way(folder, file)]
    if problems:
        raise SiteError(list(dict.fromkeys(problems)))
    for file in files:
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        os.replace(made / file, folder / file)
    return [folder / file for file in files]


def _in_the_way(folder: Path, file: Path) -> Iterator[Problem]:
    mend = "Move it away, or name another folder."
    if (folder / file).is_dir():
        yield Problem(f"--out {folder}", f"a folder named {file}", "room for a file", mend)
    for parent in list(file.parents)[:-1]:
        if (folder / parent).exists() and not (folder / parent).is_dir():
            yield Problem(f"--out {folder}", f"a file named {parent}", "room for a folder", mend)


def _make(plan: Plan, folder: Path, say: Callable[[str], None]) -> None:
    text = json.dumps(grading.record(plan), indent=2, allow_nan=False)
    (folder / "plan.json").write_text(text + "\n", encoding="utf-8")
    words = f"{report.text(plan)}\n\n{report.surfaces(plan)}\n"
    (folder / "report.txt").write_text(words, encoding="utf-8")
    for name, table in report.tables(plan).items():
        (folder / f"{name}.csv").write_text(report.csv_text(table), encoding="utf-8-sig")
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


def _not_written(folder: Path, error: OSError) -> SiteError:
    found = (error.strerror or str(error)).lower()
    mend = "Name another folder, or make room in this one."
    there = next(each for each in (folder, *folder.parents, Path("/")) if os.path.lexists(each))
    if not there.is_dir():
        found = "a file of that name" if there == folder else f"{there}, which is a file"
        mend = "Name a folder that is not there yet, or is one."
    elif isinstance(error, FileNotFoundError | PermissionError) and there != folder:
        found = f"{there}, where no folder can be made ({found})"
        mend = "Name a folder elsewhere."
    return SiteError([Problem(f"--out {folder}", found, "a folder that can be written", mend)])
