"""Which base, edge and joint suit an area: rules as data, each a sentence with what was measured.

A rule out of `suitability.toml` speaks of one option. What none rules out, and the fewest speak
against, is advised; then what a strong reason speaks for; then what the fewest minor cares are
held against; between equals the one that takes least, or that comes first.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from operator import eq, gt, lt, ne
from typing import Any, Literal

from grading.catalogue.rules import RULES, Limits
from grading.geometry.tolerances import ROUNDING
from grading.units import (
    YARD,
    Unit,
    UnitError,
    nominal,
    nominals,
    percent,
    read_length,
    read_slope,
    run,
    size,
)

About = Literal["base", "edge", "joint"]
Level = Literal["rules out", "against", "care", "for"]
LEVELS: tuple[Level, ...] = ("rules out", "against", "care", "for")

Value = float | bool | str | None
ONE_BASE = "one-base"
"""The rule by which areas that join are on one base."""

NOT_WHERE_RAISED = "edge-not-where-raised"
"""The rule that keeps an edge off what of the paving's edge is raised."""

_ROUND = 0.1  # ratio: a share from here on is said in whole per cent
_FAR = YARD  # m: from here a limit is said in feet and inches
_OPERATORS: Mapping[str, Callable[[Any, Any], Any]] = {"<": lt, ">": gt, "=": eq, "!=": ne}


@dataclass(frozen=True)
class Fact:
    """Something measured: its value in SI, None where it is not known, and how a person says it."""

    value: Value
    text: str


Facts = Mapping[str, Fact]


@dataclass(frozen=True)
class Condition:
    """A fact, one of < > = !=, and a limit as written: a word, a size, or a rule's name."""

    fact: str
    operator: str
    limit: str

    def holds(self, facts: Facts, limits: Limits) -> bool | None:
        """Say whether the fact meets the limit; None where it is not known."""
        value = facts[self.fact].value
        if value is None:
            return None
        bound = self.bound(value, limits)
        if isinstance(value, float) and isinstance(bound, float) and abs(value - bound) < ROUNDING:
            return self.operator == "="
        return bool(_OPERATORS[self.operator](value, bound))

    def bound(self, value: Value, limits: Limits) -> Value:
        """Return the limit in the kind and the unit of the fact."""
        if isinstance(value, bool):
            return self.limit == "yes"
        if isinstance(value, str):
            return self.limit
        if self.limit in RULES:
            return limits[self.limit]
        for read in (float, read_slope, lambda text: read_length(text, "m")):
            try:
                return read(self.limit)
            except (ValueError, UnitError):
                continue
        raise ValueError(f"{self.limit!r} is no limit")


@dataclass(frozen=True)
class SuitabilityRule:
    """One rule: of what option it speaks, when, how strongly, and in which words."""

    name: str
    about: About
    option: str
    unless: str
    when: tuple[Condition, ...]
    level: Level
    text: str
    plain: str
    change: str
    nears: str
    nears_of: str
    standing: str
    source: str
    disagree: str
    divides: bool
    strong: bool


@dataclass(frozen=True)
class Option:
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


@dataclass(frozen=True)
class Reason:
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


@dataclass(frozen=True)
class Leading:
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


@dataclass(frozen=True)
class Verdict:
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


@dataclass(frozen=True)
class Choice:
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


def _as_a_start(template: str) -> str:
    """Return the words of a sentence with a large first letter.

    Of the words as they stand in the table, not of the sentence that they make: what a {fact} puts
    first may be the name of a thing.
    """
    return f"{template[:1].upper()}{template[1:]}"


def _condition(written: str) -> Condition:
    fact, operator, limit = written.split(" ", 2)
    return Condition(fact, operator, limit)


@cache
def _table() -> Mapping[str, Any]:
    text = files("grading.catalogue").joinpath("suitability.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def _divides(entry: Mapping[str, Any]) -> bool:
    return bool(entry.get("divides", entry["level"] == "rules out"))


@cache
def suitability_rules() -> tuple[SuitabilityRule, ...]:
    """Return every rule of `suitability.toml`."""
    return tuple(
        SuitabilityRule(
            name=entry["name"],
            about=entry["about"],
            option=entry["option"],
            unless=entry.get("unless", ""),
            when=tuple(map(_condition, entry["when"])),
            level=entry["level"],
            text=entry["text"],
            plain=_as_a_start(entry.get("plain", entry["text"])),
            change=entry.get("change", ""),
            nears=entry.get("nears", ""),
            nears_of=entry.get("nears-of", ""),
            standing=entry["standing"],
            source=entry.get("source", f"{entry['standing']}, no source"),
            disagree=entry.get("disagree", ""),
            divides=_divides(entry),
            strong=entry.get("strong", _divides(entry)),
        )
        for entry in _table()["rule"]
    )


def option_entries(about: About) -> tuple[Mapping[str, Any], ...]:
    """Return the edges or joints of `suitability.toml` as they stand there."""
    return tuple(entry for entry in _table()["option"] if entry["about"] == about)


def options(about: About, unit: Unit) -> tuple[Option, ...]:
    """Return the edges or joints that there are, in the order that they are named.

    Parameters
    ----------
    about : "edge" or "joint"
    unit : "ft" or "m"
        What their titles are written in.
    """
    return tuple(
        Option(
            entry["name"],
            nominals(entry["title"], unit),
            frozenset({entry["name"]}),
            nominals(entry.get("plain", ""), unit),
        )
        for entry in option_entries(about)
    )


class _Words(dict[str, str]):
    """What the {words} of a sentence stand for: facts, limits of rules, or sizes such as {6 in}."""

    def __init__(self, facts: Facts, limits: Limits, unit: Unit) -> None:
        super().__init__({name: fact.text for name, fact in facts.items()})
        self._limits, self._unit = limits, unit

    def __missing__(self, name: str) -> str:
        if name[0].isdigit():
            return nominal(name, self._unit)
        limit = self._limits[name]
        if RULES[name].unit == "ratio":
            return percent(limit, 0 if limit >= _ROUND else 1)
        return run(limit, self._unit) if limit >= _FAR else size(limit, self._unit)


def _held(conditions: Iterable[Condition], facts: Facts, limits: Limits) -> bool | None:
    """Say whether all conditions hold; None where one is not known and the others do."""
    said = [condition.holds(facts, limits) for condition in conditions]
    return False if False in said else None if None in said else True


def _may_come(rule: SuitabilityRule, facts: Facts, limits: Limits) -> bool:
    """Say whether what a rule that does not hold warns of is still to come.

    It is not where that is so already, and the rule does not hold for another reason.
    """
    spoken_of = [each for each in rule.when if each.fact == rule.nears_of]
    return not spoken_of or _held(spoken_of, facts, limits) is not True


def verdict(option: Option, about: About, facts: Facts, limits: Limits, unit: Unit) -> Verdict:
    """Return what the rules say of an option.

    Parameters
    ----------
    option : Option
    about : "base", "edge" or "joint"
    facts : mapping of str to Fact
        What was measured of the area, and of the option.
    limits : Limits
        Those of the site.
    unit : "ft" or "m"
        What the sentences are written in.
    """
    words = _Words(facts, limits, unit)
    reasons: list[Reason] = []
    nears: list[str] = []
    unknown: list[str] = []
    for rule in suitability_rules():
        spoken_of = rule.option == "*" or rule.option in option.tags
        if rule.about != about or not spoken_of or rule.unless in option.tags:
            continue
        held = _held(rule.when, facts, limits)
        if held is None:
            unknown.append(rule.name)
        elif held:
            reasons.append(
                Reason(
                    rule.name, rule.level, rule.text.format_map(words), rule.standing,
                    nominals(rule.source, unit, beside=rule.standing == "published"),
                    rule.change.format_map(words), nominals(rule.disagree, unit),
                    rule.divides,
                    rule.plain.format_map(words),
                    rule.strong,
                )
            )  # fmt: skip
        elif rule.nears and _may_come(rule, facts, limits):
            nears.append(rule.nears.format_map(words))
    if any(reason.level == "rules out" for reason in reasons):
        # What cannot be built has nothing that speaks for it.
        reasons = [reason for reason in reasons if reason.level != "for"]
    worst_first = sorted(
        reasons, key=lambda reason: (LEVELS.index(reason.level), not reason.strong)
    )
    return Verdict(option, tuple(worst_first), tuple(nears), tuple(unknown))


def judged(about: About, verdicts: Sequence[Verdict], dug: Mapping[str, float]) -> Choice:
    """Return the options in the order in which they are advised.

    Parameters
    ----------
    about : "base", "edge" or "joint"
    verdicts : sequence of Verdict
        In the order of the catalogue.
    dug : mapping of str to float
        What each option digs, where it digs. [m3]
    """

    def rank(verdict: Verdict) -> tuple[float, ...]:
        return *verdict.rank, dug.get(verdict.option.name, 0.0)

    return Choice(about, tuple(sorted(verdicts, key=rank)))


def disagreements(facts: Facts, limits: Limits, unit: Unit) -> tuple[str, ...]:
    """Return what the trade does not agree on that concerns an area, a sentence each."""
    words = _Words(facts, limits, unit)
    return tuple(
        entry["text"].format_map(words)
        for entry in _table()["disagreement"]
        if _held(map(_condition, entry["when"]), facts, limits)
    )
