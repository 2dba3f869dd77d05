"""The files of a site as its document has them now, in a folder of their own to be read from.

What the person's own files hold is written only when a change is done and the hand rests; until
then the reader finds the newest texts here, and every other file as it lies in the site's folder.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Mapping
from pathlib import Path

from viz.desk.journal import FOLDER


class Shadow:
    """A copy of a site's folder, kept up with its document.

    Parameters
    ----------
    folder : Path
        Of the site.
    home : Path
        An empty folder.
    """

    def __init__(self, folder: Path, home: Path) -> None:
        self.folder, self.home = folder, home
        self._texts: dict[str, str] = {}
        self._lying: dict[str, tuple[int, int]] = {}

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
            if entry.name in texts or entry.name == FOLDER or not entry.is_file():
                continue
            status = entry.stat()
            mark = (status.st_mtime_ns, status.st_size)
            if self._lying.get(entry.name) != mark:
                self._take(Path(entry.path))
                self._lying[entry.name] = mark

    def _take(self, file: Path) -> None:
        copy = self.home / file.name
        copy.unlink(missing_ok=True)
        try:
            copy.symlink_to(file.resolve())
        except OSError:  # a machine on which links are not everybody's
            shutil.copy2(file, copy)
