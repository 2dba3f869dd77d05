"""A level book in a site: what is used of it, and a sentence for what cannot be."""

from __future__ import annotations

import numpy as np
import pytest
from make.sites.site_folder import write_site

from grading.errors import SiteError
from grading.reading.site_file import read_site
from grading.site.model import Reading
from grading.survey.levels import levels_of
from grading.units import FOOT, INCH

HEAD = 'name = "Alder Row"\nunit = "ft"\n'
REST = """
[[levels]]
file = "levels.csv"
rod = "ft-in"

[[benchmark]]
name = "sill"
z = 100

[[reference]]
name = "A"
at = [30, 20]

[house]
walls = [[0, 0], [30, 0]]
inside = [15, -5]

[[area]]
name = "patio"
outline = [[2, 0], [28, 0], [28, 18], [2, 18]]
"""
BOOK = """point,bs,is,fs,x,y,wall,along,out,to H1,to A,side,code,note
sill,3 0,,,,,,,,,,,,
a,,3 6,,0,0,,,,,,,lawn,wet
b,,3 7 1/2,,,,wall 1,10,5' 6",,,,lawn,
c,,4 0,,,,1,3,0,,,,wall,
d,,4' 2 1/4",,,,,,,25,15,right,lawn,
beam,,-0 9,,15,1,,,,,,,,
sill,,,3 0,,,,,,,,,,
"""


def site(folder, book=BOOK, rest=REST, head=HEAD, **files):
    return write_site(folder, head + rest, levels=book, **files)


def sentences(folder):
    with pytest.raises(SiteError) as refused:
        read_site(folder)
    return [str(each) for each in refused.value.problems]


def test_a_yard_is_surveyed_by_book_and_tape_alone(tmp_path):
    spots = read_site(site(tmp_path)).spots
    # The left end of the wall is at x = 30, as one faces the house.
    down = np.array([6, 7.5, 12, 14.25]) * INCH
    assert spots.ids == ("a", "b", "c", "d")
    assert spots.xyz[:, 2] == pytest.approx(100 * FOOT - down, abs=1e-12)
    assert spots.xyz[:3, :2] == pytest.approx(np.array([[0, 0], [20, 5.5], [27, 0]]) * FOOT)
    away = [np.hypot(*(spots.xyz[3, :2] / FOOT - at)) for at in ((0, 0), (30, 20))]
    assert away == pytest.approx([25, 15], abs=1e-9)
    assert spots.file == "levels.csv"
    assert spots.lines == (3, 4, 5, 6)
    assert spots.codes == ("lawn", "lawn", "wall", "lawn")
    assert spots.notes[0] == "wet"
    read = spots.readings[1]
    assert read == Reading(pytest.approx(43.5 * INCH), "ft-in", 1, pytest.approx(103 * FOOT))


def test_how_well_each_spot_is_known_follows_from_how_it_was_measured(tmp_path):
    spots = read_site(site(tmp_path)).spots
    # Two readings of the benchmark fix the instrument: 3 mm over the root of 2, and one reading.
    assert spots.sd_z == pytest.approx([0.003 * np.sqrt(1.5)] * 4)
    assert spots.sd_xy[:3] == pytest.approx([0.006] * 3)
    assert spots.sd_xy[3] >= 0.006
    eye = read_site(site(tmp_path, rest=REST.replace('"ft-in"', '"ft-in"\nplaced = "by eye"')))
    assert eye.spots.sd_xy[:3] == pytest.approx([0.15] * 3)
    finer = read_site(site(tmp_path, rest=REST + '[limits]\nlevel-sd = "1 mm"\n')).spots
    assert finer.sd_z == pytest.approx(spots.sd_z / 3)


def test_spots_and_levels_land_in_one_table(tmp_path):
    head = HEAD + 'spots = ["spots.csv", "more.csv"]\n'
    more = "x,y,z,id,sd_z,sd_xy\n3,3,99.2,p,0.02,\n4,4,99.3,q,,1 in\n"
    spots = read_site(site(tmp_path, head=head, more=more)).spots
    assert len(spots.xyz) == 5 + 2 + 4
    assert spots.sources == ("spots.csv",) * 5 + ("more.csv",) * 2 + ("levels.csv",) * 4
    assert spots.file == "spots.csv, more.csv and levels.csv"
    assert spots.sd_z[5:7] == pytest.approx([0.02 * FOOT, 0.003])
    assert spots.sd_xy[5:7] == pytest.approx([0.006, INCH])


def test_a_spot_of_several_files_is_settled_by_its_file_and_line(tmp_path):
    head = HEAD + 'spots = "spots.csv"\n'
    entry = '[[survey.settled]]\nid = "{}"\nas = "left out"\ndate = 2026-05-14\n'
    book = BOOK.replace("a,,3 6", ",,3 6")
    made = read_site(site(tmp_path, book, REST + entry.format("levels.csv, line 3"), head))
    assert (len(made.spots.xyz), len(made.spots.sd_z), len(made.spots.sources)) == (8, 8, 8)
    assert made.settled[0].startswith("spot 6 (levels.csv, line 3) was left out")
    (said,) = sentences(site(tmp_path, book, REST + entry.format("line 3"), head))
    assert 'found "line 3", expected the id of a spot' in said
    assert 'or its line such as "levels.csv, line 6"' in said


def test_a_rod_upside_down_and_a_turning_point_are_no_ground(tmp_path):
    assert "beam" not in read_site(site(tmp_path)).spots.ids


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("3 7 1/2", "3.625", "line 4, column intermediate: found \"3.625\""),
        ("3 7 1/2", "43", "Write 43' 0\" or 43 in: one number may be either."),
        ("3 7 1/2", "4' 13\"", "the inches after them are fewer than 12"),
        ("3 7 1/2", "90' 0\"", "expected a reading of a rod, at most 25' 0\""),
        ("3 7 1/2", "wet", "line 4, column intermediate: found \"wet\", expected a reading"),
        ("b,,3 7 1/2,", "b,3 1,3 7 1/2,", "found a backsight and an intermediate in one row"),
        ("b,,3 7 1/2,", "b,,,", ""),
        ("a,,3 6,,0,0", "a,,,,,", "line 3: found no reading"),
        ("0,0,,,,", "0,,,,,", "line 3, column y: found nothing, expected x and y"),
        ("0,0,,,,", "0,0,1,3,4,", "found a place by x and y and by along and out"),
        ("wall 1", "wall 2", "column wall: found \"wall 2\", expected a wall of the house: wall 1"),
        ("10,5' 6\"", "10,", "column out: found nothing, expected how far along the wall"),
        ("25,15,right", "25,,right", "found one tie of \"d\", to H1"),
        ("25,15,right", "5,6,right", "that fall short of each other by 25' 0 11/16\""),
        ("25,15,right", "60,3,right", "that do not reach each other by"),
        ("25,15,right", "25,15,up", "column side: found \"up\", expected \"left\" or \"right\""),
        ("25,15,right", "25,15,", "on either side of the line from H1 to A"),
        ("0,0,,,,,,,lawn", "0,0,,,,,,left,lawn", "found a side without ties"),
        ("25,15,right", "25,-15,right", "expected a taped distance of zero or more"),
        ("to A", "to B", "found the column \"to B\", expected to what the tape is held, one of"),
        ("to A", "to H1", "found two columns \"to H1\", expected one"),
        (",code,", ",x,", "found two columns \"x\", expected one"),
        (",code,", ",colour,", "found the column \"colour\", expected one of point, backsight"),
        ("sill,3 0,,", "sill,,,3 0", "found a reading of sill before any backsight"),
        ("c,,4 0,,,,", "b,,4 0,,,,", "found \"b\" 8' 10 13/16\" from where line 4 has it"),
        ("lawn,wet", "lawn," + "w" * 130, "column note: found 130 letters, expected at most 120"),
        ("lawn,wet", "lawn,wet,1,2,3", "found 17 cells, expected 14"),
        (BOOK, "point,bs,is,fs\nsill,3 0,,\na,,3 6,\nsill,,,3 0\n", "both read and placed"),
        (BOOK, "", "levels.csv: found an empty file, expected the columns point"),
        (BOOK, "point,bs,is,fs\n", "levels.csv: found a header and no rows"),
        (BOOK, "E,N,Elev\n1,2,3\n", "found the column \"Elev\""),
        (BOOK, "\x00\x01\x02\x03,\x04\n\x05,\x06", "found the column"),
    ],
)  # fmt: skip
def test_what_is_wrong_in_a_book_gets_its_sentence(tmp_path, old, new, says):
    assert old in BOOK
    folder = site(tmp_path, BOOK.replace(old, new, 1))
    if not says:  # a place without a reading is told, and no fault
        assert any("b has a place and no reading" in each for each in read_site(folder).warnings)
        return
    said = sentences(folder)
    assert any(says in each for each in said), said
    assert all(each.startswith("levels.csv") for each in said if says in each)
    assert len(said) <= 2


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('name = "sill"', 'name = "still"', 'found "still", which no level book reads'),
        ('name = "A"', 'name = "H2"', '"H2", as a corner of the house is called'),
        ('[[benchmark]]\nname = "sill"\nz = 100', "", "key benchmark: found no [[benchmark]]"),
        ("[[reference]]", '[[benchmark]]\nname = "Sill"\nz = 9\n[[reference]]',
         '"Sill", which is benchmark[1].name too'),
        ("[[benchmark]]", '[[levels]]\nfile = "levels.csv"\nrod = "m"\n[[benchmark]]',
         '"levels.csv", which is levels[1].file too'),
        ('rod = "ft-in"', 'rod = "ft-in"\ntwo_peg = {readings = [["5 0", "4 9"], ["4 1", "3 10"]],'
         ' distances = [[50, 50], [10, 90]]}', "found a two-peg test beside sights of unknown"),
    ],
)  # fmt: skip
def test_what_nothing_hangs_on_is_refused(tmp_path, old, new, says):
    assert old in REST
    said = sentences(site(tmp_path, rest=REST.replace(old, new, 1)))
    assert any(says in each for each in said), said


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("e", "e", ""),
        ("sill,,,3 0", "sill,,,3 0 3/16", "a second look"),
        ("c,,4 0,,,,1,3,0", "c,,4 0,,,,,,", "c has a reading (levels.csv, line 5) and no place"),
        ("3 7 1/2", "1.1 m", "a reading in metres in a book of a rod in feet or inches"),
        ("25,15,right", "34,2.2,right", "the tapes cross at"),
    ],
)
def test_what_is_worth_a_second_look_is_told(tmp_path, old, new, says):
    assert old in BOOK
    made = read_site(site(tmp_path, BOOK.replace(old, new, 1)))
    told = [each for each in made.warnings if "spots are about" not in each]
    told += levels_of(made).close
    assert any(says in each for each in told) if says else not told, told


def test_a_house_that_is_wrong_is_told_alone(tmp_path):
    (said,) = sentences(site(tmp_path, rest=REST.replace("[15, -5]", "[15, 0]")))
    assert said.startswith("site.toml, key house.inside")


def test_a_set_up_hangs_on_whichever_of_its_readings_is_known(tmp_path):
    # The notes begin at a step of unknown level, and end at the sill.
    first = read_site(site(tmp_path, BOOK.replace("sill,3 0", "step,3 2"))).spots
    assert first.xyz[0, 2] == pytest.approx((100 - 0.5) * FOOT, abs=1e-12)
    said = sentences(site(tmp_path, BOOK.replace("sill", "step")))
    assert any('a backsight on "step", whose elevation nothing tells' in each for each in said)
    assert any('found "sill", which no level book reads' in each for each in said)


def test_a_sill_that_the_book_has_elsewhere_is_told(tmp_path):
    door = '[[door]]\nname = "back door"\nat = [15, 0]\nsill = {}\n'
    book = BOOK.replace("beam,,-0 9,,15,1", "back door sill,,2 10,,,")
    off = read_site(site(tmp_path, book, REST + door.format(100.5))).warnings
    assert any("back door sill is at 100.5 in site.toml and at 100.1667 in" in each for each in off)
    on = read_site(site(tmp_path, book, REST + door.format('"100\' 2\\""'))).warnings
    assert not any("sill" in each for each in on)
