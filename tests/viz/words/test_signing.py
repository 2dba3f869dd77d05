"""What stands against signing is told first, in plain words, and how it is mended is not."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from make.plans.raised_yard import yard
from make.plans.sampled import sampled
from make.sites.seven_elms import DOUBTFUL, LOW, SITE, SPOTS
from make.sites.site_folder import write_site
from measure.printed import Printed
from msgspec.structs import replace

import grading
from grading.crew.model import default_crew
from grading.crew.price_table import PriceTable
from grading.price.model import price_of
from viz.sheets.write import write_sheets
from viz.words import price as quoted
from viz.words import signing
from viz.words.lookouts import forbidden
from viz.words.plain import things_fail
from viz.words.signing import against_signing


def made(tmp_path, levels):
    return grading.plan(grading.read_site(write_site(tmp_path, SITE, spots=SPOTS.format(*levels))))


def test_a_survey_in_doubt_is_the_one_reason_that_is_told(tmp_path):
    plan = made(tmp_path, DOUBTFUL)
    (suspect,) = plan.ground.shots.suspects
    assert "S5" in suspect.name
    against = against_signing(plan)
    assert against.any
    assert "S5 does not fit" in against.survey
    failed = {
        (check.rule, check.area)
        for check in plan.checks
        if check.status == "fail" and check.rule != "survey"
    }
    assert all(things_fail(len(failed)) in said for said in against.things)
    # Who stands in the yard is told what the shot may be, and no words of a command.
    told = forbidden(plan)
    assert any(suspect.yard.rstrip(".") in said for said in told)
    assert not any("--" in said for said in told)
    assert len(against.things) == bool(failed)


def test_what_fails_is_told_without_how_it_is_mended(tmp_path):
    """The low edge sends its rain to a low spot: told where, without a share in per cent."""
    plan = made(tmp_path, LOW)
    assert not plan.ground.shots.suspects
    failed = [check for check in plan.checks if check.status == "fail"]
    assert failed
    assert any("To mend it" in check.text for check in failed)
    against = against_signing(plan)
    assert against.things
    for said in against.things:
        assert "mend" not in said
        assert "%" not in said
        assert "[[" not in said


def test_a_healthy_plan_is_signed_and_one_in_doubt_is_not(tmp_path):
    healthy = sampled("side-walkway")
    assert not against_signing(healthy).any
    for plan, signed in ((healthy, True), (made(tmp_path / "site", DOUBTFUL), False)):
        folder = tmp_path / str(signed)
        write_sheets(plan, folder, lambda _: None, ["homeowner"])
        text = Printed(folder / "homeowner.pdf").text
        assert ("NOT FOR SIGNATURE YET" in text) is not signed
        assert ("For the homeowner For the crew Date" in text) is signed
        assert ("As drawn so far." in text) is not signed
        assert ("Finished." in text) is signed


@pytest.fixture(scope="module")
def unheld():
    """Seven feet over its lawn, with an underdrain in it: more than a wall holds by its weight."""
    made = yard(80, base="open")
    kinds = {one.kind for area in made.order.areas for one in area.takeoffs["open"].structures}
    assert kinds == {"membrane", "underdrain"}
    return made


def test_what_is_built_there_for_something_else_holds_no_edge(unheld):
    assert (
        "Nothing holds 44' 0\" of the raised edge of patio yet." in against_signing(unheld).things
    )
    assert not any("Nothing holds" in said for said in against_signing(yard(12)).things)


def test_a_quote_has_the_same_against_it_as_the_plan_and_is_not_signed_either(unheld):
    given = {"margin": "28 %", "tax": "none", "deposit_most": "none"}
    crew = replace(default_crew(), pricing=PriceTable.model_validate(given))
    price = price_of(replace(unheld, crew=crew))
    told = quoted.against_signing(price)
    against = against_signing(unheld)
    assert told[: len(against.things)] == against.things
    assert not any("To mend it" in said or "[[" in said for said in told)
    sound = replace(price.plan)
    # As it were without its failing checks.
    vars(sound)["checks"] = tuple(each for each in unheld.checks if each.status != "fail")
    assert not sound.failed
    band = quoted.band_words(replace(price, plan=sound))
    assert band == "NOT FOR SIGNATURE: nothing holds a raised edge yet"


def test_what_holds_of_another_area_too_is_not_said_again(unheld, monkeypatch):
    told = [SimpleNamespace(rule="fall-away", area=area) for area in ("patio", "walk")]
    monkeypatch.setattr(signing, "failing", lambda checks: told)
    monkeypatch.setattr(signing, "reason", lambda plan, told: "It falls back to the house.")
    first, second, *_ = against_signing(unheld).things
    assert (first, second) == ("It falls back to the house.", "The same holds at the walk.")


def test_who_pays_reads_no_key_of_the_file_in_what_fails(tmp_path):
    """A wall is asked for where the edge stands too low for one."""
    site = SITE + 'edge = "wall"\n'
    plan = grading.plan(
        grading.read_site(write_site(tmp_path, site, spots=SPOTS.format(99.8, 99.8)))
    )
    (asked,) = [check for check in plan.checks if check.status == "fail" and check.rule == "hold"]
    assert 'edge = "wall" is not used' in asked.text
    failing = against_signing(plan).things
    said = "What was asked for to hold the raised edge of the patio does not suit it."
    assert said in failing
    assert not any(" = " in words or "`" in words for words in failing)
