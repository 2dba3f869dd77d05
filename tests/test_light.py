"""What a command does not need it does not load: each of these takes a quarter of a second."""

from __future__ import annotations

import argparse
import ast
import gc
import os
import shutil
import subprocess
import sys
import weakref
from pathlib import Path

import pytest

import grading
import sample_sites
from viz import cli
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
    assert not loaded & {"viz.outputs", "viz.drawings.listed", "matplotlib", "pyvista", "PIL"}


TOPPED = ("words", "tables", "terminal", "sheets", "paper", "desk", "drawings", "")


@pytest.mark.parametrize("folder", TOPPED)
def test_our_own_modules_are_imported_at_the_top_of_a_file(folder):
    """No circle is left to dodge; only what is heavy and not ours is imported where it is used."""
    found = []
    place = Path(ROOT) / "viz" / folder
    for file in place.rglob("*.py") if folder else place.glob("*.py"):
        if file.name == "cli.py":
            continue
        whole = ast.parse(file.read_text(encoding="utf-8"))
        for node in set(ast.walk(whole)) - set(whole.body):
            names = [each.name for each in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            ours = [name for name in names if name.split(".")[0] in ("grading", "viz")]
            found += [f"{file.name}:{node.lineno} {name}" for name in ours]
    assert not found


HELPED = """
import argparse, sys
before = set(sys.modules)
sys.argv = ["fallaway", *sys.argv[1:]]
import viz.cli
try:
    viz.cli.main()
except SystemExit:
    pass
print(*sorted(set(sys.modules) - before), file=sys.stderr)
"""

OURS = {"viz", "viz.cli", "viz.options", "viz.terminal", "viz.terminal.lines"}
SLOW = {"pathlib", "typing", "shutil", "tempfile", "json", "urllib", "inspect", "unicodedata"}


@pytest.mark.parametrize("words", [["--help"], [], ["plan", "--help"], ["--version"]])
def test_help_loads_what_reads_words_and_little_more(words):
    """It takes less than twice what it takes to load argparse, seen in what is loaded."""
    done = subprocess.run(
        [sys.executable, "-c", HELPED, *words], capture_output=True, text=True, check=True,
        env=os.environ | {"PYTHONPATH": ROOT, "COLUMNS": "80"},
    )  # fmt: skip
    assert done.stdout
    loaded = set(done.stderr.split())
    assert {each for each in loaded if each.split(".")[0] not in sys.stdlib_module_names} == OURS
    assert not loaded & SLOW


@pytest.mark.parametrize("columns", ["", "0", "50", "133", "wide"])
def test_help_is_as_wide_as_it_would_be(columns, monkeypatch):
    monkeypatch.setenv("COLUMNS", columns)
    wide = shutil.get_terminal_size().columns
    ours = cli._parser()
    words = ours.format_help()
    ours.formatter_class = argparse.HelpFormatter  # argparse's own, which asks `shutil`
    assert words == ours.format_help()
    assert max(map(len, words.splitlines())) <= wide


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
