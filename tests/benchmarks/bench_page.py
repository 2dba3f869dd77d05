"""How soon the page shows what a change comes to, beside a bare plan of the changed site.

    PYTHONPATH=.:tests python tests/benchmarks/bench_page.py [SITE ...]

Medians of one run in a real browser; changes and bare plans take turns, so that both meet the same
machine. Read the differences and the ratios.
"""

from __future__ import annotations

import os
import shutil
import statistics
import sys
import tempfile
import time
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from drive.browser import browsing
from drive.paged import paged, settled
from drive.served import Served

import grading
import sample_sites

ROUNDS = 12

CHANGED = """async ([at, to]) => {
    const { desk } = await import("/web/live.js");
    const begun = performance.now();
    const heard = {};
    const offs = ["tally", "frame", "whole"].map((key) => desk.on(key, (value) => {
        const since = performance.now() - begun;
        if (since > 1 && !(key in heard) && (key !== "whole" || value)) heard[key] = since;
    }));
    const reply = await desk.set(at, to);
    while (!("whole" in heard)) await new Promise((done) => setTimeout(done, 5));
    offs.forEach((off) => off());
    return { is: reply.is, ...heard };
}"""


def sills(folder: Path) -> tuple[str, list[float]]:
    """Return the way to the sill that is moved, and its levels: some hundredths up and down."""
    site = grading.read_site(folder)
    unit = 0.3048 if site.unit == "ft" else 1.0
    level = site.doors[0].sill / unit
    step = 0.01 if site.unit == "ft" else 0.003
    return "door/0/sill", [round(level + step * (k % 5), 4) for k in range(1, ROUNDS + 1)]


def bare(folder: Path) -> float:
    """Return how long a plan of the site as it lies takes, read and all. [s]"""
    begun = time.perf_counter()
    grading.plan(grading.read_site(folder))
    return time.perf_counter() - begun


def measured(name: str) -> None:
    """Print one line for a sample site."""
    folder = Path(tempfile.mkdtemp()) / name
    shutil.copytree(sample_sites.path(name), folder)
    at, levels = sills(folder)
    plans, numbers, models, wholes = [], [], [], []
    with Served(folder) as served, browsing() as browser, paged(browser, served) as page:
        page.locator("#tabs button[data-view=model]").click()
        settled(page)
        page.wait_for_timeout(4000)
        bare(folder)
        for level in levels:
            told = page.evaluate(CHANGED, [at, level])
            assert told["is"] == "done", told
            page.locator("#saved", has_text="saved ").wait_for()
            plans.append(1000 * bare(folder))
            numbers.append(told["tally"])
            wholes.append(told["whole"])
            if "frame" in told:
                models.append(told["frame"] - told["tally"])
    plan, number, whole = map(statistics.median, (plans, numbers, wholes))
    model = statistics.median(models) if models else float("nan")
    print(
        f"{name:15} bare plan {plan:5.0f} ms   numbers {number:5.0f} ms ({number - plan:+5.0f}, "
        f"{number / plan:.2f})   model {model:+5.0f} ms   all {whole:5.0f} ms"
    )
    shutil.rmtree(folder.parent)


if __name__ == "__main__":
    for each in sys.argv[1:] or ("back-patio", "front-walk", "raised-patio"):
        measured(each)
