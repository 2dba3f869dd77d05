"""What `plan --out` writes: four files to hand over, and the rest only when it is asked for."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys

import pytest
from make.sites.juniper import SITE, spots
from measure.opengl import needs_opengl
from measure.printed import Printed

import grading
from viz import cli, outputs
from viz.files import write_with
from viz.sheets.write import write_sheets

HANDED = {"homeowner.pdf", "crew.pdf", "yard.html", "plan.json"}


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    folder = tmp_path_factory.mktemp("where-this-machine-keeps-it") / "juniper"
    folder.mkdir()
    (folder / "site.toml").write_text(SITE, encoding="utf-8")
    (folder / "spots.csv").write_text(spots(), encoding="utf-8")
    (folder / "crew.toml").write_text('[crew]\nname = "Plumb & Level Paving"\n', encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def plan(site):
    return grading.plan(grading.read_site(site))


@pytest.fixture(scope="module")
def out(plan, tmp_path_factory):
    folder = tmp_path_factory.mktemp("out")
    said = []
    outputs.write(plan, folder, said.append)
    return folder, said


def names(folder):
    return {each.relative_to(folder).as_posix() for each in folder.rglob("*") if each.is_file()}


def test_four_files_are_handed_over_and_nothing_else_is_drawn(out):
    folder, _ = out
    assert names(folder) == HANDED | {".fallaway.json"}


def test_each_step_is_said_as_it_begins(out):
    _, said = out
    steps = [each for each in said if each.endswith("...") and not each.startswith("drawing")]
    assert steps == [
        "writing the plan ...", "making the page ...", "setting the homeowner's paper ...",
        "setting the crew's paper ...",
    ]  # fmt: skip


def test_the_plan_for_scripts_is_the_record(plan, out):
    folder, _ = out
    assert json.loads((folder / "plan.json").read_text(encoding="utf-8")) == json.loads(
        json.dumps(grading.record(plan))
    )


def test_sheet_makes_the_same_papers_byte_for_byte(plan, out, tmp_path):
    folder, _ = out
    files = write_sheets(plan, tmp_path, lambda _: None)
    assert {each.name for each in files} == {"homeowner.pdf", "crew.pdf"}
    for each in files:
        assert each.read_bytes() == (folder / each.name).read_bytes(), each.name


@needs_opengl
def test_another_run_in_another_place_makes_the_same_bytes(out, site, tmp_path):
    folder, _ = out
    home = tmp_path / "elsewhere"
    home.mkdir()
    for each in site.iterdir():
        (home / each.name).write_bytes(each.read_bytes())
    environment = os.environ | {"PYTHONHASHSEED": "5", "PYTHONPATH": os.pathsep.join(sys.path)}
    words = [sys.executable, "-m", "viz.cli", "plan", str(home), "--out", str(tmp_path / "out")]
    done = subprocess.run(words, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == cli.DONE, done.stderr
    for name in HANDED:
        made = (tmp_path / "out" / name).read_bytes()
        assert made == (folder / name).read_bytes(), name


def test_no_paper_names_a_place_on_this_machine(out, site):
    folder, _ = out
    for name in ("homeowner.pdf", "crew.pdf"):
        read = Printed(folder / name).reader
        text = "".join(page.extract_text() for page in read.pages)
        told = re.sub(r"\s", "", text + str(read.metadata))
        assert "where-this-machine-keeps-it" not in told
        assert str(site.parents[1]) not in told
        assert "site.toml" not in told
    assert "where-this-machine-keeps-it" not in (folder / "yard.html").read_text(encoding="utf-8")


def drawn(monkeypatch):
    """Have each step of the details make one file in place of what it takes its time for."""
    monkeypatch.setattr(outputs, "pictures_begun", lambda plan: lambda to: put(to / "a.png"))
    monkeypatch.setattr(outputs, "film_begun", lambda *_, **__: lambda to: put(to / "a.webp"))
    monkeypatch.setattr(outputs, "write_page", lambda plan, path: put(path))
    monkeypatch.setattr(outputs, "sheets_made", lambda plan, folder, say, kinds: iter(
        [(kind, lambda kind=kind: put(folder / f"{kind}.pdf")) for kind in kinds]
    ))  # fmt: skip

    def drawings(plan, folder, formats):
        for kind in formats:
            put(folder / f"a.{kind}")

    monkeypatch.setattr(outputs, "write_drawings", drawings)


def put(file):
    file.parent.mkdir(parents=True, exist_ok=True)
    file.write_text("drawn", encoding="utf-8")


@pytest.mark.parametrize("png", [False, True])
def test_details_stand_in_a_folder_of_their_own(plan, tmp_path, monkeypatch, png):
    drawn(monkeypatch)
    outputs.write(plan, tmp_path, lambda _: None, details=True, png=png)
    found = names(tmp_path) - {".fallaway.json"}
    assert {each for each in found if "/" not in each} == HANDED
    assert {each.split("/")[0] for each in found if "/" in each} == {"details"}
    inner = {each.removeprefix("details/") for each in found if "/" in each}
    tables = {each for each in inner if each.startswith("tables/")}
    assert inner - tables == {"report.txt", "stills/a.png", "film/a.webp", "drawings/a.svg"} | (
        {"drawings/a.png"} if png else set()
    )
    assert {"tables/checks.csv", "tables/layers.csv"} <= tables
    report = (tmp_path / "details" / "report.txt").read_text(encoding="utf-8")
    assert "\nSOURCES\n" in report
    assert "where-this-machine-keeps-it" not in report


def test_a_quote_is_handed_over_once_the_crew_makes_prices(site, tmp_path, monkeypatch):
    drawn(monkeypatch)
    home = tmp_path / "priced"
    home.mkdir()
    for each in site.iterdir():
        (home / each.name).write_bytes(each.read_bytes())
    with (home / "crew.toml").open("a", encoding="utf-8") as file:
        file.write('[price]\nmargin = "30 %"\ntax = "none"\ndeposit_most = "none"\n')
    priced = grading.plan(grading.read_site(home))
    outputs.write(priced, tmp_path / "out", lambda _: None, details=True)
    found = names(tmp_path / "out") - {".fallaway.json"}
    assert {each for each in found if "/" not in each} == HANDED | {"quote.pdf"}
    # How it is made is for the crew, and not among what is handed over.
    assert "details/pricing.pdf" in found


def test_details_of_an_earlier_run_are_told_to_be_of_it(plan, tmp_path, monkeypatch):
    drawn(monkeypatch)
    outputs.write(plan, tmp_path, lambda _: None, details=True)
    (tmp_path / "mine.txt").write_text("mine", encoding="utf-8")
    said = []
    outputs.write(plan, tmp_path, said.append)
    # What a person put there is nobody's run.
    assert said[-1] == "of an earlier run, not made anew: details/"


def test_papers_of_another_command_are_told_to_be_of_an_earlier_run(plan, tmp_path, monkeypatch):
    drawn(monkeypatch)
    write_with(tmp_path, lambda made: [put(made / f"{each}.pdf") for each in "fdecba"], plan.site)
    said = []
    outputs.write(plan, tmp_path, said.append)
    assert said[-1] == "of an earlier run, not made anew: a.pdf, b.pdf, c.pdf, d.pdf and 2 more"
    outputs.write(plan, tmp_path / "new", said.append)
    assert "earlier" not in said[-1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--details"], "--details: found --details without --out DIR"),
        (["--out", "out", "--png"], "--png: found --png without --details"),
        (["--full", "--json"], "found --json beside --full, expected one of them"),
        (["--only", "checks", "--full"], "found --full beside --only, expected one of them"),
    ],
)
def test_words_that_do_nothing_are_refused(site, tmp_path, monkeypatch, capfd, words, said):
    monkeypatch.chdir(tmp_path)
    assert cli.main(["plan", str(site), *words]) == cli.INPUT_WRONG
    told = capfd.readouterr()
    assert said in told.err
    assert told.out == ""
    assert not any(tmp_path.iterdir())
