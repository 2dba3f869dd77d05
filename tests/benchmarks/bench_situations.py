"""The situations of the trade, planned and advised, beside sixty plans of sample sites."""

from __future__ import annotations

from collections.abc import Iterable

from make.sites.situations import situations, yard_of
from measuring import Row, peak, spent

import sample_sites
from grading.pipeline import plan
from grading.reading.site_file import read_site
from grading.site.model import Site

SIXTY = 60


def whole(site: Site) -> None:
    """Plan a site, with everything that is said of its bases and what it takes."""
    made = plan(site)
    _ = made.advice, made.checks


SIZES = (None,)


def measure(_: None) -> Iterable[Row]:
    """Give the row."""
    samples = [read_site(sample_sites.path(name)) for name in sample_sites.names()]
    whole(samples[0])
    stated = [yard_of(row) for row in situations()]
    ours = spent(lambda: [whole(site) for site in stated])
    sixty = spent(lambda: [whole(site) for site in samples]) * SIXTY / len(samples)
    what = f"{len(stated)} situations of the trade, planned and advised"
    yield Row(what, None, ours, f"{SIXTY} plans of sample sites", sixty, peak())
