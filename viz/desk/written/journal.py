"""The journal of a site: every change of its document, written before it is answered.

One line of JSON for each, in the folder `.fallaway` of the site. A process that is killed, or a
laptop that is closed, loses nothing that was answered.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

FOLDER = ".fallaway"
"""What the page keeps in the folder of a site."""

JOURNAL = "journal.jsonl"

_KEPT = "kept"
_LONG = 20_000  # letters from which a text stands in a file of its own, by its hash

Kind = Literal["began", "did", "undid", "redid", "found", "saved"]
"""What a line tells: the texts as the journal began, a change, one taken back, one made again,
texts that were found changed by somebody else, or that the files hold what came before."""


@dataclass(frozen=True)
class Entry:
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

    def entries(self) -> Iterator[Entry]:
        """Yield the entries from the first; a last line that was cut off is none."""
        if not self.file.is_file():
            return
        with self.file.open(encoding="utf-8") as lines:
            for line in lines:
                try:
                    told = json.loads(line)
                    if "saved" in told:
                        self.saved = told["saved"]
                        yield Entry(self.saved, "saved", "", "", {})
                        continue
                    texts = {name: self._text(text) for name, text in told["texts"].items()}
                    yield Entry(
                        told["revision"], told["kind"], told["said"], told["at"], texts,
                        tuple(told["touched"]),
                    )  # fmt: skip
                except (ValueError, KeyError, TypeError, OSError):
                    return

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
        """Cut off a last line that is not whole: it was never answered."""
        if not self.file.is_file():
            return
        data = self.file.read_bytes()
        whole = data.rfind(b"\n") + 1
        if whole < len(data):
            with self.file.open("r+b") as stream:
                stream.truncate(whole)

    def _line(self, told: Mapping[str, object]) -> None:
        with self.file.open("a", encoding="utf-8") as stream:
            stream.write(json.dumps(told, ensure_ascii=False) + "\n")
            stream.flush()
            os.fsync(stream.fileno())

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
        return {"kept": name}

    def _text(self, told: object) -> str | None:
        if isinstance(told, dict):
            name = str(told["kept"])
            if not name.isalnum():
                raise ValueError(name)
            return (self.home / _KEPT / name).read_text(encoding="utf-8")
        return None if told is None else str(told)
