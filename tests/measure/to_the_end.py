"""Carries wild sites from the file to every output, and says what went wrong on the way.

    PYTHONPATH=.:tests python tests/measure/to_the_end.py --minutes 60 --workers 2

`--first SEED --cases 1` runs one again.

Each case runs in a process of its own, forked from one that has imported everything, so that its
processor time, its memory and what reaches standard error are its own.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Callable, Iterable, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path

from make.sites.wild import write_wild

PROCESSOR_TIME = 20
"""What may pass on one processor from the file to any one output. [s]"""

MEMORY = 1_000_000_000
"""What a case may hold at the most. [bytes]"""

LONGEST_MESSAGE = 4096
"""What one message may weigh at the most. [bytes]"""

OUTPUTS = ("drawings", "page", "sheets", "export")

_NO_NUMBER = re.compile(r"(?<![\w.])[-+]?(nan|inf|infinity)(?![\w.])", re.IGNORECASE)
_NOTE = re.compile(r'(?<=desc=")[^"]*')
"""What a person noted of a shot: their own words, whatever they are."""

_READ = (".csv", ".svg", ".txt", ".json", ".xml")


@dataclass(frozen=True)
class Outcome:
    """How a case ended: "plan", "sentence" or "fault", with its time to the slowest output [s].

    Also the memory it held at the most [MB], and the processor time of the whole case [s].
    """

    seed: int
    ended: str
    words: str
    seconds: float = 0.0
    megabytes: float = 0.0
    used: float = 0.0


def carried(seed: int, outputs: Sequence[str]) -> Outcome:
    """Carry the wild site of a seed through reading, plan, record, report, order and outputs."""
    read, write = os.pipe()
    folder = Path(tempfile.mkdtemp(prefix="wild-"))
    child = os.fork()
    if child == 0:
        os.close(read)
        _child(seed, outputs, folder, write)
    os.close(write)
    try:
        with os.fdopen(read, "rb") as pipe:
            said = pipe.read().decode()
        _, status, used = os.wait4(child, 0)
        noise = (folder / "stderr").read_text(encoding="utf-8", errors="replace")
    finally:
        shutil.rmtree(folder, ignore_errors=True)
    peak = used.ru_maxrss * 1024
    whole = used.ru_utime + used.ru_stime
    lost = "fault", f"the process ended with {status}", whole
    ended, words, seconds = json.loads(said) if said else lost
    if ended != "fault":
        if noise.strip():
            ended, words = "fault", f"on standard error: {noise.strip()[:1500]}"
        elif seconds > PROCESSOR_TIME:
            ended, words = "fault", f"{seconds:.0f} s of processor time to one output: {words}"
        elif peak > MEMORY:
            ended, words = "fault", f"{peak / 1e6:.0f} MB: {words}"
    return Outcome(seed, ended, words, round(seconds, 2), round(peak / 1e6), round(whole, 2))


def _child(seed: int, outputs: Sequence[str], folder: Path, pipe: int) -> None:
    """Run one case and tell how it ended; what it prints as an error lands in a file."""
    noise = os.open(folder / "stderr", os.O_CREAT | os.O_WRONLY | os.O_APPEND)
    os.dup2(noise, 2)
    warnings.showwarning = _told_with_its_way
    resource.setrlimit(resource.RLIMIT_CPU, (3 * PROCESSOR_TIME, 3 * PROCESSOR_TIME + 5))
    signal.signal(signal.SIGXCPU, signal.SIG_DFL)
    try:
        said = _case(write_wild(seed, folder / "site"), outputs, folder / "out")
    except BaseException:
        said = "fault", traceback.format_exc(limit=-6), time.process_time()
    with os.fdopen(pipe, "wb") as out:
        out.write(json.dumps(said).encode())
    os._exit(0)


def _told_with_its_way(message: object, category: type, *place: object) -> None:
    """Print a warning with who called: a library's own line tells nothing."""
    called = "".join(traceback.format_stack()[-9:-1])
    print(f"{category.__name__}: {message}\n{called}", file=sys.stderr)


def _case(site_folder: Path, outputs: Sequence[str], out: Path) -> tuple[str, str, float]:
    import grading
    from viz.export.formats import chosen_formats, export
    from viz.tables.account import account_of
    from viz.terminal import order, report

    out.mkdir()
    plan = None
    try:
        site = grading.read_site(site_folder)
        plan = grading.plan(site)
        (out / "plan.json").write_text(json.dumps(grading.record(plan), allow_nan=False))
        (out / "report.txt").write_text(report.text(plan))
        (out / "order.txt").write_text(order.text(account_of(plan)))
    except grading.GradingError as error:
        return *_sentence(str(error)), time.process_time()
    planned, longest, slowest = time.process_time(), 0.0, "plan"
    faults: list[str] = []
    makers: dict[str, Callable[[], object]] = {
        "drawings": lambda: _drawings(plan, out),
        "page": lambda: _page(plan, out),
        "sheets": lambda: _sheets(plan, out),
        "export": lambda: export(plan, out, chosen_formats(None)),
    }
    for name in outputs:
        begun = time.process_time()
        try:
            makers[name]()
        except Exception:
            faults.append(f"{name}: {traceback.format_exc(limit=-6)}")
        longest, slowest = max((longest, slowest), (time.process_time() - begun, name))
    faults += _not_finite(out)
    for each in plan.warnings:
        if len(each.encode()) > LONGEST_MESSAGE:
            faults.append(f"a warning of {len(each.encode())} bytes")
    if faults:
        return "fault", "\n".join(faults[:4]), planned + longest
    return "plan", f"{planned:.1f} s, {slowest} {longest:.1f} s", planned + longest


def _drawings(plan: object, out: Path) -> None:
    from viz.drawings.listed import write_drawings

    write_drawings(plan, out)


def _page(plan: object, out: Path) -> None:
    from viz.page.html import write_page

    write_page(plan, out / "yard.html")


def _sheets(plan: object, out: Path) -> None:
    from grading.price.model import price_of
    from viz.sheets.price.quote import issue_of, write_quote
    from viz.sheets.write import KINDS, write_sheets

    write_sheets(plan, out, lambda words: None, KINDS)
    price = price_of(plan)
    if price is not None:
        write_quote(price, issue_of(plan, None, None), out, lambda words: None)


def _sentence(words: str) -> tuple[str, str]:
    weight = len(words.encode())
    if weight > LONGEST_MESSAGE:
        return "fault", f"a message of {weight} bytes: {words[:300]}"
    if "Traceback" in words or not words.strip():
        return "fault", f"no sentence: {words[:300]!r}"
    return "sentence", words


def _not_finite(out: Path) -> Iterable[str]:
    for file in sorted(out.rglob("*")):
        if file.suffix in _READ:
            text = file.read_text(encoding="utf-8", errors="replace")
            found = _NO_NUMBER.search(_NOTE.sub("", text))
            if found is not None:
                around = found.string[max(found.start() - 60, 0) : found.end() + 60]
                yield f"{file.name} holds {found.group()!r}: {around!r}"


def warmed() -> None:
    """Import what every case needs, once, before any is forked."""
    import matplotlib.figure
    import scipy.optimize  # noqa: F401

    import grading
    import sample_sites
    from viz.drawings.listed import write_drawings
    from viz.export.formats import export
    from viz.page.html import write_page
    from viz.sheets.write import write_sheets
    from viz.terminal import order, report

    del grading, sample_sites, order, report, write_drawings, export, write_page, write_sheets
    del matplotlib


def _worker(
    seeds: Iterable[int], until: float, plans: int, results: Path, outputs: Sequence[str]
) -> None:
    warmed()
    with results.open("a", encoding="utf-8") as lines:
        for seed in seeds:
            if time.monotonic() > until or plans <= 0:
                return
            outcome = carried(seed, outputs)
            plans -= outcome.ended == "plan"
            lines.write(json.dumps(asdict(outcome)) + "\n")
            lines.flush()


def main() -> int:
    """Run for a stated time and print every fault."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=60)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--cases", type=int, default=10**6)
    parser.add_argument("--plans", type=int, default=10**6, help="at the most, of each worker")
    parser.add_argument("--outputs", default=",".join(OUTPUTS))
    parser.add_argument("--results", type=Path, default=Path("to-the-end.jsonl"))
    words = parser.parse_args()
    words.results.unlink(missing_ok=True)
    until = time.monotonic() + 60 * words.minutes
    outputs = [name for name in words.outputs.split(",") if name]
    children = []
    for place in range(words.workers):
        child = os.fork()
        if child == 0:
            last = words.first + words.cases
            seeds = range(words.first + place, last, words.workers)
            _worker(seeds, until, words.plans, words.results, outputs)
            os._exit(0)
        children.append(child)
    for child in children:
        os.waitpid(child, 0)
    lines = words.results.read_text(encoding="utf-8").splitlines()
    outcomes = [Outcome(**json.loads(line)) for line in lines]
    faults = [each for each in outcomes if each.ended == "fault"]
    for each in faults:
        print(f"seed {each.seed}: {each.words}\n")
    print(f"{sum(each.used for each in outcomes) / 60:.1f} minutes of processor time")
    for ended in ("plan", "sentence", "fault"):
        print(ended, sum(each.ended == ended for each in outcomes))
    slowest = max(outcomes, key=lambda each: each.seconds)
    largest = max(outcomes, key=lambda each: each.megabytes)
    print(f"longest {slowest.seconds} s (seed {slowest.seed})")
    print(f"largest {largest.megabytes} MB (seed {largest.seed})")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
