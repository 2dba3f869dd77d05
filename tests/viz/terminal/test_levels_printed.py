"""`fallaway levels` and `fallaway ties`: what is printed, its JSON and its exit status."""

from __future__ import annotations

import json
import re

import pytest
from make.sites.site_folder import write_site

import sample_sites
from grading.units import FOOT
from viz import cli

SITE = """name = "Alder Row"
unit = "m"

[[levels]]
file = "levels.csv"
rod = "m"

[[benchmark]]
name = "sill"
z = 100

[[reference]]
name = "A"
at = [9, 7]

[[reference]]
name = "B"
at = [0, 7]

[house]
walls = [[0, 0], [9, 0]]
inside = [4, -3]

[[area]]
name = "patio"
outline = [[1, 0], [8, 0], [8, 5], [1, 5]]
"""
BOOK = """point,bs,is,fs,x,y,to H1,to H2,to A,to B
sill,1.500,,,,,,,,
1,,1.620,,0,0,,,,
2,,1.640,,9,0,,,,
3,,1.750,,0,7,,,,
4,,1.740,,,,5.000,5.831,{a},{b}
5,,1.745,,9,7,,,,
eaves,,-1.210,,,,,,,
sill,,,{last},,,,,,
"""


@pytest.fixture
def run(tmp_path, capsys):
    def of(command, *words, last="1.500", a="6.403", b="5.657", head=SITE, spots=None):
        book = BOOK.format(last=last, a=a, b=b)
        if not b:  # a reference that nothing is taped to is refused
            book = book.replace(",to B", "")
            head = head.replace('[[reference]]\nname = "B"\nat = [0, 7]\n', "")
        files = {"levels": book} if spots is None else {"levels": book, "spots": spots}
        folder = write_site(tmp_path / "site", head, **files)
        status = cli.main([command, str(folder), *words])
        told = capsys.readouterr()
        return status, told.out, told.err

    return of


def test_the_book_is_printed_as_a_crew_checks_it(run):
    status, out, err = run("levels")
    assert (status, err) == (0, "")
    rows = {line.split()[1]: line.split() for line in out.splitlines() if re.match(r" +\d+ ", line)}
    assert rows["1"][2:4] == ["1.620", "99.880"]
    assert "101.500" in out
    eaves = next(line for line in out.splitlines() if "eaves" in line)
    assert "-1.210" in eaves
    assert "102.710" in eaves
    assert eaves.endswith("rod upside down")
    assert "backsights 1.500 less foresights 1.500 is 0.000" in out
    assert "sill (levels.csv, line 9): misclosure 0 mm over 1 set-up, limit 6 mm: closes" in out
    assert "Nothing to adjust" in out
    assert "0.02 ft times the square root of the number of set-ups" in out
    assert "The curve of the earth and the bending of light are left out" in out


def test_levels_that_do_not_close_end_with_one(run):
    status, out, _ = run("levels", last="1.508")
    assert status == 1
    assert "limit 6 mm: DOES NOT CLOSE" in out
    assert "Not adjusted: a mistake is found and mended, not spread over the rest." in out
    assert "FAIL sill is found 8 mm too low when it is read again" in out


def test_adjusted_levels_stand_beside_the_raw_ones(run):
    status, out, _ = run("levels", last="1.504")
    assert status == 0
    assert "adjusted" in out
    assert "look again: sill is found 4 mm off" in out
    line = next(line for line in out.splitlines() if re.match(r" +3 ", line))
    assert "99.880" in line
    assert "99.882" in line  # half of the 4 mm: the instrument sank between both readings


def test_the_json_of_levels(run):
    status, out, err = run("levels", "--json", last="1.504")
    assert (status, err) == (0, "")
    made = json.loads(out)
    assert made["schema"] == "fallaway/levels/1"
    (setup,) = made["setups"]
    assert (setup["hi"], setup["benchmark"], len(setup["sights"])) == (101.5, "sill", 8)
    assert {"name", "z", "raw", "sd", "setup", "inverted"} <= set(made["points"][0])
    assert made["misclosure"] == pytest.approx(-0.004)
    assert made["limit"] == pytest.approx(0.02 * FOOT)
    assert made["adjusted"] is True
    assert made["page_check"][0]["holds"] is True
    assert "set-ups" in made["limit_source"]
    assert any("4 mm off" in each for each in made["warnings"])
    by_name = {each["name"]: each for each in made["points"]}
    assert by_name["eaves"]["inverted"]
    assert by_name["eaves"]["at"] is None
    assert by_name["4"]["at"] == pytest.approx([4, 3], abs=0.005)


def test_the_ties_are_printed_with_what_they_say_of_each_other(run):
    status, out, err = run("ties")
    assert (status, err) == (0, "")
    row = next(line for line in out.splitlines() if line.startswith("4 "))
    assert "H1" in row
    assert "4.00" in row
    assert "FAIL" not in out


def test_a_bad_tie_is_named_and_ends_with_one(run):
    status, out, _ = run("ties", a="6.203")
    assert status == 1
    assert "FAIL 4: the tie to A is about 20" in out
    assert "too short in all likelihood. Tape it again" in out


def test_of_three_ties_none_is_named(run):
    status, out, _ = run("ties", a="6.203", b="")
    assert status == 1
    assert "FAIL 4: one of these three ties (H1, H2, A) is off by about" in out
    assert "Tape a fourth, which tells them apart" in out


def test_the_json_of_ties(run):
    status, out, _ = run("ties", "--json", a="6.203")
    assert status == 1
    made = json.loads(out)
    assert made["schema"] == "fallaway/ties/1"
    (point,) = made["points"]
    assert {"name", "xy", "covariance", "ellipse", "mirror", "ties", "suspect"} <= set(point)
    assert set(point["ellipse"]) == {"major", "minor", "bearing", "level"}
    assert [set(each) for each in point["ties"]] == [{"to", "length", "residual", "w"}] * 4
    assert point["suspect"]["to"] == "A"
    assert point["suspect"]["off"] == pytest.approx(-0.2, abs=0.02)
    assert point["mirror"] == "by a third tie"


def test_a_site_without_a_book_or_ties_gets_a_sentence(run, tmp_path):
    head = 'name = "Alder Row"\nunit = "m"\nspots = "spots.csv"\n' + SITE[SITE.index("[house]") :]
    spots = "x,y,z\n0,0,99.9\n9,0,99.9\n0,7,99.7\n"
    status, out, err = run("levels", head=head, spots=spots)
    assert (status, out) == (2, "")
    assert err.startswith("site.toml, key levels: found a site whose levels come from spots.csv")
    status, out, err = run("ties", head=head, spots=spots)
    assert (status, out) == (2, "")
    assert "found no ties" in err


def test_the_plan_holds_what_the_book_says(run):
    status, out, _ = run("plan", "--json", last="1.508")
    assert status == 1
    made = json.loads(out)
    failed = [each for each in made["checks"] if each["status"] == "fail"]
    assert [each["rule"] for each in failed if each["rule"] == "level-misclosure"]
    assert made["survey"]["closure"]["misclosure"] == pytest.approx(-0.008)
    assert made["survey"]["sources"] == [
        {"file": "levels.csv", "spots": 5, "sd_z": pytest.approx(0.003 * 1.5**0.5),
         "sd_xy": pytest.approx(0.006, abs=0.001)}
    ]  # fmt: skip


def test_the_sample_that_is_booked_closes_and_its_ties_agree(capsys):
    site = str(sample_sites.path("booked-yard"))
    assert cli.main(["levels", site]) == 0
    out = capsys.readouterr().out
    assert "over 2 set-ups, limit 5/16 in: closes" in out
    assert "rod upside down" in out
    assert "Adjusted by set-up" in out
    assert cli.main(["ties", site]) == 0
    out = capsys.readouterr().out
    assert out.count("the other side lies in or behind the house") == 8
    assert "look again" not in out
