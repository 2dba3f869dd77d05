"""The advice on a plan: base, edge and joint of each area, what stands on it, frost and load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from grading.backfill import BackfillZone, zones_of
from grading.edgeholding import Holder, free_length, holders, holding_words, raised_stretches
from grading.facts import ASKED, area_facts, dig_facts, system_facts, tags_of
from grading.features import Seat, area_under, seats_of
from grading.frost import FrostDepth, frost_of
from grading.joins import Join, joins_of
from grading.load import LoadStress, loads_of
from grading.pipeline import AreaPlan, Plan
from grading.rules import Limits
from grading.suitability import (
    Choice,
    Fact,
    Option,
    Verdict,
    disagreements,
    judged,
    options,
    suitability_rules,
    verdict,
)


@dataclass(frozen=True)
class AreaAdvice:
    """What is advised for one area.

    Attributes
    ----------
    area : str
    base, edge, joint : Choice
        Base systems, and for the base that is built, edges and joints; the advised one first.
    built : str
        The base system that the area is planned on.
    chosen : str or None
        The one chosen in the site.
    reason : str or None
        Why, where the site says it.
    held : tuple of Holder
        What holds its free edge, over what length.
    holding : str
        The same in words, with places where it is not one thing.
    disagreements : tuple of str
        What the trade does not agree on that concerns it.
    unknown : tuple of str
        What is not known and would be asked.
    """

    area: str
    base: Choice
    edge: Choice
    joint: Choice
    built: str
    chosen: str | None
    reason: str | None
    held: tuple[Holder, ...]
    holding: str
    disagreements: tuple[str, ...]
    unknown: tuple[str, ...]

    @property
    def overruled(self) -> bool:
        """Whether the site chose another base than the one advised."""
        advised = self.base.advised
        return self.chosen is not None and (advised is None or advised.option.name != self.chosen)


@dataclass(frozen=True)
class Advice:
    """Everything advised on a plan; `warnings` are of things that stand on no area."""

    areas: tuple[AreaAdvice, ...]
    features: tuple[Seat, ...]
    backfill: tuple[BackfillZone, ...]
    joins: tuple[Join, ...]
    frost: tuple[FrostDepth, ...]
    loads: tuple[LoadStress, ...]
    warnings: tuple[str, ...]

    def area(self, name: str) -> AreaAdvice:
        """Return the advice on an area by its name."""
        return next(one for one in self.areas if one.area == name)


def _base(
    plan: Plan, area: AreaPlan, facts: Mapping[str, Fact], own: Mapping[str, Mapping[str, Fact]]
) -> Choice:
    limits, unit = Limits(plan.site.limits), plan.site.unit
    found = {
        name: Option(name, dig.system.title, tags_of(dig.system)) for name, dig in area.digs.items()
    }

    def said(name: str, more: Mapping[str, Fact]) -> Verdict:
        return verdict(found[name], "base", {**facts, **own[name], **more}, limits, unit)

    first = {name: said(name, {}) for name in found}
    free = [name for name, one in first.items() if one.level in ("care", "for")]
    left = [name for name, one in first.items() if one.level != "rules out"]
    candidates = free or left or list(found)
    verdicts = [said(name, dig_facts(area, name, candidates, unit)) for name in found]
    return judged("base", verdicts, {name: dig.cut for name, dig in area.digs.items()})


def _unknown(choices: Sequence[Choice], facts: Mapping[str, Fact]) -> tuple[str, ...]:
    names = {name for choice in choices for one in choice.verdicts for name in one.unknown}
    missing = [
        condition.fact
        for rule in suitability_rules()
        if rule.name in names
        for condition in rule.when
        if facts[condition.fact].value is None
    ]
    return tuple(dict.fromkeys(ASKED[fact] for fact in missing if fact in ASKED))


def _area(
    plan: Plan,
    area: AreaPlan,
    seats: Sequence[Seat],
    zone: BackfillZone | None,
    frost: Mapping[str, FrostDepth],
) -> AreaAdvice:
    limits, unit = Limits(plan.site.limits), plan.site.unit
    facts = area_facts(plan, area, seats, zone)
    own = {
        name: system_facts(plan, area, dig.system, frost.get(name))
        for name, dig in area.digs.items()
    }
    base = _base(plan, area, facts, own)
    known = {**facts, **own[area.chosen]}
    edge, joint = (
        judged(
            about, [verdict(each, about, known, limits, unit) for each in options(about, unit)], {}
        )
        for about in ("edge", "joint")
    )  # fmt: skip
    raised = raised_stretches(area, limits["raised-edge"])
    held = holders(edge, free_length(area), sum(part.length for part in raised))
    return AreaAdvice(
        area=area.area.name,
        base=base,
        edge=edge,
        joint=joint,
        built=area.chosen,
        chosen=area.area.base,
        reason=area.area.reason,
        held=held,
        holding=holding_words(held, raised, plan.places, unit),
        disagreements=(
            *disagreements(known, limits, unit),
            *_disputed(base),
        ),
        unknown=_unknown((base, edge, joint), known),
    )


def _disputed(choice: Choice) -> tuple[str, ...]:
    said = (
        f"{one.option.name}: {reason.disagree}"
        for one in choice.verdicts
        for reason in one.reasons
        if reason.disagree
    )
    return tuple(dict.fromkeys(said))


def advice_of(plan: Plan) -> Advice:
    """Return everything that is advised on a plan.

    Parameters
    ----------
    plan : Plan
    """
    seats, zones = tuple(seats_of(plan)), tuple(zones_of(plan))
    frost = tuple(frost_of(plan))
    areas = []
    for area in plan.areas:
        name = area.area.name
        areas.append(
            _area(
                plan,
                area,
                [one for one in seats if one.area == name],
                next((zone for zone in zones if zone.area == name), None),
                {one.base: one for one in frost if one.area == name},
            )
        )
    astray = tuple(
        f"{feature.name or feature.kind} stands on no area, so nothing is said of it"
        for feature in plan.site.features
        if area_under(plan, feature) is None
    )
    return Advice(
        areas=tuple(areas),
        features=seats,
        backfill=zones,
        joins=tuple(joins_of(plan)),
        frost=frost,
        loads=tuple(loads_of(plan)),
        warnings=astray,
    )
