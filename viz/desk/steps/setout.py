"""The step "Set out": rods and shots in the trench, stakes and strings, what is taken along."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from grading.pipeline import Plan
from grading.setout.instrument import benchmarks_of, rod_marks, rounding_of
from grading.setout.model import AreaStakes, SetOut, set_out
from grading.setout.number import set_out_number
from grading.setout.words import LOWER, instrument_words
from grading.units import size
from viz.desk.blocks import Block, Fold, Head, Make, Own, Say, State, Step, records
from viz.desk.field.given_back import last_sight
from viz.desk.field.kept_shots import read_kept
from viz.desk.field.trench import trench
from viz.desk.seen import Seen
from viz.desk.sheet.rows import table_block
from viz.sheets.crew.sheet import NOT_TO_BE_BUILT
from viz.tables.stakes import Told, diagonals_table, stakes_table, strings_table
from viz.words.cautions import CREW, DRAWING
from viz.words.field.away import PAPER
from viz.words.field.steps import SET_OUT
from viz.words.lookouts import forbidden
from viz.words.plain import begun

KEY, TITLE = "setout", "Set out"


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    # Stakes take longer than a finger waits: they are set out where somebody looks at them.
    opened = seen.asked.step == KEY
    return Step(KEY, TITLE, _answer(seen), _state(seen), list(_blocks(seen)) if opened else [])


def _answer(seen: Seen) -> str:
    if seen.plan is None:
        return SET_OUT["no_plan"]
    if seen.stale or seen.conflict:
        return SET_OUT["no_rods"]
    if not seen.whole:
        return SET_OUT["working"]
    return SET_OUT["no_rods" if forbidden(seen.plan) else "ready"]


def _state(seen: Seen) -> State:
    if seen.plan is None:
        return "to do"
    if seen.stale or seen.conflict:
        return "fails"
    if not seen.whole:
        return "working"
    return "fails" if forbidden(seen.plan) else "to do"


def _blocks(seen: Seen) -> Iterator[Block]:
    plan = seen.plan
    if plan is None:
        yield Say(SET_OUT["none_yet"], "quiet")
        return
    if seen.stale or seen.conflict:
        # A rod of a plan that the document has left would be dug to.
        yield Say(SET_OUT["stale"], "fails")
        return
    if not seen.whole:
        # Whether it may be built is known when every check is.
        yield Say(SET_OUT["working"], "quiet")
        return
    yield Say(DRAWING, "quiet")
    against = forbidden(plan)
    if against:
        yield Say(NOT_TO_BE_BUILT, "fails")
        yield from (Say(begun(words, plan.site), "fails") for words in against)
        yield Say(SET_OUT["no_rods_yet"])
        return
    yield Own("field/trench", {"key": "trench", **trench(plan, seen.revision)})
    if seen.asked.who == "field":
        return
    if benchmarks_of(plan.site):
        rods_form = {"key": "rods", "form": "rods", "tell": SET_OUT["tell"]}
        yield Fold(SET_OUT["rods_head"], [Own("field/forms", rods_form)])
    yield Head(SET_OUT["stakes_head"])
    found, told = set_out(plan), usually_told(plan)
    for each in found.areas:
        yield Fold(PAPER["area"].format(area=each.area.area.name,
                                        base=each.area.chosen_dig.system.called),
                   list(_area(found, each, told)))  # fmt: skip
    yield Head(SET_OUT["along_head"])
    yield Make(SET_OUT["away"], "take-away", SET_OUT["away_note"])
    yield Make(SET_OUT["away_home"], "take-away-home", SET_OUT["away_home_note"])
    yield Make(SET_OUT["cards"], "stakes", SET_OUT["cards_note"])
    yield Fold(PAPER["before"], [Say(words) for words in CREW])


def rods(seen: Seen, _: Mapping[str, Any]) -> dict[str, Any]:
    """Return the rods of every stake for the instrument as it stands, as tables to copy.

    It is set up on the screen of the trench, which is the only place that asks for it.

    Parameters
    ----------
    seen : Seen
    """
    plan = seen.plan
    if plan is None or seen.stale or seen.conflict:
        return {"blocks": records([Say(SET_OUT["stale"], "fails")])}
    if not seen.whole or forbidden(plan):
        return {"blocks": records([Say(SET_OUT["no_rods_yet"], "fails")])}
    setups = read_kept(seen.folder, set_out_number(set_out(plan)))["setups"]
    sight = last_sight(setups[-1] if setups else None, plan)
    if sight is None:
        return {"blocks": records([Say(SET_OUT["not_set_up"], "look")])}
    marks = setups[-1]["marks"]
    step = rounding_of(None, plan.site.unit)
    how, found = Told(marks, step, plan.site.unit), set_out(plan, sight)
    said = instrument_words(sight, marks, plan.site.unit, step)
    blocks: list[Block] = [Say(PAPER["rods_today"].format(sight=said), "strong"), Say(LOWER)]
    for each in found.areas:
        blocks += _stakes(found, each, how, each.area.area.name)
    return {"blocks": records(blocks)}


def usually_told(plan: Plan) -> Told:
    """Return how stakes are told where nobody says how: as usual in the unit of the site."""
    unit = plan.site.unit
    return Told(rod_marks(None, plan.site), rounding_of(None, unit), unit)


def _area(found: SetOut, each: AreaStakes, told: Told) -> Iterator[Block]:
    yield from _stakes(found, each, told, SET_OUT["stakes"])
    diagonals = diagonals_table(each, told).rows
    if diagonals:
        said = "; ".join(f"{corners} {far}" for corners, far in diagonals)
        yield Say(PAPER["diagonals"].format(diagonals=said))


def _stakes(found: SetOut, each: AreaStakes, told: Told, label: str) -> Iterator[Block]:
    """Yield the stakes of an area with what is to be minded of them, and its strings."""
    yield table_block(stakes_table(found, each, told), label)
    for stake in each.stakes:
        yield from (Say(f"{stake.name}: {note}", "look") for note in found.notes(stake))
    if each.strings:
        over = PAPER["strings"].format(over=size(each.strings[0].over, told.unit))
        yield table_block(strings_table(found, each, told), over)
