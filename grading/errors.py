"""Every error that a person can mend.

GradingError            exit 2
  SiteError             the site folder says something unusable; lists every problem found
    OutsideSurvey       an outline leaves the ground that was measured
  NoFinish              no plane meets every wish; says which conflict and by how much
  CannotDraw            this machine lacks something to draw with; says what to install
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from msgspec import Struct

from grading.signs import shortened, visible
from grading.worded import Said, of_file, of_page

MOST_TOLD = 20
"""Problems told in one message; the rest are only counted: nobody mends more at a time."""

LONGEST_MESSAGE = 3600
"""Letters after which the rest of the problems are only counted, so that a message fits a screen
or two."""

_LONGEST = {"where": 300, "found": 600, "expected": 1600, "mend": 600}
"""Letters of each part of a sentence; a list of all rules fits as what was expected."""


class Problem(Struct, frozen=True):
    """One thing wrong in the input: where, what was found, what was expected, how to mend it.

    The file, the command and the page refuse it in the same words, but for a mend that is a key:
    on the page that is a field.
    """

    where: str
    found: str
    expected: str
    mend: Said = ""

    def __str__(self) -> str:
        return self._told(of_file(self.mend))

    @property
    def page(self) -> str:
        """It, as who writes the site by the page is told it."""
        return self._told(of_page(self.mend))

    def _told(self, mend: str) -> str:
        parts = {"where": self.where, "found": self.found, "expected": self.expected, "mend": mend}
        where, found, expected, mend = (
            shortened(visible(parts[part]), most) for part, most in _LONGEST.items()
        )
        return f"{where}: found {found}, expected {expected}. {mend}".rstrip()


def unread(where: str, error: OSError, expected: str = "a file that can") -> Problem:
    """Return what is wrong with a file that the system does not let be read."""
    return Problem(where, f"a file that cannot be read ({error.strerror})", expected)


class GradingError(Exception):
    """Base of every error that a person can mend."""

    exit_status = 2


class SiteError(GradingError):
    """Something in the site folder cannot be used; `problems` lists all that was found."""

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(_message(self.problems))


def _message(problems: Sequence[Problem]) -> str:
    """Return the first of the problems, a line each, and how many more there are."""
    told: list[str] = []
    for problem in problems[:MOST_TOLD]:
        told.append(str(problem))
        if sum(map(len, told)) > LONGEST_MESSAGE and len(told) > 1:
            told.pop()
            break
    rest = len(problems) - len(told)
    if rest:
        told.append(f"and {rest} more like these: mend these first, and read the site again")
    return "\n".join(told)


class OutsideSurvey(SiteError):
    """An outline reaches farther beyond the surveyed ground than it can be extended."""


class Eased(Struct, frozen=True):
    """One wish of a finish that gives, for a conflict to end.

    Attributes
    ----------
    rule, about, area : str
        Of the wish.
    limit : float
        Of the quantity that the rule bounds. [m or ratio]
    at_least : bool
        Whether the quantity may not be less than the limit; else it may not be more.
    by : float
        How far it gives; 0 where it is put in another way. [m or ratio]
    upwards : bool or None
        Where an edge that was to be flush becomes a step, whether it goes down from `area`.
    short : bool
        Whether a published limit is not kept then: only the local code can allow that.
    """

    rule: str
    about: str
    area: str
    limit: float
    at_least: bool
    by: float
    upwards: bool | None = None
    short: bool = False


class Relaxation(Struct, frozen=True):
    """What would end a conflict, in the words of its sentence, and what gives."""

    text: str
    parts: tuple[Eased, ...]


class NoFinish(GradingError):
    """No finish plane meets every wish; the message names a smallest set that conflicts.

    `asked` is that set: the rule and the words of each wish. `relaxations` are what the message
    offers, in its order; none where nothing ends it.

    Each is found when it is first asked for, where a function that finds it is given in its place:
    a way that is only tried, and cannot be had, is told to nobody.
    """

    def __init__(
        self,
        message: str | Callable[[], str],
        asked: Sequence[tuple[str, str]] | Callable[[], Sequence[tuple[str, str]]] = (),
        relaxations: Sequence[Relaxation] | Callable[[], Sequence[Relaxation]] = (),
    ) -> None:
        super().__init__()
        self._message, self._asked, self._relaxations = message, asked, relaxations

    def __str__(self) -> str:
        if callable(self._message):
            self._message = self._message()
        return self._message

    @property
    def asked(self) -> tuple[tuple[str, str], ...]:
        """The rule and the words of each wish of a smallest set that conflicts."""
        if callable(self._asked):
            self._asked = self._asked()
        return tuple(self._asked)

    @property
    def relaxations(self) -> tuple[Relaxation, ...]:
        """What would end it."""
        if callable(self._relaxations):
            self._relaxations = self._relaxations()
        return tuple(self._relaxations)

    def __reduce__(self) -> tuple[type[NoFinish], tuple[object, ...]]:
        return NoFinish, (str(self), self.asked, self.relaxations)


class CannotDraw(GradingError):
    """This machine lacks something that a picture needs; the message says what to install."""
