"""Jobs done in a process of its own, which ends with this one, and is ended where it stalls.

VTK ends the whole process where there is no OpenGL. What the child has drawn lies in a folder as it
comes, so that it is kept whatever becomes of the rest. One child does every job of a run, one after
the other: loading VTK and setting up a driver takes as long as drawing a still.
"""

from __future__ import annotations

import atexit
import errno
import json
import os
import pickle
import queue
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from threading import Lock, Thread
from typing import BinaryIO

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from viz.own_process import Progress, command, environment, used_by
from viz.pictures.job import DONE, Job
from viz.scratch import scratch_folder

LIMIT = 300.0
"""What a child may take for one piece of its work, and may do nothing for. [s]"""

_LOOK = 0.5  # s between two looks at a child
_SAID = 65536  # bytes of what a child says last that are kept


class ChildFailed(RuntimeError):
    """The child stopped with a message of its own: a fault in the program."""


class Outcome(Struct, frozen=True):
    """What became of a job.

    pieces : by number, what it made on the way.
    stalled : whether it was ended because it came no further.
    """

    pieces: dict[int, NDArray[np.uint8]]
    stalled: bool = False


TELL: list[Callable[[int, int], None]] = []
"""Whom it is told, while a child is at work, how many pieces are made and of how many."""

CHILDREN: set[subprocess.Popen[bytes]] = set()
"""Those at work."""


def done(job: Job) -> Outcome:
    """Do a job in a child, and return what became of it.

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
        while True:
            child = _taken()
            try:
                came = child.do(folder, len(job.stills))
            except BaseException:
                child.end()
                raise
            if came:
                _put_back(child)
                return Outcome(_pieces(folder))
            code, said = child.end()
            if came is None:
                return Outcome(_pieces(folder), stalled=True)
            # One that had waited long enough, and ended as it was given this, has not begun it.
            if code != 0:
                break
        if code < 0 or code > 2:
            return Outcome(_pieces(folder))
        if os.strerror(errno.ENOSPC) in said:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        raise ChildFailed(said or f"the child ended with {code}")


def _pieces(folder: Path) -> dict[int, NDArray[np.uint8]]:
    return {int(file.stem): np.load(file) for file in sorted((folder / "pieces").glob("*.npy"))}


class _Child:
    """A child that waits for jobs, and what it was started with.

    Raises
    ------
    OSError
        It cannot be started.
    """

    def __init__(self) -> None:
        self.of, self._with = os.getpid(), _surroundings()
        # That its standard input is closed tells the child that we are gone.
        self._process = subprocess.Popen(
            command("viz.pictures.render_worker"), env=environment(),
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
        )  # fmt: skip
        stdin, out, error = self._process.stdin, self._process.stdout, self._process.stderr
        assert stdin is not None
        assert out is not None
        assert error is not None
        self._stdin = stdin
        self._answers: queue.SimpleQueue[bytes] = queue.SimpleQueue()
        self._said = bytearray()
        self._listening = [
            Thread(target=self._listen, args=(out,), daemon=True),
            Thread(target=self._hear, args=(error,), daemon=True),
        ]
        for each in self._listening:
            each.start()

    def _listen(self, out: BinaryIO) -> None:
        with out:
            for line in out:
                if line == DONE:
                    self._answers.put(line)
        # Nobody asks it after this any more.
        self._answers.put(b"")

    def _hear(self, error: BinaryIO) -> None:
        with error:
            for line in error:
                self._said += line
                del self._said[:-_SAID]

    def fits(self) -> bool:
        """Whether it is there, and is what would be started now."""
        return self._process.poll() is None and self._with == _surroundings()

    def do(self, folder: Path, many: int) -> bool | None:
        """Have it do the job of so many pieces in a folder.

        Return whether it did, None where it came no further.
        """
        with suppress(OSError):  # it is gone, as its answer will say
            self._stdin.write(json.dumps(str(folder)).encode() + b"\n")
            self._stdin.flush()
        CHILDREN.add(self._process)
        pieces, process = folder / "pieces", self._process.pid

        def made() -> int:
            return len(list(pieces.glob("*.npy")))

        progress = Progress(made, lambda: used_by(process), LIMIT)
        try:
            while True:
                try:
                    return bool(self._answers.get(timeout=_LOOK))
                except queue.Empty:
                    for tell in TELL:
                        tell(made(), many)
                    if progress.stalled():
                        return None
        finally:
            CHILDREN.discard(self._process)

    def end(self) -> tuple[int, str]:
        """End it; return how it ended, and what it said last."""
        with suppress(OSError):
            self._stdin.close()
        if not self._listening[0].is_alive():
            # It closed its standard output: it is ending by itself.
            with suppress(subprocess.TimeoutExpired):
                self._process.wait(timeout=_LOOK)
        self._process.kill()
        code = self._process.wait()
        for each in self._listening:
            each.join()
        return code, self._said.decode("utf-8", "replace").strip()


def _surroundings() -> tuple[object, ...]:
    """Return all that a child is started with: another surrounding asks for another child."""
    return dict(os.environ), tuple(sys.path)


_waiting: list[_Child] = []
_lock = Lock()


def _taken() -> _Child:
    """Return a child that waits for a job, a new one where none does."""
    with _lock:
        found = _ours()
    for child in found:
        if child.fits():
            return child
        child.end()
    return _Child()


def _ours() -> list[_Child]:
    """Take out those that wait; another process's, which a fork leaves here, are not ours."""
    found = [each for each in _waiting if each.of == os.getpid()]
    _waiting.clear()
    return found


def _put_back(child: _Child) -> None:
    """Let a child wait for the next job; one is enough."""
    with _lock:
        kept = not _waiting
        if kept:
            _waiting.append(child)
    if not kept:
        child.end()


@atexit.register
def end_waiting() -> None:
    """End the child that waits for a job, if one does."""
    with _lock:
        left = _ours()
    for child in left:
        child.end()
