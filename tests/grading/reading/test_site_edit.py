"""A site file changed: what is asked for, and not a sign more."""

from __future__ import annotations

import tomllib

import pytest

from grading.errors import SiteError
from grading.reading.site_edit import Edit, SiteText, edited

TEXT = """# Plum Lane, as taped on Monday
name = "Plum Lane"   # invented
unit = "ft"

[[door]]
at = [12, 0]     # the slider
sill = "100' 7\\""

[[door]]
at = [20, 0]
sill = 100.5

[[area]]
name = "patio"
plane = {at = [2, 0], z = 100.2, fall = "2 %", bearing = 0}  # given
"""


def changed(old, new):
    pairs = zip(old.splitlines(), new.splitlines(), strict=True)
    return [(a, b) for a, b in pairs if a != b]


def test_a_value_is_changed_where_it_stands():
    made = edited(TEXT, [Edit(("area", 0, "plane", "z"), 100.5)])
    ((_, line),) = changed(TEXT, made)
    assert line == 'plane = {at = [2, 0], z = 100.5, fall = "2 %", bearing = 0}  # given'


def test_a_key_is_added_to_the_table_that_it_is_of():
    made = edited(TEXT, [Edit(("door", 0, "steps"), 2)])
    assert tomllib.loads(made)["door"] == [
        {"at": [12, 0], "sill": "100' 7\"", "steps": 2},
        {"at": [20, 0], "sill": 100.5},
    ]
    assert set(TEXT.splitlines()) < set(made.splitlines())


def test_a_key_is_taken_away():
    made = edited(TEXT, [Edit(("area", 0, "plane"))])
    assert tomllib.loads(made)["area"] == [{"name": "patio"}]
    assert "# the slider" in made


def test_one_of_several_tables_is_taken_away():
    made = edited(TEXT, [Edit(("door", 1))])
    assert tomllib.loads(made)["door"] == [{"at": [12, 0], "sill": "100' 7\""}]


def test_what_is_not_there_is_refused_with_its_key():
    with pytest.raises(SiteError, match=r"area\[2\]\.plane"):
        edited(TEXT, [Edit(("area", 1, "plane"))])


def test_the_mark_and_the_ends_of_lines_stay(tmp_path):
    file = tmp_path / "site.toml"
    file.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    old = SiteText.of(tmp_path)
    old.write(edited(old.text, [Edit(("door", 0, "steps"), 2)]))
    data = file.read_bytes()
    assert data.startswith(b"\xef\xbb\xbf# Plum")
    assert data.count(b"\n") == data.count(b"\r\n") == TEXT.count("\n") + 1
    assert [each.name for each in tmp_path.iterdir()] == ["site.toml"]
