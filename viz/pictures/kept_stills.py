"""Stills kept from one run to the next, each by a hash of all that it is drawn from.

They lie in the user's folder for caches, or where `FALLAWAY_CACHE` says; where that is set and
empty nothing is kept. The folder may be deleted at any time. A still that cannot be read or written
there is drawn as if none were kept.
"""

from __future__ import annotations

import os
import re
import tempfile
from contextlib import suppress
from functools import cache
from hashlib import sha256
from importlib.metadata import PackageNotFoundError, version
from importlib.resources import files
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

if TYPE_CHECKING:
    from viz.pictures.job import Job, Still
    from viz.scene.parts import Part

MOST = 64_000_000
"""What all that is kept may take; what was asked for the longest ago goes first. [bytes]"""

_NAME = re.compile(r"[0-9a-f]{64}\.png")
_NEW = ".new-"
_DRAWN_BY = ("drawing_room.py", "render_worker.py", "lights.py", "camera.py")


def folder() -> Path | None:
    """Return where stills are kept, None where none are."""
    said = os.environ.get("FALLAWAY_CACHE")
    if said is not None:
        return Path(said) / "stills" if said else None
    from platformdirs import user_cache_path

    return user_cache_path("fallaway", appauthor=False) / "stills"


def key_of(still: Still, job: Job) -> str:
    """Return the hash of all that a still of a job is drawn from, and of what draws it.

    Parameters
    ----------
    still : (parts, eye, size)
    job : Job
    """
    parts, eye, size = still
    told = sha256(_drawing())
    told.update(repr((job.background, job.smoother, job.samples, size)).encode())
    for vector in (eye.position, eye.target, eye.up):
        told.update(np.asarray(vector, np.float64).tobytes())
    for part in parts:
        told.update(_part(part))
    return told.hexdigest()


def _part(part: Part) -> bytes:
    points, cells = np.asarray(part.points, np.float32), np.asarray(part.cells, np.int64)
    clip = None
    if part.clip is not None:
        direction, low, high = part.clip
        clip = [float(each) for each in (*direction, low, high)]
    look = (part.colour, float(part.width), bool(part.cap), clip, points.shape, cells.shape)
    return repr(look).encode() + points.tobytes() + cells.tobytes()


@cache
def _drawing() -> bytes:
    """Return what tells one way of drawing from another: our lines, and libraries by version."""
    told = sha256()
    for name in _DRAWN_BY:
        told.update(files("viz.pictures").joinpath(name).read_bytes())
    for library in ("vtk", "pyvista"):
        with suppress(PackageNotFoundError):
            told.update(version(library).encode())
    return told.digest()


def found(key: str, size: tuple[int, int]) -> NDArray[np.uint8] | None:
    """Return a still that is kept, (height, width, 3); None where it is not.

    Parameters
    ----------
    key : str
    size : (int, int)
        Width and height. [pixels]
    """
    home = folder()
    if home is None:
        return None
    file = home / f"{key}.png"
    if not file.is_file():
        return None
    from PIL import Image

    try:
        with Image.open(file, formats=("PNG",)) as image:
            if image.mode != "RGB" or image.size != size:
                return None
            still = np.asarray(image)
    except (OSError, ValueError, SyntaxError):  # what Pillow raises of a file that is cut short
        return None
    with suppress(OSError):
        os.utime(file)
    return still


def keep(key: str, still: NDArray[np.uint8]) -> None:
    """Keep a still; another process that keeps the same one writes the same file.

    Parameters
    ----------
    key : str
    still : (height, width, 3) uint8
    """
    home = folder()
    if home is None:
        return
    from PIL import Image

    new = None
    try:
        home.mkdir(mode=0o700, parents=True, exist_ok=True)
        handle, new = tempfile.mkstemp(prefix=_NEW, dir=home)
        with os.fdopen(handle, "wb") as written:
            Image.fromarray(still).save(written, "PNG", compress_level=1)
        # Under its name it is there whole or not at all.
        os.replace(new, home / f"{key}.png")
        _bounded(home)
    except OSError:
        if new is not None:
            with suppress(OSError):
                os.unlink(new)


def _bounded(home: Path) -> None:
    """Take away what was asked for the longest ago, until the rest is no more than `MOST`."""
    kept = []
    for file in home.iterdir():
        if _NAME.fullmatch(file.name) or file.name.startswith(_NEW):
            with suppress(OSError):
                told = file.stat()
                kept.append((told.st_mtime_ns, file.name, told.st_size))
    left = sum(each for *_, each in kept)
    for _, name, weight in sorted(kept):
        if left <= MOST:
            return
        with suppress(OSError):
            (home / name).unlink()
        left -= weight
