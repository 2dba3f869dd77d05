"""Files written whole or not at all: in the place of an old one, or where none is."""

from __future__ import annotations

import glob
import os
import tempfile
import time
from contextlib import suppress
from pathlib import Path

from grading.errors import Problem, SiteError

_ENDING = ".part"
"""Of a file in the making: none that a site is read from ends so."""

_AT_WORK = 10.0
"""So old is what was left: between its making and its move a file is not locked. [s]"""


def replace_file(file: Path, data: bytes) -> None:
    """Put new bytes in the place of a file in one move, with its rights.

    Raises
    ------
    SiteError
        It cannot be written; it is then as it was.
    """
    made = None
    try:
        made = _beside(file, data)
        os.chmod(made, file.stat().st_mode & 0o7777)
        os.replace(made, file)
        to_the_disk(file.parent)
    except OSError as error:
        _forget(made)
        raise _unwritten(file, error) from error


def new_file(file: Path, data: bytes) -> None:
    """Write a file where there is none, all of it or nothing.

    Raises
    ------
    SiteError
        There is one, whoever wrote it and when; or it cannot be written.
    """
    made = None
    try:
        made = _beside(file, data)
        os.chmod(made, 0o666 & ~_masked())
        try:
            os.link(made, file)  # unlike a rename it fails where something is
        except FileExistsError:
            raise
        except OSError:  # a disk without links
            os.close(os.open(file, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            os.replace(made, file)
            made = None
        to_the_disk(file.parent)
    except OSError as error:
        if isinstance(error, FileExistsError):
            found = "a file that is there already"
            problem = Problem(str(file), found, "a name that is free", "Move it away.")
            raise SiteError([problem]) from error
        raise _unwritten(file, error) from error
    finally:
        _forget(made)


def kept_once(file: Path, data: bytes) -> None:
    """Write a file where there is none, all of it or nothing; what is there already stays.

    Raises
    ------
    OSError
        It cannot be written.
    """
    made = _beside(file, data)
    try:
        with suppress(FileExistsError):
            os.link(made, file)
        to_the_disk(file.parent)
    finally:
        _forget(made)


def to_the_disk(folder: Path) -> None:
    """Have the names in a folder written down, so that a power cut does not undo them.

    Notes
    -----
    What a file holds is written down by itself. Where a system knows no such thing for folders,
    as Windows does not, it writes names in the order in which they were given.
    """
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _beside(file: Path, data: bytes) -> str:
    """Return the name of a temporary file in the same folder that holds the bytes."""
    _forget_left(file)
    handle, made = tempfile.mkstemp(prefix=_prefix(file), suffix=_ENDING, dir=file.parent)
    try:
        with os.fdopen(handle, "wb") as stream:
            _locked(stream.fileno())
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except BaseException:
        _forget(made)
        raise
    return made


def _prefix(file: Path) -> str:
    return f".{file.stem[:40]}-"


def _forget_left(file: Path) -> None:
    """Take away what a writer of this file left that was ended from outside."""
    for left in file.parent.glob(f"{glob.escape(_prefix(file))}*{_ENDING}"):
        with suppress(OSError):
            handle = os.open(left, os.O_RDWR)
            try:
                is_left = _locked(handle) and time.time() - os.fstat(handle).st_mtime > _AT_WORK
            finally:
                os.close(handle)
            if is_left:
                os.unlink(left)


def _locked(handle: int) -> bool:
    """Lock an open file as long as it is open; return whether nobody else has it."""
    try:
        import fcntl

        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except ImportError:  # a system without: there the age alone tells
        return True
    except OSError:
        return False
    return True


def _masked() -> int:
    """Return the rights that this process takes off what it makes."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask


def _forget(made: str | None) -> None:
    if made is not None:
        with suppress(OSError):
            os.unlink(made)


def _unwritten(file: Path, error: OSError) -> SiteError:
    found = (error.strerror or str(error)).lower()
    mend = "Give it rights to be written, or make room."
    return SiteError([Problem(str(file), found, "a file that can be written", mend)])
