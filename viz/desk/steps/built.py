"""The step "As built": shots held against the design, kept in the site's records, signed for."""

from __future__ import annotations

from collections.abc import Iterator

from grading.asbuilt.layers import LAYERS, LayerName
from grading.asbuilt.model import AsBuilt, BuiltShot
from grading.asbuilt.words import CALLED, lines_of, notes_of, off_words, tolerance_words
from grading.geometry.tolerances import ROUNDING
from grading.logbook.chain import records_of
from grading.logbook.words import STATUS, faults_of, record_words
from grading.pipeline import Plan
from grading.setout.model import set_out
from grading.setout.number import set_out_number
from grading.units import METRES, length, size
from viz.desk.blocks import Block, Fold, Head, Make, Own, Say, State, Step, Table, Tone
from viz.desk.field.given_back import held_of, moved_words, shots_kept, since_words
from viz.desk.field.kept_shots import Booked, booked_of
from viz.desk.field.trench import Turned, trench
from viz.desk.seen import Seen
from viz.words.field.steps import BUILT
from viz.words.plain import opened, stopped

KEY, TITLE = "built", "As built"

_TONES: dict[str, Tone] = {"pass": "plain", "fail": "fails", "unknown": "look"}


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    booked = booked_of(seen.folder)
    opened_now = seen.asked.step == KEY
    blocks = list(_blocks(seen, booked)) if opened_now else []
    return Step(KEY, TITLE, _answer(seen, booked), _state(seen, booked), blocks)


def _beyond(seen: Seen, booked: Booked) -> int:
    """Return how many shots lay beyond their tolerance when they were booked."""
    if seen.plan is None:
        return 0
    limits = seen.plan.limits
    return sum(
        abs(each["z"] - each["wanted"]) > limits[f"built-{each['built']}"] + ROUNDING
        for each in booked.shots
    )


def _answer(seen: Seen, booked: Booked) -> str:
    if seen.plan is None:
        return BUILT["no_plan"]
    if not booked.shots:
        return BUILT["no_shots"]
    beyond = _beyond(seen, booked)
    layers = BUILT["beyond"].format(count=beyond) if beyond else BUILT["all_within"]
    count = len(booked.shots)
    shots = "shot" if count == 1 else "shots"
    return BUILT["shots"].format(count=count, shots=shots, layers=layers)


def _state(seen: Seen, booked: Booked) -> State:
    if seen.plan is None or not booked.shots:
        return "to do"
    return "fails" if _beyond(seen, booked) else "settled"


def _blocks(seen: Seen, booked: Booked) -> Iterator[Block]:
    plan = seen.plan
    if plan is None:
        yield Say(BUILT["none_yet"], "quiet")
        return
    if seen.stale or seen.conflict:
        yield Say(BUILT["stale"], "fails")
        return
    yield Say(BUILT["how"])
    layers: tuple[LayerName, ...] = ()
    if booked.shots:
        yield from _moved(plan, booked)
        found, wrong = held_of(plan, shots_kept(booked.shots, plan))
        yield from (Say(words, "fails") for words in wrong)
        layers = tuple(each for each in LAYERS if any(own.layer == each for own in found))
        for each in found:
            yield from _held(plan, each)
    home = seen.asked.who != "field"
    if home:
        form = {"key": "given back", "form": "back", "labels": _labels("back_")}
        yield Fold(BUILT["back_head"], [Own("field/forms", form)])
    if seen.whole:
        yield Own("field/trench", {"key": "trench built", **trench(plan, seen.revision)})
    if home and layers:
        yield from _recording(seen, layers)


def _labels(start: str) -> dict[str, str]:
    return {name: words for name, words in BUILT.items() if name.startswith(start)}


def _moved(plan: Plan, booked: Booked) -> Iterator[Block]:
    """Say which stakes moved since they were shot."""
    found = set_out(plan)
    now = set_out_number(found)
    of = [number for number in booked.numbers if number != now]
    if not of:
        return
    per = METRES[plan.site.unit]
    told = [
        (each["area"], each["stake"], each["built"],
         (each["at"][0] * per, each["at"][1] * per), each["wanted"])
        for each in booked.shots
    ]  # fmt: skip
    moved = list(moved_words(told, plan, found))
    yield Say(since_words(", ".join(of), now, moved), "look" if moved else "quiet")


def _held(plan: Plan, found: AsBuilt) -> Iterator[Block]:
    """Yield a layer of an area as it was built: verdicts, the map, every shot."""
    unit, named = plan.site.unit, {"layer": CALLED[found.layer], "area": found.area.area.name}
    yield Head(opened(BUILT["held_head"].format(**named)))
    for status, words in lines_of(found, unit):
        yield Say(stopped(words), _TONES[status])
    key, label = f"map {found.layer} {found.area.area.name}", BUILT["map"].format(**named)
    yield Own("field/built_map", {"key": key, "label": opened(label), **built_record(plan, found)})
    columns = [BUILT[name] for name in ("shot", "as_built", "design", "off", "state")]
    rows = [
        [shot.name, length(shot.z, unit), length(shot.design, unit), off_words(shot, unit),
         STATUS[shot.status]]
        for shot in found.shots
    ]  # fmt: skip
    yield Table(columns, rows)
    notes = [Say(stopped(opened(words)), "quiet") for words in notes_of(found, unit)]
    notes.append(Say(BUILT["tolerance"].format(words=tolerance_words(found, unit)), "quiet"))
    yield Fold(BUILT["more"], notes)


def built_record(plan: Plan, found: AsBuilt) -> dict[str, object]:
    """Return the map of a layer as it was built: the yard, and how each shot lies.

    Parameters
    ----------
    plan : Plan
    found : AsBuilt
        Of one of its areas.
    """
    turned = Turned(plan)
    return {
        "plan": turned.record(),
        "shots": [
            {"at": turned.at(shot.at), "sign": _sign(plan, shot), "name": shot.name,
             "words": off_words(shot, plan.site.unit), "beyond": shot.status == "fail"}
            for shot in found.shots
        ],
    }  # fmt: skip


def _sign(plan: Plan, shot: BuiltShot) -> str:
    """Return the shape of a shot: up where it is high, down where it is low, else a dot."""
    unit = plan.site.unit
    if size(abs(shot.off), unit) == size(0.0, unit):
        return "dot"
    return "up" if shot.off > 0 else "down"


def _recording(seen: Seen, layers: tuple[LayerName, ...]) -> Iterator[Block]:
    """Yield what keeps shots in the site's records, what is there, and what is signed."""
    yield Head(BUILT["record_head"])
    yield Say(BUILT["record_how"], "quiet")
    labels = {name: BUILT[name] for name in ("layer", "who", "note", "record")}
    named = [[each, opened(CALLED[each])] for each in layers]
    form = {"key": "record", "form": "record", "labels": labels, "layers": named}
    yield Own("field/forms", form)
    records = records_of(seen.folder)
    if records:
        said: list[Block] = [Say(opened(fault), "fails") for fault in faults_of(records)]
        said += [Say(record_words(each)) for each in records]
        yield Fold(BUILT["records"], said)
    yield Head(BUILT["signoff_head"])
    for layer in layers:
        yield Make(opened(BUILT["paper"].format(layer=CALLED[layer])), f"as-built-{layer}",
                   BUILT["paper_note"])  # fmt: skip
    yield Make(BUILT["signoff"], "signoff", BUILT["signoff_note"])
