"""The command in a place that is against it: full disks, readers that leave, being told to stop."""

from __future__ import annotations

import errno
import hashlib
import os
import signal
import subprocess
import sys
import tempfile
from pathlib import Path
from types import SimpleNamespace

import pytest
from drive.patience import PATIENCE
from make.sites.site_folder import write_site

from grading.errors import SiteError
from viz import cli
from viz.files import write_with
from viz.scratch import scratch_folder
from viz.sheets.compile import Compiled
from viz.tables.workbook import book_at

FULL = Path("/dev/full")
COMMAND = [sys.executable, "-c", "import sys; from viz.cli import main; sys.exit(main())"]
ROOT = str(Path(cli.__file__).resolve().parents[1])


OWN = SimpleNamespace(name="Alder Row", folder=Path("alder-row"))
"""All that a folder of files asks of a site."""


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    return write_site(tmp_path_factory.mktemp("site"))


def run(*words, **more):
    own = {key: value for key, value in os.environ.items() if key != "PYTHONUNBUFFERED"}
    environment = own | {"PYTHONPATH": ROOT} | more.pop("env", {})
    return subprocess.run(
        [*COMMAND, *map(str, words)],
        stderr=subprocess.PIPE,
        env=environment,
        timeout=PATIENCE,
        **more,
    )


@pytest.mark.skipif(not FULL.exists(), reason="this system has no full device")
@pytest.mark.parametrize("words", [("plan",), ("plan", "--json"), ("order",)])
def test_standard_output_on_a_full_disk_is_one_sentence(site, words):
    with FULL.open("w") as full:
        done = run(words[0], site, *words[1:], stdout=full)
    assert done.returncode == cli.INPUT_WRONG
    (said,) = done.stderr.decode().splitlines()[-1:]
    assert said.startswith("standard output: found no space left on device, expected a place")
    assert b"Traceback" not in done.stderr
    assert b"Exception ignored" not in done.stderr


def test_a_reader_that_leaves_is_no_fault_and_the_status_is_the_plans(site):
    whole = run("plan", site, stdout=subprocess.DEVNULL)
    reader, writer = os.pipe()
    os.close(reader)
    left = run("plan", site, stdout=writer)
    os.close(writer)
    assert left.returncode == whole.returncode
    assert left.stderr == whole.stderr


def test_a_sign_that_the_terminal_has_not_is_no_fault(site):
    done = run("plan", site, stdout=subprocess.PIPE, env={"PYTHONIOENCODING": "ascii"})
    assert done.returncode in (cli.DONE, cli.CHECK_FAILED)
    assert b"yd? in the ground" in done.stdout


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
@pytest.mark.parametrize("swallowed", [None, ImportError("initialization failed")])
def test_told_to_stop_it_says_so_and_ends(monkeypatch, capsys, name, swallowed):
    """An import that is interrupted may tell of another error; it was the signal all the same."""
    number = getattr(signal, name)
    # Whoever runs the tests may have the signal ignored, as nohup does; a terminal has not.
    outside = signal.signal(number, signal.default_int_handler)
    before = signal.getsignal(number)

    def stopped(_):
        try:
            os.kill(os.getpid(), number)
        except KeyboardInterrupt:
            if swallowed is None:
                raise
            raise swallowed from None

    monkeypatch.setattr(cli, "_run", stopped)
    assert cli.main(["plan", "anywhere"]) == 128 + number
    assert capsys.readouterr().err == "stopped\n"
    assert signal.getsignal(number) == before
    signal.signal(number, outside)


class Panic(BaseException):
    """What a library in another language raises: no Exception."""


FAULTS = [
    ImportError("a fault"), MemoryError(), RecursionError("too deep"), Panic("index\n\x1b[31m7"),
    StopIteration(), IndexError("x" * 9000),
]  # fmt: skip


def broken_by(monkeypatch, fault):
    def broken(_):
        raise fault

    monkeypatch.setattr(cli, "_run", broken)


@pytest.mark.parametrize("fault", FAULTS, ids=lambda each: type(each).__name__)
@pytest.mark.parametrize("words", [["plan", "{site}"], ["sheet", "{site}"], ["demo"], []])
def test_a_fault_of_our_own_is_a_sentence_that_says_where_its_report_lies(
    monkeypatch, capsys, tmp_path, site, fault, words
):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    broken_by(monkeypatch, fault)
    words = [each.format(site=site) for each in words]
    assert cli.main(words) == cli.OWN_FAULT == 3
    told = capsys.readouterr()
    assert told.out == ""
    (said,) = told.err.splitlines()
    assert said.startswith(f"fallaway stopped at a fault of its own ({type(fault).__name__}")
    assert said.isprintable()
    assert len(said) < 400
    (report,) = tmp_path.iterdir()
    assert said.endswith(f" was written to {report}.")
    text = report.read_text(encoding="utf-8")
    assert "Traceback (most recent call last)" in text
    assert type(fault).__name__ in text
    assert f"fallaway {cli.VERSION}" in text
    assert "numpy 2" in text
    if str(site) in words:
        digest = hashlib.sha256((site / "spots.csv").read_bytes()).hexdigest()
        assert f"site: {site}" in text
        assert f"spots.csv: {(site / 'spots.csv').stat().st_size} bytes, sha256 {digest}" in text
    else:
        assert "site: none" in text


def test_a_fault_is_told_where_no_report_can_be_written(monkeypatch, capsys):
    def full(*_, **__):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    broken_by(monkeypatch, ValueError("a fault"))
    monkeypatch.setattr(tempfile, "mkstemp", full)
    assert cli.main(["plan", "anywhere"]) == cli.OWN_FAULT
    (said,) = capsys.readouterr().err.splitlines()
    assert said.endswith("and its report could not be written (No space left on device).")


def test_a_recursion_that_is_real_is_a_sentence(tmp_path):
    deep = (
        "import sys; from viz import cli\n"
        "def down(x): return down(x) + 1\n"
        "cli._run = down; sys.exit(cli.main(['plan', 'anywhere']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", deep], capture_output=True, text=True, timeout=PATIENCE,
        env=os.environ | {"PYTHONPATH": ROOT, "TMPDIR": str(tmp_path)},
    )  # fmt: skip
    assert done.returncode == cli.OWN_FAULT
    assert len(done.stderr.splitlines()) == 1
    assert "RecursionError" in done.stderr


def test_a_warning_of_a_library_is_kept_for_the_report(tmp_path):
    warned = (
        "import sys, warnings; from viz import cli\n"
        "def run(_): warnings.warn('of a library'); raise ValueError('a fault')\n"
        "cli._run = run; sys.exit(cli.main())"
    )
    environment = os.environ | {"PYTHONPATH": ROOT, "TMPDIR": str(tmp_path)}
    environment.pop("PYTHONWARNINGS", None)
    done = subprocess.run(
        [sys.executable, "-c", warned, "plan", "anywhere"], capture_output=True, text=True,
        timeout=PATIENCE, env=environment,
    )  # fmt: skip
    assert done.returncode == cli.OWN_FAULT
    assert len(done.stderr.splitlines()) == 1
    (report,) = tmp_path.iterdir()
    assert "UserWarning: of a library" in report.read_text(encoding="utf-8")


@pytest.mark.parametrize("error", [KeyboardInterrupt(), OSError(errno.ENOSPC, "x"), ValueError()])
def test_a_run_that_is_stopped_leaves_no_folder_that_it_made(tmp_path, error):
    def make(folder):
        (folder / "half.txt").write_text("half")
        raise error

    with pytest.raises((KeyboardInterrupt, SiteError, ValueError)):
        write_with(tmp_path / "new" / "out", make, OWN)
    assert list(tmp_path.iterdir()) == []
    kept = tmp_path / "kept"
    kept.mkdir()
    with pytest.raises((KeyboardInterrupt, SiteError, ValueError)):
        write_with(kept, make, OWN)
    assert list(kept.rglob("*")) == []


def two_files(folder):
    (folder / "a.txt").write_text("a")
    (folder / "stl").mkdir()
    (folder / "stl" / "b.txt").write_text("b")


def test_nothing_is_moved_where_a_folder_has_the_name_of_a_file(tmp_path):
    (tmp_path / "stl" / "b.txt").mkdir(parents=True)
    with pytest.raises(SiteError, match=r"found a folder named stl.b\.txt, expected room for"):
        write_with(tmp_path, two_files, OWN)
    assert sorted(each.name for each in tmp_path.rglob("*")) == ["b.txt", "stl"]


def test_nothing_is_moved_where_a_file_has_the_name_of_a_folder(tmp_path):
    (tmp_path / "stl").write_text("mine")
    with pytest.raises(SiteError, match="found a file named stl, expected room for a folder"):
        write_with(tmp_path, two_files, OWN)
    assert [each.name for each in tmp_path.rglob("*")] == ["stl"]


def test_a_place_where_no_folder_can_be_is_told_for_what_it_is(tmp_path):
    (tmp_path / "file").write_text("mine")
    with pytest.raises(SiteError, match=r"found a file of that name, .* Name a folder that is not"):
        write_with(tmp_path / "file", two_files, OWN)
    inside = f"found {tmp_path / 'file'}, which is a file, expected a folder that can be written"
    with pytest.raises(SiteError) as refused:
        write_with(tmp_path / "file" / "x", two_files, OWN)
    assert inside in str(refused.value)


@pytest.mark.skipif(not Path("/proc/self").exists(), reason="this system has no /proc")
def test_a_folder_that_holds_none_of_ours_is_named():
    with pytest.raises(SiteError, match="found /proc, where no folder can be made"):
        write_with(Path("/proc/fallaway"), two_files, OWN)


@pytest.mark.parametrize(
    "words",
    [
        ["plan", ""], ["plan", "x", "--out", ""], ["order", "x", "--out", " "],
        ["export", "x", "--out", ""], ["sheet", "x", "--out", ""], ["demo", ""],
    ],
)  # fmt: skip
def test_an_empty_name_is_no_folder(words, capsys):
    assert cli.main(words) == cli.INPUT_WRONG
    assert 'found an empty name ""' in capsys.readouterr().err


def test_a_folder_that_cannot_be_entered_is_one_sentence(monkeypatch, tmp_path, capsys):
    site = write_site(tmp_path)

    def closed(self):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(self))

    monkeypatch.setattr(Path, "is_file", closed)
    assert cli.main(["plan", str(site)]) == cli.INPUT_WRONG
    assert "found a folder that cannot be entered (Permission denied)" in capsys.readouterr().err


def test_a_full_temporary_folder_is_told_and_gone():
    said = pytest.raises(SiteError, match=r"the temporary folder .*: found no room, expected a ")
    with said, scratch_folder() as folder:
        raise OSError(errno.ENOSPC, "no room")
    assert not folder.exists()


def test_a_workbook_that_cannot_be_written_is_a_fault_of_its_place(tmp_path):
    with pytest.raises(FileNotFoundError), book_at(tmp_path / "gone" / "plan.xlsx", "title"):
        pass


LINKED = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="9" height="9">'
    '<image href="{to}" width="9" height="9"/></svg>'
)


@pytest.mark.parametrize("to", ["other.png", "http://an.invalid/other.png"])
def test_a_logo_that_links_to_a_picture_is_refused(to):
    with Compiled("crew") as sheet:
        linked = sheet.picture(LINKED.format(to=to).encode(), "svg", "a logo")
        plain = sheet.picture(LINKED.format(to="data:image/png;base64,").encode(), "svg", "a logo")
        assert sheet.fault(linked["file"]).startswith(f"failed to load linked image {to} in SVG")
        assert sheet.fault(plain["file"]) == ""
    assert not sheet.folder.exists()
