"""How far a long piece of work has come, said on standard error."""

from __future__ import annotations

import sys
import time
from types import TracebackType

from grading.signs import visible
from viz.terminal.lines import say

AFTER = 1.0
"""Work that takes no longer is not spoken of. [s]"""
EVERY = 0.2
"""How often a terminal is told anew. [s]"""
QUARTERS = 4
"""Lines for each piece of work where a line stays once it is written."""


class Progress:
    """Tells a terminal on one line that is written over, and anything else by a few plain lines."""

    def __init__(self) -> None:
        self._started = time.monotonic()
        self._told = 0.0
        self._width = 0
        self._last: tuple[str, int] = ("", -1)

    def __enter__(self) -> Progress:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._wipe()

    def tell(self, what: str, share: float) -> None:
        """Say that a share of something is done."""
        now = time.monotonic()
        if now - self._started < AFTER:
            return
        percent = f"{what}: {100 * min(max(share, 0.0), 1.0):.0f} %"
        if _terminal():
            if now - self._told >= EVERY:
                self._told = now
                self._write(f"\r{percent.ljust(self._width)}")
                self._width = len(percent)
            return
        step = (what, int(QUARTERS * share))
        if step != self._last:
            self._last = step
            say(visible(percent))

    def _wipe(self) -> None:
        if self._width:
            self._write("\r" + " " * self._width + "\r")
            self._width = 0

    def _write(self, words: str) -> None:
        if sys.stderr is not None and words.replace("\r", "").isprintable():
            try:
                sys.stderr.write(words)
                sys.stderr.flush()
            except OSError:
                self._width = 0


def _terminal() -> bool:
    return sys.stderr is not None and sys.stderr.isatty()
