"""The worker of a site: a process of its own, in which documents are read and planned.

The newest document wins: what is still being told of an older one is dropped as soon as a newer
one, or a question, arrives. Nothing is computed where the browser is answered.
"""

from __future__ import annotations

import ctypes
import os
import signal
import sys
import threading
import time
import traceback
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, cast, get_args

import numpy as np
from msgspec import Struct

from grading.errors import GradingError, Problem, SiteError
from grading.files.toml_text import toml_of
from grading.reading.written import FILE
from viz.desk.asked.listed import CALLS
from viz.desk.model.frame import Model
from viz.desk.model.turning import Turning
from viz.desk.seen import Asked, Point, Seen, Who
from viz.desk.server.look import Looking, Reading
from viz.desk.server.telling import Told, offered, problem_record, told
from viz.desk.written.shadow import Shadow
from viz.scratch import scratch_folder


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


class _Post:
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


def work(pipe: Connection, folder: str) -> None:
    """Answer jobs until the pipe is closed; the body of the worker.

    Parameters
    ----------
    pipe : Connection
        Each answer is (number, dict or Model, last): more follow until the last.
    folder : str
        Of the site.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the server ends its workers itself
    home = Path(folder)
    with scratch_folder() as scratch:
        shadow = Shadow(home, scratch)
        worker = _Worker(pipe, shadow, Looking(shadow.home, home))
        while worker.answer_next():
            pass


class _Worker:
    """What answers jobs: the copy of the files, what is kept between plans, and the way back."""

    def __init__(self, pipe: Connection, shadow: Shadow, looking: Looking) -> None:
        self._pipe, self._shadow, self._looking = pipe, shadow, looking
        self._post = _Post(pipe)
        self._wrong: tuple[Problem, ...] = ()  # with the document as it was last
        self._unoffered = True  # what would mend it was not told yet
        # What was broken off, and the bases that the model is shown on.
        self._owed: tuple[Job, tuple[str, ...] | None] | None = None
        self._turning = Turning()
        self._at_once: Model | None = None  # told of this document, and not yet the whole of it

    def answer_next(self) -> bool:
        """Answer the next job; return whether more are wanted."""
        job = self._post.next()
        if job.kind == "stop":
            return False
        self._guarded(job, lambda: self._answer(job))
        if self._owed is not None:  # what the job broke off, if it put nothing in its place
            (owed, bases), self._owed = self._owed, None
            seen = self._looking.asked(asked_of(owed.asked or {}))
            self._guarded(owed, lambda: self._rest(owed, seen, bases))
        return True

    def _guarded(self, job: Job, answer: Callable[[], None]) -> None:
        try:
            answer()
        except Superseded:
            self._send(job, {"is": "dropped"}, last=True)
        except GradingError as error:
            problems = error.problems if isinstance(error, SiteError) else ()
            self._send(job, {"is": "refused", "problems": told_problems(problems, error)}, True)
        except Exception:
            self._send(job, {"is": "fault", "words": traceback.format_exc()}, last=True)

    def _send(self, job: Job, answer: Told | Model, last: bool = False) -> None:
        with self._post.unbroken():
            self._pipe.send((job.number, answer, last))

    def _state(self, job: Job, seen: Seen, part: Told, news: bool = False) -> None:
        """Tell a part of a document by the number of that document, not of the one asked about.

        `news` is what nobody was told yet, though who asks may only look at something else: the
        rest of a plan that the question broke off.
        """
        self._send(job, {"is": "state", "rev": seen.revision, "news": news, **part})

    def _answer(self, job: Job) -> None:
        asked = asked_of(job.asked or {})
        match job.kind:
            case "drop":
                self._send(job, {"is": "dropped"}, last=True)
            case "call":
                self._call(job, asked)
            case "see":
                self._drop()
                self._tell(job, self._looking.asked(asked), with_document=False)
            case _:
                reading = self._tried(job)
                if reading is not None:
                    self._drop()
                    self._unoffered = True
                    texts = job.texts or {}
                    files = {name: text for name, text in texts.items() if name != FILE}
                    seen = self._looking.first(reading, files, asked, job.revision)
                    self._tell(job, seen, with_document=True)

    def _tried(self, job: Job) -> Reading | None:
        """Return a document that is to be looked at; say what it is refused for where it is not."""
        assert job.texts is not None
        self._shadow.hold(job.texts)
        reading = self._looking.read(job.written or toml_of(job.texts[FILE], FILE))
        if job.kind != "look":
            refused = [
                each
                for each in reading.problems
                if each not in self._wrong and names(each, job.touched)
            ]
            if refused:
                told = told_problems(refused, "")
                self._send(job, {"is": "refused", "problems": told}, last=True)
                return None
        if job.kind != "glance":
            self._wrong = reading.problems
        if job.kind == "change":
            self._send(job, {"is": "taken"})
        return reading

    def _tell(self, job: Job, seen: Seen, with_document: bool) -> None:
        """Tell a document at once, and then the rest of it, unless something newer waits."""
        parts = told(seen, again=not with_document)
        self._state(job, seen, next(parts))
        # What is looked at comes right after the numbers, and the sheet beside it then.
        bases = self._show_at_once(job, seen)
        for part in parts:
            self._state(job, seen, part)
        if job.kind == "glance":
            self._send(job, {"is": "told"}, last=True)
            return

        self._rest(job, seen, bases)

    def _rest(self, job: Job, seen: Seen, bases: tuple[str, ...] | None) -> None:
        """Tell what takes longer; what a question breaks off is told once that is answered.

        `bases` are those that the model is shown whole on; None where it is not yet.
        """

        def rest() -> None:
            whole, shown = seen, self._show(job, seen) if bases is None else bases
            if seen.plan is not None and not seen.stale:
                whole = self._looking.rest()
                for part in told(whole):
                    self._state(job, whole, part, news=not seen.whole)
                if _bases(whole) != shown:
                    self._show(job, whole)
            if self._unoffered:
                self._state(job, whole, offered(whole), news=True)
                self._unoffered = False

        if self._post.while_none(rest):
            self._send(job, {"is": "told"}, last=True)
        else:
            self._owed = job, bases

    def _drop(self) -> None:
        """Give up what is still to be told: something newer is told in its place."""
        if self._owed is not None:
            self._send(self._owed[0], {"is": "dropped"}, last=True)
            self._owed = None

    def _show(self, job: Job, seen: Seen) -> tuple[str, ...]:
        """Send the model, if that is what the window shows; return the bases planned on."""
        model = self._turning.whole(seen) if seen.asked.view == "model" else None
        told, self._at_once = self._at_once, None
        # Often all of it was told at once.
        if model is not None and (told is None or not model.tells_as(told)):
            self._send(job, model)
        return _bases(seen)

    def _show_at_once(self, job: Job, seen: Seen) -> tuple[str, ...] | None:
        """Send what of the model can be told at once; return the bases if that is all of it."""
        self._at_once = None
        if seen.asked.view != "model" or (model := self._turning.at_once(seen)) is None:
            return self._show(job, seen)
        self._send(job, model)
        self._at_once = model
        return None

    def _call(self, job: Job, asked: Asked) -> None:
        seen = self._looking.asked(asked)
        answer = CALLS[job.name](seen, job.told or {}) if job.name in CALLS else None
        if answer is None:
            self._send(job, {"is": "fault", "words": f"no such call: {job.name}"}, last=True)
            return
        self._send(job, {"is": "answer", **answer}, last=True)


def _bases(seen: Seen) -> tuple[str, ...]:
    return () if seen.plan is None else tuple(area.chosen for area in seen.plan.areas)


def names(problem: Problem, touched: Sequence[str]) -> bool:
    """Return whether a problem is of what was written to.

    Parameters
    ----------
    problem : Problem
    touched : sequence of str
        Ways such as "door/0/sill", or names of files.
    """
    for way in touched:
        if problem.where.startswith(f"{way}, line"):
            return True
        _, _, key = problem.where.partition(f"{FILE}, key ")
        own = written_key(way)
        if key and (_under(key, own) or _under(own, key)):
            return True
    return False


def _under(key: str, other: str) -> bool:
    return key == other or key.startswith((f"{other}.", f"{other}["))


def written_key(way: str) -> str:
    """Return a way as problems tell it, places counted from 1: "door[1].sill"."""
    said = ""
    for part in way.split("/"):
        said += f"[{int(part) + 1}]" if part.isdigit() else f".{part}" if said else part
    return said


def told_problems(problems: Sequence[Problem], words: object) -> list[Told]:
    """Return problems as the page shows them; where there are none, the words alone."""
    return [problem_record(each) for each in problems] or [{"words": str(words)}]


def asked_of(told: Mapping[str, Any]) -> Asked:
    """Return what a window looks at, as it told it; what is no such thing is left out."""
    kept = {name: told[name] for name in ("step", "view", "area", "base_system") if name in told}
    words = {name: str(value)[:200] for name, value in kept.items()}
    cut, place = _points(told.get("cut"), 2), _points([told.get("place")], 1)
    return Asked(
        **words,
        cut=None if cut is None else (cut[0], cut[1]),
        place=None if place is None else place[0],
        prices=bool(told.get("prices", True)),
        who=cast(Who, told["who"]) if told.get("who") in get_args(Who) else "crew",
    )


def _points(told: object, count: int) -> tuple[Point, ...] | None:
    try:
        points = tuple((float(x), float(y)) for x, y in cast(Iterable[Any], told))
    except (TypeError, ValueError):
        return None
    return points if len(points) == count and np.isfinite(points).all() else None
