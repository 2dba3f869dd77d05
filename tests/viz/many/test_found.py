"""Which sites are meant, and what is said where it cannot be told."""

from __future__ import annotations

from pathlib import Path

import pytest
from make.sites.site_folder import write_site

from grading.errors import SiteError
from viz.many.found import sites_of
from viz.many.several import is_many


@pytest.fixture
def yards(tmp_path, monkeypatch) -> Path:
    for name in ("b/elm", "b/ash", "c/elm", "oak"):
        write_site(tmp_path / name)
    (tmp_path / "b" / ".hidden").mkdir()
    (tmp_path / "b" / ".hidden" / "site.toml").write_text("", encoding="utf-8")
    (tmp_path / "b" / "photos").mkdir()
    (tmp_path / "empty").mkdir()
    monkeypatch.chdir(tmp_path)
    return tmp_path


def names(*paths):
    return [each.name for each in sites_of([Path(path) for path in paths])]


def test_a_folder_of_sites_is_its_sites_by_name(yards):
    assert names("b") == ["ash", "elm"]
    assert names("oak", "b") == ["oak", "ash", "elm"]
    assert names("oak/site.toml", "b/ash/") == ["oak", "ash"]


def test_one_site_is_one_site(yards):
    for path in ("oak", "oak/site.toml", "empty", "nowhere"):
        assert not is_many([Path(path)]), path
    assert is_many([Path("b")])
    assert is_many([Path("oak"), Path("nowhere")])


@pytest.mark.parametrize(
    ("paths", "said"),
    [
        (
            ["empty", "nowhere"],
            "empty: found a folder without site.toml, and none in the folders inside it, expected "
            "a site, or a folder of sites. A site is a folder that holds site.toml: name it, or "
            "the folder that it is in.\n"
            "nowhere: found nothing there, expected a folder with site.toml. Give the folder of a "
            "site, or its site.toml.",
        ),
        (
            ["oak", "oak"],
            "the command: found oak twice, expected each site once. Leave one of them out.",
        ),
        (
            ["b", "b/../b/ash/site.toml"],
            "the command: found b/ash and b/../b/ash/site.toml, which are one site, expected each "
            "site once. Leave one of them out.",
        ),
        (
            ["b", "c/elm"],
            'the command: found two sites in folders named "elm", b/elm and c/elm, expected names '
            "that differ, for each has its row by that name. Rename one of the folders, or plan "
            "them apart.",
        ),
    ],
)
def test_what_leads_to_no_row_of_its_own_is_a_sentence(yards, paths, said):
    with pytest.raises(SiteError) as error:
        sites_of([Path(path) for path in paths])
    assert str(error.value) == said


@pytest.mark.parametrize(
    ("out", "said"),
    [
        (
            "oak",
            "--out oak: found the site oak, expected a folder outside of every site. Name a folder "
            "elsewhere.",
        ),
        (
            "oak/all/of/it",
            "--out oak/all/of/it: found a folder inside the site oak, expected a folder outside "
            "of every site. Name a folder elsewhere.",
        ),
        (
            "b",
            "--out b: found the folder that holds the site b/ash, expected a folder in which no "
            "site stands. Name a folder elsewhere.",
        ),
    ],
)
def test_what_is_written_stands_in_no_site(yards, out, said):
    with pytest.raises(SiteError) as error:
        sites_of([Path("oak"), Path("b")], Path(out))
    assert str(error.value) == said


def test_a_path_to_no_site_stops_none_of_the_others(yards):
    nowhere, oak = sites_of([Path("nowhere"), Path("oak")])
    assert nowhere.refused.startswith("nowhere: found nothing there, expected a folder with")
    assert (nowhere.name, oak.name, oak.refused) == ("nowhere", "oak", "")


def test_a_link_to_a_site_is_that_site(yards):
    (yards / "same").symlink_to(yards / "oak")
    with pytest.raises(SiteError, match="which are one site"):
        sites_of([Path("oak"), Path("same")])


def test_two_names_that_some_disks_take_for_one_are_refused(yards):
    write_site(yards / "c" / "Ash")
    with pytest.raises(SiteError, match="names that differ"):
        sites_of([Path("b"), Path("c/Ash")])


def test_a_site_that_is_called_as_the_table_is_refused(yards):
    write_site(yards / "d" / "Yards.csv")
    assert names("d") == ["Yards.csv"]
    with pytest.raises(SiteError, match="a file of the table is called so"):
        sites_of([Path("d")], Path("out"))


def test_all_that_is_wrong_is_told_at_once(yards):
    with pytest.raises(SiteError) as error:
        sites_of([Path("empty"), Path("nowhere"), Path("oak"), Path("oak")], Path("oak/out"))
    assert len(error.value.problems) == 4
