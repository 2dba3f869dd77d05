"""Folders for what is made on the way and thrown away."""

from __future__ import annotations

import os
import shutil
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO, cast

from grading.errors import Problem, SiteError

HELD = ".held"
"""The file by whose lock a folder is known to be at work: the lock ends with its process."""

_BEGUN = 60.0
"""So old is a folder that was begun and is not held yet, that nobody is about to. [s]"""


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """Give a temporary folder that is gone at the end, whatever happens.

    What a run left that was ended from outside goes with the next.

    Raises
    ------
    SiteError
        It cannot be written: what is written inside this context lies there alone, so that a
        full disk is told of the right place.
    """
    folder = None
    try:
        with held_folder(Path(tempfile.gettempdir()), "fallaway-") as folder:
            yield folder
    except OSError as error:
        raise no_room(error, folder) from error


@contextmanager
def held_folder(parent: Path, prefix: str) -> Iterator[Path]:
    """Give a folder in another one, known to be at work until the end, when it is gone.

    Parameters
    ----------
    parent : Path
    prefix : str
        What its name begins with. Folders of that prefix that nobody holds are taken away first.
    """
    for left in left_folders(parent, prefix):
        take_away(left)
    folder = Path(tempfile.mkdtemp(prefix=prefix, dir=parent))
    lock = None
    try:
        # Locked before it goes by its name: no one else ever sees it free.
        made = folder / f"{HELD}-new"
        lock = _locked(made, "wb")
        made.replace(folder / HELD)
        yield folder
    finally:
        if lock is not None:
            lock.close()
        take_away(folder)


def take_away(folder: Path) -> None:
    """Remove a folder that was held, as far as that can be done.

    Last of all what says so: ended in the midst of it, the next run knows what is left for such.
    """
    with suppress(OSError):
        for each in folder.iterdir():
            if each.is_dir() and not each.is_symlink():
                shutil.rmtree(each, ignore_errors=True)
            elif each.name != HELD:
                with suppress(OSError):
                    each.unlink()
    shutil.rmtree(folder, ignore_errors=True)


def left_folders(parent: Path, prefix: str) -> Iterator[Path]:
    """Yield the folders that runs left that were ended from outside, each held meanwhile."""
    try:
        found = [each for each in parent.iterdir() if each.name.startswith(prefix)]
    except OSError:
        return
    for folder in sorted(found):
        if not _ours(folder):
            continue
        with suppress(OSError):
            if _never_held(folder):
                shutil.rmtree(folder, ignore_errors=True)
                continue
            lock = _locked(folder / HELD, "r+b")
            if lock is not None:
                with lock:
                    yield folder


def _never_held(folder: Path) -> bool:
    """Whether a run was ended between making a folder and holding it: nothing is in it yet.

    Those two steps take no time, so one that was begun a while ago is not at work.
    """
    names = {each.name for each in folder.iterdir()}
    begun = time.time() - folder.stat().st_mtime > _BEGUN
    return begun and names <= {f"{HELD}-new"}


def _ours(folder: Path) -> bool:
    """Whether a folder is one, and this person's own."""
    try:
        owner = folder.lstat().st_uid
        is_ours = not hasattr(os, "getuid") or owner == os.getuid()
        return is_ours and folder.is_dir() and not folder.is_symlink()
    except OSError:
        return False


def _locked(path: Path, mode: str) -> BinaryIO | None:
    """Return a file open and locked, None where another process has it locked.

    Where locks are not to be had, as on some drives of a network, a folder at work cannot be
    told from one that was left: none is taken for left.
    """
    file = cast(BinaryIO, open(path, mode))  # noqa: SIM115 - it is handed on, and held open
    try:
        try:
            import fcntl
        except ImportError:
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        if mode == "wb":
            return file
        file.close()
        return None
    return file


def no_room(error: OSError, folder: Path | None = None) -> SiteError:
    """Return what is said of a temporary folder at fault, None where none could be made."""
    where = f"the temporary folder {folder.parent}" if folder else "the temporary folder"
    found = (error.strerror or str(error)).lower()
    mend = "Make room in it, or set TMPDIR to another folder."
    return SiteError([Problem(where, found, "a folder that can be written", mend)])
