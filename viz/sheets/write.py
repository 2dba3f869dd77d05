"""Write the sheets of a plan into a folder."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path

from grading.errors import Problem, SiteError
from grading.files.toml_text import nearest, shown_value
from grading.pipeline import Plan
from viz.files import write_with
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.crew.sheet import crew_data
from viz.sheets.head import Job, Say
from viz.sheets.homeowner.paper import homeowner_data
from viz.sheets.questions import questions_data

KINDS = ("homeowner", "crew", "questions")
"""The papers that there are, each one file for the whole job."""

HANDED = ("homeowner", "crew")
"""Those that are handed over; the others are made when they are asked for."""

WORDS = {
    "homeowner": "the homeowner's paper",
    "crew": "the crew's paper",
    "questions": "the six questions answered",
}
"""What each is called while it is made."""

PAPERS = ("letter", "a4")

MOST_PAGES = {"crew": 4}
"""Pages that a paper has at the most; what is too much for them is set closer."""


def write_sheets(
    plan: Plan, folder: Path, say: Say, kinds: Sequence[str] = HANDED, paper: str | None = None
) -> list[Path]:
    """Write the papers of a plan as PDF, and return the files.

    Parameters
    ----------
    plan : Plan
    folder : Path
        Where `homeowner.pdf`, `crew.pdf` or `questions.pdf` are written.
    say : callable
        Told what is being done, and what this machine cannot draw.
    kinds : sequence of str
        Any of `KINDS`; those that are handed over when left out.
    paper : "letter" or "a4", optional
        Letter for a site in feet, A4 for one in metres when left out.

    Raises
    ------
    SiteError
        A kind or paper that is not known, a crew.toml or a logo that cannot be used, or a folder
        that cannot be written.
    """

    check_words(kinds, paper)
    return write_with(folder, lambda made: _make(plan, made, say, kinds, paper), plan.site)


def check_words(kinds: Sequence[str], paper: str | None) -> None:
    """Refuse a kind of sheet or a paper that is not known.

    Parameters
    ----------
    kinds, paper : as for `write_sheets`

    Raises
    ------
    SiteError
        Both, at once.
    """
    problems = [_unknown("--for", kind, KINDS) for kind in kinds if kind not in KINDS]
    if paper is not None and paper.lower() not in PAPERS:
        problems.append(_unknown("--paper", paper, PAPERS))
    if problems:
        raise SiteError(problems)


def _unknown(option: str, word: str, words: Sequence[str]) -> Problem:
    *most, last = words
    expected = f"{', '.join(most)} or {last}"
    return Problem(option, shown_value(word), expected, nearest(word, words))


def _make(plan: Plan, folder: Path, say: Say, kinds: Sequence[str], paper: str | None) -> None:
    for words, make in sheets_made(plan, folder, say, kinds, paper):
        say(f"setting {words} ...")
        make()


def sheets_made(
    plan: Plan, folder: Path, say: Say, kinds: Sequence[str], paper: str | None = None
) -> Iterator[tuple[str, Callable[[], None]]]:
    """Yield what each paper is called and what writes it into a folder that is there.

    Parameters
    ----------
    plan, folder, say, kinds, paper : as for `write_sheets`
    """
    page = page_for(plan.site.unit, paper, portrait=True)
    job = Job(plan, plan.order, page)
    for kind in dict.fromkeys(kinds):
        yield WORDS[kind], partial(_set, job, kind, folder / f"{kind}.pdf", say)


_MAKERS = {"homeowner": homeowner_data, "questions": questions_data, "crew": crew_data}


def _set(job: Job, kind: str, file: Path, say: Say) -> None:
    with Compiled(kind) as sheet:
        data = _MAKERS[kind](job, sheet, say)
        most = MOST_PAGES.get(kind)
        made = sheet.pdf(data) if most is None else sheet.within(data, most)
    file.write_bytes(made)
