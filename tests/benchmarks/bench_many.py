"""What many yards in one run take: on one processor, on two, and beside nothing but their plans.

Run `PYTHONPATH=.:tests python tests/benchmarks/bench_many.py`; nothing is asserted. Yards are the
sample sites with their ground tilted and raised anew, and one in eight is wild
(`tests/make/sites/wild.py`): half of these are wrong. Processor time is that of all processes
together; the clock tells the speed-up, which a machine that is busy with other work makes less of.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from time import perf_counter, process_time

from make.sites.wild import write_wild
from tabulate import tabulate

import grading
import sample_sites
from viz.tables.yards import yard_of

WILD = 8  # one in so many


def write_many(folder: Path, count: int) -> Path:
    """Write so many yards into a folder that is not there yet; the same on every machine."""
    samples = sorted(sample_sites.names())
    for number in range(count):
        home = folder / f"yard-{number:04}"
        if number % WILD == WILD - 1:
            write_wild(number, home)
        else:
            _write_tilted(random.Random(number), samples[number % len(samples)], home)
    return folder


def _write_tilted(lot: random.Random, sample: str, home: Path) -> None:
    shutil.copytree(sample_sites.path(sample), home, ignore=shutil.ignore_patterns("records"))
    east, north, up = lot.uniform(-0.002, 0.002), lot.uniform(-0.002, 0.002), lot.gauss(0, 0.02)
    file = home / "spots.csv"
    if not file.exists():
        file = home / "site.toml"  # a yard that is booked: another by its name alone
        text = file.read_text(encoding="utf-8").replace('name = "', f'name = "{up:.4f} ', 1)
        file.write_text(text, encoding="utf-8")
        return
    lines = file.read_text(encoding="utf-8").splitlines()
    heads = next(line for line in lines if not line.startswith("#")).lower().split(",")
    x, y, z = (heads.index(name) for name in "xyz")
    for place, line in enumerate(lines):
        cells = line.split(",")
        try:
            moved = float(cells[z]) + east * float(cells[x]) + north * float(cells[y]) + up
        except (ValueError, IndexError):
            continue  # a remark, the head, or feet and inches
        cells[z] = f"{moved:.4f}"
        lines[place] = ",".join(cells)
    file.write_text("\n".join(lines) + "\n", encoding="utf-8")


def by_command(yards: Path, out: Path, processors: int) -> tuple[float, float, str]:
    """Plan by the command; return the time by the clock and of the processor [s], and its head."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    begun = perf_counter()
    done = subprocess.run(
        [sys.executable, "-m", "viz.cli", "plan", str(yards), "--out", str(out)],
        env=os.environ | {"LOKY_MAX_CPU_COUNT": str(processors)}, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    clock = perf_counter() - begun
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return clock, used, done.stdout.partition("\n")[0]


def in_one_process(homes: Sequence[Path], work: Callable[[Path], object]) -> float:
    """Return the processor time that some work takes over sites, warm. [s]"""
    begun = process_time()
    for home in homes:
        try:
            work(home)
        except grading.GradingError:
            continue
    return process_time() - begun


def main() -> None:
    """Print what each takes, all of it and for one yard."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=1000)
    parser.add_argument("--part", type=int, default=200, help="of them, for what is compared")
    words = parser.parse_args()
    with tempfile.TemporaryDirectory() as place:
        whole = write_many(Path(place) / "whole", words.count)
        part = write_many(Path(place) / "part", words.part)
        homes = sorted(part.iterdir())
        bare = in_one_process(homes, lambda home: grading.plan(grading.read_site(home)))
        told = in_one_process(
            homes, lambda home: yard_of(grading.plan(grading.read_site(home)), home.name)
        )
        one = by_command(part, Path(place) / "one", 1)
        two = by_command(part, Path(place) / "two", 2)
        again = by_command(part, Path(place) / "two", 2)
        all_of_it = by_command(whole, Path(place) / "all", 2)
    rows = [
        ("read and planned in one process", words.part, "", bare),
        ("the same, with its row of the table", words.part, "", told),
        ("the command, one processor", words.part, one[0], one[1]),
        ("the command, two processors", words.part, two[0], two[1]),
        ("the same again, nothing to be planned but what is wrong", words.part, *again[:2]),
        ("the command, two processors", words.count, *all_of_it[:2]),
    ]
    table = [
        (what, count, clock and f"{clock:.1f}", f"{used:.1f}", f"{1000 * used / count:.0f}")
        for what, count, clock, used in rows
    ]
    heads = ["", "yards", "clock [s]", "processor [s]", "one yard [ms]"]
    print(tabulate(table, heads, disable_numparse=True))
    print(f"speed-up on two processors {one[0] / two[0]:.2f}; over a bare plan {two[1] / bare:.2f}")
    print(all_of_it[2])
    print(f"load of the machine {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    main()
