"""What the benchmarks measure with: processor time, peak memory, and a row of their one table.

Times are processor time, of this process and those it started, so that a machine that is shared
tells the same. A peak is that of a whole process: `run.py` gives every benchmark and size one of
its own, and ours goes first in it.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from time import process_time

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Row:
    """One comparison.

    what : what is worked out.
    size : of how much; None where it has no size.
    ours : what ours takes. [s]
    general : the general route to the same.
    theirs : what that takes, None where there is none. [s]
    peak : the most memory ours took, its process and all in it. [MB]
    error : how far the answers differ, by their size.
    limit : True where the general route is a part of ours, that nothing gets below.
    """

    what: str
    size: int | None
    ours: float
    general: str = ""
    theirs: float | None = None
    peak: float | None = None
    error: float | None = None
    limit: bool = False


def peak() -> float:
    """Return the most memory that this process has taken so far. [MB]"""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024


def used() -> float:
    """Return the processor time of this process and of those it started and waited for. [s]"""
    children = resource.getrusage(resource.RUSAGE_CHILDREN)
    return process_time() + children.ru_utime + children.ru_stime


def spent(call: Callable[[], object], times: int = 1) -> float:
    """Return the median processor time of a call. [s]"""
    found = []
    for _ in range(times):
        begin = used()
        call()
        found.append(used() - begin)
    return median(found)


def cold(words: Sequence[str], times: int = 7) -> tuple[float, float]:
    """Return the median processor time [s] and peak [MB] of Python as a process of its own.

    What is compiled of a module is kept for it, as an installation does, in a folder of its own;
    a first run, which makes it, is not counted.
    """
    found = []
    with tempfile.TemporaryDirectory() as folder:
        bare = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        paths = {"PYTHONPYCACHEPREFIX": folder, "PYTHONPATH": str(ROOT)}
        for _ in range(times + 1):
            # Ended by itself: only the wait that reaps it tells what it alone has taken.
            run = subprocess.Popen(
                [sys.executable, *words], env={**bare, **paths}, cwd=ROOT,
                stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )  # fmt: skip
            _, status, used = os.wait4(run.pid, 0)
            run.returncode = os.waitstatus_to_exitcode(status)
            found.append((used.ru_utime + used.ru_stime, used.ru_maxrss / 1024))
    seconds, peaks = zip(*found[1:], strict=True)
    return median(seconds), median(peaks)
