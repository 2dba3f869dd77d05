"""What is told of a fault of fallaway's own: one sentence, and a report for who mends it."""

from __future__ import annotations

import hashlib
import importlib.metadata
import os
import platform
import sys
import tempfile
import traceback
from collections.abc import Iterator, Sequence
from pathlib import Path

from viz.terminal.lines import HELD

LIBRARIES = (
    "numpy", "scipy", "shapely", "pythoncdt", "daqp", "pydantic", "tabulate", "XlsxWriter",
    "matplotlib", "trimesh", "pillow", "vtk", "aiohttp", "typst",
    "ezdxf",
)  # fmt: skip
"""What fallaway stands on, by the names that their distributions go by."""

MOST_SAID = 160
"""Characters of an error's own words that the sentence repeats; the report has all."""

MOST_FILES = 200
"""Files of a site that a report names."""


def told(error: BaseException, words: Sequence[str], site: Path | None, version: str) -> str:
    """Write the report of a fault and return the sentence that says where it lies.

    Parameters
    ----------
    error : exception
        What ended the command.
    words : sequence of str
        The words after `fallaway`.
    site : Path, optional
        The site that was worked on. Its files are named, with size and digest; what is in them
        stays where it is.
    version : str
        Of fallaway.
    """
    return reported(named(error), report(error, words, site, version))


def reported(name: str, text: str) -> str:
    """Write the report of a fault and return the sentence that says where it lies.

    Parameters
    ----------
    name, text : str
        What the fault is called, and its report.
    """
    what = f"fallaway stopped at a fault of its own ({name})"
    try:
        file = written(text)
    except OSError as none:
        return f"{what}, and its report could not be written ({none.strerror or none})."
    return f"{what}; its report, to send to who mends it, was written to {file}."


def report(error: BaseException, words: Sequence[str], site: Path | None, version: str) -> str:
    """Return the report of a fault, for who mends it; its parts are those of `told`."""
    return "\n".join(_report(error, words, site, version)) + "\n"


def named(error: BaseException) -> str:
    """Return the kind of an error and the last line of what it says, as one short line."""
    kind = type(error).__name__
    lines = str(error).strip().splitlines() or [""]
    said = " ".join("".join(c if c.isprintable() else " " for c in lines[-1]).split())
    said = said if len(said) <= MOST_SAID else said[: MOST_SAID - 1] + "…"
    return f"{kind}: {said}" if said else kind


def written(text: str) -> Path:
    """Write a report where temporary files go, or else in the folder that we are in.

    Raises
    ------
    OSError
        Neither can be written.
    """
    for folder in (None, os.curdir):
        try:
            handle, name = tempfile.mkstemp(".txt", "fallaway-fault-", folder, text=True)
        except OSError:
            if folder is not None:
                raise
            continue
        with open(handle, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write(text)
        return Path(name).absolute()
    raise AssertionError("the second folder either takes the file or raises")


def _report(
    error: BaseException, words: Sequence[str], site: Path | None, version: str
) -> Iterator[str]:
    yield "A fault of fallaway's own. Send this file, and the folder of the site if you may."
    yield ""
    yield f"command: fallaway {' '.join(map(repr, words))}"
    yield f"fallaway {version}"
    yield f"Python {platform.python_version()} ({sys.executable}) on {platform.platform()}"
    yield ", ".join(f"{name} {_version(name)}" for name in LIBRARIES)
    yield ""
    if site is None:
        yield "site: none"
    else:
        yield f"site: {_absolute(site)}"
        yield from _files(site)
    yield ""
    yield from HELD
    yield "".join(traceback.format_exception(error)).rstrip()


def _version(name: str) -> str:
    try:
        return importlib.metadata.version(name)
    except importlib.metadata.PackageNotFoundError:
        return "not installed"


def _absolute(path: Path) -> Path:
    try:
        return path.absolute()
    except OSError:  # the folder that we are in is gone
        return path


def _files(site: Path) -> Iterator[str]:
    folder = site if site.is_dir() else site.parent
    try:
        files = sorted(each for each in folder.iterdir() if each.suffix in (".toml", ".csv"))
    except OSError as error:
        yield f"  its folder cannot be read: {error}"
        return
    for file in files[:MOST_FILES]:
        try:
            with file.open("rb") as opened:
                digest = hashlib.file_digest(opened, "sha256").hexdigest()
            yield f"  {file.name}: {file.stat().st_size} bytes, sha256 {digest}"
        except OSError as error:
            yield f"  {file.name}: {error}"
