"""A process of our own beside this one: how it is started, and whether its work comes forward."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable
from pathlib import Path


def command(module: str, *options: str) -> list[str]:
    """Return the words that start a module of ours as a process.

    Parameters
    ----------
    module : str
    *options : str
        Of Python.
    """
    # -P keeps the folder that one stands in out of what it imports.
    return [sys.executable, "-P", *options, "-m", module]


def environment(**more: str) -> dict[str, str]:
    """Return what it is started with: it imports what we import, wherever it stands.

    Parameters
    ----------
    **more : str
        Variables, where the person has set none of that name.
    """
    root = str(Path(__file__).resolve().parents[1])
    paths = [root, *(path for path in sys.path if path)]
    return {**more, **os.environ, "PYTHONPATH": os.pathsep.join(paths)}


class Progress:
    """Whether work comes forward, by what is made of it and the processor time that it takes.

    Parameters
    ----------
    made : callable
        How many pieces there are.
    used : callable
        Processor time used until now, None where it is not known. [s]
    limit : float
        What it may take for one piece, and may do nothing for: that long by the clock and, for a
        piece, that much of the processor too, where the system tells it. A machine that is busy or
        slow is given the time that it needs. [s]
    clock : callable
        The time. [s]
    """

    def __init__(
        self,
        made: Callable[[], int],
        used: Callable[[], float | None],
        limit: float,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._made, self._used, self._limit, self._clock = made, used, limit, clock
        self._count, self._piece_at, self._piece_used = made(), clock(), used() or 0.0
        self._moved_at, self._moved_used = self._piece_at, self._piece_used

    @property
    def waited(self) -> float:
        """How long the piece that was made last is old. [s]"""
        return self._clock() - self._piece_at

    def stalled(self) -> bool:
        """Whether nothing was done for the limit, or that much work brought no new piece."""
        count, used, now = self._made(), self._used(), self._clock()
        if count != self._count:
            self._count, self._piece_at, self._piece_used = count, now, used or 0.0
        if used is not None and used > self._moved_used:
            self._moved_at, self._moved_used = now, used
        late = now - self._piece_at > self._limit
        if used is None:
            return late
        worked = used - self._piece_used > self._limit
        return late and (worked or now - self._moved_at > self._limit)


def used_by(process: int) -> float | None:
    """Return the processor time that a process has used, None where the system does not say. [s]"""
    try:
        told = Path(f"/proc/{process}/stat").read_text(encoding="ascii", errors="replace")
        # User and system time, the 14th and 15th of proc(5); a name in brackets may hold spaces.
        ticks = sum(map(int, told.rpartition(")")[2].split()[11:13]))
        return ticks / os.sysconf("SC_CLK_TCK")
    except (OSError, ValueError, AttributeError):
        return None
