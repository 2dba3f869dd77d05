"""What is booked in the trench, kept beside the site: where instruments stood, and every shot.

A line of JSON for each time that something was kept, in a file for each plan by its number. Nothing
in it is ever written over, so two phones and a desk lose nothing of each other; what was taken back
is told by a line more.
"""

from __future__ import annotations

import json
import os
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

from msgspec import Meta, Struct, ValidationError, convert, to_builtins

from grading.asbuilt.layers import LayerName
from grading.errors import Problem, SiteError
from grading.geometry.tolerances import TOUCH
from grading.units import FARTHEST
from grading.units.rods import RodUnit
from viz.desk.seen import Seen
from viz.desk.written.journal import FOLDER

Kept = dict[str, list[Any]]
"""`setups`, `shots`, `checks`: each a list of records with an id; `gone`: ids taken back."""

HOME = "trench"
"""The folder, in that of the page, of what was booked."""

MOST = 4_000_000
"""Of one file of shots. [bytes]"""

_NUMBER = re.compile(r"[0-9A-F]{4}-[0-9A-F]{4}")
_LONGEST = 200  # letters of a word
_MOST_AT_ONCE = 5000  # records
_FAR = FARTHEST + TOUCH  # m
_Word = Annotated[str, Meta(max_length=_LONGEST)]
_Id = Annotated[str, Meta(min_length=1, max_length=_LONGEST)]
_Metres = Annotated[float, Meta(ge=-_FAR, le=_FAR)]
_Place = Annotated[list[_Metres], Meta(min_length=2, max_length=2)]


class _Read(Struct):
    """A rod that was read: under which id it is booked, what the rod said, and its marks."""

    id: _Id
    reading: _Word
    marks: RodUnit


class _Setup(_Read):
    """An instrument that was set up: what the rod stood on, and the height of sight."""

    benchmark: _Word
    z: _Metres


class _Check(_Read):
    """A benchmark that was read once more from a set-up."""

    setup: _Word
    benchmark: _Word


class _Shot(_Read):
    """A surface that was shot at a stake: where it is in plan, how high, and how high is wanted."""

    area: _Word
    stake: _Word
    layer: _Word
    setup: _Word
    built: LayerName
    z: _Metres
    wanted: _Metres
    at: _Place


class _Told(Struct):
    """What is to be kept at once, as `Kept`."""

    setups: Annotated[list[_Setup], Meta(max_length=_MOST_AT_ONCE)] = []
    shots: Annotated[list[_Shot], Meta(max_length=_MOST_AT_ONCE)] = []
    checks: Annotated[list[_Check], Meta(max_length=_MOST_AT_ONCE)] = []
    gone: Annotated[list[_Word], Meta(max_length=_MOST_AT_ONCE)] = []


def nothing_kept() -> Kept:
    """Return what is kept before anything is."""
    return {"setups": [], "shots": [], "checks": [], "gone": []}


def together(*some: Mapping[str, Any]) -> Kept:
    """Return all that any of several kept, each once, in the order of its time.

    Parameters
    ----------
    some : mappings
        Each as `Kept`.
    """
    whole = nothing_kept()
    for part in ("setups", "shots", "checks"):
        found = {each["id"]: each for kept in some for each in kept.get(part, ())}
        whole[part] = [found[key] for key in sorted(found)]
    whole["gone"] = sorted({each for kept in some for each in kept.get("gone", ())})
    return whole


def kept_numbers(folder: Path) -> tuple[str, ...]:
    """Return the numbers of the plans that something was booked of.

    Parameters
    ----------
    folder : Path
        Of the site.
    """
    home = folder / FOLDER / HOME
    return tuple(sorted(file.stem for file in home.glob("*.jsonl") if _NUMBER.fullmatch(file.stem)))


def read_kept(folder: Path, number: str) -> Kept:
    """Return what was booked of a plan.

    Parameters
    ----------
    folder : Path
        Of the site.
    number : str
        Of the plan.
    """
    file = _file(folder, number)
    if not file.is_file():
        return nothing_kept()
    parts = []
    for line in file.read_text(encoding="utf-8").splitlines():
        try:
            parts.append(_checked(json.loads(line)))
        except (ValueError, SiteError):
            continue  # a line that was cut off as the machine stopped was never answered
    return together(*parts)


def keep(folder: Path, number: str, more: Mapping[str, Any]) -> Kept:
    """Keep more of a plan, and return all that is kept of it, on the disk by then.

    Parameters
    ----------
    folder : Path
        Of the site.
    number : str
        Of the plan.
    more : mapping
        As `Kept`.

    Raises
    ------
    SiteError
        What is to be kept is nothing of the kind, or more than is kept of one plan.
    """
    told, before = _checked(more), read_kept(folder, number)
    new = {part: [each for each in told[part] if each not in before[part]] for part in told}
    if not any(new.values()):
        return before
    line = f"{json.dumps(new, allow_nan=False)}\n".encode()
    file = _file(folder, number)
    file.parent.mkdir(parents=True, exist_ok=True)
    if (file.stat().st_size if file.exists() else 0) + len(line) > MOST:
        found = f"more than {MOST // 1_000_000} MB of shots of one plan"
        raise SiteError([Problem("the shots", found, "those of one job", "Record them first.")])
    with file.open("ab") as stream:
        # After a line that was cut off the next one begins anew.
        torn = stream.tell() > 0 and file.read_bytes()[-1:] != b"\n"
        stream.write(b"\n" * torn + line)
        stream.flush()
        os.fsync(stream.fileno())
    return together(before, new)


def keep_asked(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Keep what a screen in the trench booked, and answer with all that is kept of its plan.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `number` of the plan, and what was `kept`.
    """
    try:
        return {"kept": keep(seen.folder, str(told.get("number", "")), told.get("kept") or {})}
    except SiteError as error:
        return {"kept": None, "words": str(error)}


def standing(kept: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return the shots that stand: of each surface of a stake the last that was not taken back."""
    gone = set(kept["gone"])
    last = {
        (each["area"], each["stake"], each["layer"]): each
        for each in kept["shots"]
        if each["id"] not in gone
    }
    return list(last.values())


class Booked(Struct, frozen=True):
    """All shots of a site that stand, whatever plan they were booked of.

    Attributes
    ----------
    shots : tuple of dict
        Of each surface of a stake the last; as the page books them, levels in metres.
    numbers : tuple of str
        Of the plans that they are of.
    last : dict or None
        Where the instrument stood last.
    """

    shots: tuple[dict[str, Any], ...]
    numbers: tuple[str, ...]
    last: dict[str, Any] | None


def booked_of(folder: Path) -> Booked:
    """Return the shots of a site that stand.

    Parameters
    ----------
    folder : Path
        Of the site.
    """
    found: dict[tuple[str, str, str], tuple[dict[str, Any], str]] = {}
    setups: list[dict[str, Any]] = []
    for number in kept_numbers(folder):
        kept = read_kept(folder, number)
        setups += kept["setups"]
        for shot in standing(kept):
            key = shot["area"], shot["stake"], shot["built"]
            if key not in found or found[key][0]["id"] < shot["id"]:
                found[key] = shot, number
    numbers = dict.fromkeys(number for _, number in found.values())
    last = max(setups, key=lambda each: str(each["id"]), default=None)
    return Booked(tuple(shot for shot, _ in found.values()), tuple(numbers), last)


def _file(folder: Path, number: str) -> Path:
    if not _NUMBER.fullmatch(number):
        raise SiteError([Problem("the shots", "no number of a plan", 'one such as "3F7A-91C2"')])
    return folder / FOLDER / HOME / f"{number}.jsonl"


def _checked(told: object) -> Kept:
    """Return what is to be kept, each record with its own keys and nothing else."""
    try:
        found: Kept = to_builtins(convert(told, _Told))
    except ValidationError as error:
        expected = "set-ups and shots as the page books them"
        raise SiteError([Problem("the shots", "no such records", expected)]) from error
    return found
