"""Where windows, the state and the worker of one site meet: every message goes through here.

A change is written down before it is answered. Changes are taken one after another; looks and
glances may overtake each other, for only the newest is of use.
"""

from __future__ import annotations

import asyncio
import json
import multiprocessing
import os
import threading
from collections import deque
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from datetime import datetime
from multiprocessing.connection import Connection
from typing import Any

from msgspec import Struct

from grading.errors import SiteError
from viz.desk.model.frame import Model
from viz.desk.server.making import Making
from viz.desk.server.post import Job
from viz.desk.server.telling import Told
from viz.desk.server.window import Message, Window, changes_of
from viz.desk.server.work import told_problems, work
from viz.desk.written.document import Document, touched
from viz.desk.written.state import State

_QUIET = 1.0  # seconds after the last change until files are written
_OWN = ("open", "section", "places")  # keys that hang on what a window looks at


class _Waiting(Struct, eq=False):
    """What was asked of the worker, and by whom."""

    window: Window | None
    id: object
    kind: str
    document: Document | None = None
    said: str = ""
    ways: tuple[str, ...] = ()


class Hub:
    """The page of one site.

    Parameters
    ----------
    state : State
    """

    def __init__(self, state: State) -> None:
        self.state = state
        self.windows: list[Window] = []
        self._waiting: dict[int, _Waiting] = {}
        self._changes: deque[tuple[Window, Message]] = deque()
        self._in_hand = False  # a change is being looked at, and not yet taken or refused
        self._number = 0
        self._saving: asyncio.TimerHandle | None = None
        self._saved = _time_of_day()
        self._parts: dict[str, Any] = {}  # the newest that was told to all, for a new window
        self._making = Making(state.folder)
        self._closing = False

    async def start(self) -> None:
        """Begin the worker, and look at the document as it is."""
        self._loop = asyncio.get_running_loop()
        self._begin_worker()
        self._ask("look", None)

    def _begin_worker(self) -> None:
        os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # the worker's: small matrices
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        self._worker = context.Process(
            target=work, args=(theirs, str(self.state.folder)), daemon=True
        )
        self._worker.start()
        theirs.close()
        threading.Thread(target=self._listen, args=(self._pipe,), daemon=True).start()

    def _listen(self, pipe: Connection) -> None:
        while True:
            try:
                number, answer, last = pipe.recv()
            except (EOFError, OSError):
                self._loop.call_soon_threadsafe(self._lost, pipe)
                return
            self._loop.call_soon_threadsafe(self._came, number, answer, last)

    def _lost(self, pipe: Connection) -> None:
        """Begin another worker where one ended by itself; nothing that was written is lost."""
        if pipe is not self._pipe or self._closing:
            return
        for waiting in self._waiting.values():
            self._say(waiting.window, {"is": "fault", "id": waiting.id, "words": "begun again"})
        self._waiting.clear()
        self._in_hand = False
        self._begin_worker()
        self._ask("look", None)

    async def stop(self) -> None:
        """Save, and end the worker."""
        self._closing = True
        if self._saving is not None:
            self._saving.cancel()
        self._making.stop()
        self.state.close()
        self._worker.kill()
        self._worker.join(2)

    async def enter(self, window: Window) -> None:
        """Let a window in, and tell it what is known."""
        self.windows.append(window)
        told = {"is": "state", "rights": window.rights, **self._head()}
        if window.rights == "all":
            told.update(self._parts)
        self._say(window, told)

    def leave(self, window: Window) -> None:
        """Let a window go."""
        self.windows.remove(window)

    def take(self, window: Window, message: Message) -> None:
        """Take a message of a window.

        Parameters
        ----------
        window : Window
        message : dict
            As the page sends it; what is no such message is refused in a sentence.
        """
        if not window.may(message):
            self._refuse(window, message, "This page is for looking only.")
            return
        match message.get("do"):
            case "see" | "look" as kind:
                window.looks(message)
                self._ask(kind, window, message.get("id"))
            case "call":
                self._ask(
                    "call", window, message.get("id"), name=str(message.get("name", "")),
                    told=message.get("with") or {},
                )  # fmt: skip
            case "make":
                self._make(window, message)
            case "cancel":
                self._making.cancel((id(window), message.get("id")))
            case _ if self.state.read_only:
                self._refuse(window, message, "This site is open in another place already.")
            case "set" | "add" | "remove" | "several" if message.get("live"):
                self._glance(window, message)
            case "set" | "add" | "remove" | "several" | "file" | "undo" | "redo" | "restore":
                self._changes.append((window, message))
                self._advance()
            case _:
                self._refuse(window, message, "no such message")

    def _advance(self) -> None:
        """Take the next change in hand, unless one is."""
        while self._changes and not self._in_hand:
            window, message = self._changes.popleft()
            with self._refusing(window, message):
                self._change(window, message)

    @contextmanager
    def _refusing(self, window: Window, message: Message) -> Iterator[None]:
        """Tell a window what is wrong with its message, where something is."""
        try:
            yield
        except SiteError as error:
            problems = told_problems(error.problems, error)
            self._say(window, {"is": "refused", "id": message.get("id"), "problems": problems})
        except (KeyError, TypeError, ValueError, AttributeError) as error:
            self._refuse(window, message, f"no such message: {error}")

    def _change(self, window: Window, message: Message) -> None:
        do, state = message["do"], self.state
        if do in ("undo", "redo", "restore"):
            restored = {"undo": state.undo, "redo": state.redo}.get(do)
            done = restored() if restored else state.restore(int(message["rev"]))
            if done:
                self._changed(window, message.get("id"))
                self._ask("look", window, message.get("id"))
            else:
                self._refuse(window, message, "There is nothing of the kind.")
            return
        if do == "file":
            name, text = str(message["name"]), str(message["text"])
            document = state.now.document.with_text(name, text)
            ways: tuple[str, ...] = (name,)
            for other, its in dict(message.get("beside") or {}).items():
                document, ways = document.with_text(str(other), str(its)), (*ways, str(other))
            if extra := message.get("changes"):
                document = document.changed(changes := changes_of(extra))
                ways = (*ways, *touched(changes))
        else:
            changes = changes_of(message["changes"] if do == "several" else [message])
            ways = touched(changes)
            clash = state.clash(int(message.get("base", state.now.number)), ways)
            if clash and do == "set":
                theirs = _at(state.now.document.written, clash)
                if theirs != message.get("to"):
                    self._say(
                        window,
                        {"is": "clash", "id": message.get("id"), "at": clash,
                         "yours": message.get("to"), "theirs": theirs},
                    )  # fmt: skip
                    return
            document = state.now.document.changed(changes)
        said = str(message.get("said") or ", ".join(ways))[:120]
        self._in_hand = True
        self._ask(
            "change", window, message.get("id"), document=document, said=said, ways=tuple(ways)
        )

    def _glance(self, window: Window, message: Message) -> None:
        with self._refusing(window, message):
            made = message["changes"] if message["do"] == "several" else [message]
            changes = changes_of(made)
            written = self.state.now.document.glanced(changes)
            self._ask("glance", window, message.get("id"), written=written, ways=touched(changes))

    def _ask(
        self, kind: str, window: Window | None, id: object = None, *,
        document: Document | None = None, said: str = "", ways: tuple[str, ...] = (),
        written: dict[str, Any] | None = None, name: str = "",
        told: Mapping[str, Any] | None = None,
    ) -> None:  # fmt: skip
        self._number += 1
        now = self.state.now
        self._waiting[self._number] = _Waiting(window, id, kind, document, said, ways)
        asked = {} if window is None else window.asked
        job = Job(
            kind, self._number, now.number + (kind == "change"),
            (document or now.document).texts, written, asked, ways, name, told,
        )  # fmt: skip
        with suppress(OSError):  # a worker that ended is found out by who listens to it
            self._pipe.send(job)

    def _came(self, number: int, answer: Told | Model, last: bool) -> None:
        waiting = self._waiting.get(number)
        if waiting is None:
            return
        if last:
            del self._waiting[number]
        if isinstance(answer, Model):
            if waiting.window in self.windows and waiting.window is not None:
                waiting.window.post(waiting.window.held.frame(answer))
            return
        match answer.pop("is"):
            case "taken":
                assert waiting.document is not None
                self.state.change(waiting.document, waiting.said, waiting.ways)
                self._in_hand = False
                self._changed(waiting.window, waiting.id)
                self._advance()
            case "state":
                self._tell(waiting, answer)
            case "told" | "dropped":
                self._say(waiting.window, {"is": "told", "id": waiting.id})
            case "answer":
                applied = answer.pop("apply", None)
                self._say(waiting.window, {"is": "answer", "id": waiting.id, **answer})
                if applied and waiting.window is not None:
                    self.take(waiting.window, {"id": None, **applied})
            case kind:
                self._say(waiting.window, {"is": kind, "id": waiting.id, **answer})
                if waiting.kind == "change" and last and self._in_hand:
                    self._in_hand = False
                    self._advance()

    def _tell(self, waiting: _Waiting, parts: Told) -> None:
        """Tell a window what it asked for, and the others what is not of that window alone."""
        live, news = waiting.kind == "glance", parts.pop("news")
        self._say(waiting.window, {"is": "state", "id": waiting.id, "live": live, **parts})
        if live:
            return
        general = {key: value for key, value in parts.items() if key not in _OWN}
        self._parts.update(parts if waiting.window is None else general)
        if waiting.kind == "see" and not news:
            return
        for window in self.windows:
            if window is waiting.window:
                continue
            if window.asked.get("who", "crew") != "crew":
                self._say(window, {"is": "state", "again": True, "rev": parts["rev"]})
            else:
                self._say(window, {"is": "state", "again": True, **general})

    def _changed(self, window: Window | None, id: object) -> None:
        if self._saving is not None:
            self._saving.cancel()
        self._saving = self._loop.call_later(_QUIET, self._save)
        for each in self.windows:
            own = id if each is window else None
            self._say(each, {"is": "state", "id": own, **self._head(), "whole": False})

    def _save(self) -> None:
        self._saving = None
        try:
            outside = self.state.save()
        except SiteError as error:
            for each in self.windows:
                self._say(each, {"is": "state", **self._head(), "saved": str(error)})
            return
        self._saved = _time_of_day()
        for each in self.windows:
            self._say(each, {"is": "state", **self._head()})
        if outside:
            self._ask("look", None)

    def _head(self) -> Told:
        state = self.state
        words = f"saved {self._saved}" if self._saving is None else "saving"
        return {
            "rev": state.now.number, "undo": state.undoes, "redo": state.redoes,
            "saved": "to look at only" if state.read_only else words,
            "earlier": [
                {"rev": each.number, "said": each.said, "at": each.at}
                for each in state.earlier()[:60]
            ],
        }  # fmt: skip

    def _make(self, window: Window, message: Message) -> None:
        if self._saving is not None:
            self._saving.cancel()
            self._save()
        number = message.get("id")

        def say(answer: Told) -> None:
            self._loop.call_soon_threadsafe(self._say, window, {"id": number, **answer})

        # Windows count their messages each for itself.
        self._making.begin((id(window), number), str(message.get("what", "")), say)

    def _refuse(self, window: Window, message: Message, words: str) -> None:
        problems = [{"words": words}]
        self._say(window, {"is": "refused", "id": message.get("id"), "problems": problems})

    def _say(self, window: Window | None, message: Told) -> None:
        if window in self.windows and window is not None:
            window.post(json.dumps(message, ensure_ascii=False, allow_nan=False))


def _at(written: object, way: str) -> object:
    for part in way.split("/"):
        try:
            written = written[int(part) if part.isdigit() else part]  # type: ignore[index]
        except (KeyError, IndexError, TypeError):
            return None
    return written


def _time_of_day() -> str:
    return datetime.now().strftime("%H:%M")
