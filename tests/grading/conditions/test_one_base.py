"""Areas that join are one piece of paving: one base under all, unless a rule divides them.

Common practice, no source.
"""

import numpy as np
import pytest
from make.plans.advised import AT_THE_WALL, advised, patio, planned

from grading.records.advice import advice_record
from grading.site.model import GroundSpec
from viz.words.advice import area_lines

FLUSH = {**AT_THE_WALL, "z": 30.0}
"""A finish that lies with the ground, so that panels dig much the least."""

HOUSE_FAR = {"walls": [[-1, -20], [11, -20]], "inside": [5, -30]}
PIECES = {
    "long": [[1, 0], [7, 0], [7, 1.2], [1, 1.2]],
    "bend": [[7, 0], [8.2, 0], [8.2, 1.2], [7, 1.2]],
    "short": [[7, 1.2], [8.2, 1.2], [8.2, 3], [7, 3]],
}


def piece(name, outline, **more):
    return patio(**{"name": name, "base": None, "plane": FLUSH, "outline": outline, **more})


def walk(names=tuple(PIECES), **more):
    """Return pieces of a walk, with what is otherwise of one of them."""
    return [piece(name, PIECES[name], **{"use": "walkway", **more.get(name, {})}) for name in names]


def bases(advice):
    return {one.area: one.base.advised.option.name for one in advice.areas}


def deep_at_the_end(deep=0.2):
    """Return topsoil that is deep under the short piece alone: a bed that was there."""
    x, y = np.meshgrid([0.0, 3.0, 6.0, 7.2, 8.0, 10.0], [-1.0, 0.0, 1.2, 1.3, 2.0, 3.0, 8.0])
    depth = np.where(y > 1.25, deep, 0.05)
    return GroundSpec(probes=np.column_stack([x.ravel(), y.ravel(), depth.ravel()]))


def alone(advice, name):
    return advice.area(name).one_base.by_itself


def test_three_pieces_of_one_walk_are_on_one_base():
    advice = advised(walk(), house=HOUSE_FAR, ground=deep_at_the_end())
    assert alone(advice, "short") != alone(advice, "long") == "panel"
    assert bases(advice) == dict.fromkeys(PIECES, "panel")
    reasons = {one.rule: one for one in advice.area("short").base.advised.reasons}
    assert reasons["one-base"].level == "for"
    assert "one piece of paving with long and bend" in reasons["one-base"].text
    assert f"(by itself it would be {alone(advice, 'short')})" in reasons["one-base"].text
    # What speaks against it here is still said, and why it is advised all the same.
    assert advice.area("short").base.caveat == (
        "all the same panel base is advised: it is one piece of paving with long and bend"
    )
    assert advice.area("long").base.caveat == ""
    assert "panel-organics" in reasons
    assert "one piece of paving" in "\n".join(area_lines(advice, "short", "m"))
    assert advice_record(advice, "short")["one_base_with"] == ["long", "bend"]


def test_areas_that_come_to_one_base_by_themselves_are_not_explained_by_each_other():
    advice = advised(walk(), house=HOUSE_FAR, ground=deep_at_the_end())
    leads = {one.area: one.base.leading.reason.rule for one in advice.areas}
    # The short piece would be another base alone: what it joins is why. The long one has a reason.
    assert leads["short"] == "one-base"
    assert leads["long"] == "least-dig"
    rules = {one.rule for one in advice.area("long").base.advised.reasons}
    assert {"one-base", leads["long"]} <= rules


def test_the_plan_is_on_that_one_base():
    found = planned(walk(), house=HOUSE_FAR, ground=deep_at_the_end())
    assert {area.area.name: area.chosen for area in found.areas} == dict.fromkeys(PIECES, "panel")
    assert found.advice.joins == ()


def test_the_most_paving_decides_and_not_the_order_in_the_file():
    areas = walk()
    for order in (areas, areas[::-1], [areas[1], areas[2], areas[0]]):
        advice = advised(order, house=HOUSE_FAR, ground=deep_at_the_end())
        assert bases(advice) == dict.fromkeys(PIECES, "panel")


def test_wheels_divide_a_drive_from_the_patio_beside_it():
    lawn = piece("patio", [[1, 0], [9, 0], [9, 5], [1, 5]])
    drive = piece("drive", [[9, 0], [12, 0], [12, 5], [9, 5]], use="driveway")
    advice = advised([lawn, drive])
    assert bases(advice) == {"patio": "panel", "drive": "dense"}
    assert advice.area("patio").one_base.joined == ()


def test_the_wall_of_the_foundation_divides_a_side_walk_from_an_open_graded_patio():
    outlet = {"kind": "outlet", "name": "creek", "at": [5, 8], "z": 29}
    lawn = piece("patio", [[1, 0], [9, 0], [9, 5], [1, 5]])
    side = piece("side walk", [[9, 0], [10.8, 0], [10.8, 1.2], [9, 1.2]], use="walkway")
    x, y = np.meshgrid([0.0, 4.0, 8.7, 8.9, 10.0, 12.0], np.arange(-1.0, 8.5, 0.5))
    depth = np.where(x < 8.8, 0.35, 0.03)
    soil = GroundSpec(probes=np.column_stack([x.ravel(), y.ravel(), depth.ravel()]))
    advice = advised([lawn, side], floors=[outlet], ground=soil)
    assert bases(advice) == {"patio": "open", "side walk": "panel"}


def test_a_step_divides_areas_that_need_not_move_alike():
    areas = walk(names=("bend", "short"), short={"plane": {**AT_THE_WALL, "z": 29.9}})
    step = {"down": ["bend", "short"]}
    advice = advised(areas, house=HOUSE_FAR, ground=deep_at_the_end(), steps=[step])
    assert advice.area("short").one_base.joined == ()
    assert bases(advice)["short"] == alone(advice, "short") != "panel"


@pytest.mark.parametrize("given", ["dense", "panel"])
def test_an_open_area_goes_by_the_base_that_was_given_to_what_it_joins(given):
    areas = walk(names=("long", "bend"))
    areas[0]["base"] = given
    advice = advised(areas, house=HOUSE_FAR)
    assert bases(advice)["bend"] == given
    # What would be built if nobody had chosen is still what is advised where it was given.
    assert bases(advice)["long"] == "panel"


def test_areas_that_do_not_touch_are_each_by_themselves():
    advice = planned(walk(names=("long", "short")), house=HOUSE_FAR,
                               ground=deep_at_the_end()).advice  # fmt: skip
    assert bases(advice) == {"long": "panel", "short": alone(advice, "short")}
    assert all(one.one_base.joined == () for one in advice.areas)
