from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from make.plans.water_grid import box, yard
from make.plans.water_yard import (
    FINISH,
    HOUSE,
    LAWN,
    PATIO,
    STORM,
    WALL,
    checked,
    falling,
    shares,
    water,
)
from msgspec.structs import replace

from grading.catalogue.rules import RULES, Limits
from grading.checks.water import water_checks
from grading.design.places import Places
from grading.geometry.plane import Plane
from grading.site.model import Downspout, Floor, Outfall
from grading.units import FOOT, HOUR, INCH
from grading.water.beneath import Beneath
from grading.water.course import LowSpot, Paved
from grading.water.destinations import destinations_of, grate_too_high
from grading.water.edges import sides_of
from grading.water.grid.flow import Downhill
from grading.water.margins import LEAST_RUN
from grading.water.mend import low_spot
from grading.water.model import Share, least_margin, margins_of, water_of
from grading.water.words import ends_of
from grading.worded import joined, of_file


def test_a_patio_that_drains_to_a_named_lawn_passes():
    made = water()
    assert shares(made) == {"lawn": 1.0}
    (edge,) = made.areas[0].edges
    assert (edge.destination, edge.kind) == ("lawn", "lawn")
    assert edge.share == pytest.approx(1.0, abs=0.02)
    assert edge.z == pytest.approx(5.1 - 0.08, abs=0.002)
    assert {tuple(edge.start), tuple(edge.end)} == {(2, 4), (8, 4)}
    assert edge.path[-1][1] == pytest.approx(10, abs=0.1)
    assert np.ptp(edge.path[:, 0]) < 0.1
    check = checked(made)["low-edge", ""]
    assert (check.status, check.value) == ("pass", 1.0)
    assert made.areas[0].verdict == "named"
    assert made.unaccounted < 1e-9


def test_a_site_that_names_no_place_is_not_known_and_does_not_fail():
    made = water(outfalls=())
    assert made.areas[0].verdict == "edge of the survey"
    check = checked(made)["low-edge", ""]
    assert check.status == "unknown"
    assert "add an [[outfall]]" in check.text


def test_water_that_leaves_the_survey_past_every_named_place_is_warned_of():
    made = water(outfalls=[Outfall(name="drain", kind="drain", at=[11, 9])])
    check = checked(made)["low-edge", ""]
    assert check.status == "warn"
    assert "100 % past the edge of what was measured; where it goes past" in check.text
    assert "To mend it: measure on from " in check.text


def test_a_floor_counts_as_a_named_place():
    floor = Floor(name="swale by the fence", kind="swale", at=[[0, 8], [12, 8]], z=4.7)
    made = water(outfalls=(), floors=[floor])
    assert shares(made) == {"swale by the fence": 1.0}
    assert checked(made)["low-edge", ""].status == "pass"


def test_a_place_above_the_edge_that_drains_to_it_fails():
    made = water(outfalls=[Outfall(name="lawn", kind="lawn", at=LAWN.at, z=5.05)])
    check = checked(made)["low-edge", ""]
    assert check.status == "fail"
    assert "lawn is 1 3/16 in above the low edge" in check.text


def test_a_place_that_has_no_level_leaves_it_open():
    """A place on paving that was never surveyed: the water reaches it, but how low is it?"""
    made = water()
    (place,) = made.destinations
    made = replace(made, destinations=(replace(place, z=None),))
    check = checked(made)["low-edge", ""]
    assert check.status == "unknown"
    assert f"not known: {place.name} has no level. To mend it: give its z" in check.text


def test_water_onto_the_neighbours_lot_is_warned_of():
    line = Outfall(name="east line", kind="neighbour", at=[[11.5, 0], [11.5, 10]])
    made = water(height=lambda x, y: 5 - 0.03 * y - 0.08 * x, outfalls=[LAWN, line],
                 finish=Plane(5.1, -0.03, -0.02))  # fmt: skip
    assert made.areas[0].verdict == "neighbour"
    check = checked(made)["low-edge", ""]
    assert "onto the neighbour's lot" in check.text
    # The swale is cut below the edge that the water leaves over.
    edge = next(each for each in made.areas[0].edges if each.kind == "neighbour")
    assert f"below the low edge, {Places('ft', (WALL,)).at(edge.at)}" in check.text


def test_a_patio_that_tips_to_the_house_wets_the_foundation():
    made = water(finish=Plane(5.0, 0.0, 0.02))
    found = shares(made)
    assert found.pop("foundation") == pytest.approx(1.0, abs=1e-3)
    # However little ends elsewhere is told, so that all of it is.
    assert 0 < sum(found.values()) < 1e-3
    assert sum(part.share for part in made.areas[0].shares) == pytest.approx(1.0, abs=1e-12)
    found = checked(made)
    assert found["foundation-water", ""].status == "fail"
    assert found["low-edge", ""].status == "fail"
    assert found["every-foot-fall", "wall 1"].status == "fail"
    # How it is mended is told once, not by both checks that it fails.
    _, mend = found["foundation-water", ""].text.split("To mend it: ")
    assert mend not in found["low-edge", ""].text
    assert "R401.3" in found["foundation-water", ""].source


def test_a_drain_at_the_wall_is_led_to_a_place_that_lies_low_enough():
    """How far below it that place is can be told, for the level at the wall is known."""
    mend = checked(water(finish=Plane(5.0, 0.0, 0.02)))["foundation-water", ""].text
    assert "set a channel drain between it and the wall, led to lawn" in mend


def test_where_heave_leaves_the_least_is_asked_of_walls_that_paving_falls_away_from():
    made = water()
    (name,) = [name for name, _ in margins_of(made)]

    def wall(fall):
        return SimpleNamespace(wall=SimpleNamespace(name=name), fall_away=fall)

    assert least_margin(made, [wall(0.02)]) == margins_of(made)[0]
    assert least_margin(made, [wall(-0.005)]) is None
    assert least_margin(made, [wall(0.0)]) is None


def test_the_grid_lies_along_the_longest_wall():
    """Not along the one that lies farthest from where coordinates begin."""
    slant = np.array([3.0, 1.0]) / np.hypot(3, 1)
    long = ("long", np.zeros(2), 10 * slant, np.array([-slant[1], slant[0]]))
    short = ("short", np.array([11.0, 9.0]), np.array([12.0, 9.0]), np.array([0.0, 1.0]))
    for walls in ([long, short], [short, long]):
        along = water(walls=walls, house=box(-2, -6, 14, -5)).relief.along
        assert abs(float(along @ slant)) == pytest.approx(1.0)


def test_water_that_is_lost_on_the_way_is_told(monkeypatch):
    """All that falls ends somewhere: a share that does not is a fault of ours, and says so."""
    assert water().unaccounted < 1e-9
    gather = Downhill.gathered
    monkeypatch.setattr(Downhill, "gathered", lambda way, fell: 0.9 * gather(way, fell))
    assert water().unaccounted == pytest.approx(0.1)


def test_a_drain_in_a_dish_leaves_no_water_standing_in_it():
    dish = {"height": lambda x, y: 5 - 0.03 * y - 0.3 * np.exp(-((x - 10) ** 2 + (y - 6) ** 2))}
    drain = Outfall(name="drain", kind="drain", at=[10, 6])
    reach = {"limits": {"foundation-reach": 10.0}}
    assert [round(spot.at[0]) for spot in water(**dish, **reach, outfalls=[LAWN]).low_spots] == [10]
    assert water(**dish, **reach, outfalls=[drain]).low_spots == ()


def test_a_patio_that_runs_along_the_wall_does_not_wet_it():
    made = water(finish=Plane(5.2, -0.02, 0.0))
    assert "foundation" not in shares(made)
    assert checked(made)["foundation-water", ""].status == "pass"


@pytest.mark.parametrize("turn", [0, 17, 45, 201])
def test_turning_the_site_changes_no_share(turn):
    angle = np.radians(turn)
    spin = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
    from grading.ground.model import surface

    flat = yard(falling)
    ground = surface(np.column_stack([flat.points[:, :2] @ spin.T, flat.points[:, 2]]), warn=False)

    def turned(shape):
        return shapely.transform(shape, lambda xy: xy @ spin.T)

    plane = Plane(5.1, 0.012, -0.02)
    paving = [Paved("patio", turned(PATIO), lambda xy: plane.at(xy @ spin))]
    wall = (WALL[0], *(spin @ vector for vector in WALL[1:]))
    lawn = Outfall(name="lawn", kind="lawn", at=(np.array(LAWN.at) @ spin.T).tolist())
    places = destinations_of([lawn], (), [], ground)
    made = water_of(ground, paving, turned(HOUSE), [wall], places, Limits({}))
    assert shares(made) == {"lawn": 1.0}
    way, side = made.areas[0].edges
    assert way.share == pytest.approx(1 - 4 * (4 * 0.012 / 0.02) / 2 / 24, abs=0.01)
    ends = (np.array([way.start, way.end, side.start, side.end]) @ spin).round(9)
    np.testing.assert_allclose(sorted(ends[:2].tolist()), [[2, 4], [8, 4]], atol=1e-9)
    np.testing.assert_allclose(sorted(ends[2:].tolist()), [[2, 0], [2, 4]], atol=1e-9)


def dish(depth):
    def height(x, y):
        return falling(x, y) - depth * ((np.abs(x - 5) < 1.5) & (np.abs(y - 7) < 0.5))

    return height


def test_a_dish_in_the_lawn_that_the_patio_drains_into_fails():
    made = water(height=dish(0.3))
    assert made.areas[0].share("low spot") > 0.4
    check = checked(made)["low-edge", ""]
    assert check.status == "fail"
    assert "% to a low spot, " in check.text
    assert check.text.count("stands there until") == check.text.count("To mend it: ") == 1
    # Where it is, and once in all how it is mended.
    near = made.areas[0].stands_at
    assert np.hypot(*(near - [5, 7])) < 1.6
    assert f"give the low spot, {Places('ft', (WALL,)).at(made.low_spots[0].at)}" in check.text
    assert "swale" not in check.text
    (itself,) = [c for (rule, _), c in checked(made).items() if rule == "low-spot-ground"]
    assert "To mend it: fill it up by 10 " in itself.text
    assert "cut a swale out of it over where it spills" in itself.text
    (spot,) = made.low_spots
    assert spot.touching == ()
    assert spot.depth == pytest.approx(0.27, abs=0.01)
    assert spot.spill[1] > spot.at[1]
    assert spot.from_house == pytest.approx(7 - 0.8, abs=0.3)
    said = checked(made)[("low-spot-ground", spot_where(checked(made)))]
    assert said.status == "warn"  # beyond the first ten feet
    assert "gal of it" in said.text


@pytest.mark.parametrize("paved", [0.0, 0.0002])
def test_a_low_spot_less_deep_than_is_told_is_mended_by_no_figure(paved):
    made, places = water(outfalls=[LAWN]), Places("ft", (WALL,))
    at = np.array([5.0, 5.0])
    told = of_file(joined(low_spot(made, at, at, 0.0002, 5.0, paved, places), "; "))
    assert "0 in" not in told
    assert "0'" not in told.replace("5'", "")
    assert ("raise the paving there, or turn its fall" if paved else "fill it up;") in told


def spot_where(found):
    return next(where for rule, where in found if rule.startswith("low-spot"))


def test_a_shallow_dish_fills_and_spills():
    made = water(height=dish(0.03))
    assert shares(made) == {"lawn": 1.0}
    assert made.low_spots == ()


def test_a_drain_in_the_dish_takes_the_water():
    drain = Outfall(name="basin", kind="drain", at=[5, 7], z=4.2)
    made = water(height=dish(0.3), outfalls=[LAWN, drain])
    assert made.low_spots == ()
    assert shares(made)["basin"] > 0.4
    assert checked(made)["low-edge", ""].status == "pass"


def test_lawn_above_the_edge_of_the_patio_dams_it():
    made = water(height=lambda x, y: 5.08 + 0 * x, finish=Plane(5.1, 0, -0.02))
    (spot,) = made.low_spots
    assert spot.touching == ("patio",)
    assert spot.on_paving == pytest.approx(0.06, abs=0.002)
    assert spot.level == pytest.approx(5.08)
    assert spot.volume == pytest.approx(6 * 3 * 0.06 / 2, rel=0.03)
    check = checked(made)["low-spot-paving", spot_where(checked(made))]
    assert check.status == "fail"
    assert check.limit == pytest.approx(INCH / 8)


def test_a_site_may_bear_deeper_water():
    height = dish(0.3)
    deep = {"low-spot-ground": 0.5}
    made = water(height=height, limits=deep)
    assert shares(made) == {"lawn": 1.0}


def test_a_channel_drain_across_the_patio_takes_what_lies_above_it():
    drain = Outfall(name="channel", kind="drain", at=[[2, 3], [8, 3]], z=5.04 - INCH / 6)
    made = water(outfalls=[LAWN, drain])
    assert shares(made)["channel"] == pytest.approx(0.76, abs=0.03)
    check = checked(made)["drain-grate", "channel"]
    assert check.status in ("pass", "warn")


def test_a_valley_of_two_planes_drains_along_its_line():
    left, right = box(2, 0, 5, 4), box(5, 0, 8, 4)
    planes = [(left, Plane(5.2, -0.02, -0.015)), (right, Plane(5.0, 0.02, -0.015))]
    made = water(finish=planes)
    (edge,) = made.areas[0].edges
    assert edge.share > 0.9
    assert edge.at == pytest.approx([5, 4], abs=0.3)
    assert made.low_spots == ()


def test_what_leaves_is_the_rain_and_what_runs_on():
    made = water(storm=STORM)
    area = made.areas[0]
    rain = STORM.intensity
    assert area.runoff == pytest.approx(0.85 * rain * 24)
    out = sum(edge.flow for edge in area.edges)
    assert out == pytest.approx(area.runoff, rel=0.01)
    spout = Downspout(name="spout", at=[4, 0], roof=50)
    fed = water(storm=STORM, downspouts=[spout])
    more = sum(edge.flow for edge in fed.areas[0].edges) - out
    assert more == pytest.approx(0.95 * rain * 50, rel=1e-6)
    assert fed.downspouts[0].runoff == pytest.approx(more)
    assert fed.unaccounted < 1e-9


def test_without_a_storm_nothing_runs_off():
    area = water().areas[0]
    assert area.runoff is None
    assert area.edges[0].flow == 0


def test_a_downspout_is_followed_from_the_end_of_its_extension():
    spouts = [
        Downspout(name="short", at=[10, 0], roof=40),
        Downspout(name="long", at=[5, 0], roof=40, to=[5, 2]),
    ]
    short, long = water(downspouts=spouts).downspouts
    assert (short.destination, short.crosses, short.from_house) == ("lawn", (), 0)
    assert (long.destination, long.crosses, long.from_house) == ("lawn", ("patio",), 2)
    assert long.path[0] == pytest.approx([5, 2], abs=0.05)
    found = checked(water(downspouts=spouts))
    assert found["downspout-reach", "short"].status == "warn"
    assert found["downspout-reach", "long"].status == "pass"
    assert found["downspout-reach", "long"].text.endswith(
        "; it is let go 6' 6 3/4\" from the house"
    )
    tipped = water(finish=Plane(5.0, 0, 0.02), downspouts=spouts[1:])
    assert checked(tipped)["downspout-reach", "long"].status == "fail"


def test_a_downspout_a_little_off_the_survey_still_lets_its_water_go_there():
    near, far = (Downspout(name="spout", at=[x, 5], roof=40) for x in (12.5, 40))
    made = water(downspouts=[near, far], storm=STORM)
    beside, astray = made.downspouts
    assert (beside.destination, len(beside.path)) == ("lawn", 2)
    assert beside.path[0] == pytest.approx([12, 5], abs=0.1)
    assert (astray.kind, astray.path.shape) == ("edge of the survey", (0, 2))
    # What is let go off the map is no part of the water on it.
    gathered = made.gathered[made.receiver == np.arange(len(made.gathered))].sum()
    assert gathered == pytest.approx(120 + 40, rel=1e-6)


def test_a_paved_site_off_the_grid_of_the_survey_has_its_own_cells():
    """Paving that reaches beyond the survey is on the map, the ground beside it is not."""
    made = water(outline=box(2, 0, 8, 12), finish=Plane(5.1, 0, -0.02))
    assert made.areas[0].edges[0].at[1] == pytest.approx(12, abs=0.1)
    # Only the rain on its upper half passes the lawn that is named at half its length.
    assert shares(made)["lawn"] == pytest.approx(0.5, abs=0.01)


def test_margins_are_told_for_every_wall_with_paving():
    made = water()
    ((name, left),) = margins_of(made)
    assert name == "wall 1"
    assert left.fall == pytest.approx(0.02)
    found = checked(made)
    assert found["settled-fall", "wall 1"].value == pytest.approx(0.02 - 1 / 48)
    assert found["settled-fall", "wall 1"].status == "warn"
    assert found["settled-fall", "wall 1"].text == (
        "after 1 in of settlement at wall 1 the paving falls 0.08 % BACK to the house; 15/16 in "
        "would use all of it up. To mend it: treat the backfill, or turn the paving so that it "
        "falls 2.1 % away"
    )
    assert found["heaved-fall", "wall 1"].status == "pass"
    metric = checked(made, unit="m")
    assert "after 25 mm of settlement at wall 1" in metric["settled-fall", "wall 1"].text
    assert "after 25 mm of frost heave" in metric["heaved-fall", "wall 1"].text


@pytest.mark.parametrize("fall", [0.015, 0.02, 0.0209, 0.025])
def test_no_margin_is_told_as_gone_in_a_check_that_passes(fall):
    made = water(finish=Plane(5.1, 0.0, -fall))
    for check in checked(made).values():
        if check.rule in ("settled-fall", "heaved-fall"):
            assert (check.status == "warn") == (check.value < 0) == ("BACK" in check.text)


def test_where_the_backfill_rests_the_margin_is_told_for_information():
    why = "the backfill of a house 14 years old has settled"
    check = checked(water(), rests=why)["settled-fall", "wall 1"]
    assert (check.status, check.limit) == ("pass", None)
    assert check.value == pytest.approx(0.02 - 1 / 48)
    assert check.text.startswith(f"not held to settlement: {why}. 1 in of settlement at wall 1 ")


@pytest.mark.parametrize("unit", ["ft", "m"])
def test_what_runs_to_a_neighbour_is_judged_alike_from_a_roof_and_from_paving(unit):
    lot = Outfall(name="the lot below", kind="neighbour", at=[[0, 6], [12, 6]])
    spout = Downspout(name="spout", at=[10, 0], roof=40, to=[10, 3])
    made = water(outfalls=[lot], downspouts=[spout])
    found = checked(made, unit=unit)
    paving, roof = found["low-edge", ""], found["downspout-reach", "spout"]
    assert roof.value > Limits({})["downspout-reach"]
    assert (paving.status, roof.status) == ("warn", "warn")
    assert "runs onto the neighbour's lot" in paving.text
    assert "runs onto the neighbour's lot" in roof.text


def test_what_leaves_the_survey_is_judged_alike_from_a_roof_and_from_paving():
    def statuses(*outfalls):
        spout = Downspout(name="spout", at=[10, 0], roof=40, to=[10, 3])
        found = checked(water(outfalls=outfalls, downspouts=[spout]))
        return found["low-edge", ""].status, found["downspout-reach", "spout"].status

    assert statuses() == ("unknown", "unknown")
    far = Outfall(name="dry well", kind="dry well", at=[[0.5, 9.5]], z=4.5)
    assert statuses(far) == ("warn", "warn")


def test_no_margin_is_told_over_a_strip_narrower_than_a_walk():
    for depth, walls in ((0.9 * LEAST_RUN, ()), (1.1 * LEAST_RUN, ("wall 1",))):
        made = water(outline=box(3, 0, 9, depth))
        assert tuple(name for name, _ in margins_of(made)) == walls


def under(base="open", slope=-0.02, thickness=6 * INCH, **kwargs):
    plane = Plane(4.8, 0.0, slope)
    return water(beneath=[Beneath("patio", base, [(PATIO, plane)], thickness)], **kwargs)


def test_water_under_a_panel_follows_it_away_from_the_wall():
    made = under("panel", thickness=0.0)
    below = made.areas[0].under
    assert (below.held, below.hours, below.falls_away) == (None, None, pytest.approx(0.02))
    assert below.from_house == pytest.approx(4.0)
    check = checked(made)["under-fall", ""]
    assert check.status == "pass"
    assert "top of the panels" in check.text
    assert "falls 2.00 % away from the foundation" in check.text


def test_a_subgrade_that_falls_to_the_house_fails():
    made = under(slope=0.02)
    assert made.areas[0].under.from_house == pytest.approx(0.0)
    assert checked(made)["under-fall", ""].status == "fail"
    assert "falls 2.00 % BACK to the house" in checked(made)["under-fall", ""].text


def test_an_open_base_near_the_house_holds_water_until_it_is_drained():
    made = under(outfalls=[LAWN], storm=STORM)
    below = made.areas[0].under
    assert below.held.volume == pytest.approx(0.4 * 6 * (4 * 6 * INCH - 0.02 * 16 / 2))
    assert below.hours == pytest.approx(0.4 * 6 * INCH / (0.5 * INCH / HOUR) / HOUR)
    near = checked(under(storm=STORM, limits={"foundation-reach": 5.0}), {"foundation-reach": 5.0})
    check = near["stone-reservoir", ""]
    assert check.status == "warn"
    assert "give it a drain at the subgrade" in check.text
    assert checked(made)["stone-reservoir", ""].status == "pass"
    # Far from the house too it is not known how long it stands, without the soil's infiltration.
    dry = checked(under(outfalls=[LAWN]))["stone-reservoir", ""]
    assert dry.status == "unknown"
    assert "; how long it stands is not known without the soil's infiltration" in dry.text
    assert dry.text.endswith("To mend it: give the soil's infiltration, in [storm]")
    pipe = Outfall(name="underdrain", kind="drain", at=[[2, 4.2], [8, 4.2]], z=4.72)
    assert under(outfalls=[LAWN, pipe]).areas[0].under.held.volume == pytest.approx(0.0, abs=1e-9)


def test_a_grate_above_the_surface_is_refused_with_a_sentence():
    ground, surfaces = yard(falling), [(PATIO, FINISH.at)]

    def said(z, at=(5, 3), kind="drain"):
        outfall = Outfall(name="channel", kind=kind, at=at, z=z)
        return grate_too_high(outfall, surfaces, ground, Places("m", (WALL,)))

    assert str(said(5.06)) == (
        'site.toml, outfall "channel", key z: found a grate at 5.060 m, expected one below the '
        "finished surface, which is at 5.040 m, 7 m from the left end of wall 1, 3 m out. Lower "
        "the grate, or move the drain to where the surface is higher."
    )
    assert said(5.04) is None
    assert said(5.06, kind="lawn") is None
    assert said(None) is None
    assert said(5.06, at=(50, 50)) is None
    assert "7 m from the left end of wall 1, 4 m out" in str(said(5.03, at=[[5, 1], [5, 4]]))


def test_a_grate_is_a_little_below_the_pavers():
    def status(below):
        z = float(FINISH.at(np.array([[5.0, 3.0]]))[0]) - below
        drain = Outfall(name="grate", kind="drain", at=[5, 3], z=z)
        return checked(water(outfalls=[LAWN, drain]))["drain-grate", "grate"].status

    assert status(-0.01) == "fail"
    assert status(0.2 * INCH) == "pass"
    assert status(1.0 * INCH) == "warn"


def test_a_site_without_a_house_has_no_foundation_to_wet():
    made = water(house=shapely.Polygon(), walls=())
    found = checked(made)
    assert ("foundation-water", "") not in found
    assert made.walls == ()
    assert made.areas[0].verdict == "named"


def test_a_drop_is_followed_from_any_point():
    made = water()
    path = made.path(np.array([5.0, 1.0]))
    assert path[0] == pytest.approx([5, 1], abs=0.05)
    assert path[-1] == pytest.approx([5, 10], abs=0.1)
    assert made.path(np.array([5.0, -3.0])).shape == (0, 2)
    assert made.path(np.array([500.0, 0.0])).shape == (0, 2)


def test_every_check_names_its_rule_and_source():
    made = under(storm=STORM, downspouts=[Downspout(name="spout", at=[10, 0], roof=40)])
    for check in water_checks(made, Limits({}, "m"), Places("m", (WALL,))):
        assert check.rule in RULES
        assert check.source == RULES[check.rule].source_in("m")
        assert check.text[0].islower() or check.text[0].isdigit()


def test_round_edges_are_one_side_and_holes_are_sides_too():
    round_end = box(0, 0, 4, 2).union(shapely.Point(4, 1).buffer(1, quad_segs=16))
    outline = round_end - shapely.Point(2, 1).buffer(0.3)
    sides = sides_of(outline)
    assert sum(side.length for side in sides) == pytest.approx(outline.length)
    assert len(sides) == 3  # two square corners at one end, and the pocket
    assert len(sides_of(box(0, 0, 1, 2))) == 4


@pytest.mark.parametrize("spacing", [0.05, 0.1, 0.2])
def test_the_size_of_the_cells_changes_little(spacing):
    made = water(finish=Plane(5.1, -0.01, -0.02), spacing=spacing)
    assert shares(made) == {"lawn": 1.0}
    assert made.areas[0].edges[0].share == pytest.approx(1 - 4 * 2 / 2 / 24, abs=0.15 * spacing)
    assert made.walls[0].paved.fall == pytest.approx(0.02)


def test_the_ten_feet_are_those_of_the_rule():
    assert Limits({})["foundation-reach"] == pytest.approx(10 * FOOT)


def parting(x, y):
    """A crown in the lawn before the patio parts its water to both sides."""
    return 5.0 - 0.03 * y - 0.05 * np.abs(x - 5)


def test_an_edge_whose_water_parts_is_told_for_each_place_and_all_adds_up():
    left = Outfall(name="left lawn", kind="lawn", at=[[0.5, 0.5], [0.5, 9.5]])
    right = Outfall(name="right lawn", kind="lawn", at=[[11.5, 0.5], [11.5, 9.5]])
    made = water(height=parting, outfalls=[left, right])
    edges = made.areas[0].edges
    assert len({tuple(edge.start) for edge in edges}) < len(edges)
    for name, share in shares(made).items():
        own = [edge for edge in edges if edge.destination == name]
        assert sum(edge.share for edge in own) == pytest.approx(share, abs=0.02)
        (place,) = [place for place in made.destinations if place.name == name]
        for edge in own:
            assert shapely.LineString(edge.path).intersects(place.reached(made.relief.spacing))
    assert sum(shares(made).values()) == pytest.approx(1.0, abs=0.01)
    assert min(shares(made).values()) > 0.3


def test_rain_that_ends_in_a_drain_on_the_paving_leaves_over_no_edge():
    drain = Outfall(name="basin", kind="drain", at=[[2, 3], [5, 3]])
    made = water(outfalls=[LAWN, drain])
    taken = shares(made)["basin"]
    assert taken > 0.3
    assert sum(edge.share for edge in made.areas[0].edges) == pytest.approx(1 - taken, abs=0.01)


def test_no_water_leaves_over_the_part_of_a_side_that_is_at_the_house():
    # The turn is so slight that the wall's side and the next are one side.
    outline = shapely.Polygon([(2, 0), (8, 0), (9.9, 0.5), (9.9, 4), (2, 4)])
    made = water(outline=outline, finish=Plane(5.2, -0.02, 0.0), height=lambda x, y: 4.9 - 0.03 * x)
    stretches = shapely.union_all([edge.stretch for edge in made.areas[0].edges])
    assert stretches.distance(shapely.Point(9, 0.25)) < 0.02
    assert stretches.distance(HOUSE) >= 0.1 - 1e-9


def verdict(**ends):
    """Return what is said of an area whose rain ends in these shares, the rest where it may."""
    kinds = {kind.replace("_", " "): share for kind, share in ends.items()}
    parts = [Share(kind, kind, share) for kind, share in kinds.items()]
    parts.append(Share("lawn", "lawn", 1 - sum(kinds.values())))
    return replace(water().areas[0], shares=tuple(parts)).verdict


@pytest.mark.parametrize("kind", ["low_spot", "edge_of_the_survey", "neighbour"])
def test_what_ends_astray_is_told_from_a_twentieth_of_the_rain(kind):
    assert verdict(**{kind: 0.049}) == "named"
    assert verdict(**{kind: 0.051}) == kind.replace("_", " ")


def test_a_trace_of_water_at_the_foundation_is_told_before_all_else():
    assert verdict(foundation=0.001) == "foundation"
    assert verdict(foundation=0.001, low_spot=0.4, edge_of_the_survey=0.4) == "foundation"


def test_of_water_astray_the_worst_is_told_and_not_the_most():
    assert verdict(low_spot=0.1, edge_of_the_survey=0.3, neighbour=0.4) == "low spot"
    assert verdict(edge_of_the_survey=0.1, neighbour=0.6) == "edge of the survey"


@pytest.mark.parametrize(("kind", "empties"), [("swale", True), ("drain", True), ("street", False)])
def test_a_swale_beside_the_stone_empties_it_as_a_drain_does(kind, empties):
    """4.72 m is the lowest of the subgrade: at that level nothing is left standing in it."""
    beside = Outfall(name="beside", kind=kind, at=[[2, 4.2], [8, 4.2]], z=4.72)
    held = under(outfalls=[LAWN, beside]).areas[0].under.held
    assert (held.volume == pytest.approx(0.0, abs=1e-9)) == empties
    away = Outfall(name="away", kind=kind, at=[[2, 5.2], [8, 5.2]], z=4.72)
    assert under(outfalls=[LAWN, away]).areas[0].under.held.volume > 1.0


def test_settlement_is_told_over_all_the_paving_from_the_wall_to_its_outer_edge():
    """Two planes in front of a wall: the gentler one begins 2 m out, and the paving ends at 4 m."""
    near, far = box(2, 0, 8, 2), box(2, 2, 8, 4)
    made = water(finish=[(near, Plane(5.1, 0.0, -0.03)), (far, Plane(5.08, 0.0, -0.02))])
    ((_, left),) = margins_of(made)
    assert left.fall == pytest.approx(0.02)
    # How far the 10 ft of the rule go, or less where paving does.
    assert left.run == pytest.approx(10 * FOOT)
    assert left.heaved == pytest.approx(0.02 - INCH / (10 * FOOT))


def test_what_the_site_calls_by_one_name_is_one_place():
    """Two lots of the neighbour's: what runs there is told together, and the worst place first."""
    parts = (Share("lawn", "lawn", 0.5), Share("ditch", "swale", 0.1), Share("lawn", "lawn", 0.2),
             Share("lot 4", "foundation", 0.2))  # fmt: skip
    told = ends_of(replace(water().areas[0], shares=parts))
    assert [(end.name, end.share) for end in told] == [
        ("lot 4", 0.2), ("lawn", pytest.approx(0.7)), ("ditch", 0.1)
    ]  # fmt: skip


def test_where_water_leaves_the_survey_is_told_of_the_edge_that_it_leaves_over():
    """More of it runs to a drain over another edge, listed first: that is not the place."""
    made = water(outfalls=[Outfall(name="drain", kind="drain", at=[11, 9])])
    (area,) = made.areas
    astray = area.edges[0]
    other = replace(astray, kind="drain", destination="drain", path=astray.path + 1.0)
    both = replace(made, areas=(replace(area, edges=(other, *area.edges)),))
    assert checked(both)["low-edge", ""].text == checked(made)["low-edge", ""].text
    assert "it crosses that edge" in checked(made)["low-edge", ""].text


def test_of_low_spots_the_one_that_the_water_ends_in_is_to_be_mended():
    made = water(height=dish(0.3))
    (spot,) = made.low_spots
    other = replace(spot, at=spot.at * 0.1)
    both = replace(made, low_spots=(other, spot))
    place = Places("ft", (WALL,)).at(spot.at)
    assert f"give the low spot, {place}" in checked(both)["low-edge", ""].text


@pytest.mark.parametrize(
    ("on_paving", "from_house", "rule", "value", "status"),
    [
        (0.0, 9.0, "low-spot-ground", 0.4, "warn"),
        (0.0, 1.0, "low-spot-ground", 0.4, "fail"),
        (0.0, None, "low-spot-ground", 0.4, "warn"),
        (0.05, 9.0, "low-spot-paving", 0.05, "fail"),
    ],
)
def test_water_that_stands_fails_on_paving_and_by_the_house_and_is_looked_at_elsewhere(
    on_paving, from_house, rule, value, status
):
    spot = LowSpot(
        np.array([5.0, 8.0]), np.array([6.0, 9.0]), 0.4, 5.0, 1.0, 4.0, ("patio", "walk"),
        from_house, on_paving,
    )  # fmt: skip
    made = replace(water(), low_spots=(spot,))
    (check,) = [each for each in checked(made).values() if each.rule.startswith("low-spot")]
    assert (check.rule, check.status, check.area) == (rule, status, "patio")
    assert check.value == pytest.approx(value)
