"""Mends of what fails: each was planned, holds, and is written as a person would write it."""

from __future__ import annotations

import tomllib

import pytest
from make.sites.juniper import SITE, spots

import grading
from grading.answers.led import led
from grading.answers.mends import mend_named, mends_of, write_mend
from grading.errors import SiteError
from viz import cli

LOW = ("z = 100.2", "z = 99.6")
BACK = ('fall = "2 %", bearing = 0', 'fall = "2 %", bearing = 180')
FLAT = ('fall = "2 %"', 'fall = "0.5 %"')
HIGH = ("z = 100.2", "z = 100.9")
SWAPPED = ("at   = [12, 0]", "at   = [0, 12]   # by the stairs")


def write(folder, *changes, add=""):
    folder.mkdir(exist_ok=True)
    text = SITE
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    text = text.replace("[house]", "# taped from the left corner\n[house]")
    (folder / "site.toml").write_text(f"{text}\n{add}", encoding="utf-8")
    (folder / "spots.csv").write_text(spots(), encoding="utf-8")
    return folder


def planned(folder):
    return grading.plan(grading.read_site(folder))


def failing(plan):
    return {(each.rule, each.area, each.where) for each in plan.checks if each.status == "fail"}


FIRE = '[[feature]]\nkind = "wood fire"\nname = "fire"\nat = [16, 9]\nsize = "3 ft"\n' \
       'height = "14 in"\nstands = "bedding"\n'  # fmt: skip


@pytest.mark.parametrize(
    ("changes", "add", "name"),
    [
        ([LOW], "", "raise-patio"),
        ([LOW], "", "steps-at-door"),
        ([HIGH], "", "lower-patio"),
        ([BACK], "", "turn-patio"),
        ([FLAT], "", "turn-patio"),
        ([FLAT], "", "fit-patio"),
        ([], FIRE, "own-base-fire"),
    ],
)
def test_what_is_offered_was_planned_and_mends_what_it_is_offered_for(tmp_path, changes, add, name):
    folder = write(tmp_path / "a", *changes, add=add)
    before = planned(folder)
    mends = mends_of(led(before))
    told, tried = next(
        (told, each) for told, found in mends.items() for each in found if each.mend.name == name
    )
    write_mend(tried)
    after = planned(folder)
    # What is then read from the file is what was tried.
    assert failing(after) == failing(tried.plan)
    assert len(failing(after)) == tried.failing
    assert not failing(after) & {(each.rule, each.area, each.where) for each in told.checks}
    assert failing(after) <= failing(before)
    for total, value in (("cut", tried.cut), ("cost", tried.cost)):
        then, now = (getattr(plan.order.total, total) for plan in (after, before))
        more = then - now if total == "cut" else then.total - now.total
        assert value == pytest.approx(more, abs=1e-9)


def test_the_cheapest_is_offered_first(tmp_path):
    mends = mends_of(led(planned(write(tmp_path / "a", LOW))))
    assert max(len(found) for found in mends.values()) == 3
    for found in mends.values():
        assert [each.cost for each in found] == sorted(each.cost for each in found)


def test_a_mend_that_breaks_what_held_is_not_offered(tmp_path):
    """A plane turned to the house is raised by nothing: higher, its water still runs back."""
    mends = mends_of(led(planned(write(tmp_path / "a", BACK))))
    names = {each.mend.name for found in mends.values() for each in found}
    assert names == {"turn-patio", "fit-patio"}


def test_it_is_written_by_name_and_the_rest_of_the_file_stays(tmp_path, capfd):
    folder = write(tmp_path / "a", FLAT)
    before = (folder / "site.toml").read_text(encoding="utf-8")
    assert cli.main(["plan", str(folder), "--mend", "turn-patio"]) == cli.DONE
    said = capfd.readouterr()
    assert "patio turned to fall 2 3/8 in per 10 ft away from the house" in said.err
    assert "DO NOT BUILD" not in said.out
    after = (folder / "site.toml").read_text(encoding="utf-8")
    changed = [
        (old, new)
        for old, new in zip(before.splitlines(), after.splitlines(), strict=True)
        if old != new
    ]
    assert changed == [
        (
            'plane   = {at = [2, 0], z = 100.2, fall = "0.5 %", bearing = 0}',
            'plane   = {at = [2, 0], z = 100.2, fall = "2 %", bearing = 0.0}',
        )
    ]
    assert tomllib.loads(after)["area"][0]["plane"]["fall"] == "2 %"


def test_a_door_whose_place_was_written_the_wrong_way_round_is_put_right(tmp_path):
    folder = write(tmp_path / "a", SWAPPED)
    made = planned(folder)
    assert any(each.rule == "door-in-wall" for each in made.checks if each.status == "fail")
    write_mend(mend_named(led(made), "swap-door"))
    text = (folder / "site.toml").read_text(encoding="utf-8")
    assert tomllib.loads(text)["door"][0]["at"] == [12, 0]
    assert "# by the stairs" in text


def test_a_name_that_is_none_is_told_with_those_that_there_are(tmp_path, capfd):
    folder = write(tmp_path / "a", FLAT)
    before = (folder / "site.toml").read_bytes()
    assert cli.main(["plan", str(folder), "--mend", "turn-pation"]) == cli.INPUT_WRONG
    said = capfd.readouterr()
    assert said.out == ""
    assert said.err.startswith('--mend: found "turn-pation", expected one of ')
    assert "turn-patio" in said.err
    assert (folder / "site.toml").read_bytes() == before


def test_where_nothing_fails_there_is_nothing_to_mend(tmp_path):
    told = led(planned(write(tmp_path / "a")))
    with pytest.raises(SiteError, match="nothing here fails"):
        mend_named(told, "turn-patio")


def test_the_first_mend_of_a_command_is_one_that_it_then_takes(tmp_path, capfd):
    folder = write(tmp_path / "a", LOW)
    cli.main(["plan", str(folder)])
    (line,) = [each for each in capfd.readouterr().out.splitlines() if each.startswith("  next")]
    words = line.partition("fallaway ")[2].partition(";")[0].split()
    assert cli.main(words) in (cli.DONE, cli.CHECK_FAILED)
    assert len(failing(planned(folder))) < 3
