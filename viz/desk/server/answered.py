"""A question of a plain request, asked of the worker as a window asks it."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Mapping
from typing import Any

from viz.desk.server.hub import Hub
from viz.desk.server.telling import Told
from viz.desk.server.window import Window

_ID = "a request"
_PATIENCE = 120  # s: after that the worker is taken to be busy with something else
_LAST = ("answer", "refused", "fault", "dropped")


async def answered(hub: Hub, name: str, told: Mapping[str, Any]) -> Told:
    """Return what answers a question that is asked by its name.

    Parameters
    ----------
    hub : Hub
    name : str
        One of `viz.desk.asked.listed.CALLS`.
    told : mapping
        What it is asked with.

    Raises
    ------
    TimeoutError
        The worker did not come to it.
    """
    done: asyncio.Future[Told] = asyncio.get_running_loop().create_future()

    async def send(message: str | bytes) -> None:
        answer = json.loads(message) if isinstance(message, str) else {}
        if answer.get("id") == _ID and answer.get("is") in _LAST and not done.done():
            done.set_result(answer)

    window = Window(send)
    hub.windows.append(window)
    try:
        hub.take(window, {"id": _ID, "do": "call", "name": name, "with": dict(told)})
        return await asyncio.wait_for(done, _PATIENCE)
    finally:
        hub.leave(window)
