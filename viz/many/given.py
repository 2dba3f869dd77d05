"""What a site is planned from: the bytes of its files, read once and known by their hash.

A site is planned from these very bytes, in a copy of its folder, wherever that is: nobody changes a
file between the moment that it is known by and that in which it is read, and a machine far away
needs no disk in common.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any

from grading.crew.model import FILE as CREW
from grading.crew.past_jobs import HOURS_FILE
from grading.errors import Problem, SiteError
from grading.files.toml_text import LARGEST_FILE, LONGEST_TEXT
from grading.logbook.chain import FOLDER as RECORDS
from grading.reading.written import FILE
from viz.many.frames import Content, Given

LARGEST = 100_000_000
"""No file of a site is read that is larger; of such a one only the size is given on. [bytes]"""

_MOST_OTHERS = 2000  # names of files beside those that are read


def given_of(home: Path, *, papers: bool = False) -> Given:
    """Read the files of a site.

    Parameters
    ----------
    home : Path
        Its folder, in full.
    papers : bool
        Whether papers are made of it too, which tell what its records hold.

    Raises
    ------
    SiteError
        One of them cannot be read.
    """
    files: dict[str, Content] = {FILE: _content(home / FILE)}
    for name in _named(files[FILE]):
        _take(files, home, name)
    _take_crew(files, home)
    if papers:
        for path in sorted((home / RECORDS).glob("*.toml")):
            _take(files, home, f"{RECORDS}/{path.name}")
    above: dict[str, Content] = {}
    _take_crew(above, home.parent)
    return Given(home, files, above, tuple(_others(home, files)))


def _take_crew(files: dict[str, Content], folder: Path) -> None:
    """Read what the crew keeps in a folder, and what its crew.toml names."""
    for name in (CREW, HOURS_FILE):
        _take(files, folder, name)
    for name in _named(files.get(CREW, b"")):
        _take(files, folder, name)


def _take(files: dict[str, Content], folder: Path, name: str) -> None:
    """Read a file that lies in a folder; what is none, or leaves it, is left to who reads it."""
    with suppress(ValueError, PermissionError):  # a folder that cannot be entered holds no file
        path = (folder / name).resolve()
        if name in files or not path.is_file() or not path.is_relative_to(folder.resolve()):
            return
        files[name] = _content(path)


def _content(path: Path) -> Content:
    try:
        size = path.stat().st_size
        return path.read_bytes() if size <= LARGEST else size
    except OSError as error:
        found = f"a file that cannot be read ({error.strerror})"
        raise SiteError([Problem(str(path), found, "a file that can")]) from None


def _named(content: Content) -> Iterator[str]:
    """Yield every word of a table that may be the name of a file."""
    if not isinstance(content, bytes) or len(content) > LARGEST_FILE:
        return
    try:
        written = tomllib.loads(content.decode("utf-8-sig"))
    except (ValueError, RecursionError):
        return  # who reads it says what is wrong
    yield from dict.fromkeys(_texts(written))


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        if 0 < len(value) <= LONGEST_TEXT and value.isprintable():
            yield value
    elif isinstance(value, dict | list):
        for part in value.values() if isinstance(value, dict) else value:
            yield from _texts(part)


def _others(home: Path, files: dict[str, Content]) -> Iterator[str]:
    with suppress(OSError):
        found = sorted(each.name for each in home.iterdir() if each.is_file())
        yield from [name for name in found if name not in files][:_MOST_OTHERS]


def laid(given: Given, folder: Path) -> Path:
    """Lay the files of a site into an empty folder, and return the site's own inside it.

    Parameters
    ----------
    given : Given
    folder : Path
    """
    home = folder / (given.home.name or "site")
    home.mkdir()
    for place, files in ((folder, given.above), (home, given.files)):
        for name, content in files.items():
            path = place / name
            path.parent.mkdir(parents=True, exist_ok=True)
            with path.open("wb") as file:
                if isinstance(content, bytes):
                    file.write(content)
                else:
                    file.truncate(content)
    for name in given.others:
        with suppress(OSError):
            (home / name).touch()
    return home
