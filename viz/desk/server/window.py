"""One window of a browser: what it looks at, what it may ask, and what it asks to have changed."""

from __future__ import annotations

import asyncio
from collections import deque
from collections.abc import Awaitable, Callable, Mapping, Sequence
from typing import Any

from msgspec import Struct, field

from viz.desk.blocks import Change
from viz.desk.model.frame import Held
from viz.desk.server.door import Rights

Message = dict[str, Any]

_WHO = {"view": "home", "field": "field"}
_MAY = ("see", "look", "call")
"""What one who is let in may do at all."""
_CALLS = {
    "view": ("drop", "contours"),
    "field": ("drop", "contours", "trench"),
}
"""What may be asked by name of one who is let in to look, or into the field alone."""


class Window(Struct, eq=False):
    """One window of a browser.

    Attributes
    ----------
    send : callable
        Sends it a message, or bytes.
    rights : Rights
    asked : dict
        What it looks at.
    held : Held
        What it holds of the model.
    """

    send: Callable[[str | bytes], Awaitable[None]]
    rights: Rights = "all"
    asked: dict[str, Any] = field(default_factory=dict)
    held: Held = field(default_factory=Held)
    _unsent: deque[str | bytes] = field(default_factory=deque)
    _sending: asyncio.Task[None] | None = None

    def post(self, message: str | bytes) -> None:
        """Send a message when those before it are sent.

        Large ones are packed in a thread: a small one that is sent beside them overtakes them, and
        a window that is told what was before what is now waits for what is now for ever.
        """
        self._unsent.append(message)
        if self._sending is None or self._sending.done():
            self._sending = asyncio.get_running_loop().create_task(self._send_all())

    async def _send_all(self) -> None:
        while self._unsent:
            try:
                await self.send(self._unsent.popleft())
            except (ConnectionError, RuntimeError):  # it is gone
                self._unsent.clear()

    def may(self, message: Message) -> bool:
        """Return whether its rights allow what a message asks."""
        if self.rights == "all":
            return True
        do = message.get("do")
        return do in _MAY and (do != "call" or message.get("name") in _CALLS[self.rights])

    def looks(self, message: Message) -> None:
        """Keep what a message says that it looks at now."""
        keys = ("step", "view", "area", "base_system", "cut", "place", "prices", "who")
        self.asked.update({key: message[key] for key in keys if key in message})
        if message.get("whole"):
            self.held.nothing()
        if self.rights != "all":
            self.asked["who"] = _WHO[self.rights]
            self.asked["prices"] = False


def changes_of(told: Sequence[Mapping[str, Any]]) -> list[Change]:
    """Return the changes that a message asks for.

    Raises
    ------
    KeyError, ValueError
        One of them is none.
    """
    made = [Change(str(each["at"]), each.get("to"), each.get("do", "set")) for each in told]
    for change in made:
        if change.do not in ("set", "add", "remove"):
            raise ValueError(change.do)
    return made
