"""Shots of several layers in one file: each layer is held against its own, nothing is mixed."""

import pytest
from make.sites.on_a_plane import planar_spots, written

import grading
from grading.asbuilt.shots import not_looked_at, read_shots
from grading.errors import SiteError
from grading.setout.model import set_out

FILE = """area,stake,layer,z,note
patio,a,subgrade,99.1,
patio,b,subgrade,99.2,soft
patio,a,surface,99.8,
"""


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return grading.plan(
        written(
            tmp_path_factory.mktemp("site"),
            'name = "Ash Row"\nunit = "ft"\nspots = "spots.csv"\n'
            '[[area]]\nname = "patio"\noutline = [[5, 0], [20, 0], [20, 12], [5, 12]]\n',
            planar_spots((30, 20), (100.0, 0.0, -0.02)),
        )
    )


def read(plan, folder, text, layers):
    (folder / "shots.csv").write_text(text)
    return read_shots(folder / "shots.csv", "ft", set_out(plan), None, layers)


def test_the_rows_of_the_layer_that_is_asked_for_are_read(plan, tmp_path):
    assert read(plan, tmp_path, FILE, ("subgrade",)).names == ("a", "b")
    assert read(plan, tmp_path, FILE, ("subgrade",)).notes == ("", "soft")
    assert read(plan, tmp_path, FILE, ("surface",)).lines == (4,)


def test_the_first_layer_that_the_file_has_is_taken_as_the_one_below(plan, tmp_path):
    below = read(plan, tmp_path, FILE, ("bedding", "base", "subgrade"))
    assert below.names == ("a", "b")


def test_a_file_that_tells_no_layer_is_all_of_one(plan, tmp_path):
    text = "\n".join(",".join(row.split(",")[:2] + row.split(",")[3:]) for row in FILE.splitlines())
    assert read(plan, tmp_path, text, ("subgrade",)).names == ("a", "b", "a")


def test_a_layer_that_was_not_shot_is_said_with_those_that_were(plan, tmp_path):
    with pytest.raises(SiteError) as refused:
        read(plan, tmp_path, FILE, ("base",))
    assert 'shots.csv, column layer: found "subgrade", "surface"' in str(refused.value)
    assert "at least one shot of the base" in str(refused.value)


def test_a_shot_of_an_area_that_is_none_is_refused_and_not_left_out(plan, tmp_path):
    """With x and y beside it no stake was looked up, and such a shot was dropped unsaid."""
    text = "area,stake,x,y,z\npatioo,a,6,1,99.1\npatio,b,7,1,99.2\n"
    with pytest.raises(SiteError) as refused:
        read(plan, tmp_path, text, ())
    assert 'shots.csv, line 2: found "patioo", expected the name of an area' in str(refused.value)


def test_a_column_of_layers_by_another_name_is_told_and_not_taken_for_one_layer(plan, tmp_path):
    shots = read(plan, tmp_path, FILE.replace("layer", "layers"), ("subgrade",))
    assert shots.names == ("a", "b", "a")
    told = 'the column "layers" of shots.csv is not read; call "layers" layer if it is that.'
    assert shots.passed_over == told
    assert read(plan, tmp_path, FILE, ("subgrade",)).passed_over == ""


def test_rows_of_other_layers_are_told_and_not_dropped_unsaid(plan, tmp_path):
    """Of three rows one is of the surface and two of the subgrade; both are asked for once."""
    surface, subgrade = (read(plan, tmp_path, FILE, (name,)) for name in ("surface", "subgrade"))
    (told,) = not_looked_at(surface)
    assert told == '2 rows of shots.csv are not looked at: 2 of layer "subgrade".'
    assert list(not_looked_at(surface, subgrade)) == []
    misspelt = FILE.replace("b,subgrade", "b,sub-grade")
    (told,) = not_looked_at(read(plan, tmp_path, misspelt, ("subgrade",)).of([0]))
    assert told == (
        '2 rows of shots.csv are not looked at: 1 of layer "sub-grade" and 1 of layer "surface".'
    )
