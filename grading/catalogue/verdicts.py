"""What speaks for and against each option, and which one is advised.

What none rules out, and the fewest speak against, is advised; then what a strong reason speaks for;
then what the fewest minor cares are held against; between equals the one that takes least, or that
comes first.
"""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from grading.geometry.tolerances import ROUNDING

About = Literal["base", "edge", "joint", "hold"]
Level = Literal["rules out", "against", "care", "for"]
LEVELS: tuple[Level, ...] = ("rules out", "against", "care", "for")
ONE_BASE = "one-base"
"""The rule by which areas that join are on one base."""


class Option(Struct, frozen=True):
    """Something that could be built: its name, title, and the tags that rules speak of.

    `plain` is its title in everyday words, empty where the title has them; `depth` how deep it
    goes below the finish, of a base [m].
    """

    name: str
    title: str
    tags: frozenset[str]
    plain: str = ""
    depth: float = 0.0

    @property
    def called(self) -> str:
        """Its title within a sentence; the name of a site's own base system as it was written."""
        return self.title if self.title == self.name else self.title.lower()

    @property
    def in_plain_words(self) -> str:
        """Its title for who pays for it."""
        return self.plain or self.title


class Reason(Struct, frozen=True):
    """A rule that holds, in words: the sentence, its standing, and what would change it.

    `plain` is the sentence in everyday words, as a sentence starts; the names of things stand in
    it letter for letter. `divides` says that it is strong enough to build areas that join on
    different bases; `strong` that no number of minor ones outweighs it.
    """

    rule: str
    level: Level
    text: str
    standing: str
    source: str
    change: str
    disagree: str
    divides: bool = False
    plain: str = ""
    strong: bool = False


class Leading(Struct, frozen=True):
    """The one reason that stands for a whole choice: of the option advised, or against another.

    `about` is the option that the reason speaks of; `of_other` whether that is not the one advised.
    """

    about: Option
    reason: Reason
    of_other: bool

    @property
    def text(self) -> str:
        """The reason in the words of the trade."""
        return f"not {self.about.called}: {self.reason.text}" if self.of_other else self.reason.text

    @property
    def plain(self) -> str:
        """The reason as a homeowner reads it."""
        if self.of_other:
            return f"Not {self.about.called}: {self.reason.plain}"
        return self.reason.plain


class Verdict(Struct, frozen=True):
    """What speaks for and against one option, the worst first.

    `nears` are sentences of what would come to speak against it; `unknown` names the rules that
    could not be asked, because a fact is not known.
    """

    option: Option
    reasons: tuple[Reason, ...]
    nears: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def level(self) -> Level:
        """The strongest that is said of it; "for" where nothing speaks against it."""
        said = {reason.level for reason in self.reasons}
        return next((level for level in LEVELS if level in said), "for")

    @property
    def rank(self) -> tuple[int, int, int, int, int]:
        """What it stands on beside others, the lower the better: see `judged`.

        A reason of one place is never outweighed by any number of a later one.
        """
        ruled_out, against, care, spoken_for = map(self.count, LEVELS)
        strong = {
            level: sum(one.level == level and one.strong for one in self.reasons)
            for level in LEVELS
        }
        minor = care - (spoken_for - strong["for"])
        return int(ruled_out > 0), strong["against"], against, -strong["for"], minor

    @property
    def divided(self) -> Reason | None:
        """The strongest reason why it cannot be built here for the sake of what is beside."""
        return next((reason for reason in self.reasons if reason.divides), None)

    @property
    def strongly_for(self) -> bool:
        """Whether a reason that is strong speaks for it."""
        return any(one.level == "for" and one.strong for one in self.reasons)

    def count(self, level: Level) -> int:
        """Return how many reasons are of a level."""
        return sum(reason.level == level for reason in self.reasons)

    @property
    def against(self) -> tuple[Reason, ...]:
        """The reasons that speak against it, the strongest first."""
        return tuple(reason for reason in self.reasons if reason.level != "for")


class Choice(Struct, frozen=True):
    """The options for one thing, judged; the first is advised.

    `because` says why it is the first, where another would be by itself.
    """

    about: About
    verdicts: tuple[Verdict, ...]
    because: str = ""

    @property
    def advised(self) -> Verdict | None:
        """The option advised; None where every one is ruled out."""
        best = self.verdicts[0]
        return None if best.level == "rules out" else best

    @property
    def caveat(self) -> str:
        """What must be said beside an advised option that something speaks against.

        That every other has something against it too, and how much, or why it is advised all the
        same; empty where nothing speaks against it.
        """
        best = self.advised
        if best is None or best.level in ("care", "for"):
            return ""
        if any(one.level in ("care", "for") for one in self.verdicts):
            return f"all the same {best.option.called} is advised: {self.because}"
        told = ", ".join(map(_held_against, self.verdicts))
        others = [
            one.count("against")
            for one in self.verdicts[1:]
            if one.level != "rules out" and one is not best
        ]
        mine = best.count("against")
        of_it = ""
        if all(mine < count for count in others):
            of_it = ", and the one advised the least"
        elif mine == min(others) and best.strongly_for:
            of_it = ", and what speaks for the one advised decides"
        of_it += f" ({self.because})" if self.because else ""
        return f"every {self.about} has something against it here{of_it}: {told}"

    def passed_over(self, name: str) -> str:
        """Say why an option of which no rule speaks is not the one advised."""
        best, one = self.advised, self.of(name)
        words = "nothing speaks against it here"
        if best is None or best is one:
            return words
        if best.rank < one.rank:
            return f"{words}, but more speaks for {best.option.called}"
        return f"{words}, but {best.option.called} takes less"

    @property
    def leading(self) -> Leading | None:
        """The one reason that stands for the choice; None where there is none to give.

        What makes it one piece with what it joins, where it would be another base by itself; else
        what speaks strongly for the one advised; else what speaks against one that would be
        thinner, and less to dig; else what speaks for the one advised at all, or against another.
        Areas that come to the same base by themselves are not told by each other.
        """
        best = self.advised
        if best is None:
            return None
        own = [reason for reason in best.reasons if reason.level == "for"]
        joined = bool(self.because)
        own = [reason for reason in own if (reason.rule == ONE_BASE) == joined] or own
        others = sorted(self.verdicts[1:], key=lambda one: one.option.depth)
        refused = [one for one in others if one.level in ("rules out", "against")]
        thinner = [one for one in refused if one.option.depth < best.option.depth - ROUNDING]
        if own and (self.because or own[0].strong or not thinner):
            return Leading(best.option, own[0], of_other=False)
        for one in (*thinner, *refused):
            return Leading(one.option, one.reasons[0], of_other=True)
        return None

    def led_by(self, name: str, because: str) -> Choice:
        """Return the same with another option advised, and why."""
        rest = (one for one in self.verdicts if one.option.name != name)
        return Choice(self.about, (self.of(name), *rest), because)

    def of(self, name: str) -> Verdict:
        """Return the verdict on an option by its name."""
        return next(verdict for verdict in self.verdicts if verdict.option.name == name)


def _held_against(verdict: Verdict) -> str:
    """Say how much speaks against an option."""
    if verdict.level == "rules out":
        return f"{verdict.option.called} cannot be built"
    count = verdict.count("against")
    return f"{count} reason{'' if count == 1 else 's'} against {verdict.option.called}"
