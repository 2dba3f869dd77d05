"""What the page asks by name in the yard: shots kept and given back, what was built recorded."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from typing import Any

from msgspec.structs import replace

from grading.asbuilt.layers import layer_named
from grading.errors import GradingError, SiteError
from grading.files.toml_text import read_toml
from grading.logbook.model import Entry, record_built
from grading.reading.written import FILE
from viz import VERSION
from viz.desk.field.given_back import as_built_of, held_of, last_sight, shots_given_back, shots_kept
from viz.desk.field.home_away import HOME_FILE, home_away
from viz.desk.field.kept_shots import booked_of, keep, keep_asked
from viz.desk.field.take_away import FILE as TAKE_AWAY
from viz.desk.field.take_away import take_away
from viz.desk.seen import Seen
from viz.desk.steps.setout import rods
from viz.words.field.steps import BUILT, SET_OUT

_LONGEST = 2000  # letters of what a person writes into a record


def shots(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Take shots in that are given back as a text, and keep them beside the site.

    Parameters
    ----------
    seen : Seen
    told : mapping
        The `text`.
    """
    if seen.plan is None or seen.stale or seen.conflict:
        return {"problems": [{"words": BUILT["stale"]}]}
    try:
        now = datetime.datetime.now(datetime.UTC).isoformat(timespec="milliseconds")
        back = shots_given_back(str(told.get("text", "")), seen.plan, now)
        as_built_of(seen.plan, back.shots)  # what cannot be held against it is not kept
        for number, kept in back.kept.items():
            keep(seen.folder, number, kept)
    except GradingError as error:
        found = error.problems if isinstance(error, SiteError) else ()
        return {"problems": [{"words": str(each)} for each in found] or [{"words": str(error)}]}
    return {"words": " ".join((*back.said, BUILT["back_kept"]))}


def record(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Write what was built of a layer into the site's records.

    Parameters
    ----------
    seen : Seen
    told : mapping
        The `layer`, `who` measured it, and a `note`.
    """
    plan = seen.plan
    if plan is None or seen.stale or seen.conflict:
        return {"problems": [{"words": BUILT["stale"]}]}
    if not _saved(seen):
        return {"problems": [{"words": BUILT["saving"]}]}
    booked = booked_of(seen.folder)
    try:
        layer = layer_named(str(told.get("layer", "")))
        held, _ = held_of(plan, shots_kept(booked.shots, plan))
        found = [each for each in held if each.layer == layer]
        if not found:
            return {"problems": [{"words": BUILT["not_shot"]}]}
        file = record_built(
            replace(plan.site, folder=seen.folder), found, last_sight(booked.last, plan),
            _entry(told),
        )  # fmt: skip
    except GradingError as error:
        return {"problems": [{"words": str(error)}]}
    return {"words": BUILT["recorded"].format(file=file.name)}


def away(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the file to take away, of the plan as it is seen.

    Parameters
    ----------
    seen : Seen
    told : mapping
        Whom it is `for`: "crew" or "homeowner".
    """
    if seen.plan is None or seen.stale or seen.conflict:
        return {"words": SET_OUT["stale"]}
    if not seen.whole:
        return {"words": SET_OUT["working"]}
    if told.get("for") == "homeowner":
        return {"text": home_away(seen.plan, seen.revision), "name": HOME_FILE}
    return {"text": take_away(seen.plan, revision=seen.revision), "name": TAKE_AWAY}


def _saved(seen: Seen) -> bool:
    """Whether the folder holds what is seen: a record seals the files as they lie there."""
    try:
        if read_toml(seen.folder / FILE, FILE) != seen.document:
            return False
        return all(
            (seen.folder / name).read_text(encoding="utf-8") == text
            for name, text in seen.files.items()
        )
    except (GradingError, OSError):
        return False


def _entry(told: Mapping[str, Any]) -> Entry:
    who, note = (str(told.get(name, "")).strip()[:_LONGEST] for name in ("who", "note"))
    now = datetime.datetime.now().astimezone()
    return Entry(who, note, (), None, now, VERSION)


FIELD_CALLS = {
    "trench": keep_asked, "shots": shots, "record": record, "rods": rods, "take-away": away,
}  # fmt: skip
"""Each by its name."""
