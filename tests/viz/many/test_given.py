"""The files that a site is planned from, and the hash that they are known by."""

from __future__ import annotations

import os

import pytest
from make.sites.site_folder import AREA, HEAD, SPOTS, write_site

import grading
from grading.errors import SiteError
from grading.records.seal import seal_of
from viz.many import given
from viz.many.given import given_of, laid

PRICED = '[price]\nmargin = "30 %"\ntax = "none"\ndeposit_most = "10 %"\n'


@pytest.fixture
def home(tmp_path):
    text = HEAD.replace('"spots.csv"', '["spots.csv", "more/east.csv"]') + AREA
    site = write_site(tmp_path / "all" / "elm", text, photo="not read")
    (site / "more").mkdir()
    (site / "more" / "east.csv").write_text("x,y,z\n40,0,99.9\n40,20,99.2\n", encoding="utf-8")
    return site.resolve()


def test_what_is_named_is_read_and_nothing_else(home):
    found = given_of(home)
    assert set(found.files) == {"site.toml", "spots.csv", "more/east.csv"}
    assert found.files["spots.csv"] == SPOTS.encode()
    assert found.others == ("photo.csv",)
    assert found.above == {}


@pytest.mark.parametrize(
    "name", ["site.toml", "spots.csv", "more/east.csv", "crew.toml", "hours.csv", "../crew.toml",
             "../hours.csv"]
)  # fmt: skip
def test_every_byte_that_a_plan_hangs_on_is_in_the_hash(home, name):
    before = given_of(home).fingerprint
    assert given_of(home).fingerprint == before
    with (home / name).open("a", encoding="utf-8") as file:
        file.write("\n")
    assert given_of(home).fingerprint != before


def test_what_a_plan_does_not_read_is_not_in_the_hash(home):
    before = given_of(home).fingerprint
    (home / "photo.csv").write_text("another", encoding="utf-8")
    (home.parent / "notes.txt").write_text("call them", encoding="utf-8")
    (home / "site.toml").touch()
    assert given_of(home).fingerprint == before


def test_records_are_read_for_papers_alone(home):
    (home / "records").mkdir()
    (home / "records" / "0001-agreed-2027-01-01.toml").write_text("", encoding="utf-8")
    assert "records/0001-agreed-2027-01-01.toml" in given_of(home, papers=True).files
    assert given_of(home, papers=True).fingerprint != given_of(home).fingerprint


def test_the_copy_gives_the_plan_of_the_site(home, tmp_path):
    (home.parent / "crew.toml").write_text(PRICED, encoding="utf-8")
    (tmp_path / "copy").mkdir()
    copy = laid(given_of(home), tmp_path / "copy")
    own, copied = (grading.plan(grading.read_site(each)) for each in (home, copy))
    assert seal_of(copied) == seal_of(own)
    assert copied.checks == own.checks
    assert own.crew.file == str(home.parent / "crew.toml")
    assert copied.crew.file == str(copy.resolve().parent / "crew.toml")


def test_a_wrong_name_is_answered_with_the_right_one_in_the_copy_too(home, tmp_path):
    text = (home / "site.toml").read_text(encoding="utf-8").replace("spots.csv", "sputs.csv")
    (home / "site.toml").write_text(text, encoding="utf-8")
    (tmp_path / "copy").mkdir()
    copy = laid(given_of(home), tmp_path / "copy")
    said = []
    for each in (home, copy):
        with pytest.raises(SiteError) as error:
            grading.read_site(each)
        said.append(str(error.value))
    assert said[0] == said[1]
    assert "Did you mean `spots.csv`?" in said[0]


def test_a_file_that_is_too_large_is_not_read_but_told_of(home, tmp_path, monkeypatch):
    monkeypatch.setattr(given, "LARGEST", 1000)
    with (home / "spots.csv").open("wb") as file:
        file.truncate(10**9)
    found = given_of(home)
    assert found.files["spots.csv"] == 10**9
    (tmp_path / "copy").mkdir()
    copy = laid(found, tmp_path / "copy")
    assert (copy / "spots.csv").stat().st_size == 10**9
    with pytest.raises(SiteError, match=r"spots\.csv"):
        grading.read_site(copy)


def test_what_lies_outside_is_never_read(home, tmp_path):
    (tmp_path / "secret.csv").write_text(SPOTS, encoding="utf-8")
    (home / "link.csv").symlink_to(tmp_path / "secret.csv")
    text = (home / "site.toml").read_text(encoding="utf-8")
    for name in ("../../secret.csv", "link.csv", str(tmp_path / "secret.csv")):
        (home / "site.toml").write_text(text.replace("spots.csv", name), encoding="utf-8")
        assert set(given_of(home).files) == {"site.toml", "more/east.csv"}


@pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() == 0, reason="root reads everything")
def test_a_file_that_cannot_be_read_is_a_sentence(home):
    (home / "spots.csv").chmod(0)
    with pytest.raises(SiteError, match="a file that cannot be read"):
        given_of(home)


@pytest.mark.parametrize("text", ["= broken", "[" * 5000, "name = 'x'\nname = 'y'"])
def test_a_site_file_that_is_none_is_given_on_as_it_is(home, text):
    (home / "site.toml").write_text(text, encoding="utf-8")
    assert set(given_of(home).files) == {"site.toml"}
