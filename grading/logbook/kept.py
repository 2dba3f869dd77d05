"""The design as it was when a record was written: its files, each kept once by its hash."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from grading.crew.past_jobs import HOURS_FILE
from grading.errors import Problem, SiteError
from grading.files.csv_rows import LARGEST_FILE
from grading.files.toml_text import read_limited, read_toml
from grading.files.whole import kept_once
from grading.logbook.chain import FOLDER, hash_of, records_of

KEPT = "kept"
"""Of the folder of records."""

_HASH = re.compile("[0-9a-f]{64}")


def design_files(folder: Path) -> tuple[str, ...]:
    """Return the names of the files that a design is made from: the tables, and what they name.

    Parameters
    ----------
    folder : Path
        Of the site.
    """
    tables = [name for name in ("site.toml", "crew.toml") if (folder / name).is_file()]
    own_jobs = [HOURS_FILE] if (folder / HOURS_FILE).is_file() else []
    named = {
        value
        for table in tables
        for value in _texts(read_toml(folder / table, table))
        if value.lower().endswith(".csv") and (folder / value).is_file()
    }
    return (*tables, *sorted(named.union(own_jobs)))


def _texts(value: Any) -> Iterator[str]:
    """Give every text in a table and the tables in it."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict | list):
        for one in value.values() if isinstance(value, dict) else value:
            yield from _texts(one)


def design_hashes(folder: Path) -> dict[str, str]:
    """Return the SHA-256 of every file that a design is made from, by its name."""
    return {name: hash_of((folder / name).read_bytes()) for name in design_files(folder)}


def keep_design(folder: Path) -> dict[str, str]:
    """Keep a copy of every file that a design is made from, and return their hashes by name.

    Parameters
    ----------
    folder : Path
        Of the site.
    """
    home = folder / FOLDER / KEPT
    home.mkdir(parents=True, exist_ok=True)
    found = {}
    for name in design_files(folder):
        data = (folder / name).read_bytes()
        found[name] = hash_of(data)
        if not (home / found[name]).exists():
            kept_once(home / found[name], data)
    return found


def is_record(path: Path) -> bool:
    """Whether a path is that of a record, and not of a site."""
    return path.parent.name == FOLDER and path.suffix == ".toml"


def restore_design(path: Path, into: Path) -> None:
    """Write the files of the design that a record was written against into a folder.

    Parameters
    ----------
    path : Path
        The file of the record.
    into : Path
        An empty folder.

    Raises
    ------
    SiteError
        No record, one that is torn or was edited, or one whose design is not kept.
    """
    site = path.parent.parent
    known = {each.file: each for each in records_of(site)} if site.is_dir() else {}
    if path.name not in known:
        told = ", ".join(known) or "none"
        raise SiteError([Problem(str(path), "no record", f"one that is there: {told}")])
    record = known[path.name]
    if record.faults:
        problems = [
            Problem(str(path), fault, "a record as it was written") for fault in record.faults
        ]
        raise SiteError(problems)
    design = record.told.get("design")
    for name, kept in (design if isinstance(design, dict) else {}).items():
        source = path.parent / KEPT / str(kept)
        try:
            # What is kept goes by its hash: a record that names anything else is none of ours.
            if not _HASH.fullmatch(str(kept)) or not source.is_file():
                raise FileNotFoundError
            data = read_limited(source, name, LARGEST_FILE, "No file of a design is so large.")
        except OSError:
            raise SiteError(
                [Problem(str(path), f"a design whose {name} is not kept", f"{source}")]
            ) from None
        target = into / name
        if hash_of(data) != kept or not target.resolve().is_relative_to(into.resolve()):
            found = f"a design whose {name} was changed where it is kept"
            raise SiteError([Problem(str(path), found, "the file as it was")])
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(data)
