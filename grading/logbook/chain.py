"""Records as files: written once, each with the hash of the one before, and read back in doubt.

A record is linked into place from a file that is whole on the disk, under a lock: nothing is ever
overwritten, two who write at once write one after the other, and a writer that is killed leaves
every record that was there. A correction is a new record.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.toml_text import LARGEST_FILE, read_limited, toml_of
from grading.files.whole import kept_once
from grading.signs import shortened, visible

FOLDER = "records"
"""Of a site's folder."""

SCHEMA = "fallaway/record/1"

_NAME = re.compile(r"(?P<number>\d{4,6})-(?P<kind>[a-z]+)-(?P<date>\d{4}-\d{2}-\d{2})\.toml")
_LOCK = ".lock"
_SEAL = re.compile(r'seal = "(?P<seal>[0-9a-f]{64})"\n')
_PATIENCE = 60  # s


class Record(Struct, frozen=True):
    """One record as it was read.

    Attributes
    ----------
    number : int
    file : str
        Its name in the folder of records.
    told : mapping
        What it says, as TOML has it.
    hash : str
        SHA-256 of its bytes.
    faults : tuple of str
        What is wrong with it, a sentence each: torn, edited, out of its chain, a photo changed.
    """

    number: int
    file: str
    told: Mapping[str, Any]
    hash: str
    faults: tuple[str, ...]

    @property
    def kind(self) -> str:
        """What was recorded: a layer, or "note"."""
        match = _NAME.fullmatch(self.file)
        return match["kind"] if match else ""

    @property
    def date(self) -> str:
        """The day that it was written, as its name has it."""
        match = _NAME.fullmatch(self.file)
        return match["date"] if match else ""


def hash_of(data: bytes) -> str:
    """Return the SHA-256 of bytes, in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def records_of(folder: Path) -> tuple[Record, ...]:
    """Return the records of a site, in order, each with what is wrong with it.

    Parameters
    ----------
    folder : Path
        Of the site.
    """
    home = folder / FOLDER
    if not home.is_dir():
        return ()
    names = sorted(
        (int(match["number"]), path.name)
        for path in home.iterdir()
        if (match := _NAME.fullmatch(path.name))
    )
    found: list[Record] = []
    for number, name in names:
        before = found[-1] if found else None
        found.append(_read(home, number, name, before))
    return tuple(found)


def _read(home: Path, number: int, name: str, before: Record | None) -> Record:
    data = read_limited(home / name, name, LARGEST_FILE, "A record is never so large.")
    faults: list[str] = []
    told: Mapping[str, Any] = {}
    try:
        text = data.decode("utf-8")
        told = toml_of(text, name)
        faults += _own_faults(text, told, number)
    except (UnicodeDecodeError, SiteError):
        faults.append("it is torn or no record: it cannot be read")
    if before is None:
        if told.get("previous"):
            faults.append("the record that it was written after is missing")
    else:
        faults += _links(told, number, before)
    faults += _photo_faults(home.parent, told)
    return Record(number, name, told, hash_of(data), tuple(faults))


def _own_faults(text: str, told: Mapping[str, Any], number: int) -> Iterator[str]:
    seal = _SEAL.match(text)
    if seal is None:
        yield "it has no seal: it was written by hand, or its beginning is missing"
    elif hash_of(text[seal.end() :].encode()) != seal["seal"]:
        yield "it was edited after it was written, or its end is missing"
    if told.get("schema") != SCHEMA:
        yield f"its schema is {told.get('schema')!r}, not {SCHEMA!r}"
    if told.get("number") != number:
        yield f"it says that it is number {told.get('number')}"


def _links(told: Mapping[str, Any], number: int, before: Record) -> Iterator[str]:
    if number == before.number:
        yield f"its number is that of {before.file}"
        return
    if told and told.get("previous") != before.hash:
        yield (
            f"record {before.number} is not the one that it was written after: one of them was "
            "edited or is missing"
        )


def _photo_faults(folder: Path, told: Mapping[str, Any]) -> Iterator[str]:
    photos = told.get("photo", ())
    for photo in photos if isinstance(photos, list) else ():
        if not isinstance(photo, dict):
            continue
        named = shortened(visible(str(photo.get("file", ""))))
        path = folder / str(photo.get("file", ""))
        try:
            # A record that somebody else sent may name what is no photo: a device never ends.
            if not path.resolve().is_relative_to(folder.resolve()) or not path.is_file():
                yield f"its photo {named} is not there"
                continue
            same = _hash_of_file(path) == photo.get("sha256")
        except (OSError, ValueError):
            yield f"its photo {named} is not there"
            continue
        if not same:
            yield f"its photo {named} is another than then"


def _hash_of_file(path: Path) -> str:
    """Return the SHA-256 of a file of any size."""
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def add_record(folder: Path, kind: str, date: str, write: Callable[[int, str], str]) -> Path:
    """Write a record after the last one, and return its file.

    Parameters
    ----------
    folder : Path
        Of the site.
    kind : str
        What is recorded, a word of small letters.
    date : str
        YYYY-MM-DD.
    write : callable
        Returns the text of the record, from its number and the hash of the one before, empty for
        the first.

    Raises
    ------
    SiteError
        The folder cannot be written.
    """
    from filelock import FileLock, Timeout

    home = folder / FOLDER
    try:
        home.mkdir(exist_ok=True)
        # The system lets go of the lock of a writer that is killed.
        with FileLock(home / _LOCK, timeout=_PATIENCE):
            known = records_of(folder)
            number = known[-1].number + 1 if known else 1
            text = write(number, known[-1].hash if known else "")
            sealed = f'seal = "{hash_of(text.encode())}"\n{text}'
            path = home / f"{number:04d}-{kind}-{date}.toml"
            kept_once(path, sealed.encode())
            return path
    except Timeout:
        mend = "Wait until it is done, or end it."
        found = "another program that is writing a record"
        raise SiteError([Problem(str(home), found, "one at a time", mend)]) from None
    except OSError as error:
        found = (error.strerror or str(error)).lower()
        raise SiteError([Problem(str(home), found, "a folder that can be written")]) from error
