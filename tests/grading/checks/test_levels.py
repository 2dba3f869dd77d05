"""The checks of level books: closure and ties."""

from __future__ import annotations

import pytest
from make.sites.site_folder import AREA, write_site

from grading.catalogue.rules import Limits
from grading.checks.maker import Maker
from grading.checks.survey import level_checks
from grading.design.places import Places
from grading.reading.site_file import read_site

SITE = (
    'name = "Alder Row"\nunit = "m"\n[[levels]]\nfile = "levels.csv"\nrod = "m"\n'
    '[[benchmark]]\nname = "sill"\nz = 100\n'
    '[[reference]]\nname = "A"\nat = [0, 0]\n[[reference]]\nname = "B"\nat = [9, 0]\n'
    '[[reference]]\nname = "C"\nat = [0, 9]\n' + AREA
)
# Ties of (4, 3) to A, B and C: 5.000, 5.831, 7.211.
BOOK = """point,bs,is,fs,x,y,to A,to B,to C
sill,1.500,,,,,,,
1,,1.600,,0,0,,,
2,,1.620,,9,0,,,
3,,1.640,,,,5.000,5.831,{c}
{last}"""


def maker(site):
    return Maker(Limits(site.limits, site.unit), Places(site.unit))


def checks(folder, last="sill,,,1.500,,,,,\n", c="7.211", limits=""):
    site = read_site(write_site(folder, SITE + limits, levels=BOOK.format(last=last, c=c)))
    return {
        check.rule: check for check in level_checks(site, maker(site))
    }  # fmt: skip


def test_levels_that_close_and_ties_that_agree_pass(tmp_path):
    found = checks(tmp_path)
    assert [check.status for check in found.values()] == ["pass", "pass"]
    assert found["level-misclosure"].text == "the levels close exactly over 1 set-up"
    assert found["ties"].text == "the ties of 1 point agree"


@pytest.mark.parametrize(
    ("last", "status", "text"),
    [
        ("sill,,,1.502,,,,,\n", "pass", "the levels close within 2 mm over 1 set-up"),
        ("sill,,,1.504,,,,,\n", "warn", "sill is found 4 mm off when it is read again"),
        ("sill,,,1.510,,,,,\n", "fail", "sill is found 10 mm too low when it is read again"),
        ("", "unknown", "levels.csv: no benchmark was read again at the end"),
        ("sill,,,1.500,,,,,\n4,,1.6,,0,9,,,\n", "unknown", "taken after the benchmark was read"),
    ],
)
def test_what_the_levels_are_is_what_the_check_says(tmp_path, last, status, text):
    check = checks(tmp_path, last)["level-misclosure"]
    assert check.status == status
    assert text in check.text


def test_the_limit_is_the_site_s_own_where_it_has_one(tmp_path):
    check = checks(tmp_path, "sill,,,1.510,,,,,\n", limits='[limits]\nlevel-misclosure = "12 mm"\n')
    assert check["level-misclosure"].status == "warn"
    assert check["level-misclosure"].source == "the site's own limit"
    assert check["level-misclosure"].limit == pytest.approx(0.012)


def test_ties_that_do_not_agree_fail(tmp_path):
    check = checks(tmp_path, c="7.411")["ties"]
    assert check.status == "fail"
    assert check.text.startswith("3: one of these three ties (A, B, C) is off by about")


def test_a_site_without_a_book_has_no_such_check(tmp_path):
    text = 'name = "Alder Row"\nunit = "ft"\nspots = "spots.csv"\n' + AREA
    site = read_site(write_site(tmp_path, text))
    assert level_checks(site, maker(site)) == ()
