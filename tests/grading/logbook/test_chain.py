"""Records are written once, each after the one before; what is torn, edited or missing is told."""

import datetime
import json
import multiprocessing
import os

import pytest
from make.sites.compared import folder

import grading
from grading.errors import SiteError
from grading.logbook.chain import FOLDER, SCHEMA, Record, add_record, hash_of, records_of
from grading.logbook.kept import KEPT, restore_design
from grading.logbook.model import Entry, record_note
from grading.logbook.words import changed_since, corrected, faults_of, in_force, record_words
from viz import cli

WHEN = datetime.datetime(2027, 5, 14, 16, 30, tzinfo=datetime.UTC)


def entry(note="clay pipe at f", **other):
    told = {"who": "N. Ames", "note": note, "photos": (), "corrects": None, "when": WHEN,
            "version": "0.1.0", **other}  # fmt: skip
    return Entry(**told)


@pytest.fixture
def site(tmp_path):
    return grading.read_site(folder(tmp_path / "a"))


@pytest.fixture
def three(site):
    for note in ("first", "second", "third"):
        record_note(site, entry(note))
    return site


def test_records_are_numbered_dated_and_each_holds_the_one_before(three):
    found = records_of(three.folder)
    assert [each.number for each in found] == [1, 2, 3]
    assert [each.file for each in found] == [f"000{k}-note-2027-05-14.toml" for k in (1, 2, 3)]
    assert [each.told["note"] for each in found] == ["first", "second", "third"]
    assert [each.told["previous"] for each in found] == ["", found[0].hash, found[1].hash]
    assert list(faults_of(found)) == []
    for each in found:
        assert hash_of((three.folder / FOLDER / each.file).read_bytes()) == each.hash
    left = {path.name for path in (three.folder / FOLDER).iterdir()} - {r.file for r in found}
    assert left <= {".lock", "kept"}


@pytest.mark.parametrize(
    ("verdicts", "words"),
    [
        (("pass", "unknown"), "nothing fails"), (("fail", "pass"), "1 thing fails"),
        (("fail", "pass", "fail"), "2 things fail"),
    ],
)  # fmt: skip
def test_a_fall_that_fails_is_not_told_as_a_shot_beyond_tolerance(verdicts, words):
    """How many shots are beyond it is said by the verdict on them, and by nothing else."""
    verdict = [{"status": each, "words": "so"} for each in verdicts]
    told = {"date": "2027-05-14", "layer": "surface", "shot": [{}] * 15, "verdict": verdict}
    record = Record(2, "0002-surface-2027-05-14.toml", told, "", ())
    assert record_words(record) == f"2, 2027-05-14: surface, 15 shots, {words}"


@pytest.mark.parametrize("which", [0, 1, 2])
def test_an_edit_is_told_wherever_it_is(three, which):
    path = three.folder / FOLDER / records_of(three.folder)[which].file
    path.write_text(
        path.read_text(encoding="utf-8").replace("N. Ames", "N. Other"), encoding="utf-8"
    )
    found = records_of(three.folder)
    assert any("edited" in fault for fault in found[which].faults)
    assert any(f"record {which + 1}" in fault for fault in faults_of(found))
    if which < 2:
        assert any(f"record {which + 1} is not the one" in f for f in found[which + 1].faults)


def test_every_torn_end_is_told(three):
    path = three.folder / FOLDER / records_of(three.folder)[2].file
    whole = path.read_bytes()
    for keep in range(0, len(whole), 7):
        path.write_bytes(whole[:keep])
        assert records_of(three.folder)[2].faults, keep
    path.write_bytes(whole)
    assert not records_of(three.folder)[2].faults


@pytest.mark.parametrize("which", [0, 1])
def test_one_that_is_taken_away_is_told(three, which):
    (three.folder / FOLDER / records_of(three.folder)[which].file).unlink()
    assert any("missing" in fault for fault in faults_of(records_of(three.folder)))


def test_nothing_is_ever_mended_or_overwritten(three):
    path = three.folder / FOLDER / records_of(three.folder)[1].file
    path.write_text("torn", encoding="utf-8")
    before = {p.name: p.read_bytes() for p in (three.folder / FOLDER).glob("0*")}
    record_note(three, entry("fourth"))
    after = {p.name: p.read_bytes() for p in (three.folder / FOLDER).glob("0*")}
    assert {name: after[name] for name in before} == before
    assert len(after) == len(before) + 1


def test_a_correction_is_a_record_of_its_own(three):
    record_note(three, entry("second, rightly", corrects=2))
    found = records_of(three.folder)
    assert corrected(found) == {2}
    assert [each.number for each in in_force(found)] == [1, 3, 4]
    with pytest.raises(SiteError, match="record 9"):
        record_note(three, entry(corrects=9))
    assert len(records_of(three.folder)) == 4


def test_photos_are_held_by_their_hash(site, tmp_path):
    photo = site.folder / "pipe.jpg"
    photo.write_bytes(b"\xff\xd8\xff picture")
    record_note(site, entry(photos=(photo,)))
    (found,) = records_of(site.folder)
    assert found.told["photo"] == [{"file": "pipe.jpg", "sha256": hash_of(photo.read_bytes())}]
    assert found.faults == ()
    photo.write_bytes(b"\xff\xd8\xff another")
    assert "another than then" in records_of(site.folder)[0].faults[0]
    photo.unlink()
    assert "is not there" in records_of(site.folder)[0].faults[0]
    outside = tmp_path / "elsewhere.jpg"
    outside.write_bytes(b"x")
    for path, words in ((outside, "outside the folder"), (site.folder / "no.jpg", "not there")):
        with pytest.raises(SiteError, match=words):
            record_note(site, entry(photos=(path,)))
    assert len(records_of(site.folder)) == 1


def test_a_design_that_changed_since_is_named(site):
    record_note(site, entry())
    (found,) = records_of(site.folder)
    assert changed_since(found, site.folder) == ()
    path = site.folder / "spots.csv"
    path.write_text(path.read_text(encoding="utf-8") + "5,5,9.9,f\n", encoding="utf-8")
    assert changed_since(found, site.folder) == ("spots.csv",)
    path.write_text(path.read_text(encoding="utf-8").replace("5,5,9.9,f\n", ""), encoding="utf-8")
    (site.folder / "built.csv").write_text("stake,z\na,10\n", encoding="utf-8")
    assert changed_since(found, site.folder) == ()  # shots of what was built are no design


def _write_some(root, count):
    site = grading.read_site(root)
    for k in range(count):
        record_note(site, entry(f"{os.getpid()} {k}"))


def test_who_write_at_once_lose_nothing(site):
    processes = multiprocessing.get_context("fork")
    writers = [processes.Process(target=_write_some, args=(site.folder, 8)) for _ in range(4)]
    for each in writers:
        each.start()
    for each in writers:
        each.join()
    found = records_of(site.folder)
    assert [each.number for each in found] == list(range(1, 33))
    assert len({each.told["note"] for each in found}) == 32
    assert list(faults_of(found)) == []


CALLS = ("open", "close", "link", "fsync", "unlink", "fdopen")


def _killed_at(root, step):
    """Write a record in a process that ends, without a word, at a call to the system."""
    site = grading.read_site(root)
    left = [step]

    def counted(real):
        def call(*words, **named):
            left[0] -= 1
            if left[0] < 0:
                os._exit(9)
            return real(*words, **named)

        return call

    for name in CALLS:
        setattr(os, name, counted(getattr(os, name)))
    record_note(site, entry("killed"))
    os._exit(0)


def test_a_writer_that_is_killed_at_any_call_leaves_what_was_there(three):
    processes = multiprocessing.get_context("fork")
    kept = {p.name: p.read_bytes() for p in (three.folder / FOLDER).glob("0*")}
    ends = []
    for step in range(1000):  # another Python makes more calls for the same
        child = processes.Process(target=_killed_at, args=(three.folder, step))
        child.start()
        child.join()
        ends.append(child.exitcode)
        found = records_of(three.folder)
        # Each record that is there is whole, and so is their chain.
        assert list(faults_of(found)) == []
        there = {p.name: p.read_bytes() for p in (three.folder / FOLDER).glob("0*")}
        assert {name: there[name] for name in kept} == kept
        if child.exitcode == 0:
            break
    assert ends[-1] == 0
    assert ends.count(9) == len(ends) - 1 > 3
    record_note(three, entry("after"))
    assert records_of(three.folder)[-1].told["note"] == "after"


def test_a_folder_that_cannot_be_written_is_said(site):
    (site.folder / FOLDER).write_text("a file in the way", encoding="utf-8")
    with pytest.raises(SiteError, match="a folder that can be written"):
        add_record(site.folder, "note", "2027-05-14", lambda number, previous: "")


def test_the_design_of_a_record_is_kept_and_compared_with_what_is_now(site, tmp_path, capsys):
    record_note(site, entry())
    root, path = site.folder, site.folder / FOLDER / records_of(site.folder)[0].file
    before = {p.name: p.read_bytes() for p in root.iterdir() if p.is_file()}
    text = (root / "site.toml").read_text(encoding="utf-8")
    (root / "site.toml").write_text(text.replace("100 mm", "300 mm"), encoding="utf-8")
    into = tmp_path / "as it was"
    into.mkdir()
    restore_design(path, into)
    assert {p.name: p.read_bytes() for p in into.iterdir()} == before
    assert cli.main(["compare", str(path), str(root)]) in (0, 1)
    assert "site.toml, ground.organics: 100 mm -> 300 mm" in capsys.readouterr().out
    kept = root / FOLDER / KEPT / hash_of(before["site.toml"])
    kept.write_bytes(b"name = 'another'")
    assert cli.main(["compare", str(path), str(root)]) == 2
    assert "was changed where it is kept" in capsys.readouterr().err
    assert cli.main(["compare", str(path.with_name("0009-note-2027-05-14.toml")), str(root)]) == 2
    assert "no record" in capsys.readouterr().err


@pytest.mark.parametrize(
    "named", ["/dev/zero", "../elsewhere.jpg", "{}/elsewhere.jpg", "link.jpg", "pipe", ".", "", 3]
)
def test_a_record_that_somebody_else_sent_has_no_other_file_read(site, tmp_path, named):
    """A device never ends and a pipe never begins: a record names a photo of the site, or none."""
    outside = tmp_path / "elsewhere.jpg"
    outside.write_bytes(b"x")
    (site.folder / "link.jpg").symlink_to(outside)
    os.mkfifo(site.folder / "pipe")
    file = named.format(tmp_path) if isinstance(named, str) else named

    def text(number, previous):
        return (
            f'schema = "{SCHEMA}"\nnumber = {number}\nprevious = "{previous}"\n'
            f'[[photo]]\nfile = {json.dumps(file)}\nsha256 = "{hash_of(b"x")}"\n'
            f'[design]\n"site.toml" = {json.dumps(file)}\n'
        )

    path = add_record(site.folder, "note", "2027-05-14", text)
    (found,) = records_of(site.folder)
    assert len(found.faults) == 1
    assert found.faults[0].startswith("its photo ")
    assert found.faults[0].endswith(" is not there")
    path.write_text(path.read_text().replace("[[photo]]", "[[other]]"))
    sealed = path.read_text().partition("\n")[2]
    path.write_text(f'seal = "{hash_of(sealed.encode())}"\n{sealed}')
    assert records_of(site.folder)[0].faults == ()
    into = tmp_path / "into"
    into.mkdir()
    with pytest.raises(SiteError, match=r"a design whose site\.toml is not kept"):
        restore_design(path, into)
    assert list(into.iterdir()) == []


def test_what_a_writer_left_that_was_killed_goes_with_the_next(three):
    home = three.folder / FOLDER
    left = home / f".{records_of(three.folder)[-1].file[:-5].replace('0003', '0004')}-x.part"
    left.write_bytes(b"half")
    record_note(three, entry("soon after"))
    assert left.exists(), "it may be at work"
    os.utime(left, (0, 0))
    left.rename(home / left.name.replace("0004", "0005"))
    record_note(three, entry("later"))
    assert list(home.glob(".*.part")) == []
