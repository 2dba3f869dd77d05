"""The sample sites and the folded one in metres, each planned once by a worker, whoever asks."""

from __future__ import annotations

from functools import cache

from make.sites.site_folder import LARCH_LANE

import grading
import sample_sites
from grading import Plan

HOMES = {
    **{name: sample_sites.path(name) for name in sample_sites.names()},
    LARCH_LANE.name: LARCH_LANE,
}
"""Where each is written."""


@cache
def sampled(name: str) -> Plan:
    """Return the plan of a site. What changes what planning does must plan by itself."""
    return grading.plan(grading.read_site(HOMES[name]))
