"""How long the situations of the trade take to plan and advise, beside sixty plans of sample sites.

Run `PYTHONPATH=.:tests python tests/benchmarks/bench_situations.py`; read the ratio, in processor
time of one run. Nothing is asserted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from time import process_time

from situations import situations, yard_of
from tabulate import tabulate

import sample_sites
from grading.pipeline import plan
from grading.reading.site_file import read_site
from grading.site.model import Site

SIXTY = 60


def whole(site: Site) -> None:
    """Plan a site, with everything that is said of its bases and what it takes."""
    made = plan(site)
    _ = made.advice, made.checks


def spent(job: Callable[[Site], None], sites: Iterable[Site]) -> float:
    """Return the processor time that a job takes over some sites. [s]"""
    started = process_time()
    for site in sites:
        job(site)
    return process_time() - started


def main() -> None:
    """Print the two times and their ratio."""
    samples = [read_site(sample_sites.path(name)) for name in sample_sites.names()]
    whole(samples[0])
    rows = situations()
    stated = [yard_of(row) for row in rows]
    ours = spent(whole, stated)
    sixty = spent(whole, samples) * SIXTY / len(samples)
    table = [
        (f"{len(rows)} situations", f"{ours:.1f}", f"{ours / sixty:.2f}"),
        (f"{SIXTY} plans of sample sites", f"{sixty:.1f}", "1"),
    ]
    print(tabulate(table, ["planned and advised", "s", "of sixty"], disable_numparse=True))


if __name__ == "__main__":
    main()
