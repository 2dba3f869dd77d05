"""What holds for all tests: none is held to the clock, and examples drawn by lot are the same for
all; `--hypothesis-profile drawn` draws others."""

from __future__ import annotations

import os
import tempfile

import pytest
from hypothesis import HealthCheck, settings

# A worker runs on every processor: threads of a matrix product would wait for one another there.
# It is read when NumPy is first imported, which no plugin of ours does before this file.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

settings.register_profile("drawn", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("untimed", settings.get_profile("drawn"), derandomize=True)
settings.load_profile("untimed")

if "PYTEST_XDIST_WORKER" not in os.environ:
    # A still that one paper has is not drawn again for the next, by any worker; none is taken from
    # an earlier run, and in `viz/pictures` each is drawn.
    STILLS = tempfile.TemporaryDirectory(prefix="fallaway-stills-")
    os.environ["FALLAWAY_CACHE"] = STILLS.name

FIRST = ("test_printed.py", "test_whole_job.py")
"""What takes a minute in one piece: begun last, it would leave the other processors idle."""


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """One worker more than processors: tests of the page wait for a browser a third of the time."""
    return (os.cpu_count() or 1) + 1


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Begin with what takes longest."""
    items.sort(key=lambda item: item.path.name not in FIRST)
