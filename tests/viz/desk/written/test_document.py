"""The written document: changed by the way to a key, and nothing else of it changed."""

import tomllib

import pytest

import sample_sites
from grading.errors import SiteError
from viz.desk.blocks import Change
from viz.desk.written.document import Document, meet, read_document

TEXT = """\
# The yard behind the mill.
name = "Mill yard"
unit = "ft"      # feet, not metres
spots = "spots.csv"

[[door]]
name = "back door"  # the one with the cat flap
at   = [7, 0]
sill = 100.00

[[area]]
name    = "patio"
outline = [[2, 0], [22, 0], [22, 9],
           {arc = [[12, 12], [2, 9]]}]
"""


def document() -> Document:
    return Document({"site.toml": TEXT, "spots.csv": "x,y,z\n"})


def test_a_value_is_changed_where_it_stands_and_remarks_stay():
    made = document().changed([Change("door/0/sill", "100' 3\"")]).texts["site.toml"]
    assert made == TEXT.replace("100.00", '''"100' 3\\""''')


def test_a_corner_of_an_outline_is_moved_and_the_arc_stays():
    made = document().changed([Change("area/0/outline/1", [23.5, 0])]).written
    assert made["area"][0]["outline"] == [
        [2, 0], [23.5, 0], [22, 9], {"arc": [[12, 12], [2, 9]]},
    ]  # fmt: skip


def test_tables_that_are_not_there_are_made_on_the_way():
    made = document().changed([Change("frost/index", "1500 F-days")]).written
    assert made["frost"] == {"index": "1500 F-days"}


def test_tables_are_added_and_taken_away_again():
    door = {"name": "side door", "at": [9, 0], "sill": 99.5}
    added = document().changed([Change("door", door, "add")])
    assert added.written["door"][1] == door
    first = document().changed([Change("downspout", {"at": [1, 1]}, "add")])
    assert first.written["downspout"] == [{"at": [1, 1]}]
    gone = first.changed([Change("downspout/0", None, "remove")])
    assert "downspout" not in gone.written
    assert "# the one with the cat flap" in gone.texts["site.toml"]


def test_a_key_that_is_emptied_is_taken_away_and_one_that_is_not_there_is_no_fault():
    made = document().changed([Change("door/0/name"), Change("door/0/step")]).written
    assert made["door"] == [{"at": [7, 0], "sill": 100.0}]


def test_a_way_that_leads_nowhere_is_refused_in_a_sentence():
    with pytest.raises(SiteError, match="door/4/sill"):
        document().changed([Change("door/4/sill", 100)])


@pytest.mark.parametrize("name", ["../site.toml", "a/b.csv", "/etc/passwd.csv", "x.py", ".toml"])
def test_no_file_outside_the_folder_is_named(name):
    with pytest.raises(SiteError, match="plain name"):
        document().with_text(name, "x")


def test_a_glance_is_what_the_change_would_be():
    changes = [Change("area/0/outline/0", [1, 0]), Change("door", {"at": [3, 0], "sill": 1}, "add")]
    assert document().glanced(changes) == document().changed(changes).written
    assert document().written == tomllib.loads(TEXT)


def test_ways_meet_where_one_leads_to_the_other():
    assert meet(["door/0/sill"], ["door/0"]) == "door/0/sill"
    assert meet(["area/0/outline/3"], ["area/0/outline"]) == "area/0/outline/3"
    assert meet(["door/1"], ["door/10"]) == ""


@pytest.mark.parametrize("name", sample_sites.names())
def test_every_sample_site_can_be_changed_without_changing_more(name):
    site = read_document(sample_sites.path(name))
    changed = site.changed([Change("name", "Another name")])
    old, new = (each.texts["site.toml"].splitlines() for each in (site, changed))
    assert [line for line in old if line not in new] == [
        line for line in old if line.startswith(("name ", "name="))
    ][:1]
    assert changed.changed([Change("name", site.written["name"])]).written == site.written
