"""Other machines: no home, nothing that can be written but the output, other places and clocks.

The bytes of what is handed on are those of any other run.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from make.sites.compared import folder

from viz import cli

ROOT = Path(cli.__file__).resolve().parents[1]

# Without these rights root is held to what may be read and written as anybody is.
DROPPED = "-dac_override,-dac_read_search,-fowner"

BARE = {"PATH": os.defpath, "HOME": "/nowhere/at/all"}
PLAIN = {"PYTHONHASHSEED": "1", "TZ": "UTC", "LC_ALL": "C.UTF-8", "OPENBLAS_NUM_THREADS": "1"}
FAR = {
    "PYTHONHASHSEED": "77", "TZ": "Asia/Kathmandu", "LC_ALL": "tr_TR.UTF-8", "LANG": "ar_EG.UTF-8",
    "OPENBLAS_NUM_THREADS": "3", "OMP_NUM_THREADS": "3", "COLUMNS": "400",
}  # fmt: skip

ODD = "chemin d'été/Ünï 日本 (2) & co"


def run(home, environment, *words):
    """Run a command on a machine on which nothing but the output can be written."""
    words = [sys.executable, "-m", "viz.cli", *map(str, words)]
    if hasattr(os, "getuid") and os.getuid() == 0:
        held = shutil.which("setpriv")
        if held is None:
            pytest.skip("root may write anything")
        words = [held, f"--bounding-set={DROPPED}", f"--inh-caps={DROPPED}", *words]
    environment = BARE | environment | {"PYTHONPATH": os.pathsep.join([str(ROOT), *sys.path])}
    return subprocess.run(
        words, cwd=home, env=environment, check=False, capture_output=True, text=True,
        encoding="utf-8",
    )  # fmt: skip


def seen(folder):
    return {
        str(each.relative_to(folder)): each.read_bytes()
        for each in folder.rglob("*")
        if each.is_file() and each.name != ".fallaway.json"
    }


@pytest.fixture
def yards(tmp_path):
    """Return a plain place and an odd one, each with the same yard, that cannot be written."""
    homes = tmp_path / "plain", tmp_path / ODD
    for home in homes:
        home.mkdir(parents=True)
        folder(home / "site")
        for each in (home / "site", *(home / "site").iterdir()):
            each.chmod(0o555 if each.is_dir() else 0o444)
    yield homes
    for home in homes:
        (home / "site").chmod(0o755)


def told_alike(one, other):
    assert one.returncode == other.returncode == cli.DONE, (one.stderr, other.stderr)
    for each in (one, other):
        assert "Traceback" not in each.stderr
        assert "matplotlib" not in each.stderr.lower(), "a library without a home is silent"


def test_seeds_zones_places_threads_and_paths_change_no_byte_of_a_plan(yards):
    """One more thread of linear algebra changed what a dig is known to in its ninth digit."""
    plain, odd = yards
    one = run(plain, PLAIN, "plan", "site", "--json")
    other = run(odd, FAR, "plan", odd / "site", "--json")
    told_alike(one, other)
    assert one.stdout == other.stdout


@pytest.mark.long
def test_seeds_zones_places_threads_and_paths_change_no_byte_of_what_is_written(yards):
    plain, odd = yards
    for words in (("export", "--as", "csv,dxf,glb,landxml,stl,xlsx"), ("order",), ("stakes",),
                  ("sheet", "--for", "crew")):  # fmt: skip
        command, *more = words
        one = run(plain, PLAIN, command, "site", "--out", "out", *more)
        other = run(odd, FAR, command, odd / "site", "--out", odd / "out é", *more)
        told_alike(one, other)
        first, second = seen(plain / "out"), seen(odd / "out é")
        assert first.keys() == second.keys()
        assert [name for name in first if first[name] != second[name]] == []
    assert len(first) > 20


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("plan", "site", "--shot", "e=9.93"), "permission denied"),
        *(
            pytest.param(words, said, marks=pytest.mark.long)
            for words, said in (
                (("record", "site", "--who", "N. Ames", "--note", "x"), "permission denied"),
                (("export", "site", "--out", "site/out", "--as", "csv"), "permission denied"),
                (("open", "site", "--no-browser"), "a folder that cannot be written"),
            )
        ),
    ],
)
def test_what_cannot_be_written_is_said_and_nothing_else(yards, words, said):
    _, home = yards
    done = run(home, {}, *words)
    assert done.returncode == cli.INPUT_WRONG, done.stderr
    assert said in done.stderr.lower()
    assert "Traceback" not in done.stderr
    assert sorted(each.name for each in (home / "site").iterdir()) == ["site.toml", "spots.csv"]
