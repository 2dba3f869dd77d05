"""What the page asks by name while a yard is measured into it: nothing here writes a file.

Each answers in the sentences of the readers, so that a cell is refused on the page in the words
in which the file would be.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from grading.errors import SiteError
from grading.reading.written import FILE
from grading.signs import shortened, visible
from viz.desk.seen import Seen
from viz.desk.survey.book import reduced
from viz.desk.survey.bringing import taking, understood
from viz.desk.survey.grid import checked, pasted
from viz.desk.survey.settling import settled_by
from viz.desk.survey.sheets import BOOK, KINDS, SPOTS, mark_of, sheet_of
from viz.desk.written.document import tables
from viz.desk.written.journal import FOLDER

INCOMING = "incoming"
"""The folder, in that of the page, of files that were brought in and not yet taken."""

_TOKEN = re.compile(r"[0-9a-f]{8,64}(\.[a-z0-9]{1,8})?")
_MOST_SENT = 4  # files, and points in common, that are held at a time
_LONGEST = 300  # letters of a word that is asked with


def sheet(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return a file as a grid holds it.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `name` of the file, and what `kind` it is of.
    """
    name, kind = _word(told, "name"), KINDS.get(_word(told, "kind"), SPOTS)
    try:
        return {"sheet": sheet_of(seen.files.get(name, ""), name, kind).record()}
    except SiteError as error:
        return {"sheet": None, "words": [each.page for each in error.problems]}


def check(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return what is wrong in a text of a file, and the mark of the text.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `name`, `kind` and `text`; of a level book that is not in the document yet what it is to
        say too, see `levels`.
    """
    name, kind = _word(told, "name"), KINDS.get(_word(told, "kind"), SPOTS)
    text = str(told.get("text", ""))
    if kind is BOOK:
        found = levels(seen, told)
        count = len(found["rows"])
        words = f"{count:,} reading{'' if count == 1 else 's'}" if count else ""
        return {**found, "count": count, "words": words}
    return {**checked(text, name, kind, seen.partly.unit), "mark": mark_of(text)}


def paste(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return a pasted block as rows of a grid.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `text`, the `kind` of grid, what its `columns` are taken for, and the `first` of them that
        the block was pasted into.
    """
    columns = [str(each) for each in told.get("columns", [])]
    first = int(told.get("first", 0))
    return pasted(str(told.get("text", "")), KINDS.get(_word(told, "kind"), SPOTS), columns, first)


def levels(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return a level book reduced, as it is booked.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `name` and `text`; of a book that the document does not name yet its `rod`, and the
        `benchmark` that it begins at, where that is not named either.
    """
    name, text = _word(told, "name"), str(told.get("text", ""))
    document = dict(seen.document)
    held = [each for each in tables(document, "levels") if each.get("file") == name]
    if not held and "rod" in told:
        book = {"file": name, "rod": _word(told, "rod")}
        document["levels"] = [*tables(document, "levels"), book]
    mark = told.get("benchmark")
    if isinstance(mark, Mapping):
        document["benchmark"] = [*tables(document, "benchmark"), dict(mark)]
    files = {**seen.files, name: text}
    return {**reduced(document, files, seen.folder, name), "mark": mark_of(text)}


def settle(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Settle a shot: `option` and `words` as the command has them; answers what is wrong.

    Parameters
    ----------
    seen : Seen
    told : mapping
    """
    if seen.partly.spots is None:
        return {"problems": ["There is no survey that can be read yet."]}
    try:
        change = settled_by(seen, _word(told, "option"), _word(told, "words"))
    except SiteError as error:
        called = _word(told, "called") or "a shot"
        return {"problems": [replace(each, where=called).page for each in error.problems]}
    said = f"what became of {_word(told, 'called') or 'a shot'}"
    return {"problems": [], "apply": {**change.record(), "said": said}}


def bring(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return what was understood of a file that was sent.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `file` as it was named when it was sent, its `name`, and what the person says of it:
        `units`, `way`, `part`, `up`, and a file of points in `common`, sent as well.
    """
    token = _word(told, "file")
    path, common = _sent(seen, token), _sent(seen, _word(told, "common"))
    if path is None or (common is None and "common" in told):
        return {"problems": ["The file is not held any more. Bring it in again."], "asked": ""}
    _tidied(path.parent)
    names = [each.name for each in seen.folder.iterdir() if each.is_file() and each.name != FILE]
    return understood(
        seen.document, [*seen.files, *names], path, _word(told, "name") or token,
        units=_word(told, "units") or None, way=_word(told, "way") or None,
        part=_word(told, "part") or None, y_up=told.get("up") == "y",
        common=common,
    )  # fmt: skip


def _tidied(folder: Path) -> None:
    """Throw away what was sent before the newest few: scans are large."""
    lying = sorted(folder.iterdir(), key=lambda each: each.stat().st_mtime_ns)
    for each in lying[:-_MOST_SENT]:
        each.unlink(missing_ok=True)


def _sent(seen: Seen, token: str) -> Path | None:
    """Return a file that was sent, by the name that it was given then; None where it is gone."""
    path = seen.folder / FOLDER / INCOMING / token
    return path if _TOKEN.fullmatch(token) is not None and path.is_file() else None


def take(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Take a file that was understood: `key`, and `into` what; answers what is wrong.

    Parameters
    ----------
    seen : Seen
    told : mapping
    """
    try:
        return {
            "problems": [],
            "apply": taking(seen.document, _word(told, "key"), told.get("into")),
        }
    except SiteError as error:
        return {"problems": [each.page for each in error.problems]}


def _word(told: Mapping[str, Any], key: str) -> str:
    value = told.get(key)
    return shortened(visible(value), _LONGEST) if isinstance(value, str) else ""


SURVEY_CALLS: Mapping[str, Callable[[Seen, Mapping[str, Any]], dict[str, Any]]] = {
    "sheet": sheet,
    "check": check,
    "paste": paste,
    "levels": levels,
    "settle": settle,
    "import": bring,
    "take": take,
}
"""Each by its name."""
