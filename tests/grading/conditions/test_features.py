import numpy as np
import pytest
import shapely
from make.plans.advised import advised, patio, planned

from grading.conditions.features import footings, wedge_under
from grading.conditions.seats import seat, seats_of
from grading.design.underfoot import areas_of, level_at, overlap, triangles
from grading.site.model import Feature, GroundSpec
from grading.units import FOOT, INCH

WALL_ALONG_FALL = {
    "name": "wall", "kind": "seat wall", "at": [5, 2.5], "size": [4, 0.3], "bearing": 0,
}  # fmt: skip


def only(**kwargs):
    """Return how the one thing on a patio stands."""
    (one,) = advised(**kwargs).features
    return one


def test_the_wedge_is_the_fall_times_the_length():
    along = only(features=[WALL_ALONG_FALL])
    assert along.wedge.least == pytest.approx(0, abs=1e-12)
    assert along.wedge.greatest == pytest.approx(0.02 * 4)
    assert along.wedge.volume == pytest.approx(0.02 * 4 / 2 * 4 * 0.3)
    across = only(features=[{**WALL_ALONG_FALL, "bearing": 90}])
    assert across.wedge.greatest == pytest.approx(0.02 * 0.3)
    diagonal = only(features=[{**WALL_ALONG_FALL, "bearing": 30}])
    reach = 4 * np.cos(np.radians(30)) + 0.3 * np.sin(np.radians(30))
    assert diagonal.wedge.greatest == pytest.approx(0.02 * reach)
    assert diagonal.wedge.volume == pytest.approx(0.02 * reach / 2 * 1.2)


def test_bedding_under_the_high_edge_is_added():
    one = only(features=[{**WALL_ALONG_FALL, "bedding": 0.02}])
    assert (one.wedge.least, one.wedge.greatest) == pytest.approx((0.02, 0.1))
    assert one.wedge.volume == pytest.approx(0.06 * 1.2)


def test_a_round_thing_has_the_area_of_a_circle():
    circle = Feature(kind="gas fire feature", at=(5, 2.5), size=(1.2,))
    assert circle.polygon.area == pytest.approx(np.pi * 0.36, rel=1e-9)
    wedge = wedge_under(planned().areas[0], circle.polygon, 0.0)
    assert wedge.greatest == pytest.approx(0.02 * 1.2, rel=1e-3)
    assert wedge.volume == pytest.approx(0.02 * 0.6 * np.pi * 0.36, rel=1e-3)


def test_a_short_fire_feature_stands_on_bedding_and_a_long_wall_on_its_own_base():
    fire = {"kind": "gas fire feature", "at": [5, 3.5], "size": [1.2]}
    advice = advised(features=[fire, WALL_ALONG_FALL])
    assert [one.advised for one in advice.features] == ["bedding", "own base"]
    assert [one.too_thick for one in advice.features] == [False, True]


def test_the_wedge_is_that_of_the_finish_and_not_of_the_ground():
    rough = only(features=[WALL_ALONG_FALL], height=lambda x, y: 30 - 0.05 * x + 0.1 * np.sin(y))
    assert rough.wedge.greatest == pytest.approx(0.08)


def test_a_level_base_is_dug_below_the_paving():
    # The pad is 4.3048 by 0.6048 m, its bottom level; the formation above it falls 2 %.
    plan = planned([patio(base="dense")], features=[WALL_ALONG_FALL])
    (one,) = seats_of(plan)
    own = one.own_base
    pad = (4 + 12 * INCH) * (0.3 + 12 * INCH)
    low = 30.1 - 0.02 * 4.5
    assert own.top == pytest.approx(low - 6 * INCH)
    assert own.bottom == pytest.approx(low - 12 * INCH)
    assert own.stone == pytest.approx(pad * 6 * INCH)
    assert own.cut_out == pytest.approx(pad)
    formation = 30.1 - 0.02 * 2.5 - 9.375 * INCH
    assert own.excavation == pytest.approx(pad * (formation - own.bottom))


def test_organics_that_came_out_are_not_dug_again():
    ground = GroundSpec(organics=0.6)
    deep = only(features=[WALL_ALONG_FALL], ground=ground)
    assert deep.own_base.excavation == 0
    shallow = only(features=[WALL_ALONG_FALL])
    assert shallow.own_base.excavation > 0


def test_a_wall_is_buried_by_a_tenth_of_its_height_and_at_least_a_course():
    low, high = (
        only(features=[{**WALL_ALONG_FALL, "height": height}]).own_base.top for height in (0.4, 3.0)
    )
    assert low - high == pytest.approx(0.3 - 6 * INCH)


def test_a_footing_goes_to_the_depth_given_or_to_that_of_the_code():
    post = {"kind": "pergola post", "at": [5, 2.5], "size": [0.4]}
    assert only(features=[post]).own_base is None
    given = only(features=[{**post, "base": 1.0}]).own_base
    assert given.top - given.bottom == pytest.approx(1.0)
    frost = {"index": 800, "code": "42 in"}
    coded = only(features=[post], frost=frost).own_base
    assert coded.top - coded.bottom == pytest.approx(42 * INCH)


@pytest.mark.parametrize(
    ("thing", "base", "rule", "status"),
    [
        ({"kind": "wood fire", "stands": "bedding"}, "panel", "panel-fire", "fail"),
        ({"kind": "wood fire"}, "panel", "panel-fire", "warn"),
        ({"kind": "wood fire", "stands": "own base"}, "panel", "panel-fire", "warn"),
        ({"kind": "gas fire feature"}, "panel", "panel-fire", "pass"),
        ({"kind": "wood fire"}, "dense", "panel-fire", None),
        ({"kind": "seat wall", "height": "18 in"}, "panel", "panel-feature-height", "pass"),
        ({"kind": "seat wall", "height": "18 1/8 in"}, "panel", "panel-feature-height", None),
        ({"kind": "seat wall", "height": "18 1/8 in", "stands": "bedding"}, "panel",
         "panel-feature-height", "fail"),
        ({"kind": "steps"}, "panel", "panel-feature-height", "unknown"),
        ({"kind": "seat wall", "height": "30 in"}, "open", "panel-feature-height", None),
        ({"kind": "hot tub", "stands": "bedding"}, "panel", "panel-feature", "fail"),
        ({"kind": "hot tub"}, "panel", "panel-feature", "pass"),
        ({"kind": "gas fire feature"}, "dense", "fire-distance", "warn"),
    ],
)  # fmt: skip
def test_what_panels_may_carry_is_checked(thing, base, rule, status):
    from grading.checks.advice import advice_checks

    plan = planned([patio(base=base)], features=[{"at": [5, 2], "size": [0.5], **thing}])
    found = {check.rule: check for check in advice_checks(plan, plan.advice)}
    assert found.get(rule) is None if status is None else found[rule].status == status


@pytest.mark.parametrize(
    "drawn",
    [
        {"at": [4, 2], "size": [1e-17, 1e-17]},
        {"at": [4, 2], "size": [1, 0.002]},
        {"outline": [[4, 2], [4.001, 2], [4.001, 2.001], [4, 2.001]]},
    ],
)
def test_a_thing_too_small_to_stand_is_refused(drawn):
    with pytest.raises(ValueError, match="a thing of 25 mm or more each way"):
        advised(features=[{"kind": "other", **drawn}])


def test_a_thing_that_was_written_twice_is_two_things():
    fire = {"kind": "gas fire feature", "at": [4, 2], "size": [0.5, 0.5], "height": 0.4}
    seats = advised(features=[fire, dict(fire)]).features
    assert [seat.stands for seat in seats] == ["bedding", "bedding"]


def test_a_thick_wedge_is_a_warning_with_its_value_and_limit():
    from grading.checks.advice import advice_checks

    plan = planned(features=[{**WALL_ALONG_FALL, "stands": "bedding"}])
    (check,) = [one for one in advice_checks(plan, plan.advice) if one.rule == "feature-wedge"]
    assert (check.status, check.where, check.unit) == ("warn", "wall", "m")
    assert (check.value, check.limit) == pytest.approx((0.08, 1.5 * INCH))
    assert "80 mm" in check.text


def test_a_thing_on_no_area_is_told_of():
    advice = advised(features=[{"name": "far", "kind": "other", "at": [50, 50], "size": [1]}])
    assert advice.features == ()
    assert advice.warnings == ("far stands on no area, so nothing is said of it",)


def test_the_area_named_is_the_one_it_stands_on():
    post = {"kind": "pergola post", "at": [9.3, 2.5], "size": [0.3], "base": 1.0}
    assert advised(features=[post]).features == ()
    (one,) = advised(features=[{**post, "area": "patio"}]).features
    assert one.area == "patio"
    # Half beside the paving: dug from the ground there, from the formation in the hole.
    assert 0 < one.own_base.excavation <= np.pi * 0.15**2 * 1.01


def test_the_lesser_of_two_heights_is_integrated_exactly():
    rng = np.random.default_rng(3)
    one, other = rng.normal(size=(2, 200, 3))
    areas = rng.uniform(0.5, 2, 200)
    grid = (np.arange(300) + 0.5) / 300
    u, v = (axis.ravel() for axis in np.meshgrid(grid, grid))
    inside = u + v < 1
    weights = np.stack([1 - u - v, u, v], axis=-1)[inside]
    sampled = np.maximum(np.minimum(one @ weights.T, other @ weights.T), 0).mean(axis=1)
    assert overlap(one, other, areas) == pytest.approx(float(sampled @ areas), rel=2e-3)
    assert overlap(one, one + 5, areas) == pytest.approx(overlap(one + 5, one, areas))


def test_a_shape_is_cut_into_triangles_of_its_own_area():
    shape = shapely.Polygon([(0, 0), (4, 0), (4, 3), (2, 1), (0, 3)])
    assert areas_of(triangles(shape)).sum() == pytest.approx(shape.area)


def test_every_kind_has_its_base():
    kinds = Feature.model_fields["kind"].annotation.__args__
    assert set(footings()) == set(kinds)
    assert all("no source" in one.source for one in footings().values())


def test_level_at_is_the_finish():
    area = planned().areas[0]
    np.testing.assert_allclose(level_at(area, np.array([[1, 0], [4, 5]])), [30.1, 30.0])
    assert seat(planned(), area, Feature(kind="other", at=(5, 2), size=(FOOT,))).to_house == (
        pytest.approx(2 - FOOT / 2)
    )


def overhangs(thing, **kwargs):
    from grading.checks.advice import advice_checks

    plan = planned([patio(**kwargs)], features=[{"name": "bar", "kind": "other", **thing}])
    checks = advice_checks(plan, plan.advice)
    (check,) = [check for check in checks if check.rule == "feature-overhang"]
    return plan.advice.features[0], check


def test_a_thing_that_lies_on_its_paving_is_told_so():
    seat, check = overhangs({"at": [5, 2.5], "size": [2.0, 0.7]})
    assert (seat.overhang, check.status) == (0, "pass")


def test_a_thing_past_the_edge_is_warned_of_with_how_far_and_the_turn_that_mends_it():
    seat, check = overhangs({"at": [5, 4.5], "size": [2.0, 0.7]})
    assert seat.overhang == pytest.approx(0.5)
    assert check.status == "warn"
    assert check.value == pytest.approx(0.5)
    assert "reaches 500 mm past the edge of the paving of patio" in check.text
    assert "with bearing = 90 it fits" in check.text
    turned, check = overhangs({"at": [5, 4.5], "size": [2.0, 0.7], "bearing": 90})
    assert (turned.overhang, check.status) == (0, "pass")


def test_a_thing_that_lies_half_beside_the_paving_fails_and_one_across_two_areas_does_not():
    """0.5 of 1 m past the edge at y = 5; where a second area goes on there nothing is beside."""
    half, check = overhangs({"at": [5, 5], "size": [2.0, 1.0], "bearing": 90})
    assert half.off_paving == pytest.approx(0.5)
    assert check.status == "fail"
    assert "50 % of it lies off the paving: check its size and `at`" in check.text
    from grading.conditions.seats import seat as seat_of

    beyond = {**patio(), "name": "lawn walk", "outline": [[2, 5], [8, 5], [8, 7], [2, 7]]}
    made = planned([patio(), beyond])
    wide = Feature(kind="other", at=(5, 5), size=(1.0, 2.0))
    assert seat_of(made, made.areas[0], wide).off_paving == pytest.approx(0.0, abs=1e-9)


def test_a_thing_that_no_turn_brings_onto_the_paving_is_to_be_moved_in():
    seat, check = overhangs({"at": [8.9, 4.9], "size": [1.0]})
    assert seat.overhang == pytest.approx(0.5 - 0.1, abs=0.05)
    assert "move it in, or lay the paving out to it" in check.text
    hole = [[4, 2], [6, 2], [6, 3], [4, 3]]
    seat, check = overhangs({"at": [4, 2.5], "size": [1.0, 1.0]}, holes=[hole])
    assert (seat.overhang, check.status) == (pytest.approx(0.5), "fail")
    over_it, _ = overhangs({"at": [5, 2.5], "size": [4.0, 4.0]}, holes=[hole])
    assert over_it.overhang == pytest.approx(0.5, abs=0.01)
