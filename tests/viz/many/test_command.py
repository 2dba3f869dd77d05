"""Many yards in one run: what comes of each, what stops none of the others, what goes on."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import openpyxl
import pytest
from drive.patience import PATIENCE, until
from filelock import FileLock
from make.sites.many_yards import ENDS, write_yards
from make.sites.site_folder import AREA, HEAD, write_site

import grading
from viz import cli, outputs
from viz.many import apart, command, kept, planner
from viz.many.frames import Answer, Job
from viz.many.given import given_of
from viz.tables.yards import yard_of

ROOT = str(Path(cli.__file__).resolve().parents[1])
ENDED = {
    "Segfault": "crashed (SIGSEGV)",
    "Hangs": "it came no further in",
    "Memory": "MemoryError: no room for 9 GB",
}
"""Names of sites that end the process which plans them (`manyyards.ENDS`), and what is said."""

BROKEN = 'name = "Broken"\nunit = "ft"\nspots = "sputs.csv"\n' + AREA


@pytest.fixture(autouse=True)
def _one_at_a_time(monkeypatch):
    """A process for each processor is started otherwise, which is what takes the time here."""
    monkeypatch.setenv("LOKY_MAX_CPU_COUNT", "1")


def run(*words):
    out, error = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(error):
        status = cli.main([str(word) for word in words])
    return status, out.getvalue(), error.getvalue()


@pytest.fixture
def asked(monkeypatch, tmp_path):
    """Plan in this very process, which has all it needs at hand; gives the sites that it was."""
    sites = []

    class Here:
        at_work, yards = False, 0

        def planned(self, job):
            sites.append(job.site)
            place = Path(tempfile.mkdtemp(dir=tmp_path))
            return planner.planned(job, place, lambda words: None)

        def forget(self):
            pass

    monkeypatch.setattr(apart, "_taken", Here)
    return sites


def rows_of(folder):
    with (folder / "yards.csv").open(encoding="utf-8-sig", newline="") as file:
        return {row["site"]: row for row in csv.DictReader(file)}


def kept_of(folder):
    return {path.parent.name: path.stat().st_mtime_ns for path in folder.glob("*/row.json")}


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    """Yards, a wrong one and three that end their process, planned into a folder.

    Gives where they are, where all of it is written, and what was said.
    """
    place = tmp_path_factory.mktemp("many")
    yards = write_yards(place / "yards", ["ash", "elm", "oak", *ENDED])
    write_site(yards / "bog", BROKEN)
    (place / "start").mkdir()
    (place / "start" / "sitecustomize.py").write_text(ENDS, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(place / "start")
        patch.setenv("LOKY_MAX_CPU_COUNT", "1")
        # Where nothing was done for so long it hangs: it is asleep, however busy the machine.
        patch.setattr(apart, "LIMIT", 10.0)
        patch.setattr("tempfile.tempdir", str(place))  # where reports are written
        told = run("plan", yards, "--out", place / "out")
    shutil.copy(place / "out" / "yards.csv", place / "yards.csv")  # of this run
    for name in ENDED:
        shutil.rmtree(yards / name)
    return yards, place / "out", told


def test_one_that_is_wrong_stops_none_and_stands_in_the_table(planned):
    yards, out, (status, told, _) = planned
    assert status == cli.INPUT_WRONG
    rows = rows_of(out.parent)
    assert sorted(rows) == sorted(["ash", "bog", "elm", "oak", *ENDED])
    with pytest.raises(grading.GradingError) as error:
        grading.read_site(yards / "bog")
    assert rows["bog"]["what fails"] == str(error.value)
    assert rows["bog"]["verdict"] == "NOT PLANNED: what is written is wrong"
    assert {*rows["bog"].values()} == {"bog", rows["bog"]["verdict"], str(error.value), ""}
    assert told.splitlines()[0].startswith("7 yards: ")
    assert "1 not planned, for what is written is wrong" in told.splitlines()[0]
    assert "sputs.csv" in told


def test_a_row_is_what_the_plan_of_that_site_alone_says(planned):
    yards, out, _ = planned
    rows, book = rows_of(out), openpyxl.load_workbook(out / "yards.xlsx").active
    heads = [cell.value for cell in book[1]]
    in_book = {row[0]: dict(zip(heads, row, strict=True)) for row in book.values if row[0]}
    for name in ("ash", "elm", "oak"):
        plan = grading.plan(grading.read_site(yards / name))
        total = plan.order.total
        assert rows[name]["job"] == plan.site.name == f"{name} yard"
        cut = sum(area.chosen_dig.cut for area in plan.areas) / 0.9144**3
        assert float(rows[name]["dig in the ground (yd3)"]) == pytest.approx(cut, abs=6e-4)
        deepest = max(area.chosen_dig.max_dig for area in plan.areas) / 0.0254
        assert float(rows[name]["deepest dig (in)"]) == pytest.approx(deepest, abs=2e-3)
        assert rows[name]["bins (count)"] == str(total.haul.bins.count)
        fails = {(check.rule, check.area) for check in plan.checks if check.status == "fail"}
        assert rows[name]["fails (count)"] == str(len(fails))
        assert bool(rows[name]["what fails"]) == bool(fails)
        for head, cell in rows[name].items():
            assert str(in_book[name][head] or "") in (cell, cell.removesuffix(".0"), ""), head
    assert len({rows[name]["dig in the ground (yd3)"] for name in ("ash", "elm", "oak")}) == 3


def test_what_is_planned_is_not_planned_again(planned, asked):
    yards, out, _ = planned
    before = kept_of(out)
    assert set(before) == {"ash", "elm", "oak"}
    first = run("plan", yards, "--out", out)
    files = {name: (out / name).read_bytes() for name in ("yards.csv", "yards.xlsx")}
    status, told, said = run("plan", yards, "--out", out)
    assert asked == ["bog", "bog"], "what could not be planned is tried again"
    assert (status, told) == first[:2]
    assert "3 yards were planned before from the same files by the same version" in said
    assert kept_of(out) == before
    assert files == {name: (out / name).read_bytes() for name in files}


@pytest.mark.parametrize("how", ["a file", "the version", "a row cut short", "papers"])
def test_what_is_not_the_same_is_planned_again(planned, how, monkeypatch, tmp_path):
    _, out, _ = planned
    yards = write_yards(tmp_path / "yards", ["ash"])
    site = command.sites_of([yards])[0]
    given = given_of(site.home)
    whole = kept.Output(tmp_path / "out", papers=False)
    row = json.loads((out / "ash" / "row.json").read_text(encoding="utf-8"))["row"]
    whole.write(site, given, Answer(site.name, row, "ash yard"))
    assert whole.known(site, given).plain() == row
    match how:
        case "a file":
            with (site.home / "spots.csv").open("a", encoding="utf-8") as file:
                file.write("14,9,99.7,GND,\n")
            given = given_of(site.home)
        case "the version":
            monkeypatch.setattr(kept, "VERSION", "0.0.0")
        case "a row cut short":
            text = (tmp_path / "out" / "ash" / "row.json").read_text(encoding="utf-8")
            (tmp_path / "out" / "ash" / "row.json").write_text(text[:-20], encoding="utf-8")
        case "papers":
            whole = kept.Output(tmp_path / "out", papers=True)
    assert whole.known(site, given) is None


def test_what_crashes_hangs_or_fails_is_told_and_the_rest_goes_on(planned):
    yards, out, (_, told, _) = planned
    rows = rows_of(out.parent)
    for name, words in ENDED.items():
        assert words in rows[name]["what fails"]
        assert rows[name]["verdict"] == "NOT PLANNED: no fault of the site"
        report = Path(rows[name]["what fails"].split()[-1].rstrip(".")).read_text(encoding="utf-8")
        assert str(yards / name) in report
        assert name != "Segfault" or "Segmentation fault" in report, "where it crashed"
        assert not (out / name).exists()
    assert rows["oak"]["plan"], "which comes after all of them"
    assert "3 not planned, for no fault of the site" in told
    assert not apart._PLANNERS


def test_a_run_that_ends_goes_on_where_it_stood(tmp_path, asked, monkeypatch):
    yards, out = write_yards(tmp_path / "yards", ["ash", "elm", "oak"]), tmp_path / "out"
    own = kept.Output.write

    def write(*given):
        if len(kept_of(out)) == 2:
            raise KeyboardInterrupt
        own(*given)

    with monkeypatch.context() as patch:
        patch.setattr(kept.Output, "write", write)
        with pytest.raises(KeyboardInterrupt):
            run("plan", yards, "--out", out)
    before = kept_of(out)
    assert set(before) == {"ash", "elm"}
    assert not (out / "yards.csv").exists()
    asked.clear()
    status, _, said = run("plan", yards, "--out", out)
    assert status in (cli.DONE, cli.CHECK_FAILED), said
    assert asked == ["oak"]
    assert before.items() <= kept_of(out).items()
    assert set(rows_of(out)) == {"ash", "elm", "oak"}


def test_what_a_run_left_beside_a_yard_goes_with_the_next(tmp_path, planned, asked):
    _, whole, _ = planned
    yards, out = write_yards(tmp_path / "yards", ["ash"]), tmp_path / "out"
    site = command.sites_of([yards])[0]
    row = json.loads((whole / "ash" / "row.json").read_text(encoding="utf-8"))["row"]
    output = kept.Output(out, papers=False)
    output.write(site, given_of(site.home), Answer(site.name, row, "ash yard"))
    for name, files in {"held": [".held"], "taken-away": [], "half": ["new"]}.items():
        (out / "ash" / f".fallaway-{name}").mkdir()
        for file in files:
            (out / "ash" / f".fallaway-{name}" / file).touch()
    run("plan", yards, "--out", out)
    assert asked == []
    assert sorted(path.name for path in (out / "ash").iterdir()) == [".fallaway.json", "row.json"]


def children_of(process):
    children = []
    for place in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            if int(place.read_text().rpartition(")")[2].split()[1]) == process:
                children.append(int(place.parent.name))
    return children


def alive(process):
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False


@pytest.mark.long
@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="no list of processes here")
@pytest.mark.parametrize("name", ["SIGKILL", "SIGINT"])
def test_a_run_that_is_ended_from_outside_goes_on_where_it_stood(tmp_path, name, asked):
    yards = write_yards(tmp_path / "yards", ["ash", "elm", "oak"])
    out = tmp_path / "out"
    begun = subprocess.Popen(
        [sys.executable, "-m", "viz.cli", "plan", str(yards), "--out", str(out)],
        env=os.environ | {"PYTHONPATH": ROOT}, stdout=subprocess.DEVNULL, stderr=subprocess.PIPE,
    )  # fmt: skip
    until(lambda: kept_of(out) or begun.poll() is not None)
    # Stopped in the middle of the next, so that some are left when it is ended.
    (child,) = children_of(begun.pid)
    os.kill(child, signal.SIGSTOP)
    before = kept_of(out)
    os.kill(begun.pid, getattr(signal, name))
    with contextlib.suppress(ProcessLookupError):
        if name == "SIGKILL":
            begun.wait(PATIENCE)
            os.kill(child, signal.SIGCONT)
    said = begun.communicate(timeout=PATIENCE)[1].decode()
    assert begun.returncode == {"SIGKILL": -9, "SIGINT": 130}[name]
    assert said.endswith("stopped\n") or name == "SIGKILL"
    until(lambda: not alive(child))
    assert 0 < len(before) < 3
    assert not (out / "yards.csv").exists()

    status, _, said = run("plan", yards, "--out", out)
    assert status in (cli.DONE, cli.CHECK_FAILED)
    after = kept_of(out)
    assert set(after) == set(rows_of(out)) == {"ash", "elm", "oak"}
    assert before.items() <= after.items(), "none of them was written twice"
    assert not before.keys() & set(asked)
    assert not list(out.rglob("UNFINISHED.txt"))
    assert not list(out.rglob(".fallaway-*"))


def test_two_runs_into_one_folder_do_not_mix(tmp_path):
    yards = write_yards(tmp_path / "yards", ["ash"])
    (tmp_path / "out").mkdir()
    with FileLock(tmp_path / "out" / kept.LOCK):
        status, told, said = run("plan", yards, "--out", tmp_path / "out")
    assert (status, told) == (cli.INPUT_WRONG, "")
    assert said == (
        f"--out {tmp_path / 'out'}: found another run of fallaway that is writing into it, "
        "expected one run at a time. Wait until it is done, or name another folder.\n"
    )
    assert [path.name for path in (tmp_path / "out").iterdir()] == [kept.LOCK]


def test_a_table_is_of_its_own_run_and_a_yard_of_another_is_told(tmp_path, planned, asked):
    _, whole, _ = planned
    yards, others = (tmp_path / name for name in ("yards", "others"))
    write_yards(yards, ["ash"])
    write_site(others / "ash", HEAD + AREA)
    out = tmp_path / "out"
    site = command.sites_of([yards])[0]
    row = json.loads((whole / "ash" / "row.json").read_text(encoding="utf-8"))["row"]
    kept.Output(out, papers=False).write(
        site, given_of(site.home), Answer(site.name, row, "ash yard")
    )
    status, _, _ = run("plan", others, "--out", out)
    assert status == cli.INPUT_WRONG
    said = rows_of(out)["ash"]["what fails"].removeprefix("'")  # no formula
    assert said.startswith(f'--out {out / "ash"}: found files of another site, "ash yard"')
    assert json.loads((out / "ash" / "row.json").read_text(encoding="utf-8"))["row"] == row


def test_a_yard_that_is_planned_no_more_is_told_and_left(tmp_path, planned, asked):
    _, whole, _ = planned
    out, yards = tmp_path / "out", write_yards(tmp_path / "yards", ["ash", "elm"])
    for site in command.sites_of([yards]):
        row = json.loads((whole / site.name / "row.json").read_text(encoding="utf-8"))["row"]
        answer = Answer(site.name, row, f"{site.name} yard")
        kept.Output(out, papers=False).write(site, given_of(site.home), answer)
    write_site(yards / "elm", BROKEN)
    status, _, said = run("plan", yards / "elm", yards / "elm" / ".." / "elm", "--out", out)
    assert status == cli.INPUT_WRONG  # named twice
    assert not (out / "yards.csv").exists()
    _, _, said = run("plan", yards, "--out", out)
    assert "1 yard was planned before" in said
    assert said.endswith("of an earlier run, not of this table: elm/\n")


def test_the_folder_of_one_site_takes_no_table_and_that_of_a_table_no_site(planned, tmp_path):
    yards, out, _ = planned
    status, _, said = run("plan", yards / "ash", "--out", out)
    assert status == cli.INPUT_WRONG
    assert 'found files of another site, "the table of many yards"' in said
    own = tmp_path / "own"
    own.mkdir()
    (own / ".fallaway.json").write_text('{"site": "Rowan", "place": "", "files": []}')
    status, _, said = run("plan", yards, "--out", own)
    assert status == cli.INPUT_WRONG
    assert 'found files of another site, "Rowan"' in said
    assert [path.name for path in own.iterdir()] == [".fallaway.json"]


def test_a_file_of_a_person_is_not_replaced(tmp_path, planned, monkeypatch):
    _, whole, _ = planned
    yards, out = write_yards(tmp_path / "yards", ["ash"]), tmp_path / "out"
    site = command.sites_of([yards])[0]
    row = json.loads((whole / "ash" / "row.json").read_text(encoding="utf-8"))["row"]
    kept.Output(out, papers=False).write(
        site, given_of(site.home), Answer(site.name, row, "ash yard")
    )
    (out / "yards.csv").write_text("mine", encoding="utf-8")
    status, _, said = run("plan", yards, "--out", out)
    assert status == cli.INPUT_WRONG
    assert "yards.csv, not known to be of this site" in said
    assert (out / "yards.csv").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("words", "option"),
    [(["--mend", "x"], "--mend"), (["--keep", "3"], "--keep"), (["--full"], "--full"),
     (["--only", "dig"], "--only"), (["--out", "o", "--details"], "--details")],
)  # fmt: skip
def test_what_is_of_one_site_is_refused_beside_several(
    planned, words, option, monkeypatch, tmp_path
):
    yards, _, _ = planned
    monkeypatch.chdir(tmp_path)
    status, told, said = run("plan", yards, *words)
    assert (status, told) == (cli.INPUT_WRONG, "")
    assert said == (
        f"{option}: found {option} beside several sites, expected one site. Plan that one alone "
        f"with {option}, or leave it out.\n"
    )
    assert not list(tmp_path.iterdir())


def test_what_is_of_several_is_refused_beside_one(planned):
    yards, _, _ = planned
    status, _, said = run("plan", yards / "ash", "--on", "tcp://192.0.2.1:8786")
    assert status == cli.INPUT_WRONG
    assert said == (
        "--on: found --on beside one site, expected several sites, or a folder of them. Leave it "
        "out: one site is planned on this machine.\n"
    )
    status, _, said = run("plan", yards, "--all-papers")
    assert status == cli.INPUT_WRONG
    assert said.startswith("--all-papers: found --all-papers without --out DIR")


def test_papers_are_those_of_the_site_alone(tmp_path, monkeypatch):
    """But for what is drawn, which takes its time: the plan for scripts tells where files stand."""

    def handed_over(plan, folder, say):
        def make():
            say("one thing that this machine cannot draw.")
            outputs._write_record(plan, folder)

        yield outputs._Step("writing the plan", 1.0, make)

    monkeypatch.setattr(outputs, "_handed_over", handed_over)
    site = write_site(tmp_path / "all" / "elm")
    (tmp_path / "all" / "crew.toml").write_text('[crew]\nname = "Plumb"\n', encoding="utf-8")
    status, _, said = run("plan", site, "--out", tmp_path / "alone")
    assert status in (cli.DONE, cli.CHECK_FAILED), said
    (tmp_path / "job").mkdir()
    said = []
    job = Job("elm", given_of(site.resolve(), papers=True), papers=True)
    answer = planner.planned(job, tmp_path / "job", said.append)
    assert answer.files == {"plan.json": (tmp_path / "alone" / "plan.json").read_bytes()}
    assert b"../crew.toml" in answer.files["plan.json"]
    assert answer.notes == ("one thing that this machine cannot draw.",)
    assert "writing the plan ..." in said


def test_a_row_is_the_same_after_it_was_kept(planned):
    yards, out, _ = planned
    row = yard_of(grading.plan(grading.read_site(yards / "ash")), "ash")
    told = json.loads((out / "ash" / "row.json").read_text(encoding="utf-8"))["row"]
    assert type(row).of_plain(told) == row


def test_the_rows_are_json_too(planned, asked):
    yards, _, _ = planned
    status, told, _ = run("plan", yards / "ash", yards / "bog", "--json")
    found = json.loads(told)
    assert status == cli.INPUT_WRONG
    assert found["schema"] == "fallaway/plans/1"
    assert [each["verdict"] for each in found["sites"]][1] == "refused"
    (area,) = grading.plan(grading.read_site(yards / "ash")).areas
    assert found["sites"][0]["figures"]["cut"] == area.chosen_dig.cut
