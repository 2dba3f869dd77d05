"""Write the sheets of a plan into a folder."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from grading.errors import Problem, SiteError
from grading.files.toml_file import nearest, shown_value
from grading.pipeline import Plan
from viz.files import write_with
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.crew import crew_data
from viz.sheets.head import Job, Say
from viz.sheets.homeowner import homeowner_data
from viz.sheets.questions import questions_data

FILES = {"homeowner": ("homeowner", "questions"), "crew": ("crew",)}
"""Who is given which papers: the homeowner's sheet, his questions answered, the crew's sheet."""

KINDS = tuple(FILES)
PAPERS = ("letter", "a4")


def write_sheets(
    plan: Plan, folder: Path, say: Say, kinds: Sequence[str] = KINDS, paper: str | None = None
) -> list[Path]:
    """Write the sheets of a plan as PDF, and return the files.

    Parameters
    ----------
    plan : Plan
    folder : Path
        Where `homeowner.pdf`, `questions.pdf` and `crew.pdf` are written.
    say : callable
        Told what is being done, and what this machine cannot draw.
    kinds : sequence of str
        Any of "homeowner", "crew".
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
    return Problem(option, shown_value(word), " or ".join(words), nearest(word, words))


def _make(plan: Plan, folder: Path, say: Say, kinds: Sequence[str], paper: str | None) -> None:

    page = page_for(plan.site.unit, paper, portrait=True)
    job = Job(plan, plan.order, page)
    makers = {"homeowner": homeowner_data, "questions": questions_data, "crew": crew_data}
    for kind in dict.fromkeys(kinds):
        say(f"setting the {kind}'s sheet ...")
        for name in FILES[kind]:
            with Compiled(name) as sheet:
                made = sheet.pdf(makers[name](job, sheet, say))
            (folder / f"{name}.pdf").write_bytes(made)
