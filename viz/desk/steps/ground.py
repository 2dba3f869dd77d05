"""The step "Ground": how the yard was measured, whether the shots agree, and what lies below."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.checks.maker import Check
from grading.checks.survey import agreeing, too_few
from grading.errors import Problem
from grading.ground.cross_check import Suspect
from grading.site.walls import named_walls
from grading.units import number, run
from viz.desk.blocks import (
    Block,
    Fold,
    Head,
    Item,
    Items,
    Offer,
    Own,
    Say,
    State,
    Step,
)  # fmt: skip
from viz.desk.seen import Seen
from viz.desk.survey.below import below_blocks
from viz.desk.survey.bringing import spots_of
from viz.desk.survey.settling import Judged, entries, judged, settled_by
from viz.desk.survey.ways import is_named, measured_blocks
from viz.desk.written.document import tables
from viz.words.known import known_lines
from viz.words.plain import opened, stopped

KEY, TITLE = "ground", "Ground"
LEAST = 3
"""Spots that make a surface."""

NO_SPOT = (
    "No spot is measured yet. Type them below, paste them, book rod readings or bring a file: "
    "x and y say where a spot lies, z how high."
)

TAKE, WANTED = "Take this level", "Say the level that was read."
"""What is pressed where a shot was read again, and what is said where nothing was typed."""

_MOST_ASKED = 10


def step(seen: Seen) -> Step:
    """Return the step.

    Parameters
    ----------
    seen : Seen
    """
    found = judged(seen)
    check = _check(seen)
    return Step(KEY, TITLE, _answer(seen, found, check), _state(seen, found, check),
                list(_blocks(seen, found, check)))  # fmt: skip


def _check(seen: Seen) -> Check | None:
    """Return the check of the survey where it could be planned."""
    if seen.plan is None or seen.stale:
        return None
    of_survey = [each for each in seen.plan.area_checks if each.rule == "survey"]
    order = ("fail", "unknown", "warn", "pass")
    return min(of_survey, key=lambda each: order.index(each.status), default=None)


def _count(seen: Seen) -> int:
    spots = seen.partly.spots
    return 0 if spots is None else len(spots.xyz)


def _answer(seen: Seen, found: Judged, check: Check | None) -> str:
    count = _count(seen)
    if not count:
        if not is_named(seen):
            return "nothing measured yet"
        return "only begun" if _only_begun(_own_problems(seen)) else "cannot be read"
    spots = f"{count:,} spot{'' if count == 1 else 's'}"
    suspects = len(found.shots.suspects) if found.shots else 0
    if suspects:
        return f"{spots}, {suspects} stand{'s' if suspects == 1 else ''} out"
    if found.shots is None:
        few = count < LEAST
        return f"{spots}, too few for a surface" if few else f"{spots}, no surface yet"
    if too_few(found.shots):
        return f"{spots}, too few to check one another"
    if check is not None and check.status == "warn":
        return f"{spots}, look again"
    return f"{spots}, all fit"


def _state(seen: Seen, found: Judged, check: Check | None) -> State:
    if not is_named(seen):
        return "to do"
    if not _count(seen) or found.shots is None:
        return "to do" if _only_begun(_own_problems(seen)) else "fails"
    if found.shots.suspects:
        return "fails"  # nothing is told of a plan before they are settled
    if too_few(found.shots):
        return "look"
    if check is not None and check.status != "pass":
        return "look"
    return "settled"


def _blocks(seen: Seen, found: Judged, check: Check | None) -> Iterator[Block]:
    yield from _standing(seen, found, check)
    yield from _placed(seen)
    yield from measured_blocks(seen, found)
    yield from _known(seen)
    if found.settled:
        yield Fold("What became of shots", [_settled(seen, found)])
    yield Head("Below the survey")
    yield from below_blocks(seen)


def _standing(seen: Seen, found: Judged, check: Check | None) -> Iterator[Block]:
    """Yield how the survey stands: what is wrong, what stands out, how well it is known."""
    if found.wrong:
        yield Say(found.wrong, "look" if _count(seen) < LEAST else "fails")
    wrong = _own_problems(seen)
    for problem in wrong:
        empty = problem.found == "a header and no points"
        yield Say(NO_SPOT if empty else problem.page, "look" if _only_begun(wrong) else "fails")
    suspects = found.shots.suspects if found.shots else ()
    for suspect in suspects[:_MOST_ASKED]:
        yield from _asked(seen, suspect)
    if len(suspects) > _MOST_ASKED:
        yield Say(f"{len(suspects) - _MOST_ASKED} more spots stand out like these.", "look")
    if check is not None and check.status != "fail":
        ours = check.status in ("pass", "unknown")
        yield Say(
            stopped(opened(check.page) if ours else check.page),
            "plain" if check.status == "pass" else "look",
        )
    elif found.shots is not None and not suspects:
        yield Say(stopped(opened(agreeing(found.shots, seen.partly.unit))),
                  "look" if too_few(found.shots) else "plain")  # fmt: skip
    if found.shots is not None:
        for sentence in found.shots.told:
            yield Say(stopped(sentence), "quiet")


def _placed(seen: Seen) -> Iterator[Block]:
    """Yield where x and y are counted from, by the first wall of the house: for who holds a tape.

    A wall that was tapped on the plan has no end at 0, 0.
    """
    house, unit = seen.partly.house, seen.partly.unit
    if house is None or not spots_of(seen.document):
        return
    name, start, end, _ = next(iter(named_walls(house)))
    at, to = (f"x {run(float(x), unit)}, y {run(float(y), unit)}" for x, y in (start, end))
    yield Say(f"To place spots with a tape: {name} runs from {at} to {to}.", "quiet")


def _known(seen: Seen) -> Iterator[Block]:
    """Yield how well the ground is known, and where to shoot next, once that is worked out."""
    if seen.plan is None or seen.stale:
        return
    yield Head("How well the ground is known")
    if not seen.whole:
        yield Say("being worked out ...", "quiet")
        return
    for sentence in known_lines(seen.plan):
        yield Say(stopped(sentence))


def _only_begun(problems: Sequence[Problem]) -> bool:
    """Return whether nothing is wrong but that there is too little yet."""
    return all(
        problem.found.startswith(("no ", "nothing", "a header and no")) for problem in problems
    )


def _own_problems(seen: Seen) -> list[Problem]:
    """Return what is wrong with the survey itself, in the reader's sentences."""
    files = [*spots_of(seen.document), *_books(seen)]
    keys = ("spots", "levels", "benchmark", "reference", "survey", "ground")
    return [
        problem
        for problem in seen.problems
        if problem.where.startswith(tuple(f"{name}," for name in files))
        or problem.where in files
        or any(problem.where.startswith(f"site.toml, key {key}") for key in keys)
        if not (problem.where == "site.toml, key spots" and not is_named(seen))
    ]


def _books(seen: Seen) -> list[str]:
    names = (table.get("file") for table in tables(seen.document, "levels"))
    return [name for name in names if isinstance(name, str)]


def _asked(seen: Seen, suspect: Suspect) -> Iterator[Block]:
    """Yield a shot that stands out, and what may have become of it."""
    unit, key, name = seen.partly.unit, suspect.key, suspect.name
    yield Say(suspect.text, "look")

    def offer(label: str, option: str, words: str, note: str = "") -> Offer:
        return Offer(label, [settled_by(seen, option, words)], note, f"what became of {name}")

    for slip in suspect.slips:
        level = number(round(slip.z, 5), unit)
        kind, written = slip.cause.kind, slip.cause.written
        note = kind if written == level else f"{written}, {kind}"
        yield offer(f"It is {level} {unit}", "--shot", f"{key}={level}", note)
    yield offer("Read again: it is right", "--keep", key)
    yield Own(
        "ground/forms",
        {
            "form": "settle",
            "key": f"settle {key}",
            "shot": key,
            "name": name,
            "reads": f"{opened(name)} reads now (level, {unit})",
            "wanted": WANTED,
            "take": TAKE,
        },
    )
    yield offer("Leave it out", "--without", key, "the ground is drawn without it")


def _settled(seen: Seen, found: Judged) -> Block:
    """Return the shots that were settled, each of which can be taken back."""
    held = entries(seen.document)
    titles = [str(each.get("id", "")) for each in held]
    said = {title: words for title, (_, _, words) in found.closed.items()}
    return Items(
        "survey/settled", "Settled shots",
        [Item(f"survey/settled/{k}", title, said.get(title) or str(held[k].get("as", "")))
         for k, title in enumerate(titles)],
    )  # fmt: skip
