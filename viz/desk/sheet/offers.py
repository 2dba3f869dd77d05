"""What would end a conflict, and what would mend what fails, as buttons of the page.

Nothing is offered that was not tried: of each a plan was made, and the note says what it takes.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from functools import lru_cache
from typing import Any

from msgspec.structs import replace

from grading.answers.led import Led, Told, failing, led
from grading.answers.mends import Mend, Tried, mends_of
from grading.answers.relaxed import relaxing
from grading.errors import Eased, GradingError, Relaxation
from grading.finish.wishes.mends import LOCAL_CODE
from grading.ground.model import survey_to_ground
from grading.kept import Kept
from grading.pipeline import Plan, first_wave
from grading.reading.site_edit import Edit, put
from grading.reading.site_file import read_written
from grading.signs import listed
from grading.site.model import Site
from grading.units import volume
from viz.desk.blocks import Change, Offer
from viz.desk.seen import Seen
from viz.desk.sheet.laid_anew import laid_anew
from viz.desk.sheet.rules import step_of
from viz.words.plain import opened, things_fail
from viz.words.screen.mends import takes_words

FINISH = "finish"
"""The step that conflicts are of."""

SHORT = f"A published limit is not kept then: {LOCAL_CODE}. Ask the building department first."
"""Said of an offer that eases one."""

_KEPT = Kept()
"""What plans that are tried share with one another: the ground of the site at hand, above all."""


def offers(seen: Seen) -> tuple[Offer, ...]:
    """Return what is offered of a document: of its conflict, or of what fails in its plan.

    Parameters
    ----------
    seen : Seen
    """
    if seen.conflict:
        return conflict_offers(seen)
    if seen.plan is None or seen.stale or not seen.whole:
        return ()
    return tuple(each for told in led(seen.plan).fails for each in fail_offers(seen.plan, told))


def conflict_offers(seen: Seen) -> tuple[Offer, ...]:
    """Return what ends a conflict, in the order and the words of its sentence.

    Parameters
    ----------
    seen : Seen
    """
    site = seen.site
    if site is None:
        return ()
    # On the bases of the last plan, where there was one: what is dug is told beside that.
    _KEPT.advised = {} if seen.plan is None else dict(seen.plan.bases)
    return tuple(_of_conflict(site, seen.document, seen.relaxations))


def _of_conflict(
    site: Site, document: Mapping[str, Any], relaxations: Iterable[Relaxation]
) -> Iterator[Offer]:
    for relaxation in relaxations:
        for mend in _ways(site, document, relaxation):
            made = _planned(site, document, mend.edits)
            if made is not None:
                names = dict.fromkeys(map(_called, relaxation.parts))
                told = listed(list(filter(None, names)) or ["it"])
                note = f"{opened(mend.words)}. {_takes(made)}"
                changes, said = changes_of(mend, document), f"what was asked of {told}"
                short = any(part.short for part in relaxation.parts)
                yield Offer(f"Let {told} give", changes, note, said, FINISH, SHORT if short else "")
                break


def _ways(site: Site, document: Mapping[str, Any], relaxation: Relaxation) -> Iterator[Mend]:
    """Yield the ways to write a relaxation; what is met is laid at a tilt where it has to be."""
    mend = None
    for mend in relaxing(site, relaxation, lambda: survey_to_ground(site, _KEPT)):
        yield mend
    if mend is not None:
        with suppress(KeyError, IndexError, TypeError):  # written in a way that has no room for it
            edits = laid_anew(
                site, document, relaxation.parts, mend.edits, lambda made: _planned(site, made, ())
            )
            if edits:
                yield replace(mend, edits=edits)


def _called(part: Eased) -> str:
    """Return what it is that gives."""
    return f"the fall of {part.area}" if part.rule == "straight-fall" else part.about or part.area


def _planned(site: Site, document: Mapping[str, Any], edits: Sequence[Edit]) -> Plan | None:
    """Return the plan of a document with edits made; None where there is none."""
    written = copy.deepcopy(dict(document))
    try:
        for edit in edits:
            put(written, edit)
        assert site.folder is not None
        return first_wave(read_written(site.folder, written), _KEPT).plan
    except (GradingError, KeyError, IndexError, TypeError):
        return None


def _takes(made: Plan) -> str:
    dug = volume(made.dug, made.site.unit)
    count = len(failing(made.area_checks))
    fails = f"; {things_fail(count)} then" if count else ""
    return f"Tried: {dug} to dig under the paving{fails}."


def changes_of(mend: Mend, document: Mapping[str, Any]) -> tuple[Change, ...]:
    """Return the edits of a mend as changes of a document.

    Parameters
    ----------
    mend : Mend
    document : mapping
        The site file as TOML has it.
    """
    return tuple(_change(edit, document) for edit in mend.edits)


def _change(edit: Edit, document: Mapping[str, Any]) -> Change:
    *way, last = edit.way
    if isinstance(last, int) and len(way) == 1:
        key = str(way[0])
        if edit.value is None:
            return Change(f"{key}/{last}", do="remove")
        if last == len(document.get(key, ())):
            return Change(key, edit.value, do="add")
    return Change("/".join(map(str, edit.way)), edit.value)


@lru_cache(maxsize=2)  # asked for the offers of the page and by the steps
def _mends(told: Led) -> Mapping[Told, tuple[Tried, ...]]:
    return mends_of(told)


def fail_offers(plan: Plan, told: Told) -> tuple[Offer, ...]:
    """Return what mends one thing that fails, the cheapest first, each tried.

    Parameters
    ----------
    plan : Plan
    told : Told
    """
    lead = led(plan)
    document: dict[str, Any] = {}
    return tuple(
        Offer(
            opened(tried.mend.words), changes_of(tried.mend, document),
            f"{opened(takes_words(tried, lead))}.", tried.mend.words, step_of(told.rule),
        )
        for tried in _mends(lead).get(told, ())
    )  # fmt: skip
