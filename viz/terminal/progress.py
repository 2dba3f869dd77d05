"""How far a long piece of work has come, said on standard error.

A terminal has a bar that goes when the work is done; anything else has a few plain lines.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Self

from grading.signs import visible
from viz.terminal.lines import say

if TYPE_CHECKING:
    from rich.progress import Progress as RichProgress
    from rich.progress import TaskID

AFTER = 1.0
"""Work that takes no longer is not spoken of. [s]"""
QUARTERS = 4
"""Lines for each piece of work where a line stays once it is written."""


class _Bar:
    """A bar on a terminal, which is wiped at the end; what is said meanwhile stands above it."""

    def __init__(self) -> None:
        self._bar: RichProgress | None = None
        self._task: TaskID | None = None

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *raised: object) -> None:
        if self._bar is not None:
            self._bar.stop()

    def _show(self, what: str, share: float, now: bool = False) -> None:
        """Show what is being done, and the share of it all that is done."""
        bar = self._bar or self._begun(visible(what))
        assert self._task is not None
        done = min(max(share, 0.0), 1.0)
        bar.update(self._task, description=visible(what), completed=done, refresh=now)

    def _begun(self, what: str) -> RichProgress:
        from rich.console import Console
        from rich.progress import BarColumn, TaskProgressColumn, TextColumn, TimeElapsedColumn
        from rich.progress import Progress as RichProgress

        bar = RichProgress(
            TextColumn("{task.description}", markup=False), BarColumn(), TaskProgressColumn(),
            TimeElapsedColumn(), console=Console(file=sys.stderr), transient=True,
        )  # fmt: skip
        self._bar, self._task = bar, bar.add_task(what, total=1.0)
        bar.start()
        return bar


class Progress(_Bar):
    """Tells how far work has come whose parts tell it themselves."""

    def __init__(self) -> None:
        super().__init__()
        self._started = time.monotonic()
        self._last: tuple[str, int] = ("", -1)

    def tell(self, what: str, share: float) -> None:
        """Say that a share of something is done."""
        if time.monotonic() - self._started < AFTER:
            return
        if on_terminal():
            self._show(what, share)
            return
        step = (what, int(QUARTERS * share))
        if step != self._last:
            self._last = step
            say(visible(f"{what}: {100 * min(max(share, 0.0), 1.0):.0f} %"))


class Steps(_Bar):
    """Tells how far work has come that is done in steps.

    Parameters
    ----------
    weights : sequence of float
        How long each step takes beside the others.
    heard : callable
        Is told each step, and what a step says of itself, where there is no terminal; always
        what is not about how far it has come.
    """

    def __init__(self, weights: Sequence[float], heard: Callable[[str], None]) -> None:
        super().__init__()
        self._weights, self._heard = weights, heard
        self._count = 0
        self._shown = on_terminal()

    def begin(self, words: str) -> None:
        """Say that the next step begins."""
        done = sum(self._weights[: self._count])
        self._count += 1
        if self._shown:
            # At once: while a step is taken the bar may have no time to itself.
            self._show(words, done / (sum(self._weights) or 1.0), now=True)
        else:
            self._heard(f"{words} ...")

    def say(self, sentence: str) -> None:
        """Say a sentence; one that only tells what is being done is not said beside a bar."""
        if not (self._shown and sentence.endswith("...")):
            self._heard(sentence)


def on_terminal() -> bool:
    """Return whether standard error is a terminal."""
    return sys.stderr is not None and sys.stderr.isatty()
