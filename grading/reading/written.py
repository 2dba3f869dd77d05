"""A site file as it was written: its tables read, and all that is wrong in them gathered."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from functools import partial
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Any, TypeVar

from grading.errors import SiteError, unread
from grading.files.csv_points import PointList, not_read, read_points
from grading.files.tables import Tables
from grading.files.toml_text import nearest, shown_value
from grading.kept import Kept, fingerprint
from grading.signs import shortened
from grading.units import Unit

FILE = "site.toml"

R = TypeVar("R")


_KEPT = Kept(most=4)
_LARGE = 8_000_000  # own: bytes; what is larger comes from a scan, and is read again and let go


def read_once(path: Path, how: tuple[Hashable, ...], read: Callable[[], R]) -> R:
    """Return what reading a file gives, or what it gave where the same was read last.

    Parameters
    ----------
    path : Path
    how : tuple
        All that is told of the reading beside what the file holds.
    read : callable

    Raises
    ------
    OSError
        The file cannot be read.

    Notes
    -----
    A page reads its site at every touch, and its survey changes seldom. It is told by what it
    holds: two changes within one tick of the clock are two.
    """
    if path.stat().st_size > _LARGE:
        return read()
    return _KEPT.once("file", (how, fingerprint(path.read_bytes())), read)


class Written(Tables):
    """What was written in one site file, and what was found wrong so far.

    Parameters
    ----------
    folder : Path
        The folder that it is in.
    written : dict
        The file as toml has it.
    """

    def __init__(self, folder: Path, written: dict[str, Any]) -> None:
        # Where the unit itself is wrong, the rest is read on so that its faults are told too.
        unit: Unit = "m" if written.get("unit") == "m" else "ft"
        super().__init__(FILE, written, unit, unit)
        self.folder = folder
        self.passed_over: list[str] = []
        """A sentence for each file with columns that are not read."""

    def named(self, key: str, name: str) -> dict[str, str]:
        """Return a key that each table of a list has as text, also of those not read."""
        raw = self.written.get(key)
        return {
            f"{key}[{place}].{name}": " ".join(entry[name].split())
            for place, entry in enumerate(raw if isinstance(raw, list) else [], start=1)
            if isinstance(entry, dict) and isinstance(entry.get(name), str) and entry[name].split()
        }

    def check_known(self, names: Mapping[str, str], what: str, known: Iterable[str]) -> None:
        """Note each name, by its key, that is none of those known."""
        known = list(dict.fromkeys(known))
        for key, name in names.items():
            if name not in known:
                listed = f"{what}: {', '.join(map(shown_value, known))}" if known else what
                self.wrong(key, shown_value(name), listed, nearest(name, known))

    def points(
        self, name: str, key: str, numbers: Sequence[str], texts: Sequence[str] = ()
    ) -> PointList | None:
        """Return the points of a file that the site names under a key, or None."""
        path = self.inside(name, key)
        if path is None:
            return None
        made = partial(read_points, path, name, self.unit, numbers, texts)
        how = name, self.unit, tuple(numbers), tuple(texts)
        points = self.file(name, lambda: read_once(path, how, made))
        if points is not None and points.unread:
            self.passed_over.append(not_read(points, name, texts))
        return points

    def file(self, name: str, reads: Callable[[], R]) -> R | None:
        """Return what reading a file gives, or None where that went wrong, which is noted."""
        try:
            return reads()
        except SiteError as error:
            self.problems += error.problems
        except OSError as error:
            self.problems.append(unread(name, error))
        return None

    def inside(self, name: str, key: str) -> Path | None:
        """Return the path of a file inside the folder, or None where it leaves it or is none."""
        windows, posix = PureWindowsPath(name), PurePosixPath(name)
        leaves = windows.drive or windows.root or posix.is_absolute() or ".." in windows.parts
        home = self.folder.resolve()
        try:
            path = (home / name).resolve()
            leaves = leaves or not path.is_relative_to(home)
            there = not leaves and path.is_file()
        except (OSError, ValueError, RuntimeError):
            there = False
        if leaves:
            mend = "Copy the file into the folder, and write its name alone."
            self.wrong(
                key,
                f'"{shortened(name)}", which leaves the folder',
                "a file inside the folder",
                mend,
            )
            return None
        if not there:
            files = sorted(entry.name for entry in home.iterdir() if entry.is_file())
            mend = nearest(name, [entry for entry in files if entry != FILE])
            mend = mend or "Put the file there, or write the name of the one that is."
            self.wrong(
                key, f'"{shortened(name)}", which is not there', "a file in the folder", mend
            )
            return None
        return path
