"""A job done in a process of its own, which ends with this one, and is ended where it stalls.

VTK ends the whole process where there is no OpenGL. What the child has drawn lies in a folder as it
comes, so that it is kept whatever becomes of the rest.
"""

from __future__ import annotations

import errno
import os
import pickle
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from viz.pictures.render_worker import Job
from viz.scratch import scratch_folder

LIMIT = 300.0
"""What a child may take for one piece of its work, and may do nothing for. [s]

For a piece it is that long by the clock and that much of the processor too, where the system tells
it: a machine that is busy or slow is given the time that it needs.
"""

_LOOK = 0.5  # s between two looks at a child


class ChildFailed(RuntimeError):
    """The child stopped with a message of its own: a fault in the program."""


@dataclass(frozen=True)
class Outcome:
    """What became of a job.

    pieces : by number, what it made on the way.
    stalled : whether it was ended because it came no further.
    """

    pieces: dict[int, NDArray[np.uint8]]
    stalled: bool = False


CHILDREN: set[subprocess.Popen[bytes]] = set()
"""Those at work."""


def done(job: Job) -> Outcome:
    """Do a job in a child, as `viz.pictures.render_worker` knows it, and return what became of it.

    Raises
    ------
    ChildFailed
        The child stopped with a message of its own.
    OSError
        The disk is full.
    """
    with scratch_folder() as folder:
        (folder / "job").write_bytes(pickle.dumps(job))
        (folder / "pieces").mkdir()
        child, stdin = _started(folder)
        CHILDREN.add(child)
        try:
            came = _awaited(child, folder / "pieces")
        finally:
            CHILDREN.discard(child)
            child.kill()
            child.wait()
            os.close(stdin)
        pieces = {
            int(file.stem): np.load(file) for file in sorted((folder / "pieces").glob("*.npy"))
        }
        if not came:
            return Outcome(pieces, stalled=True)
        if child.returncode <= 0 or child.returncode > 2:
            return Outcome(pieces)
        said = (folder / "said").read_text(encoding="utf-8", errors="replace").strip()
        if os.strerror(errno.ENOSPC) in said:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        raise ChildFailed(said or f"the child ended with {child.returncode}")


def _started(folder: Path) -> tuple[subprocess.Popen[bytes], int]:
    """Return a child at the job in a folder, and the end of its standard input that we hold."""
    # It imports what we import, wherever it stands: -P keeps the current folder out. Libraries of
    # the viewer make a cache at home, which a service may not have.
    root = str(Path(__file__).resolve().parents[2])
    paths = [root, *(path for path in sys.path if path)]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(paths), "HOME": str(folder)}
    command = [sys.executable, "-P", "-m", "viz.pictures.render_worker", str(folder)]
    # Nothing is ever written to it: that its end is closed tells the child that we are gone.
    theirs, ours = os.pipe()
    try:
        with (folder / "said").open("wb") as said:
            child = subprocess.Popen(
                command, env=environment, stdin=theirs, stdout=subprocess.DEVNULL, stderr=said
            )
    except BaseException:
        os.close(ours)
        raise
    finally:
        os.close(theirs)
    return child, ours


def _awaited(child: subprocess.Popen[bytes], pieces: Path) -> bool:
    """Wait for the end of a child, and return whether it came by itself."""
    progress = Progress(lambda: len(list(pieces.glob("*.npy"))), lambda: used_by(child.pid))
    while True:
        try:
            child.wait(timeout=_LOOK)
        except subprocess.TimeoutExpired:
            if progress.stalled():
                return False
        else:
            return True


class Progress:
    """Whether work comes forward, by what is made of it and the processor time that it takes.

    Parameters
    ----------
    made : callable
        How many pieces there are.
    used : callable
        Processor time used until now, None where it is not known. [s]
    clock : callable
        The time. [s]
    """

    def __init__(
        self,
        made: Callable[[], int],
        used: Callable[[], float | None],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._made, self._used, self._clock = made, used, clock
        self._count, self._piece_at, self._piece_used = made(), clock(), used() or 0.0
        self._moved_at, self._moved_used = self._piece_at, self._piece_used

    def stalled(self) -> bool:
        """Whether nothing was done for `LIMIT`, or that much work brought no new piece."""
        count, used, now = self._made(), self._used(), self._clock()
        if count != self._count:
            self._count, self._piece_at, self._piece_used = count, now, used or 0.0
        if used is not None and used > self._moved_used:
            self._moved_at, self._moved_used = now, used
        late = now - self._piece_at > LIMIT
        if used is None:
            return late
        worked = used - self._piece_used > LIMIT
        return late and (worked or now - self._moved_at > LIMIT)


def used_by(process: int) -> float | None:
    """Return the processor time that a process has used, None where the system does not say. [s]"""
    try:
        told = Path(f"/proc/{process}/stat").read_text(encoding="ascii", errors="replace")
        # User and system time, the 14th and 15th of proc(5); a name in brackets may hold spaces.
        ticks = sum(map(int, told.rpartition(")")[2].split()[11:13]))
        return ticks / os.sysconf("SC_CLK_TCK")
    except (OSError, ValueError, AttributeError):
        return None
