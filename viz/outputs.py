"""Everything that `plan --out` writes: what is handed over, and with it, if asked, the details.

What is handed over is the homeowner's paper, the crew's, the page that turns, the plan for scripts
and, once the crew says how it makes a price, the quote. Drawings, tables, stills and the film are
made when they are asked for and not before.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

import grading
from grading.errors import CannotDraw
from grading.pipeline import Plan
from grading.price.model import price_of
from viz.drawings.listed import write_drawings
from viz.files import owner_of, write_with
from viz.page.html import write_page
from viz.pictures.film import film_begun
from viz.pictures.render import abandon
from viz.pictures.stills import pictures_begun
from viz.sheets.homeowner.stills import before_and_after_begun
from viz.sheets.price.quote import issue_of, quote_made
from viz.sheets.write import HANDED, sheets_made
from viz.table import write_tables
from viz.tables.in_unit import in_unit
from viz.tables.plan import plan_tables
from viz.terminal import report
from viz.terminal.progress import Steps
from viz.words.figures import both_told

PAGE = "yard.html"
"""The page that turns in a browser."""

DETAILS = "details"
"""The folder of all that is not handed over."""


class _Step(NamedTuple):
    """One step: what is said as it begins, how long it takes beside the others, what it does."""

    words: str
    weight: float
    make: Callable[[], object]


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
    if left := _left(folder, written):
        say(f"of an earlier run, not made anew: {left}")
    return written


_NAMED_LEFT = 4  # files or folders of an earlier run that are named


def _left(folder: Path, written: Sequence[Path]) -> str:
    """Say which files of an earlier run stand beside those written now; empty where none does."""
    owner = owner_of(folder)
    new = {each.relative_to(folder).as_posix() for each in written}
    old = sorted((set() if owner is None else owner.files) - new)
    told = dict.fromkeys(
        f"{top}/" if rest else top
        for top, _, rest in (each.partition("/") for each in old if (folder / each).is_file())
    )
    more = f" and {len(told) - _NAMED_LEFT} more" if len(told) > _NAMED_LEFT else ""
    return ", ".join(list(told)[:_NAMED_LEFT]) + more


def _make(plan: Plan, folder: Path, heard: Callable[[str], None], details: bool, png: bool) -> None:
    formats = ("svg", "png") if png else ("svg",)

    def say(sentence: str) -> None:
        progress.say(sentence)

    steps = list(_handed_over(plan, folder, say))
    try:
        # What is rendered in a process of its own goes on while this one sets the papers.
        if details:
            steps += _details(plan, folder / DETAILS, formats)
        with Steps([step.weight for step in steps], heard) as progress:
            _step_by_step(steps, progress)
    except BaseException:
        abandon()
        raise


def _handed_over(plan: Plan, folder: Path, say: Callable[[str], None]) -> Iterator[_Step]:
    """Yield the steps that make what is handed over; the quote once the crew makes prices.

    What is rendered for them in a process of its own is begun.
    """
    before_and_after_begun(plan)
    yield _Step("writing the plan", 0.5, lambda: _write_record(plan, folder))
    yield _Step("making the page", 3.0, lambda: write_page(plan, folder / PAGE))
    for words, make in sheets_made(plan, folder, say, HANDED):
        yield _Step(f"setting {words}", 3.0, make)
    price = price_of(plan)
    if price is not None:
        what, write = next(iter(quote_made(price, issue_of(plan, None, None), folder)))
        yield _Step(f"setting {what}", 2.0, write)


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
        found = list(plan_tables(plan).items())
        if not both_told():
            found = [(name, in_unit(each, plan.site.unit)) for name, each in found]
        write_tables(dict(found), tables)

    steps = [
        _Step("writing report and tables", 0.5, told),
        _Step("drawing sections and plans", 6.0,
              lambda: write_drawings(plan, folder / "drawings", formats)),
        _Step("finishing the stills", 3.0, lambda: pictures(stills)),
        _Step("finishing the film", 3.0, lambda: filmed(film)),
    ]  # fmt: skip
    price = price_of(plan)
    if price is not None:
        # How a price is made is for the crew alone: it is no paper to hand over.
        *_, (words, make) = quote_made(price, issue_of(plan, None, None), folder)
        steps.append(_Step(f"setting {words}", 1.0, make))
    return steps


def _step_by_step(steps: Sequence[_Step], progress: Steps) -> None:
    """Take each step; what one library cannot draw here keeps nothing else from coming out."""
    why = ""
    for step in steps:
        progress.begin(step.words)
        try:
            step.make()
        except CannotDraw as error:
            what, _, because = str(error).partition(": ")
            progress.say(f"{what}." if because and because == why else str(error))
            why = because
