"""Steps held to their risers, treads, width, landings and place, and told where they are missing.

Limits: IRC R311.7.1 (36 in wide), R311.7.5.1 (7 3/4 in, alike to 3/8 in), R311.7.5.2 (10 in),
R311.7.6 (landings of 36 in), R311.7.8 (a handrail from four risers).
"""

from __future__ import annotations

import pytest
from make.plans.raised_yard import DOWN, raised
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.pipeline import plan
from grading.site.step_tables import Step
from grading.structures.flights import flights_of
from grading.units import INCH

DOOR = {"name": "back door", "at": [2, 0], "sill": 10.1}


def found(made, rule):
    return [check for check in made.checks if check.rule == rule]


def one(made, rule):
    (check,) = found(made, rule)
    return check


def test_steps_that_keep_every_limit_pass_every_check_with_what_was_measured():
    made = raised([DOWN])
    rules = ("step-place", "step-risers", "step-width", "step-alike", "step-tread")
    assert {rule: one(made, rule).status for rule in rules} == dict.fromkeys(rules, "pass")
    assert one(made, "step-risers").value == pytest.approx((0.4 - 2 * 12 * INCH * 0.02) / 3)
    assert one(made, "step-alike").value == pytest.approx(0.0, abs=1e-9)
    assert one(made, "step-alike").text == "steps from patio to the lawn: risers alike, 129 mm"
    assert one(made, "step-width").value == pytest.approx(1.2)
    assert not found(made, "step-handrail")
    assert not found(made, "not-used")


@pytest.mark.parametrize(
    ("change", "rule", "said"),
    [
        ({"risers": 1}, "step-risers", "at most 7 3/4 in"),
        ({"risers": 6}, "step-risers", "at least 4 in"),
        ({"tread": "9 in", "risers": 3}, "step-tread", "`tread` of 254 mm"),
        ({"width": "30 in"}, "step-width", "`width` of 914 mm"),
        ({"width": 8}, "step-width", "is not used"),
        ({"at": [3, 8]}, "step-place", "from where they are written"),
        ({"at": [3, 0]}, "step-place", "the house"),
    ],
)
def test_steps_that_break_a_limit_fail_with_how_to_mend_them(change, rule, said):
    check = one(raised([{**DOWN, **change}]), rule)
    assert check.status == "fail"
    said = {"at most 7 3/4 in": "at most 197 mm", "at least 4 in": "at least 102 mm"}.get(
        said, said
    )
    assert said in check.text
    assert "To mend it: " in check.text


def test_steps_that_would_go_up_fail():
    check = one(raised([DOWN], ground=10.2), "step-risers")
    assert check.status == "fail"
    assert "would go up" in check.text
    assert check.value == pytest.approx(9.9 - 10.2)


def test_a_foot_beyond_the_survey_is_not_known():
    """The lawn is shot to 0.2 m beyond the edge only: three risers reach 0.6 m out."""
    spots = grid_of_spots(lambda x, y: 9.5 + 0.0 * x, ((-4, -3), (11, 4)))
    area = {"name": "patio", "outline": [(0, 0), (6, 0), (6, 3.9), (0, 3.9)], "base": "dense",
            "plane": {"at": [0, 0], "z": 10.0, "fall": "2 %", "bearing": 0}}  # fmt: skip
    site = site_of(spots, [area], limits={"survey-margin": 0.3})
    step = Step.model_validate({**DOWN, "at": [3, 3.9]}, context={"unit": "m"})
    check = one(plan(replace(site, steps=(step,))), "step-risers")
    assert check.status == "unknown"
    assert "shoot the lawn" in check.text


@pytest.mark.parametrize(("across", "status"), [(0.006, "pass"), (0.02, "warn")])
def test_risers_at_both_ends_of_the_foot_are_held_to_be_alike(across, status):
    """The lawn falls along the edge: 1.2 m of it, by 7.2 mm and by 24 mm."""
    check = one(raised([DOWN], across=across), "step-alike")
    assert check.value == pytest.approx(across * 1.2, rel=1e-6)
    assert check.status == status


@pytest.mark.parametrize(("away", "status"), [(0.5, "fail"), (0.7, "pass")])
def test_a_stride_before_the_lowest_riser_has_to_be_free(away, status):
    """0.6 m: our own figure, common practice, no source."""
    flight = next(each for each in flights_of(raised([DOWN])) if each.kind == "to the lawn")
    foot = flight.head.mean(axis=0) + flight.out * (flight.going + away + 0.2)
    thing = {"kind": "seat wall", "name": "bench", "at": foot.tolist(), "size": [0.4, 1.0],
             "bearing": 0, "height": 0.4, "stands": "bedding"}  # fmt: skip
    check = one(raised([DOWN], features=[thing]), "step-place")
    assert check.status == status
    assert ("bench is in the way" in check.text) == (status == "fail")


def test_four_risers_ask_about_a_handrail():
    check = one(raised([{**DOWN, "risers": 4}]), "step-handrail")
    assert check.status == "warn"
    assert "ask the local building department" in check.text
    assert "R311.7.8" in check.source


@pytest.mark.parametrize(("bench", "status"), [((3.0, 4.6), "warn"), ((0.8, 1.0), "pass")])
def test_a_landing_above_them_lies_free_on_the_paving(bench, status):
    thing = {"kind": "seat wall", "name": "bench", "at": bench, "size": [1.0, 0.4], "height": 0.4,
             "stands": "bedding"}  # fmt: skip
    check = one(raised([DOWN], features=[thing]), "step-landing")
    assert check.status == status
    assert ("does not lie free on the paving" in check.text) == (status == "warn")


def test_a_landing_below_steps_between_areas_has_to_be_paved():
    down = {"down": ["patio", "court"], "risers": 2}
    assert one(raised([down], lower=9.6), "step-landing").status == "pass"


@pytest.mark.parametrize(
    ("lower", "riser", "status"),
    [(9.6, None, "pass"), (9.6, ["5 in", "7 in"], "pass"), (9.6, ["1 in", "145 mm"], "fail"),
     (9.6, ["155 mm", "180 mm"], "warn")],
)  # fmt: skip
def test_risers_between_areas_are_held_where_the_treads_end(lower, riser, status):
    """Both fall 2 %: 0.3 m in two, 150 mm each."""
    down = {"down": ["patio", "court"], "risers": 2} | ({"riser": riser} if riser else {})
    check = one(raised([down], lower=lower), "step-risers")
    assert check.value == pytest.approx(0.15)
    assert check.status == status


def test_a_tread_of_one_riser_fails_as_not_used():
    low = raised([{**DOWN, "tread": "12 in"}], ground=9.75)
    check = one(low, "not-used")
    assert check.status == "fail"
    assert "tread" in check.text
    assert not found(raised([{**DOWN, "tread": "12 in"}]), "not-used")


def test_an_edge_in_the_way_from_a_door_asks_for_steps_until_there_are_some():
    check = one(raised(doors=[DOOR]), "steps-to-lawn")
    assert check.status == "warn"
    assert check.value == pytest.approx(0.4)
    assert 'add [[step]] with area = "patio" and to = "lawn"' in check.text
    assert not found(raised([DOWN], [DOOR]), "steps-to-lawn")
    # Who walks straight out of a door beside the paving leaves no edge; the next door counts.
    beside = {"name": "side door", "at": [-0.4, 0], "sill": 10.1}
    assert one(raised(doors=[beside, DOOR]), "steps-to-lawn").where == "back door"
    # One riser down, and an edge that lies along a court, ask for none.
    assert not found(raised(doors=[DOOR], ground=9.75), "steps-to-lawn")
    assert not found(raised(doors=[DOOR], lower=9.9), "steps-to-lawn")


def test_nothing_else_holds_the_edge_along_steps():
    """12 m of raised edge beside and before the patio, less 1.2 m."""
    bare, with_it = raised(), raised([DOWN])
    edge = [sum(line.length for line in made.areas[0].free_edges) for made in (bare, with_it)]
    assert edge[0] - edge[1] == pytest.approx(1.2)
    # The finish is the same with steps and without.
    assert bare.areas[0].unknowns == pytest.approx(with_it.areas[0].unknowns)


def test_steps_at_a_door_are_asked_for_a_landing_below_them_alone():
    """Above them lies the floor of the house; their risers are held from its sill."""
    made = raised(doors=[{**DOOR, "sill": 10.5, "steps": 3}])
    check = one(made, "step-landing")
    assert check.where == "steps at back door"
    assert (check.status, "below them lies on the paving" in check.text) == ("pass", True)
    assert "above" not in check.text
    assert not found(made, "step-risers")
