"""What a command does not need it does not load: each of these takes a quarter of a second."""

from __future__ import annotations

import gc
import os
import subprocess
import sys
import weakref
from pathlib import Path

import pytest

import grading
import sample_sites
from viz.scene import staging

ROOT = str(Path(grading.__file__).resolve().parents[1])

PLANNED = """
import sys, sample_sites, viz.cli
sys.stdout = open(__import__("os").devnull, "w")
viz.cli.main(["plan", str(sample_sites.path(sys.argv[1])), *sys.argv[2:]])
print(*sorted(sys.modules), file=sys.stderr)
"""


@pytest.mark.parametrize("words", [[], ["--json"]])
@pytest.mark.parametrize("name", ["back-patio", "garden-court"])
def test_a_plan_loads_neither_an_optimiser_nor_what_draws(name, words):
    done = subprocess.run(
        [sys.executable, "-c", PLANNED, name, *words], capture_output=True, text=True, check=True,
        env=os.environ | {"PYTHONPATH": ROOT},
    )  # fmt: skip
    loaded = set(done.stderr.split())
    assert "grading.pipeline" in loaded
    if not words:  # what turns the verdict, which the JSON tells, is found by a solver
        assert "scipy.optimize" not in loaded
    assert not loaded & {"viz.outputs", "viz.drawings.drawing_set", "matplotlib", "pyvista", "PIL"}


def test_what_several_pictures_show_is_staged_once():
    plan = grading.plan(grading.read_site(sample_sites.path("side-walkway")))
    (area,) = plan.areas
    assert staging.stage(plan, area, "panel") is staging.stage(plan, area, "panel")
    assert staging.stage(plan, area, "panel") is not staging.stage(plan, area, "dense")
    assert plan.order is plan.order
    scene = weakref.ref(staging.stage(plan, area, "panel"))
    del plan, area
    gc.collect()
    assert scene() is None
