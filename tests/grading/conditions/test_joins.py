import pytest
from make.plans.advised import AT_THE_WALL, advised, patio, planned

from grading.checks.advice import advice_checks
from grading.units import FOOT, INCH

LEFT = [[1, 0], [5, 0], [5, 5], [1, 5]]
RIGHT = [[5, 1], [9, 1], [9, 5], [5, 5]]


def two(first="panel", second="dense", **kwargs):
    return [
        patio(outline=LEFT, base=first),
        patio(name="walk", outline=RIGHT, base=second, **kwargs),
    ]


def test_two_base_systems_that_share_an_edge_are_flagged():
    (join,) = advised(two()).joins
    assert (join.areas, join.bases) == (("patio", "walk"), ("panel", "dense"))
    assert join.length == pytest.approx(4, abs=0.01)
    assert join.below == pytest.approx((9.375 - 4.125) * INCH)
    assert join.step == pytest.approx(0, abs=1e-9)
    assert "soldier course" in join.detail
    assert "taper the 133 mm" in join.detail
    assert "end the panels on a full board" in join.detail


def test_the_same_base_on_both_sides_is_no_join():
    assert advised(two("dense", "dense")).joins == ()


def test_areas_that_only_touch_do_not_join():
    apart = [*two()[:1], patio(name="walk", base="dense",
                               outline=[[5, 5], [9, 5], [9, 8], [5, 8]])]  # fmt: skip
    assert advised(apart).joins == ()
    gap = [*two()[:1], patio(name="walk", base="dense",
                             outline=[[5.1, 1], [9, 1], [9, 5], [5.1, 5]])]  # fmt: skip
    assert advised(gap).joins == ()


def test_clean_stone_is_kept_from_fines():
    (join,) = advised(two("open", "dense")).joins
    assert "geotextile" in join.detail
    assert "taper" not in join.detail
    (join,) = advised(two("dense", "panel")).joins
    assert "geotextile" not in join.detail


def test_the_change_is_made_at_a_step_where_there_is_one():
    lower = {**AT_THE_WALL, "z": 29.95}
    (join,) = advised(two(plane=lower)).joins
    assert join.step == pytest.approx(0.15)
    assert "at the step between them" in join.detail


def test_the_check_names_both_and_offers_the_detail():
    plan = planned(two())
    (check,) = [one for one in advice_checks(plan, plan.advice) if one.rule == "base-join"]
    assert (check.status, check.area, check.where) == ("warn", "patio", "walk")
    assert "panel meets dense over 4 m beside" in check.text
    assert f"at least {3 * FOOT:.2f} m where" in check.text
