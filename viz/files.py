"""Writing into a folder that a person named: all or nothing, and only over what is the site's own.

A folder remembers whose its files are, in `MARK`. Files are made beside it first and moved in when
all are there. A run that is ended from outside meanwhile leaves a note, `NOTE`, as long as files of
two runs stand side by side; the next run into the folder ends what was begun.
"""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Protocol

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.whole import to_the_disk
from viz.file_names import slug
from viz.scratch import HELD, held_folder, left_folders, take_away

MARK = ".fallaway.json"
"""Whose the files of a folder are, and which they are."""

NOTE = "UNFINISHED.txt"

_NOTED = (
    "The files in this folder are not all of one run of fallaway: it was ended before the last of "
    "them were in place. Run fallaway on this site again, with this folder: it ends what was "
    "begun, and takes this note away.\n"
)
_STAGE = ".fallaway-"
_READY = "ready.json"
_NAMED = 3  # files of others that a message names


class Owned(Protocol):
    """What a folder of files asks of a site: its name, and where it stands, if in a folder."""

    @property
    def name(self) -> str:
        """The name of the site."""

    @property
    def folder(self) -> Path | None:
        """Where it was read from."""


class Owner(Struct, frozen=True):
    """Whose the files of a folder are.

    site : the name of the site.
    place : the way from the folder to that of the site, so that both can be moved together; empty
        for a site that stands in none.
    files : names of the files, with the folders that they are in, that were written for it.
    """

    site: str
    place: str
    files: frozenset[str] = frozenset()

    @classmethod
    def of(cls, site: Owned, folder: Path) -> Owner:
        """Return the owner of what is written for a site into a folder."""
        if site.folder is None:
            return cls(site.name, "")
        here, there = folder.resolve(), site.folder.resolve()
        try:
            return cls(site.name, os.path.relpath(there, here))
        except ValueError:  # on another drive
            return cls(site.name, str(there))

    def is_at(self, folder: Path, other: Owner) -> bool:
        """Whether two owners of a folder are one site: it stands in one place, or was moved."""
        if not self.place or not other.place:
            return self.site == other.site
        own, there = ((folder / each.place).resolve() for each in (self, other))
        return own == there or (self.site == other.site and not (own / "site.toml").exists())

    def having(self, files: Sequence[Path]) -> Owner:
        """Return the owner of these files too."""
        return Owner(self.site, self.place, self.files | {each.as_posix() for each in files})

    def text(self) -> str:
        """Return what the folder keeps."""
        told = {"site": self.site, "place": self.place, "files": sorted(self.files)}
        return json.dumps(told, indent=1, ensure_ascii=False) + "\n"


def owner_of(folder: Path, name: str = MARK) -> Owner | None:
    """Return whose the files of a folder are, None where it does not say."""
    try:
        told = json.loads((folder / name).read_text(encoding="utf-8"))
        return Owner(str(told["site"]), str(told["place"]), frozenset(map(str, told["files"])))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def check_owner(folder: Path, site: Owned) -> None:
    """Refuse a folder that holds the files of another site.

    Parameters
    ----------
    folder : Path
        It need not be there.
    site : Owned

    Raises
    ------
    SiteError
        Says whose it is, and how to go on.
    """
    there, own = owner_of(folder), Owner.of(site, folder)
    if there is None or there.is_at(folder, own):
        return

    at = f" ({(folder / there.place).resolve()})" if there.place else ""
    other = folder / slug(site.name, "site")
    raise SiteError(
        [
            Problem(
                f"--out {folder}",
                f'files of another site, "{there.site}"{at}',
                f'a folder of its own for "{site.name}"',
                f'Write "--out {other}"; or move what is in {folder} away first, {MARK} too.',
            )
        ]
    )


def write_with(folder: Path, make: Callable[[Path], object], site: Owned) -> list[Path]:
    """Have files made, move them into a folder, and return them.

    Parameters
    ----------
    folder : Path
        Made where it is not there; files of earlier runs on the same site are replaced.
    make : callable
        Writes into the empty folder that it is given.
    site : Owned
        Whose the files are.

    Raises
    ------
    SiteError
        The folder cannot be written, or holds what is not this site's.

    Notes
    -----
    All is made beside the folder first and moved in at the end, so that a run that is stopped
    leaves nothing half written.
    """
    new = [each for each in (folder, *folder.parents) if not os.path.lexists(each)]
    try:
        folder.mkdir(parents=True, exist_ok=True)
        _end_what_was_begun(folder)
        check_owner(folder, site)
        with held_folder(folder, _STAGE) as stage:
            made = stage / "new"
            made.mkdir()
            make(made)
            return _moved(stage, made, folder, Owner.of(site, folder))
    except OSError as error:
        raise _not_written(folder, error) from error
    finally:
        # What this run made and left empty goes again; a folder with files in it stays.
        with suppress(OSError):
            for each in new:
                each.rmdir()


def _moved(stage: Path, made: Path, folder: Path, own: Owner) -> list[Path]:
    """Move what was made into a folder, all of it or nothing, and return the files."""
    files = _files(made)
    before = owner_of(folder)
    known = before.files if before else frozenset()
    problems = [problem for file in files for problem in _in_the_way(folder, file)]
    others = [
        file for file in files
        if os.path.lexists(folder / file) and file.as_posix() not in known
    ]  # fmt: skip
    if others and not problems:
        problems.append(_not_ours(folder, others))
    if problems:
        raise SiteError(list(dict.fromkeys(problems)))
    owner = Owner(own.site, own.place, known).having(files)
    # A name may be on the disk before what it names is: a power cut would leave files of nothing.
    for file in files:
        _to_the_disk(made / file)
    for place in (made, *(each for each in made.rglob("*") if each.is_dir())):
        to_the_disk(place)
    # From here on a run that is ended is taken up by the next: nothing is left to be made.
    _put(stage, NOTE, _NOTED)
    _put(stage, _READY, owner.text())
    os.replace(stage / NOTE, folder / NOTE)
    to_the_disk(folder)
    _settle(stage, made, folder, files)
    return [folder / file for file in files]


def _settle(stage: Path, made: Path, folder: Path, files: Sequence[Path]) -> None:
    """Move the files of a stage that is ready into a folder, then say whose they are."""
    for file in files:
        (folder / file).parent.mkdir(parents=True, exist_ok=True)
        os.replace(made / file, folder / file)
    for place in {(folder / file).parent for file in files}:
        to_the_disk(place)
    os.replace(stage / _READY, folder / MARK)
    to_the_disk(folder)
    (folder / NOTE).unlink(missing_ok=True)


def tidied(folder: Path) -> None:
    """End what a run had begun in a folder that was ended from outside, and leave nothing of it.

    For a folder into which no other run writes now.

    Raises
    ------
    OSError
        It cannot be written.
    """
    _end_what_was_begun(folder)
    for stage in left_folders(folder, _STAGE):
        take_away(stage)
    # A run may be ended while it takes its own away, when nothing says any more that it was held.
    for stage in folder.glob(f"{_STAGE}*"):
        if stage.is_dir() and not stage.is_symlink() and not (stage / HELD).exists():
            shutil.rmtree(stage, ignore_errors=True)


def _end_what_was_begun(folder: Path) -> None:
    """Move in what a run had ready that was ended from outside; the rest of it is thrown away."""
    for stage in left_folders(folder, _STAGE):
        if owner_of(stage, _READY) is not None:
            _settle(stage, stage / "new", folder, _files(stage / "new"))
    # A run that was ended at its last step left the note beside files that are all in place.
    (folder / NOTE).unlink(missing_ok=True)


def _files(made: Path) -> list[Path]:
    return [file.relative_to(made) for file in sorted(made.rglob("*")) if file.is_file()]


def _put(stage: Path, name: str, text: str) -> None:
    """Write a file of a stage so that it is there whole or not at all."""
    new = stage / f"{name}-new"
    new.write_text(text, encoding="utf-8")
    _to_the_disk(new)
    os.replace(new, stage / name)
    to_the_disk(stage)


def _to_the_disk(file: Path) -> None:
    """Have what a file holds written down."""
    with file.open("rb+") as stream:
        os.fsync(stream.fileno())


def _not_ours(folder: Path, files: Sequence[Path]) -> Problem:
    named = ", ".join(str(each) for each in files[:_NAMED])
    more = f" and {len(files) - _NAMED} more" if len(files) > _NAMED else ""
    return Problem(
        f"--out {folder}",
        f"{named}{more}, not known to be of this site",
        "a folder in which nothing else is replaced",
        "Move it away, or name another folder.",
    )


def _in_the_way(folder: Path, file: Path) -> Iterator[Problem]:
    mend = "Move it away, or name another folder."
    if (folder / file).is_dir():
        yield Problem(f"--out {folder}", f"a folder named {file}", "room for a file", mend)
    for parent in list(file.parents)[:-1]:
        if (folder / parent).exists() and not (folder / parent).is_dir():
            yield Problem(f"--out {folder}", f"a file named {parent}", "room for a folder", mend)


def _not_written(folder: Path, error: OSError) -> SiteError:
    found = (error.strerror or str(error)).lower()
    mend = "Name another folder, or make room in this one."
    there = next(each for each in (folder, *folder.parents, Path("/")) if os.path.lexists(each))
    if not there.is_dir():
        found = "a file of that name" if there == folder else f"{there}, which is a file"
        mend = "Name a folder that is not there yet, or is one."
    elif isinstance(error, FileNotFoundError | PermissionError) and there != folder:
        found = f"{there}, where no folder can be made ({found})"
        mend = "Name a folder elsewhere."
    return SiteError([Problem(f"--out {folder}", found, "a folder that can be written", mend)])
