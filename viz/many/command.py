"""`fallaway plan SITES...`: many yards planned side by side, and told in one table."""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import AbstractContextManager, nullcontext
from pathlib import Path

from grading.errors import Problem, SiteError
from viz import VERSION
from viz.many.found import Found, sites_of
from viz.many.frames import Answer, Given, Job, Lost
from viz.many.given import given_of
from viz.many.kept import Output, output_at
from viz.many.where import planned_here, planned_on
from viz.tables.yards import Yard, lost_yard, refused_yard
from viz.terminal import yards as printed
from viz.terminal.answering import CHECK_FAILED, DONE, Asked
from viz.terminal.fault import named, report, reported, written
from viz.terminal.progress import Progress
from viz.words.screen.yards import (
    UNANSWERED,
    crashed_words,
    hung_words,
    kept_words,
    planning_words,
    version_words,
)

INPUT_WRONG, OWN_FAULT = 2, 3


def plan_many(told: argparse.Namespace, asked: Asked, paths: Sequence[Path]) -> int:
    """Plan many yards, print their table, write it where asked, and return the exit status.

    Parameters
    ----------
    told : Namespace
        What was written after the command.
    asked : Asked
    paths : sequence of Path
        Of sites, and of folders of sites.

    Raises
    ------
    SiteError
        The command itself is wrong, or nothing more can be written or planned. What is wrong with
        a site stands in its row.
    """
    _refuse_single(told)
    sites = sites_of(paths, told.out)
    folder: AbstractContextManager[Output | None] = (
        nullcontext() if told.out is None else output_at(told.out, told.all_papers)
    )
    with folder as output:
        run = _Run(sites, told.all_papers, output, asked.say)
        yards = run.planned(told.on)
        files = [] if output is None else output.write_table(yards)
        left = [] if output is None else output.left(run.standing)
    if run.kept:
        asked.say(kept_words(run.kept))
    asked.tell(printed.as_json(yards) if told.json else printed.text(yards, told.out))
    if told.out is not None:
        asked.written(told.out, files, told.json)
    if left:
        asked.say(f"of an earlier run, not of this table: {printed.named(left)}")
    return _status(yards)


_SINGLE = ("full", "only", "mend", "settled", "details", "png", "price")
"""What is said of one site alone."""


def _refuse_single(told: argparse.Namespace) -> None:
    words = {"settled": told.settled[0][0] if told.settled else ""}
    problems = []
    for name in _SINGLE:
        if getattr(told, name):
            option = words.get(name, f"--{name}")
            mend = f"Plan that one alone with {option}, or leave it out."
            problems.append(Problem(option, f"{option} beside several sites", "one site", mend))
    if problems:
        raise SiteError(problems)


def _status(yards: Sequence[Yard]) -> int:
    verdicts = {each.verdict for each in yards}
    if "refused" in verdicts:
        return INPUT_WRONG
    if "fault" in verdicts:
        return OWN_FAULT
    return CHECK_FAILED if any(each.failed for each in yards) else DONE


class _Run:
    """One run over many sites."""

    def __init__(
        self, sites: Sequence[Found], papers: bool, output: Output | None,
        say: Callable[[str], None],
    ) -> None:  # fmt: skip
        self._sites, self._papers, self._output, self._say = sites, papers, output, say
        self._by_name = {each.name: each for each in sites}
        self._given: dict[str, Given] = {}  # of those that are handed out
        self._rows: dict[str, Yard] = {}
        self._noted: Counter[str] = Counter()
        self.kept = 0
        self.standing: set[str] = set()
        """Yards whose folder holds what this run tells of them."""

    def planned(self, address: str | None) -> list[Yard]:
        """Return the row of every site, in their order."""
        jobs = self._jobs()
        planned = planned_here(jobs) if address is None else planned_on(address, jobs)
        with Progress() as progress, planned as answers:
            words = planning_words(len(self._sites))
            for answer in answers:
                self._take(answer)
                progress.tell(words, len(self._rows) / len(self._sites))
        return [
            self._rows.get(each.name) or lost_yard(each.name, UNANSWERED) for each in self._sites
        ]

    def _jobs(self) -> Iterator[Job]:
        """Yield what is to be planned; what needs not, or cannot be read, has its row at once."""
        for site in self._sites:
            if site.refused:
                self._rows[site.name] = refused_yard(site.name, site.refused)
                continue
            try:
                given = given_of(site.home, papers=self._papers)
            except SiteError as error:
                self._rows[site.name] = refused_yard(site.name, str(error))
                continue
            except Exception as error:  # this is asked for where no one would hear of it
                words = report(error, ["plan", str(site.path)], site.home, VERSION)
                self._rows[site.name] = lost_yard(site.name, reported(named(error), words))
                continue
            known = None if self._output is None else self._output.known(site, given)
            if known is not None:
                self._rows[site.name] = known
                self.standing.add(site.name)
                self.kept += 1
                continue
            self._given[site.name] = given
            yield Job(site.name, given, self._papers)

    def _take(self, answer: Answer) -> None:
        """Keep what became of a yard: once, whatever comes back."""
        given = self._given.pop(answer.site, None)
        if given is None:
            return
        yard = _lost(answer, given) if answer.lost else Yard.of_plain(answer.row)
        for note in answer.notes:
            self._noted[note] += 1
            if self._noted[note] == 1:
                self._say(f"{yard.site}: {note}")
        if answer.report is not None:
            yard = lost_yard(yard.site, reported(*answer.report))
        if yard.planned and self._output is not None:
            try:
                self._output.write(self._by_name[yard.site], given, answer)
                self.standing.add(yard.site)
            except SiteError as error:
                if isinstance(error.__cause__, OSError):
                    raise  # nothing more can be written
                yard = refused_yard(yard.site, str(error))
        self._rows[yard.site] = yard


def _lost(answer: Answer, given: Given) -> Yard:
    """Return the row of a yard that nobody planned, and write the report of what was heard."""
    lost = answer.lost or Lost("stopped")
    if lost.how == "other version":
        return lost_yard(answer.site, version_words(lost.name, VERSION))
    words = hung_words(lost.waited) if lost.how == "hung" else crashed_words(lost.code, lost.name)
    told = f"{words}\nsite: {given.home}\nfallaway {VERSION}\n\n{lost.heard}\n"
    try:
        return lost_yard(answer.site, f"{words} What it said is in {written(told)}.")
    except OSError:
        return lost_yard(answer.site, words)
