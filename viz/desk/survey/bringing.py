"""A file of points or a scan brought in: what was understood of it, before it is taken.

It is imported into a copy of the folder as the document has it. What stands there afterwards is
what taking it would change.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, get_args

import numpy as np
from msgspec import Struct
from msgspec.structs import replace

from grading.errors import Problem, SiteError
from grading.files.csv_points import points_in
from grading.files.csv_rows import lines_in
from grading.reading.written import FILE
from grading.signs import shortened, visible
from grading.survey.sources.formats import Way
from grading.survey.sources.imported import Imported
from grading.survey.sources.importing import import_files
from grading.survey.sources.model import Progress
from grading.survey.sources.said_units import UNITS, metres_of
from grading.units import number
from grading.worded import of_file
from viz.desk.survey.sheets import mark_of
from viz.scratch import scratch_folder
from viz.terminal.imported import LAID_HEADS, laid_rows, laid_words, small

_MOST_KEPT = 4


class Brought(Struct, frozen=True):
    """What came of a file that was brought in.

    Attributes
    ----------
    key : str
        By which it is taken.
    record : dict
        What was understood, in words.
    texts : mapping
        The tables that it became, by the names that they would have.
    breaklines : str
        The name of the table of breaklines; empty where there are none.
    """

    key: str
    record: dict[str, Any]
    texts: Mapping[str, str]
    table: str
    breaklines: str


_KEPT: dict[str, Brought] = {}


def understood(
    document: Mapping[str, Any],
    names: Sequence[str],
    path: Path,
    shown: str,
    *,
    units: str | None = None,
    way: str | None = None,
    part: str | None = None,
    y_up: bool = False,
    common: Path | None = None,
    progress: Progress = lambda what, share: None,
) -> dict[str, Any]:
    """Return what was understood of a file, before any of it is taken.

    Parameters
    ----------
    document : mapping
        The site file as TOML has it.
    names : sequence of str
        Of the files that the folder has.
    path : Path
        Where the file lies that was brought.
    shown : str
        What the person calls it.
    units, way, part, y_up, common, progress : as for `import_files`

    Returns
    -------
    dict
        `problems`, and what is `asked` where the file does not say it: "units", "way" or "part";
        else `key`, `files`, `kept`, `words`, `remarks` and `ways` to take it.
    """
    name = _plain(shown)
    try:
        with _copy(document, names) as folder:
            lying = folder / "brought"
            lying.mkdir()
            (lying / name).symlink_to(path.resolve())
            shared = None
            if common is not None:
                shared = lying / "common.csv"
                shared.symlink_to(common.resolve())
            done = import_files(
                folder, folder / FILE, [lying / name], way=_way(way),
                units=units if units in UNITS else None, part=part or None, y_up=y_up,
                common=shared, progress=progress,
            )  # fmt: skip
            brought = _brought(done, folder, document)
    except SiteError as error:
        asked = _asked(error, name, units, way)
        found = [replace(each, mend="") if asked else each for each in error.problems]
        return {
            "problems": [each.page for each in found],
            "asked": asked,
        }
    _KEPT[brought.key] = brought
    for key in list(_KEPT)[:-_MOST_KEPT]:
        del _KEPT[key]
    return brought.record


@contextmanager
def _copy(document: Mapping[str, Any], names: Sequence[str]) -> Iterator[Path]:
    """Give a folder that looks like the site's as far as names go."""
    import tomlkit

    with scratch_folder() as folder:
        (folder / FILE).write_text(tomlkit.dumps(dict(document)), encoding="utf-8")
        for name in names:
            if name != FILE and Path(name).name == name:
                (folder / name).touch()
        yield folder


def _plain(shown: str) -> str:
    """Return the name of a file as it may lie in a folder; its ending tells what it is."""
    last = visible(shown.replace("\\", "/").rsplit("/", 1)[-1]).strip(". ")
    return shortened(last)[-80:] or "survey"


def _way(way: str | None) -> Way | None:
    return next((each for each in get_args(Way) if each == way), None)


def _asked(error: SiteError, name: str, units: str | None, way: str | None) -> str:
    """Return what the person is to say, where that is all that is wanting."""
    first = error.problems[0]
    if units is None:
        try:
            metres_of(None, None, name)
        except SiteError as wanting:
            if first.found == wanting.problems[0].found:
                return "units"
    if way is None and name.lower().endswith(".txt"):
        return "way"
    return "part" if "--part" in of_file(first.mend) else ""


def _brought(done: Imported, folder: Path, document: Mapping[str, Any]) -> Brought:
    told, laid = done.told, done.laid
    texts = {
        name: (folder / name).read_text(encoding="utf-8")
        for name in (told.table, told.breaklines)
        if name is not None
    }
    table = texts[told.table]
    key = mark_of("".join(texts.values()))
    points = points_in(lines_in(table), told.table, done.unit, ("x", "y", "z"))
    low, high = points.values.min(axis=0), points.values.max(axis=0)
    spans = [
        f"{what} {number(float(a), done.unit)} to {number(float(b), done.unit)}"
        for what, a, b in zip(("x", "y", "levels"), low, high, strict=True)
    ]
    known = "" if np.isnan(done.sd_z) else f", each known to {small(done.sd_z, done.unit)}"
    record = {
        "problems": [],
        "asked": "",
        "key": key,
        "words": f"{done.spots:,} spots: {', '.join(spans)} {done.unit}{known}",
        "files": [
            [each.file, each.kind, f"{each.points:,}", f"{each.breaklines:,}", each.unit,
             each.told_by]
            for each in done.sources
        ],
        "kept": [[step.name, f"{step.came:,}", f"{step.left:,}"] for step in done.steps],
        "remarks": list(done.remarks),
        "scan": done.scatter is not None,
        "laid": None if laid is None else {
            "heads": LAID_HEADS, "rows": laid_rows(laid, done.unit),
            "words": laid_words(done, laid),
        },
        "ways": _ways(document, told.table),
    }  # fmt: skip
    return Brought(key, record, texts, told.table, told.breaklines or "")


def _ways(document: Mapping[str, Any], table: str) -> list[dict[str, str]]:
    """Return the ways in which a table can be taken: alone, or beside the survey that there is."""
    held = [name for name in spots_of(document) if name != table]
    alone = {"into": "alone", "label": "Take it as the survey"}
    if not held:
        return [alone]
    beside = {"into": "beside", "label": f"Take it beside {', '.join(held)}"}
    return [beside, {**alone, "label": f"Take it in the place of {', '.join(held)}"}]


def spots_of(document: Mapping[str, Any]) -> list[str]:
    """Return the files of spots that a document names."""
    value = document.get("spots")
    listed = value if isinstance(value, list) else [value]
    return [name for name in listed if isinstance(name, str) and name.strip()]


def taking(document: Mapping[str, Any], key: str, into: object) -> dict[str, Any]:
    """Return the change of the document that takes a file which was understood.

    Parameters
    ----------
    document : mapping
        The site file as it is now.
    key : str
        Of what was understood.
    into : object
        "beside" the survey that there is; anything else takes its place.

    Raises
    ------
    SiteError
        The key is not known any more.
    """
    brought = _KEPT.get(key)
    if brought is None:
        mend = "Bring the file in again."
        raise SiteError([Problem("the file", "one that is not held any more", "a file", mend)])
    held = [name for name in spots_of(document) if name != brought.table]
    names = [*(held if into == "beside" else []), brought.table]
    changes: list[dict[str, Any]] = [
        {"do": "set", "at": "spots", "to": names[0] if len(names) == 1 else names}
    ]
    if brought.breaklines:
        changes.append({"do": "set", "at": "ground/breaklines", "to": brought.breaklines})
    beside = {name: text for name, text in brought.texts.items() if name != brought.table}
    return {
        "do": "file", "name": brought.table, "text": brought.texts[brought.table],
        "beside": beside, "changes": changes, "said": f"the survey of {brought.table}",
    }  # fmt: skip
