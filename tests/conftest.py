"""What holds for all tests: none is held to the clock, and examples drawn by lot are the same for
all; `--hypothesis-profile drawn` draws others."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, settings

# A worker runs on every processor: threads of a matrix product would wait for one another there.
# It is read when NumPy is first imported, which no plugin of ours does before this file.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

settings.register_profile("drawn", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("untimed", settings.get_profile("drawn"), derandomize=True)
settings.load_profile("untimed")

# What is drawn is drawn: no still is taken from an earlier run, unless a test says where they lie.
os.environ["FALLAWAY_CACHE"] = ""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """One worker more than processors: tests of the page wait for a browser a third of the time."""
    return (os.cpu_count() or 1) + 1
