"""What a window is sent comes in the order in which it was told."""

from __future__ import annotations

import asyncio

from viz.desk.server.window import Window

LARGE = "whole: no " * 4000


def sent(messages, gone_after=None):
    """Post messages to a window that takes its time with large ones; return what came."""
    came = []

    async def send(message):
        for _ in range(len(message) // 1000):  # packed in a thread
            await asyncio.sleep(0)
        if len(came) == gone_after:
            raise ConnectionResetError
        came.append(message)

    async def talk():
        window = Window(send)
        for message in messages:
            window.post(message)
            await asyncio.sleep(0)
        await window._sending
        window.post("after")
        await window._sending

    asyncio.run(talk())
    return came


def test_a_small_message_does_not_overtake_a_large_one():
    messages = [LARGE, "whole: yes", LARGE + "!", "told"]
    assert sent(messages) == [*messages, "after"]


def test_what_waits_for_a_window_that_is_gone_is_thrown_away():
    assert sent(["first", LARGE, "second"], gone_after=1) == ["first"]
