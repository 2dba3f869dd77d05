"""A page that is served, for tests: a process of its own, and a line to it as a window has."""

from __future__ import annotations

import asyncio
import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import aiohttp

import sample_sites

ROOT = Path(__file__).parents[2]
PATIENCE = 120
"""How long an answer is waited for before it is none: no measure of how long it takes. [s]"""


class Served:
    """`fallaway open` of a site, until it is left."""

    def __init__(self, folder: Path, *words: str) -> None:
        self.folder, self.words = folder, words

    def __enter__(self) -> Served:
        path = os.pathsep.join(filter(None, [str(ROOT), os.environ.get("PYTHONPATH", "")]))
        self.process = subprocess.Popen(
            [sys.executable, "-m", "viz.cli", "open", str(self.folder), "--no-browser",
             *self.words],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT,
            env={**os.environ, "PYTHONPATH": path},
        )  # fmt: skip
        assert self.process.stdout is not None
        self.address = self.process.stdout.readline().strip()
        if not self.address.startswith("http"):
            _, words = self.process.communicate()
            raise AssertionError(words)
        split = urlsplit(self.address)
        self.home = f"http://{split.netloc}"
        self.host, self.key = split.netloc, split.query.removeprefix("key=")
        return self

    def kill(self) -> None:
        """End it as kill -9 does."""
        self.process.kill()
        self.process.communicate()

    def __exit__(self, *_: object) -> None:
        if self.process.poll() is None:
            self.process.terminate()
        self.process.communicate(timeout=PATIENCE)


class Line:
    """A line to a page, as a window holds it."""

    def __init__(self, socket: aiohttp.ClientWebSocketResponse) -> None:
        self._socket, self._id = socket, 0
        self.state: dict[str, Any] = {}

    async def hear(self) -> dict[str, Any]:
        """Return the next message, its keys laid over what is known."""
        while True:
            message = await asyncio.wait_for(self._socket.receive(), PATIENCE)
            if message.type is aiohttp.WSMsgType.BINARY:
                continue
            assert message.type is aiohttp.WSMsgType.TEXT, message
            told: dict[str, Any] = json.loads(message.data)
            if told["is"] == "state" and told.get("rev", 0) >= self.state.get("rev", 0):
                self.state.update(told)  # what is told of an older state comes too late
            return told

    async def send(self, **message: Any) -> int:
        """Send a message, and return its number."""
        self._id += 1
        await self._socket.send_str(json.dumps({"id": self._id, **message}))
        return self._id

    async def ask(self, **message: Any) -> dict[str, Any]:
        """Send a message, and return what answers it: not the keys that are shown on the way."""
        number = await self.send(**message)
        while True:
            told = await self.hear()
            if told.get("id") != number:
                continue
            if told["is"] != "state" or ("undo" in told and message["do"] != "see"):
                return told

    async def until(self, holds: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
        """Hear until the state holds something, and return it."""
        while not holds(self.state):
            await self.hear()
        return self.state


async def entered(served: Served) -> aiohttp.ClientSession:
    """Return a session that came in by the key."""
    jar = aiohttp.CookieJar(unsafe=True)  # cookies of a plain number as well
    session = aiohttp.ClientSession(cookie_jar=jar)
    async with session.get(served.address) as response:
        assert response.status == 200, await response.text()
    return session


def conversed(
    served: Served, talk: Callable[..., Coroutine[Any, Any, None]], windows: int = 1
) -> None:
    """Let so many windows talk to a page."""

    async def talked() -> None:
        session = await entered(served)
        async with session:
            sockets = [await session.ws_connect(f"{served.home}/live") for _ in range(windows)]
            try:
                await talk(*map(Line, sockets))
            finally:
                for socket in sockets:
                    await socket.close()

    asyncio.run(talked())


def copied(name: str, to: Path) -> Path:
    """Return a copy of a sample site."""
    shutil.copytree(sample_sites.path(name), to)
    return to
