"""Where the command meets the terminal: standard output and error, and being told to stop."""

from __future__ import annotations

import gc
import os
import signal
import sys
import warnings
from contextlib import contextmanager, suppress

TYPE_CHECKING = False  # as `typing` has it, which help does without
if TYPE_CHECKING:
    from collections.abc import Iterator
    from types import FrameType
    from typing import TextIO

_SELDOM = 50_000
"""New objects between two looks for what may be thrown away."""


class Stop:
    """Whether the command was told to stop, and by which signal (0: it was not)."""

    def __init__(self) -> None:
        self.signal = 0

    @property
    def status(self) -> int:
        """The exit status of a command that a signal ended, 130 for Ctrl-C."""
        return 128 + self.signal

    def _told(self, number: int, frame: FrameType | None) -> None:
        self.signal = number
        raise KeyboardInterrupt


@contextmanager
def stoppable() -> Iterator[Stop]:
    """Have Ctrl-C, an end asked for and a closed terminal unwind alike, so that all is tidied.

    What is unwound may change the exception on its way, as an import that is interrupted does:
    it is the `Stop` that says whether there was one.
    """
    stop, before = Stop(), {}
    for name in ("SIGINT", "SIGTERM", "SIGHUP"):
        number = getattr(signal, name, None)
        # What was started to outlive its terminal ignores it, and goes on doing so. Outside the
        # main thread no handler can be set, and none is needed.
        if number is not None and signal.getsignal(number) != signal.SIG_IGN:
            with suppress(ValueError):
                before[number] = signal.signal(number, stop._told)
    try:
        yield stop
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


HELD: list[str] = []
"""Warnings that libraries gave: a report of a fault repeats them."""

MOST_HELD = 50


def sum_in_one_order() -> None:
    """Have libraries of linear algebra sum on one processor, however many there are.

    On several they part a sum by their number, and a plan would differ between two machines in its
    ninth digit. They read it as they are loaded; their matrices here are small.
    """
    for library in ("OPENBLAS", "MKL", "OMP", "BLIS"):
        os.environ[f"{library}_NUM_THREADS"] = "1"
    os.environ["VECLIB_MAXIMUM_THREADS"] = "1"


def look_for_no_plugins() -> None:
    """Keep pydantic from looking through all that is installed for plugins: none has a say here."""
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")


def collect_seldom() -> None:
    """Have Python look for circles of what nobody holds less often than it would.

    What a plan is made of is there until the command ends, and would be searched time and again:
    nearly a tenth of the time of a plan. What takes room in it is in no circle.
    """
    gc.set_threshold(_SELDOM, 10, 10)


def hold_warnings() -> None:
    """Keep the warnings of libraries off standard error: they speak to who wrote the program.

    Whoever asks Python for warnings, as `python -W` does, has them shown as ever.
    """
    if not sys.warnoptions:
        warnings.showwarning = _held


def _held(
    message: Warning | str, category: type[Warning], filename: str, lineno: int,
    file: TextIO | None = None, line: str | None = None,
) -> None:  # fmt: skip
    if len(HELD) < MOST_HELD:
        HELD.append(f"{filename}:{lineno}: {category.__name__}: {message}")


def open_streams() -> None:
    """Have a sign that the terminal cannot write come out as "?" instead of ending the run."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")


def columns() -> int:
    """Return how wide the terminal is, 80 where there is none.

    Asked as `shutil.get_terminal_size` asks, without all that packs files.
    """
    told, out, wide = os.environ.get("COLUMNS", ""), sys.__stdout__, 0
    if told.isdecimal() and int(told):
        return int(told)
    if out is not None:
        with suppress(ValueError, OSError):
            wide = os.get_terminal_size(out.fileno()).columns
    return wide or 80


def tell(words: str, end: str = "\n") -> None:
    """Write to standard output at once.

    A reader that left, as `| head` does, is told no more, and that is no fault.

    Raises
    ------
    OSError
        Standard output takes no more, as on a full disk.
    """
    if sys.stdout is None:
        return
    try:
        sys.stdout.write(words + end)
        sys.stdout.flush()
    except BrokenPipeError:
        _drop(sys.stdout)
    except OSError:
        _drop(sys.stdout)
        raise


def in_json(record: object) -> str:
    """Return a record as it is printed for scripts; what is no number in it is a fault of ours."""
    import json  # help does without

    return json.dumps(record, indent=2, allow_nan=False)


def say(sentence: str) -> None:
    """Write a sentence to standard error; where that takes none, there is nobody to tell."""
    if sys.stderr is None:
        return
    try:
        sys.stderr.write(sentence + "\n")
        sys.stderr.flush()
    except OSError:
        _drop(sys.stderr)


def _drop(stream: TextIO) -> None:
    """Let what a stream still holds go nowhere: Python would try once more at its end."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)
