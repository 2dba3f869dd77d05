"""The state of a site that is open: its document, what can be taken back, and how it is saved."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from grading.errors import Problem, SiteError
from grading.files.whole import new_file, replace_file
from grading.reading.written import FILE
from viz.desk.written.document import Document, meet, read_document
from viz.desk.written.journal import FOLDER, Entry, Journal, Kind

MOST_BACK = 400
"""So many changes can be taken back."""

OUTSIDE = "what was changed outside this page"


class Revision(Struct, frozen=True, eq=False):
    """One state of the document, and what led to it.

    Attributes
    ----------
    number : int
    document : Document
    said : str
        The change that led to it.
    at : str
        When, as ISO 8601 has it.
    touched : tuple of str
        The ways that it wrote to.
    """

    number: int
    document: Document
    said: str
    at: str
    touched: tuple[str, ...] = ()


class State:
    """The document of a folder as it is now, with what led to it; one writer at a time.

    Parameters
    ----------
    folder : Path
        Of a site, with its site.toml.

    Raises
    ------
    SiteError
        A file cannot be read, or the folder cannot be written.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        try:
            self.journal = Journal(folder)
        except OSError as error:
            found = f"a folder that cannot be written ({error.strerror})"
            raise SiteError([Problem(str(folder), found, "one that can")]) from None
        self.read_only = not self._locked()
        self._back: list[Revision] = []  # states before the one now, the oldest first
        self._ahead: list[Revision] = []
        self._saved: Revision | None = None  # that the files held when the journal ended
        on_disk = read_document(folder)
        now = self._replayed()
        if now is None:
            self.now = Revision(1, on_disk, "as it was opened", _clock())
            self._note("began")
        else:
            self.now = now
            self._meet_disk(on_disk)
        self._on_disk = on_disk
        self.save()

    def _locked(self) -> bool:
        from filelock import FileLock, Timeout

        self._lock = FileLock(self.folder / FOLDER / "lock")
        try:
            self._lock.acquire(timeout=0)
        except Timeout:
            return False
        return True

    def _replayed(self) -> Revision | None:
        """Return the last state of the journal, and remember those before it."""
        now: Revision | None = None
        for entry in self.journal.entries():
            if entry.kind == "saved":
                self._saved = now
                continue
            before = Document({}) if now is None else now.document
            made = Revision(
                entry.revision, before.patched(entry.texts), entry.said, entry.at, entry.touched
            )
            if now is not None:
                self._step(entry.kind, now)
            now = made
        if not self.read_only:
            self.journal.trim()
        return now

    def _step(self, kind: Kind, now: Revision) -> None:
        match kind:
            case "undid" if self._back:
                self._back.pop()
                self._ahead.append(now)
            case "redid" if self._ahead:
                self._ahead.pop()
                self._back.append(now)
            case _:
                self._back = [*self._back, now][-MOST_BACK:]
                self._ahead = []

    def _meet_disk(self, on_disk: Document) -> None:
        """Take what stands in the files for a change of its own, where it is not what was saved."""
        if not self.now.document.unlike(on_disk):
            return
        behind = self._saved is not None and not self._saved.document.unlike(on_disk)
        if not behind:  # else the page was ended before it saved, and the files are older
            self._become("found", on_disk, OUTSIDE, ())

    @property
    def undoes(self) -> str | None:
        """What would be taken back, in words."""
        return self.now.said if self._back else None

    @property
    def redoes(self) -> str | None:
        """What would be made again, in words."""
        return self._ahead[-1].said if self._ahead else None

    def earlier(self) -> tuple[Revision, ...]:
        """Return the states before this one that can be brought back, the newest first."""
        return tuple(reversed(self._back))

    def change(self, document: Document, said: str, touched: Iterable[str]) -> None:
        """Make a document the one now.

        Parameters
        ----------
        document : Document
        said : str
            What was changed, in words.
        touched : iterable of str
            The ways that were written to.
        """
        self._become("did", document, said, tuple(touched))

    def undo(self) -> bool:
        """Take the last change back; return whether there was one."""
        if not self._back:
            return False
        self._turn("undid", self._back[-1])
        return True

    def redo(self) -> bool:
        """Make the change that was taken back last again; return whether there was one."""
        if not self._ahead:
            return False
        self._turn("redid", self._ahead[-1])
        return True

    def restore(self, number: int) -> bool:
        """Bring an earlier state back, as a change of its own; return whether there is one."""
        for each in (*self._back, *self._ahead):
            if each.number == number:
                self._become("did", each.document, f"brought back: {each.said}", ())
                return True
        return False

    def since(self, revision: int) -> tuple[str, ...]:
        """Return the ways that were written to after a revision; all, where it is not known."""
        later = [each for each in (*self._back, self.now) if each.number > revision]
        return tuple(way for each in later for way in each.touched)

    def clash(self, base: int, touched: Sequence[str]) -> str:
        """Return the way that was written to both since a revision and now; empty for none."""
        return "" if base >= self.now.number else meet(touched, self.since(base))

    def save(self) -> bool:
        """Write the document into its files, and return whether somebody else changed them.

        What somebody else wrote is kept as a change of its own, so both can be brought back.
        """
        if self.read_only:
            return False
        found = read_document(self.folder)
        if theirs := self._on_disk.unlike(found):
            self._become("found", self.now.document.patched(theirs), OUTSIDE, ())
        for name, text in found.unlike(self.now.document).items():
            self._put(name, text)
        self._on_disk = read_document(self.folder)
        if self.journal.saved != self.now.number:
            self.journal.wrote(self.now.number)
        return bool(theirs)

    def _put(self, name: str, text: str | None) -> None:
        file = self.folder / name
        if text is None:
            if name != FILE:
                file.unlink(missing_ok=True)
            return
        if not file.is_file():
            new_file(file, text.encode("utf-8"))
            return
        old = file.read_bytes()
        mark = b"\xef\xbb\xbf" if old.startswith(b"\xef\xbb\xbf") else b""
        line = "\r\n" if b"\r\n" in old else "\n"
        replace_file(file, mark + text.replace("\n", line).encode("utf-8"))

    def close(self) -> None:
        """Save, and let others write."""
        self.save()
        self._lock.release()

    def _turn(self, kind: Kind, to: Revision) -> None:
        now = self.now
        texts = now.document.unlike(to.document)
        touched = now.touched if kind == "undid" else to.touched
        made = replace(to, number=now.number + 1, touched=touched)
        self.journal.write(Entry(made.number, kind, to.said, _clock(), texts, touched))
        self._step(kind, now)
        self.now = made

    def _become(self, kind: Kind, document: Document, said: str, touched: tuple[str, ...]) -> None:
        texts = self.now.document.unlike(document)
        ways = touched or tuple(texts)
        made = Revision(self.now.number + 1, document, said, _clock(), ways)
        if not self.read_only:
            self.journal.write(Entry(made.number, kind, said, made.at, texts, ways))
        self._step(kind, self.now)
        self.now = made

    def _note(self, kind: Kind) -> None:
        now = self.now
        if not self.read_only:
            self.journal.write(
                Entry(now.number, kind, now.said, now.at, dict(now.document.texts), ())
            )


def _clock() -> str:
    return datetime.datetime.now().astimezone().isoformat(timespec="seconds")
