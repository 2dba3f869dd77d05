"""Two plans of one yard side by side: every figure is the plans' own, and every cause is told."""

import json

import numpy as np
import pytest
from make.sites.compared import GIVEN, folder, pair

import grading
from grading.comparison.model import compared
from grading.comparison.words import (
    headline,
    more_words,
    telling_both,
    turned_words,
    written_words,
)
from grading.errors import SiteError
from grading.records.comparison import comparison_record


@pytest.fixture(scope="module")
def deeper(tmp_path_factory):
    root = tmp_path_factory.mktemp("deeper")
    return pair(folder(root / "a"), folder(root / "b", organics="300 mm"))


def figure(found, key, area="terrace"):
    return next(one for one in found.figures if (one.key, one.area) == (key, area))


def test_deeper_topsoil_is_dug_in_closed_form_and_refilled_with_as_much_stone(deeper):
    # The lawn falls 2 % from the wall, and the paving 3 %, from 30 mm above the lawn there.
    before, after = (plan.areas[0].chosen_dig for plan in (deeper.before, deeper.after))
    assert figure(deeper, "cut").before == pytest.approx(_dug(before, 0.1), rel=1e-8)
    assert figure(deeper, "cut").after == pytest.approx(_dug(after, 0.3), rel=1e-8)
    assert figure(deeper, "cut").more == pytest.approx(figure(deeper, "fill").more, rel=1e-9)
    assert figure(deeper, "topsoil").numbers == pytest.approx((0.1, 0.3))


def _dug(dig, organics):
    """The upright hole in strips along the wall: as deep as its layers, or as the topsoil."""
    west, south, east, north = dig.polygon.bounds
    assert dig.polygon.area == pytest.approx((east - west) * (north - south))
    step = (north - south) / 400_000
    out = south + (np.arange(400_000) + 0.5) * step
    return float(
        np.maximum(dig.build_up - 0.03 + 0.01 * out, organics).sum() * step * (east - west)
    )


def test_the_headline_names_the_cause_and_that_nothing_seen_changes(deeper):
    assert headline(deeper, "m") == ("Topsoil under terrace is 300 mm deep on average, not 100 mm.")
    assert deeper.looks_alike
    assert deeper.moved == 0.0
    assert list(written_words(deeper)) == ["site.toml, ground.organics: 100 mm -> 300 mm"]


def test_a_difference_is_that_of_the_figures_as_they_are_told(deeper):
    for one in deeper.figures:
        if one.measure == "time":
            told = [round(value / 3600) for value in one.numbers]
            more = more_words(one, "m", telling_both(deeper))
            assert more == ("none" if told[0] == told[1] else f"+ {told[1] - told[0]} h")


def test_every_figure_is_that_of_its_own_plan(deeper):
    for plan, side in ((deeper.before, "before"), (deeper.after, "after")):
        written = grading.record(plan)
        (area,) = written["areas"]
        base = area["bases"][area["base"]]
        for key, name in (("cut", "cut"), ("fill", "fill"), ("max_dig", "max_dig")):
            assert getattr(figure(deeper, key), side) == base[name]
        job = written["answer"]["whole_job"]
        for key in ("cut", "trips", "bins", "time", "cost"):
            assert getattr(figure(deeper, key, ""), side) == job[key]
        assert getattr(figure(deeper, "step garden door"), side) == pytest.approx(0.07)


def test_a_finish_that_moves_is_seen_and_said(tmp_path):
    moved = GIVEN.replace("10.03,", "10.01,").replace("3 %", "4 %")
    found = pair(folder(tmp_path / "a"), folder(tmp_path / "b", area=moved))
    # 20 mm at the house, and 1 % more over 3 m.
    assert found.moved == pytest.approx(0.02 + 0.03)
    assert not found.looks_alike
    assert headline(found, "m") == "The finish moves by up to 50 mm."


def test_another_base_is_told_with_the_sites_own_reason(tmp_path):
    other = GIVEN.replace("dense", "panel") + '\nreason = "two wheelbarrows and a gate"'
    found = pair(folder(tmp_path / "a"), folder(tmp_path / "b", area=other))
    (change,) = found.bases
    assert (change.before, change.after) == ("dense-graded base", "panel base")
    assert change.why == "two wheelbarrows and a gate"
    assert found.looks_alike


def test_a_base_that_is_advised_otherwise_is_told_with_what_speaks_against_the_first(tmp_path):
    free = GIVEN.replace('base = "dense"', 'use = "walkway"')
    shallow = folder(tmp_path / "a", organics="50 mm", area=free)
    found = pair(shallow, folder(tmp_path / "b", organics="350 mm", area=free))
    (change,) = found.bases
    assert (change.before, change.after) == ("panel base", "dense-graded base")
    assert "350 mm deep" in change.why
    verdict = found.after.advice.area("terrace").base.of("panel")
    assert change.why == verdict.against[0].text


def test_checks_that_turn_are_told_worst_first_and_no_others(tmp_path):
    against = GIVEN.replace('"3 %", bearing = 0', '"3 %", bearing = 180')
    found = pair(folder(tmp_path / "a"), folder(tmp_path / "b", area=against))
    assert found.failed
    assert found.turned[0].after.status == "fail"
    assert turned_words(found.turned[0]).startswith("FAILS, before it passes: ")
    order = ["fail", "unknown", "warn", "pass"]
    ranks = [order.index(one.after.status if one.after else "pass") for one in found.turned]
    assert ranks == sorted(ranks)
    for one in found.turned:
        assert (one.before and one.before.status) != (one.after and one.after.status)


def test_the_same_folder_twice_changes_nothing(tmp_path):
    one = folder(tmp_path / "a")
    found = pair(one, one)
    assert headline(found, "m") == "Nothing that is counted changes."
    assert found.written == ()
    assert found.turned == ()
    assert all(each.more in (0.0, None) for each in found.figures)


def test_rows_of_lists_and_tables_are_told_by_their_names(tmp_path):
    outlet = '[[outfall]]\nkind = "lawn"\nname = "ditch"\nat = [[-6, 8], [6, 8]]\n'
    found = pair(folder(tmp_path / "a"), folder(tmp_path / "b", more=outlet, z="9.9"))
    told = list(written_words(found))
    assert "spots.csv, e: 0 4 9.92 -> 0 4 9.9" in told
    assert "site.toml, outfall ditch.kind: not there -> lawn" in told


def test_areas_of_one_plan_alone_are_told(tmp_path):
    more = '[[area]]\nname = "walk"\nbase = "dense"\noutline = [[2.5, 0], [4, 0], [4, 1], [2.5, 1]]'
    found = pair(folder(tmp_path / "a"), folder(tmp_path / "b", more=more))
    assert (found.new, found.gone) == (("walk",), ())
    assert headline(found, "m") == "walk is added."
    back = pair(tmp_path / "b", tmp_path / "a")
    assert (back.new, back.gone) == ((), ("walk",))
    assert not back.looks_alike


def test_plans_of_different_yards_are_refused_in_a_sentence(tmp_path):
    one, other = folder(tmp_path / "a"), folder(tmp_path / "b")
    text = (other / "site.toml").read_text(encoding="utf-8")
    (other / "site.toml").write_text(text.replace('"terrace"', '"deck"'), encoding="utf-8")
    with pytest.raises(SiteError, match=r"'deck' and 'terrace'.*an area that both have"):
        pair(one, other)


def test_the_record_is_plain_data(deeper):
    told = json.loads(json.dumps(comparison_record(deeper), allow_nan=False))
    assert told["schema"] == "fallaway/compare/1"
    assert told["looks_alike"] is True
    assert {one["key"] for one in told["figures"] if one["area"] is None} >= {"cost", "days"}
    assert compared(deeper.before, deeper.after).written == deeper.written
