"""A folder of files: whose they are, and what is left of a run that is ended from outside."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import pytest
from drive.patience import until
from make.sites.site_folder import AREA, HEAD, write_site

from grading.errors import SiteError
from viz import cli
from viz.files import MARK, NOTE, check_owner, owner_of, write_with
from viz.scratch import held_folder, scratch_folder

ROOT = str(Path(cli.__file__).resolve().parents[1])
needs_kill = pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no signal of that kind")


def site_at(folder, name="Alder Row"):
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "site.toml").write_text(f'name = "{name}"\n')
    return SimpleNamespace(name=name, folder=folder)


def making(**files):
    def make(folder):
        for name, words in files.items():
            (folder / name).parent.mkdir(exist_ok=True)
            (folder / name).write_text(words)

    return make


def names(folder):
    return sorted(each.name for each in folder.rglob("*"))


def test_files_of_an_earlier_run_are_replaced_and_others_stay(tmp_path):
    site, out = site_at(tmp_path / "site"), tmp_path / "out"
    write_with(out, making(a="1", b="1"), site)
    (out / "mine.txt").write_text("mine")
    assert write_with(out, making(a="2", c="2"), site) == [out / "a", out / "c"]
    assert [(out / each).read_text() for each in ("a", "b", "c", "mine.txt")] == [
        "2", "1", "2", "mine",
    ]  # fmt: skip
    assert owner_of(out).files == {"a", "b", "c"}
    assert names(out) == [MARK, "a", "b", "c", "mine.txt"]


def test_the_folder_of_another_site_is_refused_with_the_way_to_go_on(tmp_path):
    own = site_at(tmp_path / "site", "Alder Row")
    other = site_at(tmp_path / "other", "Birch Lane, back")
    out = tmp_path / "out"
    write_with(out, making(a="own"), own)
    made = []
    with pytest.raises(SiteError) as refused:
        write_with(out, made.append, other)
    assert not made, "nothing is made that cannot be written"
    (said,) = str(refused.value).splitlines()
    assert f'files of another site, "Alder Row" ({tmp_path / "site"})' in said
    way = out / "birch-lane-back"
    assert f'Write "--out {way}"' in said
    write_with(way, making(a="other"), other)
    assert (out / "a").read_text() == "own"


def test_two_sites_of_one_name_are_two_sites(tmp_path):
    out = tmp_path / "out"
    write_with(out, making(a="1"), site_at(tmp_path / "one"))
    with pytest.raises(SiteError, match="files of another site"):
        check_owner(out, site_at(tmp_path / "two"))


def test_a_site_that_was_moved_or_renamed_is_the_same(tmp_path):
    site, out = site_at(tmp_path / "job" / "site"), tmp_path / "job" / "out"
    write_with(out, making(a="1"), site)
    # Both together, as to another disk.
    (tmp_path / "job").rename(tmp_path / "moved")
    site, out = site_at(tmp_path / "moved" / "site", "Another name"), tmp_path / "moved" / "out"
    write_with(out, making(a="2"), site)
    # The site alone.
    (tmp_path / "moved" / "site").rename(tmp_path / "elsewhere")
    write_with(out, making(a="3"), site_at(tmp_path / "elsewhere", "Another name"))
    assert (out / "a").read_text() == "3"
    with pytest.raises(SiteError, match="files of another site"):
        check_owner(out, site_at(tmp_path / "third", "A third name"))


def test_what_a_person_put_there_is_never_replaced(tmp_path):
    out = tmp_path / "out"
    out.mkdir()
    for name in "abcde":
        (out / name).write_text("mine")
    with pytest.raises(SiteError, match=r"found a, b, c and 2 more, not known to be of this site"):
        write_with(out, making(a="", b="", c="", d="", e="", f=""), site_at(tmp_path / "site"))
    assert {(out / name).read_text() for name in "abcde"} == {"mine"}
    assert names(out) == list("abcde")


def test_a_site_that_stands_in_no_folder_goes_by_its_name(tmp_path):
    made = [SimpleNamespace(name=name, folder=None) for name in ("One", "One", "Two")]
    for site in made[:2]:
        write_with(tmp_path, making(a="1"), site)
    with pytest.raises(SiteError, match=r'files of another site, "One", expected'):
        write_with(tmp_path, making(a="1"), made[2])


@pytest.mark.parametrize("words", ["", "{", "[]", '{"site": 1}', '{"site": "x", "place": 3}'])
def test_a_mark_that_says_nothing_claims_nothing(tmp_path, words):
    (tmp_path / MARK).write_text(words)
    site = site_at(tmp_path / "site")
    write_with(tmp_path, making(a="1"), site)
    assert owner_of(tmp_path).site == "Alder Row"


@pytest.mark.parametrize(
    "words", [["plan", "{}", "--out", "{out}"], ["order", "{}", "--out", "{out}"],
              ["export", "{}", "--out", "{out}", "--as", "csv"], ["sheet", "{}", "--out", "{out}"],
              ["sequence", "{}", "--out", "{out}"], ["demo", "{out}"]],
    ids=lambda words: words[0],
)  # fmt: skip
def test_every_command_refuses_it_before_it_draws_or_says_anything(tmp_path, capsys, words):
    out = tmp_path / "out"
    write_with(out, making(a="own"), site_at(tmp_path / "site"))
    other = write_site(tmp_path / "other", HEAD.replace("Alder Row", "Birch Lane") + AREA)
    status = cli.main([each.format(other, out=out) for each in words])
    told = capsys.readouterr()
    assert status == cli.INPUT_WRONG
    assert 'files of another site, "Alder Row"' in told.err
    assert told.out == ""
    assert names(out) == [MARK, "a"]


KILLED = """
import os, signal, sys
from pathlib import Path
from types import SimpleNamespace
from viz import files
count, out, site = int(sys.argv[1]), Path(sys.argv[2]), Path(sys.argv[3])
done, replace = 0, os.replace
def counted(a, b):
    global done
    if done == count:
        os.kill(os.getpid(), signal.SIGKILL)
    done += 1
    replace(a, b)
def make(folder):
    files.os.replace = counted
    for name in ("a", "b", "c"):
        (folder / name).write_text("2")
files.write_with(out, make, SimpleNamespace(name="Alder Row", folder=site))
"""


def killed(count, out, site):
    return subprocess.run(
        [sys.executable, "-c", KILLED, str(count), str(out), str(site.folder)],
        env=os.environ | {"PYTHONPATH": ROOT}, check=False,
    ).returncode  # fmt: skip


@needs_kill
def test_a_run_that_is_killed_leaves_all_old_or_all_new_or_a_note_and_the_next_ends_it(tmp_path):
    site, seen = site_at(tmp_path / "site"), []
    for count in range(9):
        out = tmp_path / str(count)
        write_with(out, making(a="1", b="1", c="1"), site)
        status = killed(count, out, site)
        left = "".join((out / name).read_text() for name in "abc")
        assert left in ("111", "222") or (out / NOTE).exists()
        seen.append(left)
        if status == 0:
            assert left == "222"
            break
        # Another command into the same folder: what was begun is ended or undone, as a whole.
        write_with(out, making(d="3"), site)
        whole = "".join((out / name).read_text() for name in "abc")
        assert whole in ("111", "222")
        assert whole == "222" or left == "111"
        assert names(out) == [MARK, "a", "b", "c", "d"]
        assert owner_of(out).files == {"a", "b", "c", "d"}
    else:
        raise AssertionError("it never came to its end")
    assert {"111", "211", "221", "222"} <= set(seen)


@needs_kill
def test_folders_that_a_killed_run_left_go_with_the_next_and_those_at_work_stay(tmp_path):
    script = (
        "import sys, time; from pathlib import Path; from viz.scratch import held_folder\n"
        "with held_folder(Path(sys.argv[1]), 'fallaway-') as folder:\n"
        "    print(folder, flush=True); sys.stdin.read()\n"
    )
    mine = tmp_path / "fallaway-mine"
    mine.mkdir()
    with subprocess.Popen(
        [sys.executable, "-c", script, str(tmp_path)], stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, text=True, env=os.environ | {"PYTHONPATH": ROOT},
    ) as other:  # fmt: skip
        theirs = Path(other.stdout.readline().strip())
        with held_folder(tmp_path, "fallaway-") as own:
            assert sorted(tmp_path.iterdir()) == sorted([mine, theirs, own])
        other.kill()
    assert theirs.exists()
    with held_folder(tmp_path, "fallaway-") as own:
        assert sorted(tmp_path.iterdir()) == sorted([mine, own])
    assert list(tmp_path.iterdir()) == [mine], "what nobody marked is not ours to take away"


@pytest.mark.parametrize("begun", [(), (".held-new",)], ids=["empty", "not held yet"])
def test_a_folder_that_a_run_was_cut_off_in_making_goes_when_it_is_old(tmp_path, begun):
    left = tmp_path / "fallaway-left"
    left.mkdir()
    for name in begun:
        (left / name).touch()
    with held_folder(tmp_path, "fallaway-"):
        assert left.exists(), "it may be about to be held"
    os.utime(left, (time.time() - 3600,) * 2)
    with held_folder(tmp_path, "fallaway-"):
        assert not left.exists()


@needs_kill
def test_a_temporary_folder_that_was_left_goes_with_the_next(tmp_path, monkeypatch):
    import tempfile

    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    left = (
        "import os, signal; from viz.scratch import scratch_folder\n"
        "with scratch_folder(): os.kill(os.getpid(), signal.SIGKILL)\n"
    )
    environment = os.environ | {"PYTHONPATH": ROOT, "TMPDIR": str(tmp_path)}
    subprocess.run([sys.executable, "-c", left], env=environment, check=False)
    assert len(list(tmp_path.iterdir())) == 1
    with scratch_folder() as folder:
        assert list(tmp_path.iterdir()) == [folder]
    until(lambda: not list(tmp_path.iterdir()))
