"""Wild sites end in a plan or in a sentence, whatever a person wrote; see `to_the_end`."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="each case is a forked process")


def ended(*words, folder):
    """Run cases in a process of their own, and give its exit status and what it printed."""
    command = [sys.executable, TESTS / "measure" / "to_the_end.py", "--workers", "1", *words]
    command += ["--results", folder / "results.jsonl"]
    ways = os.pathsep.join([str(TESTS.parent), str(TESTS)])
    done = subprocess.run(
        list(map(str, command)),
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": ways},
    )
    return done.returncode, done.stdout + done.stderr


def counted(said):
    """Return how many cases ended each way, as a run prints it."""
    pairs = [line.split() for line in said.splitlines()]
    return {pair[0]: int(pair[1]) for pair in pairs if len(pair) == 2 and pair[1].isdigit()}


def test_wild_sites_end_in_a_plan_or_a_sentence(tmp_path):
    status, said = ended("--plans", "3", "--cases", "40", "--outputs", "", folder=tmp_path)
    assert status == 0, said
    # Neither kind may take over, or the cases prove little.
    assert counted(said)["plan"] == 3
    assert counted(said)["sentence"] >= 2


@pytest.mark.parametrize(
    # One small yard each, and one whose section touches its refill at a point; where `wild`
    # changes, the next that ends in a plan.
    ("output", "first"),
    [
        ("drawings", 100083),
        pytest.param("page", 100108, marks=pytest.mark.long),
        ("sheets", 100116),
        pytest.param("export", 100148, marks=pytest.mark.long),
        ("export", 300004),
    ],
)
def test_a_wild_site_comes_out_whole(output, first, tmp_path):
    words = ["--first", str(first), "--plans", "1", "--cases", "60", "--outputs", output]
    status, said = ended(*words, folder=tmp_path)
    assert status == 0, said
    assert counted(said)["plan"] == 1
