"""The command: which formats, what it says, and that nothing is half written."""

from __future__ import annotations

import subprocess
import sys
from collections import Counter

import pytest
from make.plans.sampled import sampled

import sample_sites
from grading.errors import SiteError
from viz import cli
from viz.export import FORMATS, formats
from viz.export.formats import chosen_formats, export
from viz.files import MARK

SITE = "side-walkway"
ENDINGS = {
    "glb": "glb",
    "usdz": "usdz",
    "stl": "stl",
    "dxf": "dxf",
    "landxml": "xml",
    "xlsx": "xlsx",
    "csv": "csv",
}


def run(*words):
    return cli.main(["export", str(sample_sites.path(SITE)), *map(str, words)])


def test_all_formats_by_default_and_each_file_is_told(tmp_path, capsys):
    status = run("--out", tmp_path / "out")
    assert status in (cli.DONE, cli.CHECK_FAILED)
    assert status == (cli.CHECK_FAILED if sampled(SITE).failed else cli.DONE)
    files = [f for f in (tmp_path / "out").rglob("*") if f.is_file() and f.name != MARK]
    assert {file.suffix[1:] for file in files} == set(ENDINGS.values())
    told = capsys.readouterr().out
    # Files at the top are told one by one, of a folder how many it holds.
    own = [file.relative_to(tmp_path / "out") for file in files]
    top = [f"  {file}\n" for file in own if len(file.parts) == 1]
    folders = Counter(file.parts[0] for file in own if len(file.parts) > 1)
    for words in [*top, *(f"  {name}/ ({count} files)\n" for name, count in folders.items())]:
        assert words in told


@pytest.mark.parametrize("words", ["glb", " CSV , xlsx", "landxml,landxml"])
def test_only_the_formats_named(tmp_path, words):
    run("--out", tmp_path, "--as", words)
    found = {f.suffix[1:] for f in tmp_path.rglob("*") if f.is_file() and f.name != MARK}
    assert found == {ENDINGS[name.strip().lower()] for name in words.split(",")}


@pytest.mark.parametrize(
    ("words", "found"),
    [("step", '"step"'), ("glb,ifc,csv", '"ifc"'), ("", "no format"), (",", "no")],
)
def test_an_unknown_format_is_one_sentence_and_nothing_is_written(tmp_path, capsys, words, found):
    assert run("--out", tmp_path / "out", "--as", words) == cli.INPUT_WRONG
    said = capsys.readouterr()
    assert said.out == ""
    assert said.err.count("\n") == 1
    assert said.err.startswith(f"--as: found {found}")
    assert all(name in said.err for name in FORMATS)
    assert not (tmp_path / "out").exists()


def test_a_folder_has_to_be_named(capsys):
    assert run() == cli.INPUT_WRONG
    assert "--out" in capsys.readouterr().err


def test_nothing_is_left_of_an_export_that_fails(tmp_path, monkeypatch):
    def full(plan, folder):
        raise OSError(28, "No space left on device")

    monkeypatch.setitem(formats.FORMATS, "xlsx", full)
    with pytest.raises(SiteError, match="no space left on device"):
        export(sampled(SITE), tmp_path / "out")
    assert not (tmp_path / "out").exists()


def test_names_in_order_each_once():
    assert chosen_formats(None) == tuple(FORMATS)
    assert chosen_formats("stl,glb,stl") == ("stl", "glb")


def test_help_names_every_format_and_loads_no_writer():
    code = (
        "import sys; from viz import cli\n"
        "try: cli.main(['export', '--help'])\n"
        "except SystemExit: pass\n"
        "print(sorted({'ezdxf', 'trimesh', 'xlsxwriter', 'numpy'} & set(sys.modules)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert said.stdout.endswith("[]\n")
    assert ",".join(FORMATS) in said.stdout.replace("\n", "").replace(" ", "").replace("(", "")
