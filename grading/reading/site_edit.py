"""Changes of a site file: that file alone, whole or not at all, remarks and order kept."""

from __future__ import annotations

import copy
import tomllib
from collections.abc import Callable, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.whole import replace_file
from grading.reading.site_file import locate, read_text
from grading.reading.written import FILE
from grading.site.model import Site

Way = tuple[str | int, ...]
"""The keys and places that lead to a value: ("door", 0, "steps"), places counted from 0."""


class Edit(Struct, frozen=True):
    """One change of a site file.

    Attributes
    ----------
    way : tuple of str or int
        Tables on the way that are not there are made.
        The place after the last of a list adds to it.
    value : object
        What TOML can hold, in the unit of the file; None takes the key, or the table, away.
    """

    way: Way
    value: Any = None


class SiteText(Struct, frozen=True):
    """The text of a site file with what has to stay of it: its mark, and the ends of its lines."""

    home: Path
    file: Path
    text: str
    mark: bytes
    line: str

    @classmethod
    def of(cls, folder: Path) -> SiteText:
        """Read the site file of a folder, or that file itself; raise SiteError for none."""
        home, file = locate(folder)
        file = file.resolve()
        data = file.read_bytes()
        mark = b"\xef\xbb\xbf" if data.startswith(b"\xef\xbb\xbf") else b""
        text = data[len(mark) :].decode("utf-8")
        line = "\r\n" if "\r\n" in text else "\n"
        return cls(home, file, text.replace("\r\n", "\n"), mark, line)

    def site(self, made: str) -> Site:
        """Return the site that the file would be with this text; raise SiteError for none."""
        return read_text(self.home, made, FILE)

    def write(self, made: str) -> None:
        """Put this text in the place of the old one, in one move."""
        replace_file(self.file, self.mark + made.replace("\n", self.line).encode("utf-8"))


def edited(text: str, edits: Sequence[Edit]) -> str:
    """Return the text of a site file with changes made, and nothing else changed.

    Parameters
    ----------
    text : str
    edits : sequence of Edit

    Raises
    ------
    SiteError
        It is written in a way that cannot be changed without changing more of it.
    """
    import tomlkit
    import tomlkit.exceptions

    wanted = tomllib.loads(text)
    try:
        document = tomlkit.parse(text)
        for edit in edits:
            if edit.value is not None and len(edit.way) > 1 and edit.way[0] not in document:
                document.add(tomlkit.nl())  # a table stands apart from what is above it
            _put(document, edit, tomlkit.table, tomlkit.aot)
            put(wanted, edit)
        made = tomlkit.dumps(document)
    except (tomlkit.exceptions.TOMLKitError, KeyError, IndexError, TypeError):
        raise _by_hand(edits) from None
    if tomllib.loads(made) != wanted:
        raise _by_hand(edits)
    return made


def put(tables: Any, edit: Edit) -> None:
    """Make a change of tables, in place.

    Parameters
    ----------
    tables : dict or TOMLDocument
    edit : Edit

    Raises
    ------
    KeyError, IndexError, TypeError
        There is nothing where the edit leads.
    """
    _put(tables, edit, dict, list)


def _put(tables: Any, edit: Edit, table: Callable[[], Any], tables_of: Callable[[], Any]) -> None:
    *way, last = edit.way
    passed = []
    for key, below in pairwise(edit.way):
        passed.append((tables, key))
        if isinstance(key, str) and key not in tables and edit.value is not None:
            tables[key] = tables_of() if isinstance(below, int) else table()
        elif isinstance(key, int) and key == len(tables):
            tables.append(table())
        tables = tables[key]
    if edit.value is not None:
        if isinstance(last, int) and last == len(tables):
            tables.append(copy.deepcopy(edit.value))
        else:
            tables[last] = copy.deepcopy(edit.value)
        return
    del tables[last]
    # Of tables that hold nothing any more no key is left.
    if way and isinstance(last, int) and not tables:
        holder, key = passed[-1]
        del holder[key]


def _by_hand(edits: Sequence[Edit]) -> SiteError:
    keys = ", ".join(dict.fromkeys(_written(edit.way) for edit in edits))
    found = "toml that cannot be changed without changing more of it"
    return SiteError([Problem(FILE, found, f"room for {keys}", "Write it yourself.")])


def _written(way: Way) -> str:
    """Return a way as problems tell it, places counted from 1: `door[1].steps`."""
    said = ""
    for key in way:
        said += f"[{key + 1}]" if isinstance(key, int) else f".{key}" if said else key
    return said
