"""Folders for what is made on the way and thrown away."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from grading.errors import Problem, SiteError


@contextmanager
def scratch_folder() -> Iterator[Path]:
    """Give a temporary folder that is gone at the end, whatever happens.

    Raises
    ------
    SiteError
        It cannot be written: what is written inside this context lies there alone, so that a
        full disk is told of the right place.
    """
    folder = None
    try:
        folder = Path(tempfile.mkdtemp(prefix="fallaway-"))
        yield folder
    except OSError as error:
        raise no_room(error, folder) from error
    finally:
        if folder is not None:
            shutil.rmtree(folder, ignore_errors=True)


def no_room(error: OSError, folder: Path | None = None) -> SiteError:
    """Return what is said of a temporary folder at fault, None where none could be made."""
    where = f"the temporary folder {folder.parent}" if folder else "the temporary folder"
    found = (error.strerror or str(error)).lower()
    mend = "Make room in it, or set TMPDIR to another folder."
    return SiteError([Problem(where, found, "a folder that can be written", mend)])
