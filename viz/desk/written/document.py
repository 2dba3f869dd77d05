"""The written document: the texts of a site's files, and changes of them by the way to a key.

It is never a second model of the site: what it holds is what stands in the files, so the page, the
file and the command refuse the same things in the same sentences.
"""

from __future__ import annotations

import copy
import re
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.toml_text import toml_of
from grading.reading.site_edit import Edit, Way, edited, put
from grading.reading.written import FILE
from viz.desk.blocks import Change
from viz.desk.written.journal import TEXT_FILES

LONGEST_TEXT = 8_000_000
"""Letters of a file that is held as text; a longer one is read where it lies, and never changed
here."""

_NAME = re.compile(r"[\w][\w .-]{0,80}\.(csv|toml)")


class Document(Struct, frozen=True, eq=False, dict=True):
    """The texts of a site's files, by their names inside its folder."""

    texts: Mapping[str, str]

    @cached_property
    def written(self) -> dict[str, Any]:
        """The site file as TOML has it; raises SiteError where it is no TOML."""
        return toml_of(self.texts[FILE], FILE)

    def changed(self, changes: Sequence[Change]) -> Document:
        """Return the document with changes made, remarks and order kept.

        Parameters
        ----------
        changes : sequence of Change

        Raises
        ------
        SiteError
            There is nothing at the way, or it cannot be changed without changing more.
        """
        edits, wanted = [], copy.deepcopy(self.written)
        for change in changes:
            edit = _edit(wanted, change)
            if _try(wanted, edit, change):
                edits.append(edit)
        return self.with_text(FILE, edited(self.texts[FILE], edits))

    def glanced(self, changes: Sequence[Change]) -> dict[str, Any]:
        """Return the site file with changes made as TOML has it, for a look while a finger drags.

        Parameters
        ----------
        changes : sequence of Change

        Raises
        ------
        SiteError
            There is nothing at the way.
        """
        wanted = copy.deepcopy(self.written)
        for change in changes:
            _try(wanted, _edit(wanted, change), change)
        return wanted

    def with_text(self, name: str, text: str) -> Document:
        """Return the document with another text of one file; raise SiteError for an odd name."""
        if _NAME.fullmatch(name) is None:
            found, expected = f'"{name[:100]}"', "a plain name such as spots.csv"
            raise SiteError([Problem("the name of the file", found, expected)])
        return Document({**self.texts, name: text})

    def unlike(self, other: Document) -> dict[str, str | None]:
        """Return the texts in which another document differs from this one, None where it has none.

        Parameters
        ----------
        other : Document
        """
        names = (*other.texts, *(name for name in self.texts if name not in other.texts))
        return {
            name: other.texts.get(name)
            for name in names
            if self.texts.get(name) != other.texts.get(name)
        }

    def patched(self, texts: Mapping[str, str | None]) -> Document:
        """Return the document with some texts replaced, or taken away where they are None."""
        made = {**self.texts, **texts}
        return Document({name: text for name, text in made.items() if text is not None})


def read_document(folder: Path) -> Document:
    """Return the document of a folder.

    Parameters
    ----------
    folder : Path

    Raises
    ------
    SiteError
        A file of it cannot be read as text.
    """
    texts, home = {}, folder.resolve()
    for file in sorted(folder.iterdir()):
        if file.suffix.lower() in TEXT_FILES and file.is_file():
            if file.name != FILE and not _held(file, home):
                continue
            try:
                texts[file.name] = file.read_bytes().decode("utf-8-sig").replace("\r\n", "\n")
            except (UnicodeDecodeError, OSError) as error:
                if file.name != FILE:
                    continue
                raise SiteError([Problem(str(file), str(error), "text in UTF-8")]) from None
    return Document(texts)


def _held(file: Path, home: Path) -> bool:
    """Whether the page holds a file beside the site file: none that is long or lies elsewhere.

    A link may lead to what is no part of the site, and what is held is shown and written down.
    """
    return file.stat().st_size <= LONGEST_TEXT and file.resolve().is_relative_to(home)


def way_of(at: str) -> Way:
    """Return the way to a key as the site is edited by: "door/0/sill"."""
    return tuple(int(part) if part.isdigit() else part for part in at.split("/"))


def touched(changes: Iterable[Change]) -> tuple[str, ...]:
    """Return the ways that changes write to."""
    return tuple(change.at for change in changes)


def meet(one: Iterable[str], other: Iterable[str]) -> str:
    """Return the first way of one that another of the other leads to or from; empty for none."""
    for way in one:
        for its in other:
            if way == its or way.startswith(f"{its}/") or its.startswith(f"{way}/"):
                return way
    return ""


def _edit(written: Mapping[str, Any], change: Change) -> Edit:
    way = way_of(change.at)
    if change.do == "add":
        held = written.get(change.at, [])
        return Edit((change.at, len(held) if isinstance(held, list) else 0), change.to)
    return Edit(way, None if change.do == "remove" else change.to)


def _try(written: dict[str, Any], edit: Edit, change: Change) -> bool:
    """Make a change in tables; return whether there was anything to change."""
    try:
        put(written, edit)
    except (KeyError, IndexError, TypeError):
        if edit.value is None and change.do == "set":
            return False  # what is not there need not be taken away
        found, expected = "nothing there", "a key that is written"
        raise SiteError([Problem(f"{FILE}, key {change.at}", found, expected)]) from None
    return True


def tables(document: Mapping[str, Any], key: str) -> list[Mapping[str, Any]]:
    """Return the tables of a list of a document as they are written; none where it is wrong."""
    held = document.get(key)
    return [each for each in held if isinstance(each, Mapping)] if isinstance(held, list) else []


def table_at(document: Mapping[str, Any], way: str) -> Mapping[str, Any]:
    """Return a table of a document by its way; empty where there is none, or where it is wrong."""
    found: Any = document
    try:
        for part in way.split("/"):
            found = found[int(part) if part.isdigit() else part]
    except (KeyError, IndexError, TypeError):
        return {}
    return found if isinstance(found, Mapping) else {}
