"""The step "Base": what lies under each area, why, what would turn it, and what holds its edge."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, get_args

from grading.answers.card_words import topsoil_words
from grading.answers.site import joins_words, site_answer
from grading.catalogue.edge_kinds import EDGES, JOINTS
from grading.catalogue.verdicts import Choice as Judged
from grading.catalogue.verdicts import Verdict
from grading.choice.advice import AreaAdvice
from grading.choice.hold_ways import HoldWay
from grading.design.area import AreaPlan
from grading.order.model import Job
from grading.order.telling import telling_of
from grading.pipeline import Plan
from grading.site.hold_table import HOLD_KINDS
from grading.site.model import Area
from grading.site.paver_table import Pattern, Pavers
from grading.structures.holding.holds import LOWER
from grading.units import HOUR, Unit, size, volume
from grading.worded import of_page
from viz.desk.blocks import (
    Block,
    Call,
    Change,
    Choice,
    Field,
    Fold,
    Head,
    Option,
    Say,
    Step,
    Table,
)  # fmt: skip
from viz.desk.seen import Seen
from viz.desk.sheet.checked import check_blocks, state_of
from viz.desk.written.document import table_at
from viz.desk.yard.examples import such_as
from viz.words.advice import LEVEL_WORDS, reason_words
from viz.words.plain import opened, stopped
from viz.words.screen.led import base_called

KEY, TITLE = "base", "Base"

NO_FINISH = "A base is advised once there is a finish: the step Finish says what conflicts."
GIVEN_IN_YARD = "It is given in the step Yard."
NONE_YET = "A base is advised once there is a plan: a house, a survey and paving drawn on it."


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    return Step(KEY, TITLE, _answer(seen), state_of(seen, KEY), list(_blocks(seen)))


def _answer(seen: Seen) -> str:
    plan = seen.plan
    if plan is None:
        return "not chosen yet"
    told = dict.fromkeys(_called(area) for area in plan.areas)
    dug = volume(plan.dug, plan.site.unit)
    return f"{opened(' and '.join(told))}, {dug} dug under the paving"


def _called(area: AreaPlan) -> str:
    return base_called(area.chosen, area.chosen_dig.system.called)


def _blocks(seen: Seen) -> Iterator[Block]:
    if seen.conflict:
        yield Say(NO_FINISH, "quiet")
    elif seen.plan is None:
        yield Say(NONE_YET, "quiet")
    else:
        yield from check_blocks(seen, KEY)
    for place, area in enumerate(seen.partly.areas.values()):
        yield from _area(seen, place, area)
    yield from _topsoil(seen)


def _area(seen: Seen, place: int, area: Area) -> Iterator[Block]:
    at, unit, prices = f"area/{place}", seen.partly.unit, seen.asked.prices
    written = table_at(seen.document, at)
    plan, made = seen.plan, seen.planned(area.name)
    if made is None or plan is None:
        return
    yield Head(f"Under {area.name}")
    one = plan.advice.of(made) if seen.whole else None
    yield Choice(f"{at}/base", "Base system", written.get("base"), list(_bases(made, one, unit)))
    if one is None:
        return
    answer = next(each for each in site_answer(plan).areas if each.area == made.name)
    yield Say(stopped(opened(answer.why)), "strong")
    if one.overruled or "reason" in written:
        yield Field(f"{at}/reason", "Why this base and not the one advised", written.get("reason"),
                    "in your words, for the papers", optional=True, takes="text")  # fmt: skip
    yield _beside(plan, made, prices)
    if one.dearer and prices:
        yield Say(stopped(opened(one.dearer)))
    best = one.base.advised
    if best is not None and best.nears:
        yield Head("What would turn it")
        yield from (Say(f"Would speak against it: {stopped(each)}") for each in best.nears)
    yield Fold("All that is said of each base", list(_choice(one.base, prices)))
    if one.unknown:
        unknown = "; ".join(map(of_page, one.unknown))
        yield Say(f"Not known, and not judged: {unknown}. {GIVEN_IN_YARD}", "quiet")
    yield from _edge(at, written, one, prices)
    yield from _holds(seen, plan, made)
    for number, words in enumerate(joins_words(site_answer(plan), unit)):
        if made.name in plan.advice.joins[number].areas:
            yield Say(stopped(words))
    yield Fold(f"Pavers of {area.name}", list(_pavers(at, written, plan.crew.pavers, unit)))


def _bases(made: AreaPlan, one: AreaAdvice | None, unit: Unit) -> Iterator[Option]:
    """Yield the bases, each with what it digs; the first is the one advised."""
    best = None if one is None else one.base.advised
    called = "" if best is None else base_called(best.option.name, best.option.called)
    yield Option(None, "as advised", called)
    for name, dig in made.digs.items():
        ruled = one is not None and one.base.of(name).level == "rules out"
        note = f"{volume(dig.cut, unit)} under the paving"
        title = opened(base_called(name, dig.system.called))
        yield Option(name, title, f"{note}, ruled out" if ruled else note)


def _beside(plan: Plan, made: AreaPlan, prices: bool) -> Table:
    """Return what every base takes, side by side: of the area alone where there are several."""
    unit, telling = plan.site.unit, telling_of(plan.order)
    jobs: Mapping[str, Job] = plan.order.of(made).bases
    if len(plan.areas) == 1:
        jobs = {name: plan.order.site[name] for name in jobs}
    rows = [
        [f"{base_called(name, made.digs[name].system.called)}{' *' if name == made.chosen else ''}",
         volume(job.cut, unit), str(job.haul.trips), f"{job.time.mean / HOUR:.0f}",
         *([telling.words(job.cost.total)] if prices else [])]
        for name, job in jobs.items()
    ]  # fmt: skip
    columns = ["base", "dig", "trips", "hours", *([telling.title] if prices else [])]
    alone = "" if len(plan.areas) == 1 else f" {made.name} alone, setting out not counted"
    return Table(columns, rows, f"What each takes, * planned{';' if alone else ''}{alone}")


def _choice(choice: Judged, prices: bool) -> Iterator[Block]:
    best = choice.advised
    for verdict in choice.verdicts:
        mark = "advised" if verdict is best else "not advised"
        yield Say(f"{verdict.option.title}: {mark}", "strong")
        if verdict is best and choice.caveat:
            yield Say(stopped(opened(choice.caveat)))
        yield from (Say(stopped(opened(reason_words(each))))
                    for each in verdict.reasons if prices or "cost" not in each.rule)  # fmt: skip
        if verdict is not best and not verdict.reasons:
            yield Say(stopped(opened(choice.passed_over(verdict.option.name))))


def _edge(at: str, written: Mapping[str, Any], one: AreaAdvice, prices: bool) -> Iterator[Block]:
    yield Head("Edge and joints")
    yield Say(stopped(opened(one.holding)))
    for key, label, judged, names in (
        ("edge", "What holds the free edge", one.edge, EDGES),
        ("joint", "What fills the joints", one.joint, JOINTS),
    ):
        options = [Option(None, "as advised", _advised(judged))]
        options += [Option(each.option.name, each.option.name, _level(each))
                    for each in judged.verdicts if each.option.name in names]  # fmt: skip
        yield Choice(f"{at}/{key}", label, written.get(key), options)
        yield Fold(f"Why: {label.lower()}", list(_choice(judged, prices)))


def _advised(judged: Judged) -> str:
    return judged.advised.option.name if judged.advised is not None else "none fits"


def _level(verdict: Verdict) -> str:
    return LEVEL_WORDS[verdict.level] if verdict.reasons else ""


def _holds(seen: Seen, plan: Plan, made: AreaPlan) -> Iterator[Block]:
    """Yield what may hold a raised edge, every way side by side, where the step is open."""
    written: Any = seen.document.get("hold", [])
    held = [place for place, each in enumerate(written if isinstance(written, list) else ())
            if isinstance(each, Mapping) and each.get("area") == made.name]  # fmt: skip
    if seen.asked.step != KEY and not held:
        return
    ways = [way for way in plan.hold_ways if way.area == made.name]
    if not ways:
        return
    prices, telling = seen.asked.prices, telling_of(plan.order)
    own = written[held[0]].get("kind") if held else None
    options: list[Option] = []
    if held:
        gone = [Change(f"hold/{place}", do="remove") for place in reversed(held)]
        options.append(Option(None, "as advised", changes=gone))
    for kind in HOLD_KINDS:
        way = next((each for each in ways if each.kind == kind), None)
        if way is None:
            continue
        note = "ruled out" if way.refused else "planned" if way.planned else ""
        changes = _held_so(written, held, way, plan.site.unit)
        options.append(Option(kind, kind, note, changes))
    yield Head(f"What holds the raised edge of {made.name}")
    yield Choice(f"hold/{held[0]}/kind" if held else "hold", "Held by", own, options)
    rows = [
        [f"{way.kind}{' *' if way.planned else ''}", f"{way.time / HOUR:.0f}", str(way.trips),
         *([telling.words(way.cost)] if prices else []),
         "; ".join([*(["advised"] if way.advised else []), *way.against[:1]])]
        for way in ways
        if not way.refused
    ]  # fmt: skip
    columns = ["way", "hours", "trips", *([telling.title] if prices else []), ""]
    yield Table(columns, rows, "The whole job with each, * planned")
    for way in ways:
        if way.refused:
            yield Say(stopped(f"Not {way.kind}: {way.refused}"), "quiet")
        yield from (Say(stopped(f"{opened(way.kind)}, beside that: {words}"), "quiet")
                    for words in way.not_counted)  # fmt: skip


def _held_so(written: Any, held: Sequence[int], way: HoldWay, unit: Unit) -> list[Change]:
    """Return what has a raised edge held in a way: keys that only another has are dropped."""
    height = size(way.height, unit) if way.kind == LOWER else None
    if not held:
        to = {"area": way.area, "kind": way.kind, **({"height": height} if height else {})}
        return [Change("hold", to, "add")]
    changes = [Change(f"hold/{place}", do="remove") for place in reversed(held[1:])]
    at = f"hold/{held[0]}"
    gone = [key for key in written[held[0]] if key not in ("area", "kind")]
    changes += [Change(f"{at}/{key}") for key in gone if key != "height" or not height]
    if height:
        changes.append(Change(f"{at}/height", height))
    return [*changes, Change(f"{at}/kind", way.kind)]


def _pavers(at: str, written: Mapping[str, Any], usual: Pavers, unit: Unit) -> Sequence[Block]:
    pavers, way = table_at(written, "pavers"), f"{at}/pavers"
    sizes = {"length": "Longer side", "width": "Shorter side", "joint": "Joint"}
    return (
        *(
            Field(f"{way}/{key}", label, pavers.get(key),
                  f"left empty: {size(getattr(usual, key), unit)}", optional=True)
            for key, label in sizes.items()
        ),
        Choice(
            f"{way}/pattern", "Pattern", pavers.get("pattern", usual.pattern),
            [Option(each, each) for each in get_args(Pattern)],
        ),
        Field(f"{way}/soldier", "Edges with a border row", pavers.get("soldier"),
              'numbers with commas, or "all"', optional=True,
              takes="list" if isinstance(pavers.get("soldier"), list) else "text"),
    )  # fmt: skip


def _topsoil(seen: Seen) -> Iterator[Block]:
    ground: Any = seen.document.get("ground", {})
    if not seen.partly.areas or not isinstance(ground, Mapping):
        return
    yield Head("Topsoil")
    if seen.plan is not None and not seen.stale:
        yield Say(f"Reckoned with: {topsoil_words(seen.plan)}.")
    yield Field("ground/organics", "Depth of the topsoil", ground.get("organics"),
                f"{such_as('2 in', seen.partly.unit)}, or a file of test holes: probes.csv",
                optional=True)  # fmt: skip
    if seen.plan is not None and not seen.stale:
        yield Call("Where another base would be advised", "turns",
                   note="every depth of topsoil is planned: it takes a moment")  # fmt: skip
