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
    command = [sys.executable, TESTS / "to_the_end.py", "--workers", "1", *words]
    command += ["--results", folder / "results.jsonl"]
    ways = os.pathsep.join([str(TESTS.parent), str(TESTS)])
    done = subprocess.run(
        list(map(str, command)),
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": ways},
    )
    return done.returncode, done.stdout + done.stderr


def test_wild_sites_end_in_a_plan_or_a_sentence(tmp_path):
    status, said = ended("--cases", "40", "--outputs", "", folder=tmp_path)
    assert status == 0, said
    counts = dict(line.split() for line in said.splitlines() if len(line.split()) == 2)
    # Neither kind may take over, or the cases prove little.
    assert int(counts["plan"]) >= 10
    assert int(counts["sentence"]) >= 5


@pytest.mark.parametrize(
    ("output", "first"), [("drawings", 1000), ("page", 1010), ("sheets", 1020), ("export", 1030)]
)
def test_wild_sites_come_out_whole(output, first, tmp_path):
    status, said = ended(
        "--first", str(first), "--cases", "4", "--outputs", output, folder=tmp_path
    )
    assert status == 0, said
