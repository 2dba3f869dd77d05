"""A yard planned apart from all else: in a process that may crash or hang, and is then told of.

Processes are kept from one yard to the next, for to start one takes longer than most plans; each
plans one at a time. They are of the process that asks, be it the command or a worker of a cluster,
and end with it.
"""

from __future__ import annotations

import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from queue import Empty, SimpleQueue
from threading import Event, Lock, Thread
from typing import Any, BinaryIO, cast

from viz import VERSION
from viz.many.frames import Answer, Job, Lost, received, sent
from viz.own_process import Progress, command, environment, used_by

LIMIT = 900.0
"""What a yard may take of the processor, and may do nothing for, from one word of its process to
the next. [s]"""

MOST_YARDS = 250
"""Yards after which a process is ended: what libraries never give back goes with it."""

_LOOK = 5.0  # s between two looks at a process that says nothing
_TOLD = 20_000  # letters of what a process said last that a report repeats


class _Planner:
    """A process that plans."""

    def __init__(self) -> None:
        self.yards = 0
        self._said = tempfile.TemporaryFile()  # noqa: SIM115 - held as long as the process
        self._process = subprocess.Popen(
            command("viz.many.planner", "-X", "faulthandler"),
            # Every yard has a processor: threads of a matrix product would wait for one another.
            env=environment(OPENBLAS_NUM_THREADS="1"),
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=self._said,
            # Ctrl-C is for who started us: it ends its processes itself.
            start_new_session=True,
        )  # fmt: skip
        self._frames: SimpleQueue[Any] = SimpleQueue()
        self._listener = Thread(target=self._listen, daemon=True)
        self._listener.start()

    @property
    def at_work(self) -> bool:
        """Whether it is there still."""
        return self._process.poll() is None

    def _listen(self) -> None:
        for frame in received(cast(BinaryIO, self._process.stdout)):
            self._frames.put(frame)
        self._frames.put(None)

    def planned(self, job: Job) -> Answer:
        """Plan a yard; where the process ends or comes no further, say so."""
        self.yards += 1
        try:
            sent(cast(BinaryIO, self._process.stdin), job)
        except OSError:
            return self._crashed(job)
        heard = 0
        progress = Progress(lambda: heard, lambda: used_by(self._process.pid), LIMIT)
        while True:
            try:
                frame = self._frames.get(timeout=_LOOK)
            except Empty:
                if progress.stalled():
                    self.end()
                    lost = Lost("hung", waited=progress.waited, heard=self._last_words())
                    return _lost(job, lost)
                continue
            if frame is None:
                return self._crashed(job)
            if isinstance(frame, Answer):
                return frame
            heard += 1

    def _crashed(self, job: Job) -> Answer:
        code = self._process.wait()
        try:
            name = signal.Signals(-code).name if code < 0 else ""
        except ValueError:
            name = ""
        return _lost(job, Lost("crashed", code, name, heard=self._last_words()))

    def _last_words(self) -> str:
        self._said.seek(0)
        return self._said.read().decode("utf-8", "replace")[-_TOLD:]

    def end(self) -> None:
        """End the process, whatever it does."""
        self._process.kill()
        self._process.wait()

    def forget(self) -> None:
        """End the process and close what was held of it."""
        self.end()
        self._listener.join()
        for each in (self._process.stdin, self._process.stdout, self._said):
            if each is not None:
                with suppress(OSError):  # a frame that nobody reads any more
                    each.close()


def _lost(job: Job, lost: Lost) -> Answer:
    return Answer(job.site, {}, lost=lost)


_PLANNERS: set[_Planner] = set()
_IDLE: list[_Planner] = []
_LOCK = Lock()
_STOPPED = Event()


def planned_apart(job: tuple[Job], version: str) -> Answer:
    """Plan a yard in a process of its own; several threads may ask at once.

    Parameters
    ----------
    job : (Job,)
        In a tuple: of anything else that is large the cluster would leave one copy with one worker,
        and lose it with that worker.
    version : str
        Of fallaway, where the yard was handed out.

    Returns
    -------
    Answer
        Whatever happens: a process that crashed or came no further is an answer too.
    """
    (one,) = job
    if version != VERSION:
        return _lost(one, Lost("other version", name=VERSION))
    planner = _taken()
    if planner is None:
        return _lost(one, Lost("stopped"))
    answer = planner.planned(one)
    with _LOCK:
        if planner.at_work and planner.yards < MOST_YARDS and not _STOPPED.is_set():
            _IDLE.append(planner)
            return answer
        _PLANNERS.discard(planner)
    planner.forget()
    return answer


def _taken() -> _Planner | None:
    """Return a process that waits for a yard, or a new one; None where all are to end."""
    with _LOCK:
        if _STOPPED.is_set():
            return None
        while _IDLE:
            planner = _IDLE.pop()
            if planner.at_work:
                return planner
            _PLANNERS.discard(planner)
            planner.forget()
        planner = _Planner()
        _PLANNERS.add(planner)
        return planner


@contextmanager
def planners() -> Iterator[None]:
    """Let processes be started, and end all of them after that, whatever they do then."""
    _STOPPED.clear()
    try:
        yield
    finally:
        with _LOCK:
            _STOPPED.set()
            for each in _PLANNERS:
                each.end()  # who waits for it is answered, and closes it
        end_idle()


def end_idle() -> None:
    """End the processes that wait for a yard."""
    with _LOCK:
        for each in _IDLE:
            _PLANNERS.discard(each)
            each.forget()
        _IDLE.clear()


def version_here() -> str:
    """Return the version of fallaway where this is asked."""
    return VERSION
