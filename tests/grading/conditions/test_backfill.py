import pytest
import shapely
from make.plans.advised import advised, patio, planned

from grading.checks.advice import advice_checks
from grading.site.model import GroundSpec
from grading.site.settling import rests
from grading.units import FOOT, INCH
from viz.words.uncounted import not_counted

HOUSE = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3]}
ZONE = 8 * 4 * FOOT  # of a patio 8 m long at the wall


def zone(age=3.0, **kwargs):
    (one,) = advised(house={**HOUSE, "age": age} if age is not None else HOUSE, **kwargs).backfill
    return one


def of(one, treatment):
    return next(each for each in one.treatments if each.treatment == treatment)


def test_the_zone_is_the_paving_by_the_wall():
    one = zone()
    assert one.paving == pytest.approx(ZONE)
    assert one.width == pytest.approx(4 * FOOT)
    assert zone(backfill={"width": 2}).paving == pytest.approx(16)


def test_a_wing_of_the_house_is_not_paving():
    corner = {"walls": [[0, 6], [0, 0], [11, 0]], "inside": [-3, -3], "age": 3}
    (one,) = advised([patio(outline=[[0, 0], [8, 0], [8, 5], [0, 5]])], house=corner).backfill
    width = 4 * FOOT
    assert one.paving == pytest.approx(8 * width + 5 * width - width**2)


def test_paving_away_from_the_wall_has_no_zone():
    away = patio(outline=[[1, 2], [9, 2], [9, 5], [1, 5]])
    assert advised([away], house={**HOUSE, "age": 3}).backfill == ()
    assert advised(house=None).backfill == ()


def test_settlement_that_levels_the_paving_is_the_fall_over_the_zone():
    # 2 % over 4 ft is used up by 0.96 in.
    assert zone().uses_up == pytest.approx(0.96 * INCH)
    flat = patio(plane={"at": [1, 0], "z": 30.1, "fall": "1 %", "bearing": 0})
    assert zone(areas=[flat]).uses_up == pytest.approx(0.48 * INCH)


@pytest.mark.parametrize(
    ("age", "none", "waited"),
    [
        (None, "unknown", "unknown"),
        (0.5, "not enough", "not enough"),
        (3.0, "not enough", "with care"),
        (7.0, "suits", "suits"),
    ],
)
def test_age_judges_what_is_not_dug(age, none, waited):
    one = zone(age)
    assert (of(one, "none").judgement, of(one, "waited").judgement) == (none, waited)


def test_stone_is_dug_below_the_build_up_and_counted():
    stone = of(zone(), "stone")
    assert stone.excavation == pytest.approx(ZONE * 18 * INCH)
    assert stone.stone == pytest.approx(ZONE * 18 * INCH)
    assert stone.spoil == pytest.approx(stone.excavation * 1.25)
    assert stone.grid == pytest.approx(8 * 7 * FOOT)
    assert "green or unbraced foundation wall" in stone.text


def test_organics_that_came_out_are_not_dug_again():
    # Finish 0.1 m above the ground and 4 1/8 in of build-up: the formation is 4.8 mm below it.
    below = 4.125 * INCH - 0.1
    stone = of(zone(ground=GroundSpec(organics=0.2)), "stone")
    assert stone.excavation == pytest.approx(ZONE * (18 * INCH + below - 0.2))
    # What lies above the ground as it was stripped is the hole's own refill, and counted there.
    assert stone.stone == pytest.approx(stone.excavation)


def test_a_strip_takes_the_paving_of_the_zone():
    assert of(zone(), "strip").paving_lost == pytest.approx(ZONE)


def test_digging_to_firm_ground_asks_how_deep_it_lies():
    assert of(zone(), "firm").judgement == "unknown"
    firm = of(zone(backfill={"depth": "6 ft"}), "firm")
    assert firm.judgement == "suits"
    assert firm.excavation == pytest.approx(ZONE * 6 * FOOT)


@pytest.mark.parametrize(
    ("age", "treatment", "status"),
    [
        (3, "none", "warn"),
        (8, "none", "pass"),
        (None, "none", "unknown"),
        (3, "stone", "pass"),
        (3, "waited", "pass"),
        (0.2, "waited", "warn"),
        (3, "slab", "warn"),
        (3, "firm", "unknown"),
        (3, "strip", "fail"),
    ],
)
def test_the_check_says_whether_it_is_enough(age, treatment, status):
    house = HOUSE if age is None else {**HOUSE, "age": age}
    plan = planned(house=house, backfill={"treatment": treatment})
    (check,) = [one for one in advice_checks(plan, plan.advice) if one.rule == "backfill-zone"]
    assert check.status == status
    if status != "pass" and treatment == "none":
        assert "24 mm of settlement at the wall levels it" in check.text


def test_the_zone_of_two_areas_is_theirs_alone():
    left = patio(outline=[[1, 0], [5, 0], [5, 5], [1, 5]])
    right = patio(name="right", outline=[[5, 0], [9, 0], [9, 5], [5, 5]], base="dense")
    one, other = advised([left, right], house={**HOUSE, "age": 3}).backfill
    assert (one.area, other.area) == ("patio", "right")
    assert shapely.intersection(one.zone, other.zone).area == pytest.approx(0)


def test_a_strip_acts_where_the_paving_keeps_off_it_and_fails_where_it_does_not():
    paved = planned(house={**HOUSE, "age": 3}, backfill={"treatment": "strip"})
    check = next(one for one in paved.checks if one.rule == "backfill-zone")
    assert check.status == "fail"
    assert "To mend it: draw the paving from" in check.text
    assert rests(paved.site) == ""
    off = patio(outline=[[1, 1.25], [9, 1.25], [9, 5], [1, 5]])
    kept = planned([off], house={**HOUSE, "age": 3}, backfill={"treatment": "strip"})
    assert not [one for one in kept.checks if one.rule in ("backfill-zone", "not-used")]
    assert "keeps off the backfill" in rests(kept.site)
    assert any("river stone" in words for words in not_counted(kept))


def test_a_slab_and_firm_ground_that_nobody_gave_are_told_as_not_counted():
    slab = planned(house={**HOUSE, "age": 3}, backfill={"treatment": "slab"})
    assert any("reinforced slab" in words for words in not_counted(slab))
    firm = planned(house={**HOUSE, "age": 3}, backfill={"treatment": "firm"})
    assert any("to firm ground" in words for words in not_counted(firm))
    known = planned(house={**HOUSE, "age": 3}, backfill={"treatment": "firm", "depth": "4 ft"})
    assert not any("firm ground" in words for words in not_counted(known))
