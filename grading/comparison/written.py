"""What two site folders say differently: keys of tables, and rows of lists of points."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.crew.past_jobs import HOURS_FILE
from grading.files.toml_text import read_toml
from grading.signs import shortened, visible

SITE_FILE, CREW_FILE = "site.toml", "crew.toml"

_NAMED_BY = ("name", "file", "item", "shot")
"""Keys that tell one table of a list from the others."""

_LONGEST = 60  # letters of a value


class Difference(Struct, frozen=True):
    """One thing that was written differently.

    Attributes
    ----------
    file : str
    where : str
        The key, with the name of its table; or the row of a list of points.
    before, after : str or None
        As it was written; None where it was not.
    """

    file: str
    where: str
    before: str | None
    after: str | None


def differences_of(before: Path, after: Path) -> tuple[Difference, ...]:
    """Return what two site folders say differently, file by file.

    Parameters
    ----------
    before, after : Path
        Folders of two sites that can be read.
    """
    found: list[Difference] = []
    tables = [
        [_table(folder, name) for folder in (before, after)] for name in (SITE_FILE, CREW_FILE)
    ]
    for name, (then, now) in zip((SITE_FILE, CREW_FILE), tables, strict=True):
        found += _apart(name, then, now)
    lists = [
        _lists(folder, table) for folder, table in zip((before, after), tables[0], strict=True)
    ]
    for name in sorted({*lists[0], *lists[1]}):
        found += _apart(name, *(each.get(name, {}) for each in lists))
    return tuple(found)


def _apart(file: str, before: Mapping[str, str], after: Mapping[str, str]) -> Iterator[Difference]:
    for key in dict.fromkeys([*after, *before]):
        if before.get(key) != after.get(key):
            yield Difference(file, key, before.get(key), after.get(key))


def _table(folder: Path, name: str) -> dict[str, str]:
    path = folder / name
    return dict(_flat("", read_toml(path, name))) if path.is_file() else {}


def _flat(where: str, value: Any) -> Iterator[tuple[str, str]]:
    """Give every value of a table with the way to it; tables of a list go by their names."""
    if isinstance(value, dict):
        for key, one in value.items():
            yield from _flat(f"{where}.{key}" if where else key, one)
    elif isinstance(value, list) and value and all(isinstance(one, dict) for one in value):
        for number, one in enumerate(value, start=1):
            name = next((str(one[key]) for key in _NAMED_BY if key in one), str(number))
            yield from _flat(f"{where} {visible(shortened(name, _LONGEST))}", one)
    else:
        yield where, _written(value)


def _written(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return f"[{', '.join(map(_written, value))}]"
    return str(value)


def _lists(folder: Path, table: Mapping[str, str]) -> dict[str, dict[str, str]]:
    """Return the rows of every list of points that a site names, by the names of the lists."""
    found = {}
    for written in (*table.values(), HOURS_FILE):
        path = folder / written if written.lower().endswith(".csv") else None
        if path is not None and path.is_file():
            found[written] = _rows(path)
    return found


def _rows(path: Path) -> dict[str, str]:
    """Return the rows of a list, by their ids where it has any, else by where they lie."""
    data = path.read_bytes()
    text = data.decode("utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]
    delimiter = next((sign for sign in "\t;" if lines and sign in lines[0]), ",")
    rows = list(csv.reader(io.StringIO("\n".join(lines)), delimiter=delimiter))
    if not rows:
        return {}
    header = [cell.strip().lower() for cell in rows[0]]
    key = next((header.index(name) for name in ("id", "job") if name in header), None)
    found: dict[str, str] = {}
    for row in rows[1:]:
        cells = [cell.strip() for cell in row]
        name = cells[key] if key is not None and key < len(cells) else " ".join(cells[:2])
        rest = [cell for place, cell in enumerate(cells) if place != key and cell]
        while name in found:
            name += "'"
        found[name] = " ".join(rest)
    return found
