"""The state of a site that is open: taken back, brought back, and never lost."""

import json
from pathlib import Path

import pytest

from grading.errors import SiteError
from viz.desk.blocks import Change
from viz.desk.written.journal import FOLDER, JOURNAL, UNREAD
from viz.desk.written.state import OUTSIDE, State

TEXT = (
    'name = "Mill yard"\nunit = "ft" # feet\n\n[[door]]\nname = "back"\nat = [7, 0]\nsill = 100\n'
)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "site.toml").write_text(TEXT)
    (tmp_path / "spots.csv").write_text("x,y,z\n1,2,3\n")
    return tmp_path


def change(state: State, at: str, to: object, said: str = "") -> None:
    changes = [Change(at, to)]
    state.change(state.now.document.changed(changes), said or at, [at])


def sill(state: State) -> object:
    return state.now.document.written["door"][0]["sill"]


def killed(state: State) -> None:
    """End a state as kill -9 does: nothing is saved, and the lock falls."""
    state._lock.release()


def test_changes_are_taken_back_and_made_again_by_name(folder):
    state = State(folder)
    assert state.undoes is None
    change(state, "door/0/sill", 101, "sill of the back door")
    change(state, "name", "Other", "name of the yard")
    assert (state.undoes, state.redoes) == ("name of the yard", None)
    assert state.undo()
    assert (state.undoes, state.redoes) == ("sill of the back door", "name of the yard")
    assert state.undo()
    assert not state.undo()
    assert sill(state) == 100
    assert state.redo()
    assert state.redo()
    assert not state.redo()
    assert state.now.document.written["name"] == "Other"
    change(state, "door/0/sill", 102)
    assert state.redoes is None


def test_a_state_that_was_killed_comes_back_with_all_that_was_written_down(folder):
    state = State(folder)
    for step in range(1, 6):
        change(state, "door/0/sill", 100 + step, f"sill {step}")
    state.undo()
    killed(state)
    assert (folder / "site.toml").read_text() == TEXT
    again = State(folder)
    assert sill(again) == 104
    assert (again.undoes, again.redoes) == ("sill 4", "sill 5")
    assert "sill = 104" in (folder / "site.toml").read_text()
    assert "# feet" in (folder / "site.toml").read_text()


def test_a_line_that_was_cut_off_was_never_answered_and_is_cut_away(folder):
    state = State(folder)
    change(state, "door/0/sill", 101)
    killed(state)
    journal = folder / FOLDER / JOURNAL
    with journal.open("a") as stream:
        stream.write('{"revision": 9, "kind": "did", "te')
    again = State(folder)
    assert sill(again) == 101
    change(again, "door/0/sill", 102)
    killed(again)
    for line in journal.read_text().splitlines():
        json.loads(line)
    assert sill(State(folder)) == 102


def test_what_an_editor_wrote_while_nothing_was_open_is_a_change_that_can_be_taken_back(folder):
    state = State(folder)
    change(state, "door/0/sill", 101)
    state.close()
    file = folder / "site.toml"
    file.write_text(file.read_text().replace("101", "98"))
    again = State(folder)
    assert sill(again) == 98
    assert again.undoes == OUTSIDE
    again.undo()
    assert sill(again) == 101


def test_what_an_editor_writes_while_the_page_is_open_is_lost_to_neither(folder):
    state = State(folder)
    change(state, "door/0/sill", 101)
    (folder / "site.toml").write_text(TEXT.replace("Mill yard", "Edited by hand"))
    assert state.save()
    assert state.now.document.written["name"] == "Edited by hand"
    assert state.undoes == OUTSIDE
    state.undo()
    assert sill(state) == 101
    assert not state.save()
    assert "sill = 101" in (folder / "site.toml").read_text()


def test_an_earlier_state_is_brought_back_as_a_change_of_its_own(folder):
    state = State(folder)
    change(state, "door/0/sill", 101, "one")
    change(state, "door/0/sill", 102, "two")
    first = state.earlier()[-1]
    assert state.restore(first.number)
    assert sill(state) == 100
    state.undo()
    assert sill(state) == 102
    assert not state.restore(999)


def test_a_second_one_may_look_and_not_write(folder):
    first, second = State(folder), State(folder)
    assert not first.read_only
    assert second.read_only
    assert not second.save()
    first.close()
    assert not State(folder).read_only


def test_a_long_text_stands_once_however_often_it_is_told(folder):
    long = "x,y,z\n" + "1.25,2.5,99.75\n" * 5000
    state = State(folder)
    for _ in range(3):
        state.change(state.now.document.with_text("spots.csv", long), "spots", ["spots.csv"])
        state.undo()
    state.redo()
    killed(state)
    assert len(list((folder / FOLDER / "kept").iterdir())) == 1
    assert (folder / FOLDER / JOURNAL).stat().st_size < 6000
    assert State(folder).now.document.texts["spots.csv"] == long


def test_ends_of_lines_and_the_mark_of_a_file_stay(folder):
    data = b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode()
    (folder / "site.toml").write_bytes(data)
    state = State(folder)
    change(state, "door/0/sill", 101)
    state.save()
    assert (folder / "site.toml").read_bytes() == data.replace(b"sill = 100", b"sill = 101")


def test_two_windows_that_write_to_one_key_meet(folder):
    state = State(folder)
    base = state.now.number
    change(state, "door/0/sill", 101)
    assert state.clash(base, ["door/0/sill"]) == "door/0/sill"
    assert state.clash(base, ["door/0"]) == "door/0"
    assert state.clash(base, ["name"]) == ""
    assert state.clash(state.now.number, ["door/0/sill"]) == ""


def written(folder: Path, *lines: dict) -> Path:
    """Write a journal by hand: what stands in the files, then these lines."""
    texts = {each: (folder / each).read_text() for each in ("site.toml", "spots.csv")}
    began = {"revision": 1, "kind": "began", "said": "", "at": "", "texts": texts, "touched": []}
    journal = folder / FOLDER / JOURNAL
    journal.parent.mkdir()
    told = "".join(f"{json.dumps(each)}\n" for each in (began, {"saved": 1}, *lines))
    journal.write_text(told)
    return journal


@pytest.mark.parametrize(
    "name",
    ["../crew.toml", "{}/crew.toml", "../site/../crew.toml", "a/../../crew.toml", ".fallaway/x.txt",
     ".bashrc", "run.sh", "..", ""],
)  # fmt: skip
@pytest.mark.parametrize("text", ["gotcha", None])
def test_no_journal_has_a_file_written_or_taken_away_outside_its_folder(tmp_path, name, text):
    """A folder that somebody else sent holds a journal that the page did not write."""
    home = tmp_path / "site"
    home.mkdir()
    (home / "site.toml").write_text(TEXT)
    (home / "spots.csv").write_text("x,y,z\n1,2,3\n")
    (tmp_path / "crew.toml").write_text("mine")
    named = name.format(tmp_path)
    change = {"revision": 2, "kind": "did", "said": "", "at": "", "touched": []}
    journal = written(home, change | {"texts": {named: text}})
    before = {each: each.read_bytes() for each in tmp_path.rglob("*") if each.is_file()}
    with pytest.raises(SiteError) as refused:
        State(home)
    said = str(refused.value)
    assert said.startswith(f'{FOLDER}/{JOURNAL}, line 3: found a change of "')
    assert "expected one of a file in the folder of the site" in said
    lock = home / FOLDER / "lock"
    after = {each: each.read_bytes() for each in tmp_path.rglob("*") if each.is_file()}
    assert {each: data for each, data in after.items() if each != lock} == before
    assert journal.exists()


def test_what_a_link_leads_to_elsewhere_is_neither_held_nor_written_down(folder, tmp_path_factory):
    secret = tmp_path_factory.mktemp("elsewhere") / "secret.txt"
    secret.write_text("not of this yard")
    (folder / "note.txt").symlink_to(secret)
    state = State(folder)
    assert "note.txt" not in state.now.document.texts
    state.close()
    assert "not of this yard" not in (folder / FOLDER / JOURNAL).read_text()
    assert secret.read_text() == "not of this yard"


@pytest.mark.parametrize(
    "junk", [b"\0" * 300 + b"\n", b"{]\n", b"[[[[" * 100_000 + b"\n", b"\xff\n"]
)
def test_what_stands_behind_a_line_gone_bad_is_set_aside_and_nothing_new_is_lost(folder, junk):
    """A disk that went wrong: what was written after it was opened again was never read again."""
    state = State(folder)
    change(state, "door/0/sill", 101)
    killed(state)
    journal = folder / FOLDER / JOURNAL
    whole = journal.read_bytes()
    journal.write_bytes(whole + junk + b'{"saved": 2}\n')
    again = State(folder)
    assert sill(again) == 101
    change(again, "door/0/sill", 102)
    killed(again)
    assert sill(State(folder)) == 102
    assert (folder / FOLDER / UNREAD).read_bytes() == junk + b'{"saved": 2}\n'
