"""Many yards on a cluster: a real scheduler and real workers, each a process of its own."""

from __future__ import annotations

import contextlib
import importlib.util
import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from threading import Thread

import pytest
from drive.patience import PATIENCE, until
from make.sites.many_yards import write_yards

from viz import cli
from viz.many import apart

ROOT = str(Path(cli.__file__).resolve().parents[1])
DASK = [sys.executable, "-m", "dask"]

has_dask = pytest.mark.skipif(
    importlib.util.find_spec("distributed") is None,
    reason="dask is not installed: pip install 'fallaway[cluster]'",
)


def environment():
    return os.environ | {"PYTHONPATH": ROOT, "OPENBLAS_NUM_THREADS": "1"}


@contextlib.contextmanager
def process(words, log):
    """A process of a cluster, ended by its id."""
    with log.open("wb") as said:
        begun = subprocess.Popen(words, env=environment(), stdout=said, stderr=said, cwd=log.parent)
    try:
        yield begun
    finally:
        begun.kill()
        begun.wait(PATIENCE)


@contextlib.contextmanager
def cluster(place, workers):
    """A scheduler on loopback and so many workers, their address and the workers' processes."""
    file = place / "scheduler.json"
    ours = ["--host", "127.0.0.1", "--no-dashboard"]
    with contextlib.ExitStack() as stack:
        words = [*DASK, "scheduler", *ours, "--port", "0", "--scheduler-file", str(file)]
        scheduler = stack.enter_context(process(words, place / "scheduler.log"))
        until(lambda: file.exists() or scheduler.poll() is not None)
        words = [*DASK, "worker", "--scheduler-file", str(file), *ours, "--no-nanny",
                 "--nthreads", "1", "--local-directory", str(place)]  # fmt: skip
        started = []
        for number in range(workers):
            log = place / f"worker-{number}.log"
            started.append(stack.enter_context(process(words, log)))
        for number in range(workers):
            log = place / f"worker-{number}.log"
            until(lambda log=log: "Registered to" in log.read_text(encoding="utf-8"))
        yield json.loads(file.read_text(encoding="utf-8"))["address"], started


def rows_in(out):
    return {path.parent.name: path.stat().st_mtime_ns for path in out.glob("*/row.json")}


@has_dask
def test_a_worker_killed_in_the_middle_loses_nothing_and_nothing_is_written_twice(tmp_path):
    import psutil

    names = [f"yard-{number:02}" for number in range(9)]
    yards, out = write_yards(tmp_path / "yards", names), tmp_path / "out"
    found = []
    with cluster(tmp_path, workers=2) as (address, (one, other)):
        words = ("plan", yards, "--out", out, "--on", address)
        command = Thread(target=lambda: found.append(said_of(*words)), daemon=True)
        command.start()
        # A worker has a process that plans as soon as it has a yard. Stopped, that holds the
        # worker in the middle of one, whatever the other worker does meanwhile.
        until(lambda: rows_in(out) or found)
        until(lambda: psutil.Process(one.pid).children() or found)
        (planner,) = psutil.Process(one.pid).children()
        planner.suspend()
        until(lambda: len(rows_in(out)) >= len(names) - 3 or found)
        assert not found
        assert not apart._PLANNERS, "nothing is planned here"
        before = rows_in(out)
        os.kill(one.pid, signal.SIGKILL)
        one.wait(PATIENCE)
        planner.resume()
        command.join()
        assert other.poll() is None
    ((status, told, said),) = found
    assert status in (cli.DONE, cli.CHECK_FAILED), said
    after = rows_in(out)
    assert sorted(after) == names
    assert len(before) < len(names)
    assert before.items() <= after.items()
    table = (out / "yards.csv").read_text(encoding="utf-8-sig").splitlines()
    assert [line.partition(",")[0] for line in table] == ["site", *names]
    assert told.startswith("9 yards: ")
    # What a killed worker had begun to plan ends with it.
    until(lambda: not planner.is_running() or planner.status() == psutil.STATUS_ZOMBIE)


@has_dask
@pytest.mark.long
def test_a_cluster_that_is_lost_is_told_and_what_was_planned_is_kept(tmp_path):
    """Of one processor alone, which joblib of itself would leave idle."""
    names = [f"yard-{number:02}" for number in range(12)]
    yards, out = write_yards(tmp_path / "yards", names), tmp_path / "out"
    with cluster(tmp_path, workers=1) as (address, _):
        words = [sys.executable, "-m", "viz.cli", "plan", str(yards), "--out", str(out)]
        command = subprocess.Popen(
            [*words, "--on", address], env=environment(), stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )  # fmt: skip
        until(lambda: rows_in(out) or command.poll() is not None)
    _, said = command.communicate(timeout=PATIENCE)
    assert command.returncode == cli.INPUT_WRONG
    assert said.decode().splitlines()[-1] == (
        f"--on {address}: found a cluster that does no more, expected one that stays. What was "
        "planned is kept where there is --out: the same command goes on there."
    )
    before = rows_in(out)
    assert 0 < len(before) < len(names)
    done = subprocess.run(words, env=environment(), capture_output=True, check=False)
    assert done.returncode in (cli.DONE, cli.CHECK_FAILED)
    after = rows_in(out)
    assert sorted(after) == names
    assert before.items() <= after.items()


def said_of(*words):
    out, error = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error):
        status = cli.main([str(word) for word in words])
    return status, out.getvalue(), error.getvalue()


def test_without_dask_the_line_to_install_is_told(tmp_path, monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    yards = write_yards(tmp_path / "yards", ["ash"])
    found = said_of("plan", yards, "--on", "tcp://127.0.0.1:1", "--out", tmp_path / "out")
    assert found == (
        cli.INPUT_WRONG, "", "--on tcp://127.0.0.1:1: found a Python without Dask, expected one "
        "that has it. Install it: pip install 'fallaway[cluster]'\n",
    )  # fmt: skip
    assert not (tmp_path / "out").exists()


@has_dask
@pytest.mark.parametrize(
    ("address", "found"),
    [
        ("tcp://127.0.0.1:1", "nothing that answers as a scheduler does"),
        ("telegraph://elm:1", "no address"),
        ("", "no address"),
        ("tcp://", "no address"),
    ],
)
def test_an_address_at_which_there_is_nothing_is_a_sentence(tmp_path, address, found, monkeypatch):
    from viz.many import where

    yards = write_yards(tmp_path / "yards", ["ash"])
    monkeypatch.setattr(where, "ANSWERED_IN", 0.5)
    told = said_of("plan", yards, "--on", address, "--out", tmp_path / "out")
    assert told == (
        cli.INPUT_WRONG, "", f"{f'--on {address}'.rstrip()}: found {found}, expected the address "
        "that `dask scheduler` prints, such as tcp://192.0.2.10:8786.\n",
    )  # fmt: skip
    assert not (tmp_path / "out").exists()
