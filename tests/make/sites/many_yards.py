"""Many small yards for tests, and processes that plan them which can be made to crash or hang."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from make.sites.site_folder import AREA, HEAD, write_site

ENDS = """
import sys

if "viz.many.planner" in sys.orig_argv:
    import os, signal
    import grading

    own = grading.plan

    def plan(site):
        match site.name.partition(" ")[0]:
            case "Segfault":
                os.kill(os.getpid(), signal.SIGSEGV)
            case "Hangs":
                while True:
                    signal.pause()
            case "Memory":
                raise MemoryError("no room for 9 GB")
        return own(site)

    grading.plan = plan
"""
"""What a process runs as it starts: planning that ends as the name of a site says."""


def write_yards(folder: Path, names: Iterable[str]) -> Path:
    """Write a folder of sites, each by the name of its folder; all differ in what they plan."""
    for place, name in enumerate(names):
        wide = f"outline = [[2, 0], [{20 + place % 8}, 0], [{20 + place % 8}, 18], [2, 18]]"
        area = AREA.replace("outline = [[2, 0], [28, 0], [28, 18], [2, 18]]", wide)
        assert wide in area
        write_site(folder / name, HEAD.replace("Alder Row", f"{name} yard") + area)
    return folder
