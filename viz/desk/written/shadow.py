"""The files of a site as its document has them now, in a folder of their own to be read from.

What the person's own files hold is written only when a change is done and the hand rests; until
then the reader finds the newest texts here, and every other file as it lies in the site's folder.
What the crew keeps in the folder above for all its sites stands above the copy too.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator, Mapping
from pathlib import Path

from grading.crew.model import FILE as CREW
from grading.crew.past_jobs import HOURS_FILE
from viz.desk.written.journal import FOLDER


class Shadow:
    """A copy of a site's folder, kept up with its document.

    Parameters
    ----------
    folder : Path
        Of the site.
    scratch : Path
        An empty folder; the copy is made inside it.

    Attributes
    ----------
    home : Path
        The folder of the copy.
    """

    def __init__(self, folder: Path, scratch: Path) -> None:
        self.folder, self.home = folder, scratch / "site"
        self.home.mkdir()
        self._texts: dict[str, str] = {}
        self._lying: dict[Path, tuple[int, int]] = {}

    def hold(self, texts: Mapping[str, str]) -> None:
        """Let the copy hold these texts, and every other file of the folder as it lies there."""
        for name, text in texts.items():
            if self._texts.get(name) != text:
                (self.home / name).write_text(text, encoding="utf-8", newline="\n")
        for name in self._texts:
            if name not in texts:
                (self.home / name).unlink(missing_ok=True)
        self._texts = dict(texts)
        for entry in os.scandir(self.folder):
            if entry.name not in texts and entry.name != FOLDER and entry.is_file():
                self._take(entry, self.home)
        for entry in self._shared():
            self._take(entry, self.home.parent)

    def _shared(self) -> Iterator[os.DirEntry[str]]:
        """Yield what the folder above holds for all its sites, and what its crew.toml names."""
        above = self.folder.resolve().parent
        try:
            crew = above / CREW
            named = crew.read_text(encoding="utf-8", errors="replace") if crew.is_file() else ""
            for entry in os.scandir(above):
                shared = entry.name in (CREW, HOURS_FILE) or entry.name in named
                if shared and entry.is_file():
                    yield entry
        except OSError:
            return  # a folder above that cannot be entered holds no file

    def _take(self, entry: os.DirEntry[str], to: Path) -> None:
        file, status = Path(entry.path), entry.stat()
        mark = (status.st_mtime_ns, status.st_size)
        if self._lying.get(file) == mark:
            return
        self._lying[file] = mark
        copy = to / file.name
        copy.unlink(missing_ok=True)
        if to == self.home:
            try:
                copy.symlink_to(file.resolve())
                return
            except OSError:
                pass  # a machine on which links are not everybody's
        # What crew.toml names has to lie beside it, and not elsewhere by a link.
        shutil.copy2(file, copy)
