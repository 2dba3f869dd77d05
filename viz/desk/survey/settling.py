"""Shots that stand out, and the changes of the document that say what became of them."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

from msgspec import Struct, field

from grading.errors import SiteError
from grading.ground.cross_check import CrossCheck
from grading.ground.model import Ground, surface
from grading.ground.spots import SpotNames
from grading.reading.survey_edit import Settling, entries_of
from grading.reading.survey_table import SurveyTable, row_of, settled_survey
from grading.reading.written import FILE, Written
from grading.site.model import Spots
from viz.desk.blocks import Change
from viz.desk.seen import Seen
from viz.desk.written.document import table_at, tables


class Judged(Struct, frozen=True, eq=False):
    """What the spots of a document say of one another.

    Attributes
    ----------
    shots : CrossCheck or None
        None where there is no ground yet.
    settled : tuple of str
        A sentence for each shot that was settled.
    wrong : str
        Why there is no ground, where that is the fault of the spots.
    odd : tuple of (str, int, str)
        Of each shot that stands out its file, its line there, and what is said of it.
    closed : mapping of str to (str, int, str)
        The same of each shot that was settled, by its id as the document has it.
    """

    shots: CrossCheck | None
    settled: tuple[str, ...] = ()
    wrong: str = ""
    odd: tuple[tuple[str, int, str], ...] = ()
    closed: Mapping[str, tuple[str, int, str]] = field(default_factory=dict)


def judged(seen: Seen) -> Judged:
    """Return what the spots of a document say of one another, whether it can be planned or not."""
    if seen.plan is not None and not seen.stale and seen.site is not None:
        shots = seen.plan.ground.shots
        settled = seen.site.settled
        return Judged(shots, settled, "", _odd(shots, seen.site.spots), _closed(seen, settled))
    found = _settled(seen)
    if found is None:
        return Judged(None)
    spots, said = found
    try:
        shots = _ground(_Alike(spots, seen.partly.unit)).shots
        return Judged(shots, said, "", _odd(shots, spots), _closed(seen, said))
    except SiteError as error:
        return Judged(None, said, str(error), closed=_closed(seen, said))


def _settled(seen: Seen) -> tuple[Spots, tuple[str, ...]] | None:
    """Return the spots of a document as they are settled, and what is said of it; None of none."""
    spots = seen.partly.spots
    if spots is None or not len(spots.xyz):
        return None
    table = Written(seen.folder, dict(seen.document)).one("survey", SurveyTable)
    if table is None:
        return spots, ()
    return settled_survey(spots, table.settled, seen.partly.unit, FILE)[:2]


def _closed(seen: Seen, said: Sequence[str]) -> Mapping[str, tuple[str, int, str]]:
    """Return where each shot that was settled stands in its file, and what is said of it."""
    spots = seen.partly.spots
    if spots is None:
        return {}
    names = {row_of(str(each.get("id")), spots): str(each.get("id"))
             for each in entries(seen.document)}  # fmt: skip
    rows = sorted(row for row in names if row is not None)
    if len(rows) != len(said):
        return {}
    # The sentences come in the order of the survey.
    return {
        names[row]: (spots.sources[row], spots.lines[row], words)
        for row, words in zip(rows, said, strict=True)
    }


def _odd(shots: CrossCheck | None, spots: Spots) -> tuple[tuple[str, int, str], ...]:
    return tuple(
        (spots.sources[each.spot], spots.lines[each.spot], each.text)
        for each in (shots.suspects if shots else ())
    )


class _Alike(Struct, frozen=True, eq=False):
    """Spots that are the same as others when their levels, names and settlings are."""

    spots: Spots
    unit: str

    @property
    def _key(self) -> tuple[object, ...]:
        spots = self.spots
        return (spots.xyz.tobytes(), spots.ids, spots.lines, spots.read_again, self.unit)

    def __hash__(self) -> int:
        return hash(self._key)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Alike) and self._key == other._key


def ground_of(seen: Seen) -> Ground | None:
    """Return the ground through the spots of a document; None where they make none yet."""
    if seen.plan is not None and not seen.stale:
        return seen.plan.ground
    found = _settled(seen)
    if found is None:
        return None
    try:
        return _ground(_Alike(found[0], seen.partly.unit))
    except SiteError:
        return None


@lru_cache(maxsize=4)
def _ground(of: _Alike) -> Ground:
    spots = of.spots
    names = SpotNames(
        spots.ids, spots.lines, spots.file, "m" if of.unit == "m" else "ft", spots.own_ids,
        spots.readings, spots.sources,
    )  # fmt: skip
    return surface(spots.xyz, names=names, read_again=spots.read_again)


def settled_by(seen: Seen, option: str, words: str) -> Change:
    """Return the change of the document that settles a shot.

    Parameters
    ----------
    seen : Seen
        With its spots.
    option, words : str
        As `Settling` has them: "--keep" and "--without" with a key, "--shot" with KEY=LEVEL.

    Raises
    ------
    SiteError
        The words name no spot, or no level.
    """
    spots = seen.partly.spots
    assert spots is not None
    today = datetime.date.today()
    entries = entries_of([Settling(option, words)], spots, seen.partly.unit, today)
    ((key, entry),) = entries.items()
    entry = {**entry, "date": entry["date"].isoformat()}
    place = _place(seen.document, row_of(key, spots), spots)
    return Change(f"survey/settled/{place}", entry)


def _place(document: Mapping[str, Any], row: int | None, spots: Spots) -> int:
    """Return where the entry of a spot is, or where one more is put."""
    held = entries(document)
    for place, each in enumerate(held):
        if row is not None and row_of(str(each.get("id")), spots) == row:
            return place
    return len(held)


def entries(document: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """Return what a document has settled, entry by entry."""
    return tables(table_at(document, "survey"), "settled")
