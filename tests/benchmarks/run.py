"""Every benchmark, as one table: ours beside the general route to the same.

    python tests/benchmarks/run.py [--quick] [--markdown] [NAME ...]

NAME is that of a file, `water` of `bench_water.py`; without one all are run that give rows
(`bench_page.py`, in a real browser, prints its own). Each size of each has a process of its own,
so that its peak of memory is its own. `--quick` leaves out what is larger than ten thousand. Read
the ratios: times are processor time, which a machine that is shared tells twice as long on a bad
day, and both sides alike. "1/2" is twice what nothing gets below: a part of the work itself.
"""

from __future__ import annotations

import argparse
import importlib
import json
import math
import os
import subprocess
import sys
from collections.abc import Iterable, Sequence
from dataclasses import asdict
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
for path in (HERE, HERE.parent, ROOT):
    sys.path.insert(0, str(path))

from measuring import Row  # noqa: E402 (found by the lines above)

QUICK = 10_000
HEADS = ("what", "of", "ours", "beside", "takes", "times ours", "peak", "error", "exponent")


def names() -> list[str]:
    """Return the benchmarks that give rows."""
    return [
        file.stem.removeprefix("bench_")
        for file in sorted(HERE.glob("bench_*.py"))
        if "\ndef measure(" in file.read_text(encoding="utf-8")
    ]


def sizes(name: str, quick: bool) -> list[int | None]:
    """Return what sizes a benchmark is for."""
    every = importlib.import_module(f"bench_{name}").SIZES
    return [size for size in every if not quick or size is None or size <= QUICK]


def measured(name: str, size: int | None) -> list[Row]:
    """Return the rows of a benchmark of one size, from a process of its own."""
    words = [sys.executable, __file__, "--child", name, json.dumps(size)]
    environment = {**os.environ, "OPENBLAS_NUM_THREADS": "1"}
    told = subprocess.run(words, capture_output=True, text=True, check=False, env=environment)
    if told.returncode:  # such as a library that ends the process: what came before it counts
        said = (told.stderr.strip().splitlines() or ["nothing said"])[-1]
        print(f"{name}, {size}: ended with {told.returncode}, {said}", file=sys.stderr)
    return [Row(**json.loads(line)) for line in told.stdout.splitlines()]


def exponents(rows: Sequence[Row]) -> dict[int, float]:
    """Return by what power of the size each row takes more than the same of the size before."""
    found, last = {}, {}
    for place, row in enumerate(rows):
        key = row.what, row.general
        if row.size is None:
            continue
        if key in last and last[key].size != row.size:
            before = last[key]
            grown = math.log(row.ours / before.ours) / math.log(row.size / before.size)
            found[place] = grown
        last[key] = row
    return found


def told(seconds: float | None) -> str:
    """Return a time as people read it."""
    if seconds is None:
        return ""
    return f"{seconds:.3g} s" if seconds >= 1 else f"{1e3 * seconds:.3g} ms"


def cells(rows: Sequence[Row]) -> Iterable[list[str]]:
    """Give the cells of the table."""
    grown = exponents(rows)
    for place, row in enumerate(rows):
        ratio = "" if row.theirs is None else f"{row.theirs / row.ours:.2g}"
        if row.limit and row.theirs is not None:
            ratio = f"1/{row.ours / row.theirs:.2g}" if row.ours > row.theirs else ratio
        yield [
            row.what,
            "" if row.size is None else f"{row.size:,}",
            told(row.ours),
            row.general,
            told(row.theirs),
            ratio,
            "" if row.peak is None else f"{row.peak:.0f} MB",
            "" if row.error is None else f"{row.error:.0e}",
            f"{grown[place]:.2f}" if place in grown else "",
        ]


def main() -> None:
    """Print the table, and the load of the machine while it was made."""
    from tabulate import tabulate

    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--quick", action="store_true", help="nothing larger than ten thousand")
    parser.add_argument("--markdown", action="store_true", help="as it stands in DEVELOPERS.md")
    parser.add_argument("--child", nargs=2, help=argparse.SUPPRESS)
    parser.add_argument("names", nargs="*", metavar="NAME", help=", ".join(names()))
    asked = parser.parse_args()
    if asked.child:
        name, size = asked.child
        for row in importlib.import_module(f"bench_{name}").measure(json.loads(size)):
            print(json.dumps(asdict(row)), flush=True)
        return
    unknown = sorted(set(asked.names) - set(names()))
    if unknown:
        parser.error(f"{unknown[0]!r} is none of {', '.join(names())}")
    before = os.getloadavg()[0]
    rows = []
    for name in asked.names or names():
        for size in sizes(name, asked.quick):
            print(f"{name} {size or ''}", file=sys.stderr, flush=True)
            rows += measured(name, size)
    form = "pipe" if asked.markdown else "simple"
    print(tabulate(list(cells(rows)), HEADS, tablefmt=form, disable_numparse=True))
    print(f"\nload of the machine {before:.1f} before and {os.getloadavg()[0]:.1f} after, "
          f"{os.cpu_count()} processors")  # fmt: skip


if __name__ == "__main__":
    main()
