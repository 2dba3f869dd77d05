"""Jobs on their way to the worker of a site: what waits, and what something newer makes useless."""

from __future__ import annotations

import ctypes
import os
import sys
import threading
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from multiprocessing.connection import Connection
from typing import Any

from msgspec import Struct


class Job(Struct, frozen=True):
    """What the worker is asked.

    Attributes
    ----------
    kind : "look", "change", "glance", "see", "call", "drop" or "stop"
        Plan a document; plan one that was changed, unless what was written is refused; plan one
        while a finger still drags; look at the last otherwise; call a function by its name; say
        that it was dropped.
    number : int
        By which it is answered.
    revision : int
    texts : mapping or None
        The document.
    written : dict or None
        The site file as TOML has it, where it is not that of the texts.
    asked : mapping
        What the window looks at.
    touched : tuple of str
        The ways that were written to.
    name : str
        Of what is called.
    told : mapping
        With what.
    """

    kind: str
    number: int
    revision: int = 0
    texts: Mapping[str, str] | None = None
    written: dict[str, Any] | None = None
    asked: Mapping[str, Any] | None = None
    touched: tuple[str, ...] = ()
    name: str = ""
    told: Mapping[str, Any] | None = None


class Superseded(BaseException):
    """A newer job has come: what is being told is of no use any more."""


_GIVEN_UP = {"look": ("look", "glance"), "glance": ("glance",)}
"""What is dropped for what is newer: who asked for it hears so, and all else is answered."""

_ON_ITS_WAY = 0.5
"""So long is waited for what ends a job and is set off already. [s]"""

_IMPORTING = "<frozen importlib._bootstrap>"
"""What the frames of an import are of."""


class Post:
    """Jobs as they come, in a thread of their own that ends what they make useless."""

    def __init__(self, pipe: Connection) -> None:
        self._pipe = pipe
        self._jobs: deque[Job] = deque()
        # Taken as it is, and not by way of what waits on it: what ends a job comes between two
        # steps, and between those of a condition's own it would leave the lock taken for good.
        self._lock = threading.RLock()
        self._come = threading.Condition(self._lock)
        self._worker = threading.get_ident()
        self._open = False  # whether what is done now may be ended
        self._ended = False  # it was, and that is on its way
        threading.Thread(target=self._listen, daemon=True).start()

    def _listen(self) -> None:
        while True:
            try:
                job = self._pipe.recv()
            except (EOFError, OSError):
                os._exit(0)  # the server is gone
            with self._lock:
                self._jobs = deque(queued(self._jobs, job))
                self._come.notify()
                if self._open and not self._importing():
                    self._open, self._ended = False, True
                    ctypes.pythonapi.PyThreadState_SetAsyncExc(
                        ctypes.c_ulong(self._worker), ctypes.py_object(Superseded)
                    )

    def _importing(self) -> bool:
        """Say whether a module is being read: ended there, it would be half there for good."""
        frame = sys._current_frames().get(self._worker)
        while frame is not None:
            if frame.f_code.co_filename == _IMPORTING:
                return True
            frame = frame.f_back
        return False

    def next(self) -> Job:
        """Wait for the next job."""
        with self._lock:
            while not self._jobs:
                self._come.wait()
            return self._jobs.popleft()

    def while_none(self, make: Callable[[], None]) -> bool:
        """Do something unless a job waits, or until one comes; return whether it was done."""
        try:
            with self._lock:
                if self._jobs:
                    return False
                self._open = True
            make()
            self._shut()
            return True
        except Superseded:
            return False
        finally:
            with self._lock:
                self._open = self._ended = False

    @contextmanager
    def unbroken(self) -> Iterator[None]:
        """Let what is done be ended before it and after it, but not in the midst of it.

        A message of which a part was sent would leave the server waiting for the rest for ever.
        """
        was = self._shut()
        yield
        with self._lock:
            if was and self._jobs:
                raise Superseded
            self._open = was

    def _shut(self) -> bool:
        """Let nothing end what is done from here on; return whether something could have."""
        with self._lock:
            was, self._open = self._open, False
            ended = self._ended
        awaited = time.monotonic() + _ON_ITS_WAY
        while ended and time.monotonic() < awaited:  # it comes between two steps of this
            pass
        if ended:  # it came where nobody hears of it, as in what is done when a thing is let go
            raise Superseded
        return was


def queued(jobs: Iterable[Job], newer: Job) -> Iterator[Job]:
    """Yield the jobs that wait when a newer one has come.

    What it makes useless is still answered, as dropped, or a window would wait for it for ever;
    what only asks of the document comes after a newer look at it, for that is then what there is.

    Parameters
    ----------
    jobs : iterable of Job
        As they waited.
    newer : Job
    """
    given_up = _GIVEN_UP.get(newer.kind, ())
    after: list[Job] = []
    for job in jobs:
        if job.kind in given_up:
            yield Job("drop", job.number)
        elif newer.kind == "look" and job.kind in ("see", "call"):
            after.append(job)
        else:
            yield job
    yield newer
    yield from after
