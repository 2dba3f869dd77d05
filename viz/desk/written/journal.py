"""The journal of a site: every change of its document, written before it is answered.

One line of JSON for each, in the folder `.fallaway` of the site. A process that is killed, or a
laptop that is closed, loses nothing that was answered.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.whole import to_the_disk
from grading.signs import shortened, visible

FOLDER = ".fallaway"
"""What the page keeps in the folder of a site."""

JOURNAL = "journal.jsonl"

TEXT_FILES = (".csv", ".toml", ".txt")
"""The files of a site that the page holds as text, by their ends."""

UNREAD = "journal-unread.jsonl"
"""What stood behind a line that could not be read: set aside, for a person to look at."""

_KEPT = "kept"
_LONG = 20_000  # letters from which a text stands in a file of its own, by its hash

Kind = Literal["began", "did", "undid", "redid", "found", "saved"]
"""What a line tells: the texts as the journal began, a change, one taken back, one made again,
texts that were found changed by somebody else, or that the files hold what came before."""


class Entry(Struct, frozen=True):
    """A line of the journal.

    Attributes
    ----------
    revision : int
    kind : Kind
    said : str
        What was changed, in words.
    at : str
        When, by the clock of this machine.
    texts : mapping
        Those that changed, by name; None for one that is gone.
    touched : tuple of str
        The ways that were written to.
    """

    revision: int
    kind: Kind
    said: str
    at: str
    texts: Mapping[str, str | None]
    touched: tuple[str, ...] = ()


class Journal:
    """The journal of one folder.

    Parameters
    ----------
    folder : Path
        Of the site; made where it is not there.
    """

    def __init__(self, folder: Path) -> None:
        self.home = folder / FOLDER
        self.home.mkdir(exist_ok=True)
        self.file = self.home / JOURNAL
        self.saved = 0
        self._whole = 0  # bytes of the lines that could be read

    def entries(self) -> Iterator[Entry]:
        """Yield the entries from the first up to one that cannot be read.

        Raises
        ------
        SiteError
            An entry is of a file that is none of the folder's own: what writes so is not the page.
        """
        self._whole = 0
        if not self.file.is_file():
            return
        with self.file.open("rb") as lines:
            for number, line in enumerate(lines, start=1):
                try:
                    entry = self._entry(json.loads(line)) if line.endswith(b"\n") else None
                except (ValueError, KeyError, TypeError, AttributeError, RecursionError, OSError):
                    return
                if entry is None:
                    return
                self._check(entry, number)
                self._whole += len(line)
                yield entry

    def _entry(self, told: Mapping[str, Any]) -> Entry:
        if "saved" in told:
            self.saved = told["saved"]
            return Entry(self.saved, "saved", "", "", {})
        texts = {name: self._text(text) for name, text in told["texts"].items()}
        return Entry(
            told["revision"], told["kind"], told["said"], told["at"], texts, tuple(told["touched"])
        )

    def _check(self, entry: Entry, number: int) -> None:
        """Refuse a journal that would have files written anywhere but in the site's own folder."""
        for name in entry.texts:
            if Path(name).name != name or Path(name).suffix.lower() not in TEXT_FILES:
                where = f"{FOLDER}/{JOURNAL}, line {number}"
                found = f'a change of "{shortened(visible(name))}"'
                mend = f"Take the folder {FOLDER} away: what the site's own files say stays."
                expected = "one of a file in the folder of the site"
                raise SiteError([Problem(where, found, expected, mend)])

    def write(self, entry: Entry) -> None:
        """Write an entry, down to the disk."""
        texts = {name: self._kept(text) for name, text in entry.texts.items()}
        self._line(
            {
                "revision": entry.revision, "kind": entry.kind, "said": entry.said,
                "at": entry.at, "texts": texts, "touched": list(entry.touched),
            }
        )  # fmt: skip

    def wrote(self, revision: int) -> None:
        """Note that the files of the site hold a revision."""
        self.saved = revision
        self._line({"saved": revision})

    def trim(self) -> None:
        """Cut off what `entries` could not read, so that what is written next is read again.

        A last line that is not whole was never answered. Where more stands there, as after a disk
        that went wrong, it is set aside in `UNREAD`.
        """
        if not self.file.is_file() or self.file.stat().st_size == self._whole:
            return
        with self.file.open("r+b") as stream:
            stream.seek(self._whole)
            rest = stream.read()
            if rest.rstrip(b"\0").count(b"\n"):
                with (self.home / UNREAD).open("ab") as aside:
                    aside.write(rest)
                    aside.flush()
                    os.fsync(aside.fileno())
            stream.truncate(self._whole)

    def _line(self, told: Mapping[str, object]) -> None:
        begun = not self.file.exists()
        with self.file.open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(told, ensure_ascii=False) + "\n")
            stream.flush()
            os.fsync(stream.fileno())
        if begun:
            to_the_disk(self.home)

    def _kept(self, text: str | None) -> object:
        if text is None or len(text) < _LONG:
            return text
        data = text.encode("utf-8")
        name = hashlib.sha256(data).hexdigest()
        file = self.home / _KEPT / name
        if not file.is_file():
            file.parent.mkdir(exist_ok=True)
            part = file.with_suffix(".part")
            with part.open("wb") as stream:
                stream.write(data)
                stream.flush()
                os.fsync(stream.fileno())
            os.replace(part, file)
            to_the_disk(file.parent)
        return {"kept": name}

    def _text(self, told: object) -> str | None:
        if isinstance(told, dict):
            name = str(told["kept"])
            if not name.isalnum():
                raise ValueError(name)
            return (self.home / _KEPT / name).read_text(encoding="utf-8")
        return None if told is None else str(told)
