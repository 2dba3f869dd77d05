"""The advice on a plan: base, edge and joint of each area, what stands on it, frost and load."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from msgspec import Struct

from grading.catalogue.bases import tags_of
from grading.catalogue.suitability import (
    Fact,
    disagreements,
    judged,
    options,
    suitability_rules,
    verdict,
)
from grading.catalogue.verdicts import Choice, Option, Verdict
from grading.choice.compared import (
    Weighed,
    cost_facts,
    dearer_words,
    dig_facts,
    frost_facts,
    laying_facts,
    one_base_facts,
    weighed_of,
)
from grading.choice.facts import ASKED, area_facts, system_facts
from grading.conditions.backfill import BackfillZone, zones_of
from grading.conditions.features import area_under
from grading.conditions.frost import FrostDepth, frost_of
from grading.conditions.joins import Join, joins_of
from grading.conditions.joint_choice import joint_laid
from grading.conditions.level_things import LevelThing, level_things
from grading.conditions.load import LoadStress, board_words, loads, loads_of, stress
from grading.conditions.one_base import OneBase, one_bases
from grading.conditions.paver_stacks import PaverStacks, paver_stacks
from grading.conditions.season import laid_words
from grading.conditions.seats import Seat, seats_of
from grading.design.area import AreaPlan
from grading.design.edge_holding import Holder, fixed_words, free_length, holders, holding_words
from grading.design.model import Design
from grading.order.model import Order
from grading.structures.holding.holds import holding_of
from grading.worded import Worded


class AreaAdvice(Struct, frozen=True):
    """What is advised for one area.

    Attributes
    ----------
    area : str
    base, edge, joint : Choice
        Base systems, and for the base that is built, edges and joints; the advised one first.
    edge_laid, joint_laid : str
        What is laid on the base that is built: what the site gives, or what is advised.
    edge_given, joint_given : bool
        Whether the site gives it and its base takes it.
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
    holding_plain : str
        The same in everyday words, for who pays for it.
    weighed : tuple of Weighed
        What each base that is not ruled out takes, in the order of the catalogue.
    dearer : str
        How much dearer the one advised is than the cheapest, and why it is advised all the same;
        empty where none that can be built is cheaper.
    dearer_plain : str
        The same for who pays, without what it costs the crew.
    one_base : OneBase or None
        What is advised for it with all that it joins; None where every base is ruled out.
    stacks : PaverStacks
        Where its pavers stand while they are laid on the base that is built.
    disagreements : tuple of str
        What the trade does not agree on that concerns it.
    unknown : tuple of Worded
        What is not known and would be asked.
    boards : tuple of str
        What the stiffness of panels does to a load, a sentence for each base that tells it.
    """

    area: str
    base: Choice
    edge: Choice
    joint: Choice
    edge_laid: str
    joint_laid: str
    edge_given: bool
    joint_given: bool
    built: str
    chosen: str | None
    reason: str | None
    held: tuple[Holder, ...]
    holding: str
    holding_plain: str
    weighed: tuple[Weighed, ...]
    dearer: str
    dearer_plain: str
    one_base: OneBase | None
    stacks: PaverStacks
    disagreements: tuple[str, ...]
    unknown: tuple[Worded, ...]
    boards: tuple[str, ...] = ()

    def beside_least(self, one: Weighed) -> float:
        """Return what a base costs, of what the cheapest that remains does; 0 where none costs."""
        least = min(each.cost for each in self.weighed)
        return one.cost / least if least else 0.0

    @property
    def edge_shown(self) -> Verdict | None:
        """What is said of its edge: of the one given where one is, else of the one advised."""
        return self.edge.of(self.edge_laid) if self.edge_given else self.edge.advised

    @property
    def joint_shown(self) -> Verdict | None:
        """What is said of its joints: of what is given where it is, else of what is advised."""
        return self.joint.of(self.joint_laid) if self.joint_given else self.joint.advised

    @property
    def joint_plain(self) -> str:
        """What fills its joints, in everyday words."""
        return self.joint.of(self.joint_laid).option.in_plain_words

    @property
    def overruled(self) -> bool:
        """Whether the site chose another base than the one advised."""
        advised = self.base.advised
        return self.chosen is not None and (advised is None or advised.option.name != self.chosen)


class Advice(Struct, frozen=True):
    """Everything advised on a plan; `warnings` are of things that stand on no area.

    `levels` says of each of `features` how it is set out. `laid` says when the paving is laid, and
    is empty where that is not given.
    """

    areas: tuple[AreaAdvice, ...]
    features: tuple[Seat, ...]
    levels: tuple[LevelThing, ...]
    backfill: tuple[BackfillZone, ...]
    joins: tuple[Join, ...]
    frost: tuple[FrostDepth, ...]
    loads: tuple[LoadStress, ...]
    warnings: tuple[str, ...]
    laid: str = ""

    def of(self, area: AreaPlan) -> AreaAdvice:
        """Return the advice on one area of the plan."""
        return self.area(area.name)

    def area(self, name: str) -> AreaAdvice:
        """Return the advice on an area by its name."""
        return next(one for one in self.areas if one.area == name)

    def frost_under(self, area: AreaPlan) -> FrostDepth | None:
        """Return the frost under an area's chosen base; None where no winter is given."""
        key = (area.area.name, area.chosen)
        return next((one for one in self.frost if (one.area, one.base) == key), None)


class _Known(Struct, frozen=True):
    """What is known of an area, whatever is advised for it."""

    area: AreaPlan
    facts: Mapping[str, Fact]
    own: Mapping[str, Mapping[str, Fact]]

    def bases(
        self, plan: Design, weighed: Mapping[str, Weighed], one: OneBase | None = None
    ) -> Choice:
        """Return the bases judged; where it is a part of one piece of paving, that one's first."""
        limits, unit, area = plan.limits, plan.site.unit, self.area
        found = {
            name: Option(name, dig.system.title, tags_of(dig.system), depth=dig.build_up)
            for name, dig in area.digs.items()
        }

        def said(name: str, more: Mapping[str, Fact]) -> Verdict:
            facts = {**self.facts, **self.own[name], **more}
            return verdict(found[name], "base", facts, limits, unit)

        first = {name: said(name, {}) for name in found}
        free = [name for name, each in first.items() if each.level in ("care", "for")]
        left = [name for name, each in first.items() if each.level != "rules out"]
        candidates = free or left or list(found)
        verdicts = [
            said(
                name,
                {
                    **dig_facts(area, name, candidates, unit),
                    **cost_facts(area, weighed, name, candidates),
                    **laying_facts(area, weighed, name),
                    **one_base_facts(one, name),
                },
            )
            for name in found
        ]
        takes = {name: dig.cut for name, dig in area.digs.items()}
        takes |= {name: each.cost for name, each in weighed.items()}
        choice = judged("base", verdicts, takes)
        if one is None or one.base == one.by_itself:
            return choice
        return choice.led_by(one.base, f"it is one piece of paving with {' and '.join(one.joined)}")


def _unknown(choices: Sequence[Choice], facts: Mapping[str, Fact]) -> tuple[Worded, ...]:
    names = {name for choice in choices for one in choice.verdicts for name in one.unknown}
    missing = [
        condition.fact
        for rule in suitability_rules()
        if rule.name in names
        for condition in rule.when
        if facts[condition.fact].value is None
    ]
    return tuple(dict.fromkeys(ASKED[fact] for fact in missing if fact in ASKED))


def _known(
    plan: Design,
    area: AreaPlan,
    seats: Sequence[Seat],
    zone: BackfillZone | None,
    frost: Mapping[str, FrostDepth],
) -> _Known:
    own = {
        name: {
            **system_facts(plan, area, dig.system, frost.get(name)),
            **frost_facts(area, frost, name, plan.site.unit),
        }
        for name, dig in area.digs.items()
    }
    return _Known(area, area_facts(plan, area, seats, zone), own)


def _area(
    plan: Design, known: _Known, weighed: Mapping[str, Weighed], one: OneBase | None
) -> AreaAdvice:
    limits, unit, area = plan.limits, plan.site.unit, known.area
    base = known.bases(plan, weighed, one)
    facts = {**known.facts, **known.own[area.chosen]}
    edge, joint = (
        judged(
            about, [verdict(each, about, facts, limits, unit) for each in options(about, unit)], {}
        )
        for about in ("edge", "joint")
    )  # fmt: skip
    system = area.chosen_dig.system
    holding = holding_of(plan, area, area.chosen)
    raised = holding.walled
    fixed = fixed_words(area, plan.crew, unit)
    long = sum(part.length for part in raised)
    held = holders(edge, system.edge, free_length(area), long, fixed, holding.others)
    filled = joint_laid(plan.site, area, system, plan.crew.pavers)
    return AreaAdvice(
        area=area.name,
        base=base,
        edge=edge,
        joint=joint,
        edge_laid=system.edge,
        joint_laid=filled,
        edge_given=area.area.edge == system.edge,
        joint_given=area.area.joint == filled,
        built=area.chosen,
        chosen=area.area.base,
        reason=area.area.reason,
        held=held,
        holding=holding_words(held, raised, plan.places, unit),
        holding_plain=holding_words(held, raised, plan.places, unit, plain=True),
        weighed=tuple(each for name, each in weighed.items() if base.of(name).level != "rules out"),
        dearer=dearer_words(base, weighed),
        dearer_plain=dearer_words(base, weighed, plain=True),
        one_base=one,
        stacks=paver_stacks(plan, area, area.chosen),
        disagreements=(*disagreements(facts, limits, unit), *_disputed(base)),
        unknown=_unknown((base, edge, joint), facts),
        boards=_boards(plan, area),
    )


def _boards(plan: Design, area: AreaPlan) -> tuple[str, ...]:
    soil, unit = plan.site.ground.soil, plan.site.unit
    said = (
        board_words(
            [stress(area.name, dig.system, load, soil) for load in loads()], dig.system, unit
        )
        for dig in area.digs.values()
        if not dig.system.over
    )
    return tuple(filter(None, said))


def _disputed(choice: Choice) -> tuple[str, ...]:
    said = (
        f"{one.option.name}: {reason.disagree}"
        for one in choice.verdicts
        for reason in one.reasons
        if reason.disagree
    )
    return tuple(dict.fromkeys(said))


def advice_of(plan: Design, order: Order) -> Advice:
    """Return everything that is advised on a design.

    Parameters
    ----------
    plan : Design
    order : Order
        What it takes on every base.
    """
    seats, zones = tuple(seats_of(plan)), tuple(zones_of(plan))
    frost = tuple(frost_of(plan))
    known = [
        _known(
            plan,
            area,
            [one for one in seats if one.area == area.name],
            next((zone for zone in zones if zone.area == area.name), None),
            {one.base: one for one in frost if one.area == area.name},
        )
        for area in plan.areas
    ]
    astray = tuple(
        f"{feature.name or feature.kind} stands on no area, so nothing is said of it"
        for feature in plan.site.features
        if area_under(plan, feature) is None
    )
    return Advice(
        areas=_areas(plan, known, weighed_of(order)),
        features=seats,
        levels=level_things(plan, seats),
        backfill=zones,
        joins=tuple(joins_of(plan)),
        frost=frost,
        loads=tuple(loads_of(plan)),
        warnings=astray,
        laid=laid_words(plan.site.laying),
    )


def _areas(
    plan: Design, known: Sequence[_Known], weighed: Mapping[str, Mapping[str, Weighed]]
) -> tuple[AreaAdvice, ...]:
    """Return the advice on every area, as one with those that it joins."""
    names = [each.area.name for each in known]
    takes = {name: weighed.get(name, {}) for name in names}
    choices = {name: each.bases(plan, takes[name]) for name, each in zip(names, known, strict=True)}
    as_one = one_bases(plan, choices)
    return tuple(
        _area(plan, each, takes[name], as_one.get(name))
        for name, each in zip(names, known, strict=True)
    )
