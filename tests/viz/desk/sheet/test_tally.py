"""The line of five: the figures that the terminal prints and the record has."""

from __future__ import annotations

import pytest
from make.plans.looked_at import SAMPLES, looked, priced

import sample_sites
from grading.answers.led import led
from grading.order.telling import telling_of
from grading.reading.site_edit import Edit
from grading.units import percent
from viz.desk.sheet.tally import LAST, PAVING, SO_FAR, tally
from viz.tables.order import money_table, site_choice, site_jobs
from viz.terminal import first_screen


def by_label(told):
    return {each["label"]: each for each in told}


@pytest.mark.parametrize(
    ("name", "given"), [*((name, False) for name in SAMPLES), ("back-patio", True)]
)
def test_the_five_are_what_the_terminal_prints(name, given, tmp_path):
    seen = looked(priced(name, tmp_path) if given else sample_sites.path(name))
    plan, told = seen.plan, tally(seen)
    screen = first_screen.text(plan, name)
    assert len(told) == 5
    dig, trips, cost, fall, fails = told
    assert f"{dig['value']} in the ground" in screen
    haul = plan.order.total.haul
    assert int(trips["value"]) == haul.out.count + haul.stone.count + haul.panels.count
    jobs = site_jobs(plan.order)
    if given:
        rows = money_table(jobs, telling_of(plan.order)).rows
        row = next(row for row in rows if row[0] == site_choice(plan.order))
        assert cost["value"] == f"${row[4]:,}"
        assert [f"${row[5]:,}", f"${row[6]:,}"] == cost["small"].removeprefix(
            "eight in ten: "
        ).split(" to ")
    else:
        # Where nobody gave prices no money is told: days stand in its place.
        assert cost["label"] == "Days"
        assert f"{cost['value']}, three people" in screen
    least = led(plan).least_away
    if least is not None:
        assert fall["value"] == percent(least)
        assert fall["small"] in screen
    assert fails["value"] == "Nothing"
    assert ("to look at" in fails["small"]) == ("look" in screen.splitlines()[1])


def test_what_is_not_counted_yet_is_said_to_be_worked_on(tmp_path):
    told = by_label(tally(looked(priced("drained-patio", tmp_path), whole=False)))
    assert told["Dig"]["small"] == PAVING
    assert told["Trips"]["small"] == told["Cost"]["small"] == "working"
    assert told["What fails"]["small"] == SO_FAR


def test_without_prices_no_money_is_told_and_days_stand_in_its_place(tmp_path):
    told = tally(looked(priced("back-patio", tmp_path), prices=False))
    assert [each["label"] for each in told][2] == "Days"
    assert not any("$" in f"{each['value']}{each['small']}" for each in told)


def test_what_fails_is_counted_as_the_terminal_counts_it():
    high = Edit(("area", 1, "plane", "z"), 10.3)
    seen = looked(sample_sites.path("garden-court"), high)
    count = len(led(seen.plan).fails)
    assert count
    told = by_label(tally(seen))["What fails"]
    assert told["tone"] == "fails"
    said = first_screen.text(seen.plan, "it").splitlines()[1]
    assert told["value"].lower() in said


def test_a_conflict_shows_the_last_plan_as_what_it_is():
    seen = looked(sample_sites.path("back-patio"), Edit(("door", 0, "sill"), 99.0))
    told = by_label(tally(seen))["What fails"]
    assert (told["value"], told["tone"]) == ("No plan", "fails")
    assert "working" not in {each["small"] for each in tally(seen)}
    assert LAST not in {each["small"] for each in tally(seen)}  # there was none before


def test_an_empty_yard_has_no_figures(tmp_path):
    (tmp_path / "site.toml").write_text('name = "a yard"\nunit = "m"\n', encoding="utf-8")
    assert {each["value"] for each in tally(looked(tmp_path))} == {"–"}
