"""The power goes at any step of a command that writes: all old, all new, or said to be neither."""

from __future__ import annotations

import multiprocessing
import os
import random
import shutil
import time
from pathlib import Path

import pytest
from make.sites.compared import folder
from measure.power_cut import cut_states, seen

import grading
from grading.logbook.chain import records_of
from grading.logbook.words import faults_of
from viz import cli
from viz.desk.blocks import Change
from viz.desk.written.state import State
from viz.files import NOTE

pytestmark = pytest.mark.skipif(
    not Path("/proc/self/fd").exists(), reason="what a handle is of is asked of /proc"
)

PRICE = '[price]\nmargin = "20 %"\ntax = "none"\ndeposit_most = "none"\n'
POINTS = "point,north,east,elevation\n" + "".join(
    f"{k},{y},{x},{10.02 - 0.02 * y}\n"
    for k, (x, y) in enumerate([(-8, -1), (8, -1), (8, 9), (-8, 9)])
)

SHORT = {
    "export": ["export", "site", "--out", "out", "--as", "csv,landxml"],
    "record": ["record", "site", "--who", "N. Ames", "--note", "clay pipe at f"],
}
LONG = {
    "shot": ["plan", "site", "--shot", "e=9.93"],
    "import": ["import", "bare", "points.csv", "--units", "m"],
    "order": ["order", "site", "--out", "out"],
    "card": ["card", "site", "--out", "out"],
    "formats": ["export", "site", "--out", "out"],
    "stakes": ["stakes", "site", "--out", "out"],
    "sheet": ["sheet", "site", "--out", "out"],
    "plan": ["plan", "site", "--out", "out"],
    "quote": ["quote", "site", "--out", "out"],
    "signoff": ["record", "site", "--out", "out"],
    "verify": ["verify", "site", "shots.csv", "--layer", "surface", "--record", "--who", "N. Ames",
               "--out", "out"],
    "compare": ["compare", "site", "other", "--sign", "--out", "out"],
    "sequence": ["sequence", "site", "--out", "out"],
}  # fmt: skip


def run(root, words):
    """Run a command in a folder, silently; return its status."""
    os.chdir(root)
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, 1)
    os.dup2(null, 2)
    return cli.main(words)


def ran(root, words):
    """Run a command in a process of its own; return its status."""

    def work():
        os._exit(run(root, words))

    child = multiprocessing.get_context("fork").Process(target=work)
    child.start()
    child.join()
    return child.exitcode


def begun(tmp_path, words):
    """Return a folder of yards, with what the command made of another design there already."""
    root = tmp_path / "root"
    root.mkdir()
    folder(root / "site", organics="60 mm")
    folder(root / "other", organics="200 mm")
    (root / "crew.toml").write_text(PRICE)
    (root / "bare").mkdir()
    (root / "bare" / "site.toml").write_text('name = "Bare"\nunit = "m"\n')
    (root / "points.csv").write_text(POINTS)
    (root / "shots.csv").write_text("x,y,z\n0,1,10.0\n1,2,9.97\n-1,2,9.97\n")
    if "--out" in words:
        assert ran(root, words) in (cli.DONE, cli.CHECK_FAILED)
        file, lower = root / "site" / "site.toml", "z = 10.02"
        # Another level of the finish is in what every command makes, the stakes too.
        file.write_text(file.read_text().replace("60 mm", "100 mm").replace("z = 10.03", lower))
    return root


def of_out(files):
    """Return what was handed over."""
    return {name: data for name, data in files.items() if name.startswith("out/")}


def judge(old, new, state):
    """Hold what a cut left against what was there before and what should be there after."""
    found, note = seen(state), f"out/{NOTE}"
    if note not in found:
        assert of_out(found) in (of_out(old), of_out(new))
    for name, data in found.items():
        assert data in (old.get(name), new.get(name)) or name == note, name
    # What was there before is never gone.
    assert old.keys() <= found.keys() | new.keys()
    for home in (state / "site", state / "bare"):
        assert list(faults_of(records_of(home))) == []


def held(tmp_path, words, again):
    root, into = begun(tmp_path, words), tmp_path / "cuts"
    old = seen(root)
    into.mkdir()
    trial = tmp_path / "trial"
    shutil.copytree(root, trial)
    status = ran(trial, words)
    assert status in (cli.DONE, cli.CHECK_FAILED)
    states = list(cut_states(root, into, lambda: run(root, words), status))
    new = seen(root)
    assert of_out(new) != of_out(old) or "--out" not in words
    for name, state in states:
        try:
            judge(old, new, state)
        except AssertionError as error:
            raise AssertionError(f"cut at {name}") from error
    for name, state in random.Random(7).sample(states, min(again, len(states))):
        # A run that was begun just now may be at work still: that of the cut is an hour old.
        for each in state.glob("out/.fallaway-*"):
            os.utime(each, (time.time() - 3600,) * 2)
        assert ran(state, words) == status, name
        found = seen(state)
        assert of_out(found) == of_out(new), name
        assert list(faults_of(records_of(state / "site"))) == [], name
        # Nothing of the one that was cut lies about, but what may still be at work.
        left = [each.name for each in (state / "out").glob(".fallaway-*") if each.is_dir()]
        assert left == [], name
    return states


@pytest.mark.parametrize("words", SHORT.values(), ids=SHORT)
def test_a_cut_leaves_all_old_or_all_new_or_says_so(tmp_path, words):
    states = held(tmp_path, words, again=1)
    assert len(states) > 4


@pytest.mark.long
@pytest.mark.parametrize("words", [*SHORT.values(), *LONG.values()], ids=[*SHORT, *LONG])
def test_a_cut_of_every_command_leaves_all_old_or_all_new_or_says_so(tmp_path, words):
    held(tmp_path, words, again=12)


def test_what_was_answered_on_the_page_is_there_after_a_cut(tmp_path):
    root = tmp_path / "root"
    root.mkdir()
    folder(root / "site")
    long = "x,y,z\n" + "1.25,2.5,9.75\n" * 3000
    said = tmp_path / "said"

    def work():
        state = State(root / "site")
        for step in range(3):
            change = [Change("door/0/sill", 10.2 + step / 100)]
            state.change(state.now.document.changed(change), f"sill {step}", ["door/0/sill"])
            with said.open("a") as told:
                told.write(f"{10.2 + step / 100:.2f}\n")
        state.change(state.now.document.with_text("spots.csv", long), "spots", ["spots.csv"])
        with said.open("a") as told:
            told.write("spots\n")
        state.undo()
        state.redo()
        state.close()

    into = tmp_path / "cuts"
    into.mkdir()
    answered = []
    for name, state in list(cut_states(root, into, work)):
        site = state / "site"
        whole = site.joinpath("site.toml").read_text()
        assert grading.read_site(site) or whole
        again = State(site)
        sill = again.now.document.written["door"][0]["sill"]
        steps = [10.10, 10.20, 10.21, 10.22]
        answered.append(
            steps.index(round(sill, 2)) + (again.now.document.texts["spots.csv"] == long)
        )
        # The files hold what the page holds, and what is changed next is kept too.
        assert f"sill = {sill}" in site.joinpath("site.toml").read_text().replace("10.10", "10.1")
        change = [Change("door/0/sill", 10.4)]
        again.change(again.now.document.changed(change), "later", ["door/0/sill"])
        again._lock.release()
        assert State(site).now.document.written["door"][0]["sill"] == 10.4, name
    assert said.read_text().split() == ["10.20", "10.21", "10.22", "spots"]
    assert answered[0] == 0
    assert answered[-1] == 4
