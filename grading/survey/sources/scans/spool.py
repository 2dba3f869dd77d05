"""The coordinates of a scan, kept once they were decoded: in memory while few, else on disk."""

from __future__ import annotations

import queue
import tempfile
import threading
from collections.abc import Generator, Iterator
from contextlib import suppress
from typing import IO, TypeVar

import numpy as np
from numpy.typing import NDArray

from grading.errors import Problem, SiteError

Points = NDArray[np.float32]
T = TypeVar("T")

IN_MEMORY = 12_000_000
"""Points kept in memory: 12 bytes each; those beyond go to a temporary file."""


class Spool:
    """Points (n, 3) about an origin, to the micrometre in a yard. [m]

    Decoding costs more than half of all work on a compressed scan, so it is done once.
    """

    def __init__(self) -> None:
        self.count = 0
        self._held: list[Points] = []
        self._file: IO[bytes] | None = None
        self._sizes: list[int] = []

    def add(self, points: Points) -> None:
        """Keep a chunk; raise SiteError where the disk takes no more."""
        if self.count + len(points) <= IN_MEMORY and self._file is None:
            self._held.append(points)
        else:
            try:
                self._file = self._file or tempfile.TemporaryFile()  # noqa: SIM115
                self._file.write(np.ascontiguousarray(points).data)
            except OSError as error:
                found = (error.strerror or str(error)).lower()
                where = f"the folder for temporary files, {tempfile.gettempdir()}"
                expected = f"room for {12 * (self.count + len(points)) / 1e6:.0f} MB"
                raise SiteError([Problem(where, found, expected, "Make room.")]) from error
            self._sizes.append(len(points))
        self.count += len(points)

    def chunks(self) -> Iterator[Points]:
        """Yield the chunks in the order in which they came."""
        yield from self._held
        if self._file is not None:
            self._file.flush()
            self._file.seek(0)
            for size in self._sizes:
                data = self._file.read(12 * size)
                yield np.frombuffer(data, np.float32).reshape(-1, 3)

    def close(self) -> None:
        """Let go of what was kept."""
        self._held.clear()
        if self._file is not None:
            self._file.close()


def ahead(items: Iterator[T]) -> Generator[T, None, None]:
    """Yield what an iterator yields, the next one made in a thread of its own meanwhile.

    What the iterator raises is raised here. Left early, the thread ends with the item in hand.
    """
    made: queue.Queue[tuple[str, T | BaseException | None]] = queue.Queue(maxsize=1)
    stopped = threading.Event()

    def put(kind: str, what: T | BaseException | None) -> None:
        while not stopped.is_set():
            with suppress(queue.Full):
                made.put((kind, what), timeout=0.1)
                return

    def run() -> None:
        try:
            for item in items:
                put("item", item)
                if stopped.is_set():
                    return
            put("end", None)
        # A panic of a library in another language is no Exception, and has to reach the caller.
        except BaseException as error:
            put("error", error)

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    try:
        while True:
            kind, what = made.get()
            if kind == "error":
                assert isinstance(what, BaseException)
                raise what
            if kind == "end":
                return
            yield what  # type: ignore[misc]
    finally:
        stopped.set()
        thread.join()
