"""Every error that a person can mend.

GradingError            exit 2
  SiteError             the site folder says something unusable; lists every problem found
    OutsideSurvey       an outline leaves the ground that was measured
  NoFinish              no plane meets every wish; says which conflict and by how much
  CannotDraw            this machine lacks something to draw with; says what to install
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing wrong in the input: where, what was found, what was expected, how to mend it."""

    where: str
    found: str
    expected: str
    mend: str = ""

    def __str__(self) -> str:
        sentence = f"{self.where}: found {self.found}, expected {self.expected}."
        return f"{sentence} {self.mend}".rstrip()


class GradingError(Exception):
    """Base of every error that a person can mend."""

    exit_status = 2


class SiteError(GradingError):
    """Something in the site folder cannot be used; `problems` lists all that was found."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class OutsideSurvey(SiteError):
    """An outline reaches farther beyond the surveyed ground than it can be extended."""


class NoFinish(GradingError):
    """No finish plane meets every wish; the message names a smallest set that conflicts."""


class CannotDraw(GradingError):
    """This machine lacks something that a picture needs; the message says what to install."""
