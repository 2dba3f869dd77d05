"""Which base, edge and joint suit an area: rules as data, each a sentence with what was measured.

A rule out of `suitability.toml` speaks of one option; `verdicts` says which is advised.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache
from operator import eq, gt, lt, ne
from typing import Any

from msgspec import Struct

from grading.catalogue.rules import RULES, Limits
from grading.catalogue.tables import table
from grading.catalogue.verdicts import LEVELS, About, Choice, Level, Option, Reason, Verdict
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

Value = float | bool | str | None

NOT_WHERE_RAISED = "edge-not-where-raised"
"""The rule that keeps an edge off what of the paving's edge is raised."""

_ROUND = 0.1  # ratio: a share from here on is said in whole per cent
_FAR = YARD  # m: from here a limit is said in feet and inches
_OPERATORS: Mapping[str, Callable[[Any, Any], Any]] = {"<": lt, ">": gt, "=": eq, "!=": ne}


class Fact(Struct, frozen=True):
    """Something measured: its value in SI, None where it is not known, and how a person says it."""

    value: Value
    text: str


Facts = Mapping[str, Fact]


class Condition(Struct, frozen=True):
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


class SuitabilityRule(Struct, frozen=True):
    """One rule: of what option it speaks, when, how strongly, and in which words."""

    name: str
    about: About
    option: str
    when: tuple[Condition, ...]
    level: Level
    text: str
    plain: str
    standing: str
    source: str
    divides: bool
    strong: bool
    unless: str = ""
    change: str = ""
    nears: str = ""
    nears_of: str = ""
    disagree: str = ""


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
def suitability_rules() -> tuple[SuitabilityRule, ...]:
    """Return every rule of `suitability.toml`."""
    return tuple(map(_rule, table("catalogue", "suitability")["rule"]))


def _rule(entry: Mapping[str, Any]) -> SuitabilityRule:
    divides = entry.get("divides", entry["level"] == "rules out")
    left_out = {
        "source": f"{entry['standing']}, no source", "divides": divides, "strong": divides,
        "plain": entry["text"],
    }  # fmt: skip
    told = {**left_out, **{key.replace("-", "_"): value for key, value in entry.items()}}
    told["when"] = tuple(map(_condition, told["when"]))
    told["plain"] = _as_a_start(told["plain"])
    return SuitabilityRule(**told)


def option_entries(about: About) -> tuple[Mapping[str, Any], ...]:
    """Return the edges or joints of `suitability.toml` as they stand there."""
    return tuple(
        entry for entry in table("catalogue", "suitability")["option"] if entry["about"] == about
    )


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
        for entry in table("catalogue", "suitability")["disagreement"]
        if _held(map(_condition, entry["when"]), facts, limits)
    )
