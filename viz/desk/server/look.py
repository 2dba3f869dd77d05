"""A document looked at: read, planned, and told in the keys that the page shows.

What is told at once is the finish, the digs and the checks of areas; the rest follows, for water
and order take longer than a finger waits.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

import grading
from grading.errors import GradingError, NoFinish, Problem, SiteError
from grading.kept import Kept
from grading.pipeline import Plan, first_wave
from grading.reading.partly import partly_of, read_partly
from grading.reading.site_file import read_written
from grading.site.model import Site
from viz.desk.seen import Asked, Seen


class Reading(Struct, frozen=True, eq=False):
    """A document as its reader has it: the site, or what is wrong with it."""

    written: dict[str, Any]
    site: Site | None
    problems: tuple[Problem, ...] = ()


class Looking:
    """Documents of one site looked at, one after another, with what they have in common kept.

    Parameters
    ----------
    folder : Path
        That the site is read from.
    home : Path
        The person's own folder.
    """

    def __init__(self, folder: Path, home: Path) -> None:
        self.folder, self.home = folder, home
        self._kept = Kept()
        self._good: Plan | None = None
        self.seen: Seen | None = None

    def read(self, written: dict[str, Any]) -> Reading:
        """Return a document as its reader has it.

        Parameters
        ----------
        written : dict
            The site file as TOML has it.
        """
        try:
            return Reading(written, read_written(self.folder, written))
        except SiteError as error:
            return Reading(written, None, error.problems)

    def first(
        self, reading: Reading, files: Mapping[str, str], asked: Asked, revision: int
    ) -> Seen:
        """Return a document with its finish, digs and checks of areas.

        Parameters
        ----------
        reading : Reading
        files : mapping
            The texts of the other files.
        asked : Asked
        revision : int
        """
        site, written = reading.site, reading.written
        partly = read_partly(self.folder, written)[0] if site is None else partly_of(site)
        seen = Seen(
            folder=self.home, document=written, files=files, asked=asked, revision=revision,
            partly=partly, site=site, problems=reading.problems, whole=False,
        )  # fmt: skip
        if site is None:
            self.seen = self._with_last(seen)
            return self.seen
        try:
            plan = first_wave(site, self._kept).plan
        except NoFinish as error:
            seen = replace(seen, conflict=str(error), relaxations=error.relaxations)
        except SiteError as error:
            seen = replace(seen, problems=error.problems)
        except GradingError as error:
            seen = replace(seen, conflict=str(error))
        else:
            self._good = plan
            self.seen = replace(seen, plan=plan)
            return self.seen
        self.seen = self._with_last(seen)
        return self.seen

    def _with_last(self, seen: Seen) -> Seen:
        """Return what has no plan with the last one that there was."""
        return replace(seen, plan=self._good, stale=self._good is not None)

    @property
    def now(self) -> Seen:
        """What was looked at last."""
        assert self.seen is not None
        return self.seen

    def rest(self) -> Seen:
        """Return what was looked at last with the whole of its plan."""
        seen = self.seen
        assert seen is not None
        assert seen.site is not None
        if not seen.whole:
            try:
                plan = grading.plan(seen.site, kept=self._kept)
            except GradingError as error:
                self.seen = replace(seen, conflict=str(error), stale=True)
            else:
                self._good = plan
                self.seen = replace(seen, plan=plan, whole=True)
        return self.seen or seen

    def asked(self, asked: Asked) -> Seen:
        """Return what was looked at last, asked something else of."""
        assert self.seen is not None
        self.seen = replace(self.seen, asked=asked)
        return self.seen
