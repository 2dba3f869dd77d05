"""The folder that many yards are written into: a folder for each, and one table of this run.

A yard is written when it is planned, all of it or nothing, so that a run that was ended goes on
where it stood; what it was planned from stands beside it, by hash and version. One run writes into
a folder at a time.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from msgspec import Struct

from grading.errors import Problem, SiteError
from viz import VERSION
from viz.files import check_owner, owner_of, tidied, write_with
from viz.many.found import Found
from viz.many.frames import Answer, Given
from viz.tables.yards import Yard, write_yards
from viz.words.screen.yards import TABLE_NAME

SCHEMA = "fallaway/plans/1"

ROW = "row.json"
"""The row of a yard, in SI, and what it was planned from."""

LOCK = ".fallaway.lock"


class _Whose(Struct, frozen=True):
    """Whose files are in a folder, as `viz.files` asks it."""

    name: str
    folder: Path | None = None


_TABLE = _Whose(TABLE_NAME)


class Output:
    """A folder that this run alone writes into.

    Parameters
    ----------
    folder : Path
    papers : bool
        Whether the papers of every yard are written too.
    """

    def __init__(self, folder: Path, papers: bool) -> None:
        self.folder, self.papers = folder, papers

    def known(self, site: Found, given: Given) -> Yard | None:
        """Return the row of a yard that was planned before from the same, by the same version.

        None as well where one of its files is not as it was written.
        """
        place = self.folder / site.name
        try:
            if place.is_dir():
                tidied(place)
            kept = json.loads((place / ROW).read_text(encoding="utf-8"))
            same = (kept["version"], kept["input"]) == (VERSION, given.fingerprint)
            if not same or (self.papers and not kept["papers"]):
                return None
            for name, digest in kept["files"].items():
                if _digest((place / name).read_bytes()) != digest:
                    return None
            return Yard.of_plain(kept["row"])
        except (OSError, ValueError, KeyError, TypeError, AttributeError):
            return None

    def write(self, site: Found, given: Given, answer: Answer) -> None:
        """Write what a yard came to.

        Raises
        ------
        SiteError
            Its folder holds what is another's; or, by an OSError, it cannot be written.
        """
        told = {
            "schema": SCHEMA,
            "version": VERSION,
            "input": given.fingerprint,
            "papers": self.papers,
            "files": {name: _digest(data) for name, data in answer.files.items()},
            "row": answer.row,
        }
        row = json.dumps(told, indent=1, ensure_ascii=False, allow_nan=False) + "\n"

        def make(folder: Path) -> None:
            for name, data in {**answer.files, ROW: row.encode("utf-8")}.items():
                path = folder / name
                path.parent.mkdir(parents=True, exist_ok=True)
                path.write_bytes(data)

        write_with(self.folder / site.name, make, _Whose(answer.job, site.home))

    def write_table(self, yards: Sequence[Yard]) -> list[Path]:
        """Write the table of this run, and return its files."""
        return write_with(self.folder, lambda made: write_yards(yards, made), _TABLE)

    def left(self, planned: Iterable[str]) -> list[str]:
        """Return the folders that hold a yard of an earlier run, and none of this one."""
        now = set(planned)
        with suppress(OSError):
            return sorted(
                each.name for each in self.folder.iterdir()
                if each.name not in now and (each / ROW).is_file()
            )  # fmt: skip
        return []


@contextmanager
def output_at(folder: Path, papers: bool) -> Iterator[Output]:
    """Give the folder to write into, held until the end.

    Parameters
    ----------
    folder : Path
    papers : bool

    Raises
    ------
    SiteError
        It holds the files of a site, another run writes into it, or it cannot be written.
    """
    from filelock import FileLock, Timeout

    where = f"--out {folder}"
    new = [each for each in (folder, *folder.parents) if not each.exists()]
    owner = owner_of(folder)
    if owner is not None:
        check_owner(folder, _TABLE)
    lock = FileLock(folder / LOCK)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        # The system lets go of the lock of a run that is killed.
        lock.acquire(timeout=0)
    except Timeout:
        found = "another run of fallaway that is writing into it"
        mend = "Wait until it is done, or name another folder."
        raise SiteError([Problem(where, found, "one run at a time", mend)]) from None
    except OSError as error:
        found = (error.strerror or str(error)).lower()
        expected, mend = "a folder that can be written", "Name another folder."
        raise SiteError([Problem(where, found, expected, mend)]) from error
    try:
        yield Output(folder, papers)
    finally:
        with suppress(OSError):  # a folder in which nothing was written goes again
            if new and [each.name for each in folder.iterdir()] == [LOCK]:
                (folder / LOCK).unlink()
            for each in new:
                each.rmdir()
        lock.release()


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
