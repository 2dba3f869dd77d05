"""What a finish may be best at: each beats the others at its own, and closed forms."""

import numpy as np
import pytest
from handmade import PATIO, WALL, grid_of_spots, site_of

from grading.pipeline import plan
from grading.site import GroundSpec


def bumpy(x, y):
    return 30 - 0.01 * y + 0.05 * np.sin(x) * np.cos(y / 2)


def planned(area=PATIO, height=bumpy, **kwargs):
    return plan(site_of(grid_of_spots(height), [area], house=WALL, **kwargs))


def outcomes(made):
    return {each.objective: each for each in made.groups[0].outcomes}


DOOR = [{"name": "door", "at": [3, 0], "sill": 30.2}]


def test_each_objective_is_best_at_its_own():
    found = outcomes(planned(doors=DOOR))
    assert len(found) == 5
    assert min(found.values(), key=lambda each: each.moved).objective == "least earth"
    for each in found.values():
        assert found["least earth"].moved <= each.moved + 1e-6
        assert found["least spoil"].hauled <= each.hauled + 1e-6
        assert found["gentlest fall"].greatest_fall <= each.greatest_fall + 2e-6


def test_deep_topsoil_is_weighed_where_that_is_the_aim():
    made = planned({**PATIO, "base": "panel"}, ground=GroundSpec(organics=0.2))
    found = outcomes(made)
    firm, plain = found["least dig and refill"], found["least earth"]
    assert firm.work < plain.work - 0.5
    # In the outline, what is dug and refilled is what the dig itself says.
    chosen = planned(
        {**PATIO, "base": "panel"}, ground=GroundSpec(organics=0.2),
        finish={"objective": "least dig and refill"},
    ).areas[0].chosen_dig  # fmt: skip
    other = made.areas[0].chosen_dig
    assert chosen.cut + chosen.fill < other.cut + other.fill


def test_the_gentlest_fall_is_what_the_wall_asks():
    assert outcomes(planned())["gentlest fall"].greatest_fall == pytest.approx(0.02, abs=2e-6)


def test_least_spoil_puts_all_the_cut_to_use_where_nothing_holds_it_down():
    # Ground that falls 4 %, a finish that may only fall 2 to 4 %: cut and fill can balance.
    found = outcomes(planned(height=lambda x, y: 30 - 0.06 * y + 0.02 * np.sin(x)))
    spoil = found["least spoil"]
    assert spoil.hauled == pytest.approx(0, abs=1e-5)
    assert spoil.cut == pytest.approx(spoil.fill / 0.9, abs=1e-5) or spoil.cut < spoil.fill / 0.9


def test_a_door_that_holds_the_finish_down_leaves_spoil_to_haul():
    found = outcomes(planned(doors=[{"name": "door", "at": [3, 0], "sill": 30.0}]))
    assert found["least spoil"].hauled > 0.5
    assert found["least spoil"].hauled <= found["least earth"].hauled + 1e-9


def test_the_finish_nearest_to_an_elevation_has_it_in_the_middle():
    wished = {"objective": "elevation", "elevation": 30.15}
    made = planned(finish=wished)
    area = made.areas[0]
    centre = np.array([[5.0, 2.5]])
    assert area.finish.plane.at(centre) == pytest.approx([30.15], abs=1e-6)
    assert area.finish.plane.fall == pytest.approx(0.02, abs=1e-7)


def test_a_site_picks_its_objective():
    gentle = planned(finish={"objective": "gentlest fall"}).areas[0]
    assert gentle.finish.plane.fall == pytest.approx(0.02, abs=2e-6)
    assert gentle.finish.moved >= planned().areas[0].finish.moved - 1e-6


def test_more_fall_moves_more_earth_and_the_curve_goes_through_the_plan():
    made = planned()
    curve = made.groups[0].tradeoff
    assert curve.falls[2] == pytest.approx(0.02)
    assert curve.moved[2] == pytest.approx(made.areas[0].finish.moved, abs=1e-6)
    known = curve.moved[np.isfinite(curve.moved)]
    assert (np.diff(known) >= -1e-7).all()
    # Least earth is convex in what is asked.
    assert (np.diff(known, 2) >= -1e-5).all()


def test_net_cut_is_linear_and_agrees_with_cut_less_fill():
    made = planned()
    dig = made.areas[0].digs["dense"]
    each = outcomes(made)["least earth"]
    assert (each.cut, each.fill) == pytest.approx(
        (dig.cut_in_outline, dig.fill_in_outline), abs=1e-9
    )
