"""The worker of a site: a process of its own, in which documents are read and planned.

The newest document wins: what is still being told of an older one is dropped as soon as a newer
one, or a question, arrives. Nothing is computed where the browser is answered.
"""

from __future__ import annotations

import signal
import traceback
from collections.abc import Callable, Iterable, Mapping, Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, cast, get_args

import numpy as np

from grading.errors import GradingError, Problem, SiteError
from grading.files.toml_text import toml_of
from grading.reading.written import FILE
from viz.desk.asked.listed import CALLS
from viz.desk.model.frame import Model
from viz.desk.model.turning import Turning
from viz.desk.seen import Asked, Point, Seen, Who
from viz.desk.server.look import Looking, Reading
from viz.desk.server.post import Job, Post, Superseded
from viz.desk.server.telling import Told, offered, problem_record, told
from viz.desk.written.shadow import Shadow
from viz.scratch import scratch_folder


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
        self._post = Post(pipe)
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
