"""What a finish may be best at: each beats the others at its own, and closed forms."""

import numpy as np
import pytest
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of

from grading.pipeline import plan
from grading.site.model import GroundSpec
from grading.units import INCH


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
    for each in found.values():
        assert found["least dig and refill"].work <= each.work + 1e-6
        assert found["least earth"].moved <= each.moved + 1e-6
        assert found["least spoil"].hauled <= each.hauled + 1e-6
        assert found["gentlest fall"].greatest_fall <= each.greatest_fall + 2e-6


def test_deep_topsoil_is_weighed_where_that_is_the_aim():
    deep = GroundSpec(organics=0.2)
    made = planned({**PATIO, "base": "panel"}, ground=deep)
    found = outcomes(made)
    firm, plain = found["least dig and refill"], found["least earth"]
    assert firm.work < plain.work - 0.5
    assert made.areas[0].finish.work == pytest.approx(firm.work, abs=1e-6)
    # The whole hole agrees with what is counted in the outline.
    earth = planned(
        {**PATIO, "base": "panel"}, ground=deep, finish={"objective": "least earth"}
    ).areas[0]
    assert earth.finish.moved == pytest.approx(plain.moved, abs=1e-6)
    chosen, other = made.areas[0].chosen_dig, earth.chosen_dig
    assert chosen.cut + chosen.fill < other.cut + other.fill


def test_what_a_wish_costs_is_work_and_not_earth():
    """Over deep topsoil a lower finish saves refill, though it moves more earth."""
    ground = GroundSpec(organics=0.3)

    def work(sill):
        doors = [{"name": "door", "at": [3, 0], "sill": sill}]
        return planned({**PATIO, "base": "panel"}, ground=ground, doors=doors).areas[0].finish

    held = work(30.35)
    (door,) = [each for each in held.binding if each.rule == "door-step"]
    assert "at most" in door.wish
    lower = work(30.35 - INCH)
    assert door.easier == pytest.approx(lower.work - held.work, abs=1e-5)
    assert door.easier < -0.5
    assert lower.moved > held.moved


def test_without_a_wall_each_measure_has_its_own_best_way_to_fall():
    rng = np.random.default_rng(3)
    spots = grid_of_spots(lambda x, y: 30 - 0.012 * x + 0.02 * np.sin(y))
    depth = 0.1 + 0.02 * spots[:, 1] + rng.uniform(0, 0.02, len(spots))
    probes = np.column_stack([spots[:, :2], depth])
    area = {**PATIO, "base": "panel"}

    def made(objective="least dig and refill"):
        ground = GroundSpec(probes=probes)
        return plan(site_of(spots, [area], ground=ground, finish={"objective": objective}))

    told = outcomes(made())
    earth = made(objective="least earth")
    assert told["least earth"].moved == pytest.approx(earth.areas[0].finish.moved, abs=1e-6)
    told = outcomes(earth)
    work = made().areas[0].finish.work
    assert told["least dig and refill"].work == pytest.approx(work, abs=1e-6)
    turn = made().areas[0].finish.plane.bearing - earth.areas[0].finish.plane.bearing
    assert abs((turn + 180) % 360 - 180) > 10


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
    assert gentle.finish.work >= planned().areas[0].finish.work - 1e-6


def test_more_fall_takes_more_work_and_the_curve_goes_through_the_plan():
    made = planned()
    curve = made.groups[0].tradeoff
    assert curve.falls[2] == pytest.approx(0.02)
    assert curve.moved[2] == pytest.approx(made.areas[0].finish.moved, abs=1e-6)
    assert curve.work[2] == pytest.approx(made.areas[0].finish.work, abs=1e-6)
    known = curve.least[np.isfinite(curve.least)]
    assert (known == curve.work[np.isfinite(curve.work)]).all()
    assert (np.diff(known) >= -1e-7).all()
    # The least is convex in what is asked.
    assert (np.diff(known, 2) >= -1e-5).all()


def test_net_cut_is_linear_and_agrees_with_cut_less_fill():
    made = planned()
    dig = made.areas[0].digs["dense"]
    each = outcomes(made)["least earth"]
    assert (each.cut, each.fill) == pytest.approx(
        (dig.cut_in_outline, dig.fill_in_outline), abs=1e-9
    )
