"""How tests wait: for a state, and for as long as it takes."""

from __future__ import annotations

import time
from collections.abc import Callable

PATIENCE = 1800
"""When a machine is given up that does nothing: no measure of how long anything takes. [s]"""


def until(holds: Callable[[], object]) -> None:
    """Wait until something holds; AssertionError only where it seems that it never will."""
    begun = time.monotonic()
    while not holds():
        assert time.monotonic() - begun < PATIENCE, "waited in vain"
        time.sleep(0.01)
