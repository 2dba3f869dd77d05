"""Drains as they are built: led to a place that lies low enough or told not to be, counted, dug."""

from __future__ import annotations

import re

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.checks.drains import drain_checks
from grading.crew.model import default_crew
from grading.order.model import order_of
from grading.pipeline import plan
from grading.records.structures import structures_record
from grading.site.model import GroundSpec
from grading.site.water_tables import Downspout, Outfall, Storm
from grading.structures.built import drains
from grading.structures.drains.membrane import membranes
from grading.units import FOOT, HOUR, INCH
from grading.water.hydraulics.channel import level_flow
from grading.water.hydraulics.grate import grate_flow
from grading.water.hydraulics.pipe import pipe_flow

WIDE, DEEP = 6.0, 5.0
HOUSE = {"walls": [(-2, 0), (9, 0)], "inside": (3, -4)}
RAIN = 100e-3 / HOUR
FALL = 0.06  # of the ground beyond the paving


def ground(x, y):
    return 10.0 - FALL * np.maximum(y - DEEP, 0.0) + 0.0 * x


def yard(
    outfalls=(), downspouts=(), *, storm=True, base="dense", soil="loam", house=HOUSE, bearing=0
):
    """A patio 6 x 5 m that falls 2 % from the house at 10.0; the lawn beyond it falls 6 %."""
    spots = grid_of_spots(ground, ((-4, -3), (11, 15)))
    ring = [(0, 0), (WIDE, 0), (WIDE, DEEP), (0, DEEP)]
    area = {"name": "patio", "outline": ring, "base": base,
            "plane": {"at": [0, 0], "z": 10.15, "fall": "2 %", "bearing": bearing}}  # fmt: skip
    site = site_of(spots, [area], house=house, ground=GroundSpec(soil=soil))

    def read(model, tables):
        return tuple(model.model_validate(one, context={"unit": "m"}) for one in tables)

    rain = Storm.model_validate({"intensity": "100 mm/h"}, context={"unit": "m"})
    more = {"outfalls": read(Outfall, outfalls), "downspouts": read(Downspout, downspouts),
            "storm": rain if storm else None}  # fmt: skip
    return plan(replace(site, **more))


def built(made):
    (area,) = made.areas
    return {one.name: one for one in drains(made, area, area.chosen_dig, made.crew)}


def checked(made):
    return {(one.rule, one.where): one for one in drain_checks(made)}


LAWN = {"name": "low lawn", "kind": "lawn", "at": [[-3, 14], [10, 14]]}
CHANNEL = {"name": "channel", "kind": "drain", "at": [[0, DEEP], [WIDE, DEEP]], "width": 0.1}


@pytest.fixture(scope="module")
def channelled():
    return yard([CHANNEL, LAWN])


def test_a_channel_is_led_to_the_place_that_lies_low_enough(channelled):
    """Closed form: the finish at the low edge is 10.15 - 5 x 2 %, the grate 3/16 in below it (the
    mean of its limits), the bottom 4 in below that; the lawn 9 m on lies 9 x 6 % lower."""
    drain = built(channelled)["channel"]
    grate = 10.15 - DEEP * 0.02 - 0.5 * sum(channelled.limits.pair("drain-grate"))
    bottom = grate - 4 * INCH
    out = 14 - DEEP
    assert drain.runs[0].inverts == pytest.approx(bottom)
    assert drain.led.outlet == "low lawn"
    assert drain.led.length == pytest.approx(out, abs=0.02)
    # It drops at the end of the channel to lie 6 in below the lawn as far as that can be.
    shallow = 10 * INCH / (FALL - 1 / 96)
    assert 1 / 96 - 1e-9 <= drain.led.slope <= FALL - 10 * INCH / (shallow + 0.25) + 1e-3
    assert drain.runs[-1].inverts[0] < bottom
    assert drain.runs[-1].inverts[-1] == pytest.approx(10 - FALL * out, abs=2e-3)
    check = checked(channelled)["drain-outlet", "channel"]
    assert (check.status, check.where) == ("pass", "channel")
    assert check.value == pytest.approx(drain.led.slope)


def test_what_a_channel_takes_is_the_least_of_grate_channel_and_pipe(channelled):
    drain = built(channelled)["channel"]
    takes = dict(drain.capacity.parts)
    assert takes["grate"] == pytest.approx(grate_flow(WIDE, 0.1 * WIDE * 0.30, 0.0127, 0.5))
    assert takes["channel"] == pytest.approx(level_flow(0.1, 3 * INCH, WIDE, 0.011), rel=0.05)
    assert takes["outlet pipe"] == pytest.approx(pipe_flow(4 * INCH, drain.led.slope, 0.012))
    part, least = drain.capacity.governing
    assert (part, least) == min(takes.items(), key=lambda one: one[1])
    # The rain of the patio, .9 of it or so, comes to its low edge.
    assert drain.capacity.coming == pytest.approx(RAIN * WIDE * DEEP * 0.9, rel=0.25)
    assert checked(channelled)["drain-capacity", "channel"].status == "pass"
    assert f"as its {part} does" in drain.said


def test_a_channel_is_counted_dug_and_ordered(channelled):
    """Brute force over its line and its pipe: steps of a millimetre, by the figures it is said to
    have: 4 in of concrete below and beside, 12 in of trench, 2 in of bed below the pipe."""
    drain = built(channelled)["channel"]
    lines = {line.title: line for maker in drain.makers for line in maker.lines(default_crew())}
    assert lines["channel of channel"].net == pytest.approx(WIDE)
    assert lines["solid pipe of channel"].net == pytest.approx(drain.led.length)
    pipe = drain.runs[-1]
    xy, invert = pipe.stations(1e-3)
    dig = channelled.areas[0].chosen_dig
    inside = shapely.intersects_xy(dig.polygon, xy)
    top = np.where(inside, dig.formation.at(xy), 10 - FALL * np.maximum(xy[:, 1] - DEEP, 0))
    deep = np.maximum(top - (invert - 2 * INCH), 0)
    trench = np.trapezoid(deep, dx=1e-3) * 12 * INCH
    channel = drain.runs[0]
    under = max(float(dig.formation.at(np.array([[3.0, DEEP]]))[0])
                - (channel.inverts[0] - 4 * INCH - 5 / 8 * INCH), 0.0)  # fmt: skip
    body = 0.1 + 2 * 5 / 8 * INCH + 8 * INCH
    assert drain.dug.bank == pytest.approx(trench + under * body * WIDE, rel=0.03)
    assert 0 < drain.dug.put_back < drain.dug.bank
    ordered = {
        supply.item
        for supply in order_of(channelled, default_crew()).areas[0].bases["dense"].supplies
    }
    assert {"channel", "channel-end", "drain-pipe", "drain-screen", "cleanout"} <= ordered
    assert any("locate" in caution for caution in drain.cautions)


def test_the_concrete_round_a_channel_holds_the_edge_that_it_lies_along(channelled):
    """No restraint is ordered along it: as much less as the channel is long, and as the half of it
    that lies in the paving is wide at either end."""
    bare = yard()
    edges = [made.order.areas[0].takeoffs["dense"].free_edge for made in (bare, channelled)]
    (channel,) = [each for each in channelled.site.outfalls if each.kind == "drain"]
    ends = 0.1 + 2 * 5 / 8 * INCH
    assert edges[0] - edges[1] == pytest.approx(channel.geometry.length + ends, abs=1e-6)


WALL, BED = 5 / 8 * INCH, 4 * INCH  # of a channel or a basin, and the concrete round it
MIDDLE = {"name": "drain", "kind": "drain", "at": [[0, 2.5], [WIDE, 2.5]], "width": 0.1}
BASIN = {"name": "drain", "kind": "drain", "at": [[3, 2.5]], "width": 0.3}


@pytest.mark.parametrize("base", ["dense", "open", "panel"])
@pytest.mark.parametrize(
    ("drain", "open_to_the_sky", "concrete", "sawn"),
    [
        (MIDDLE, WIDE * (0.1 + 2 * WALL), WIDE * (0.1 + 2 * WALL + 2 * BED), 2 * WIDE),
        (BASIN, (0.3 + 2 * WALL) ** 2, (0.3 + 2 * WALL + 2 * BED) ** 2, 4 * (0.3 + 2 * WALL)),
    ],
    ids=["channel", "basin"],
)
def test_no_paver_is_laid_over_a_grate_nor_a_base_in_its_concrete(
    base, drain, open_to_the_sky, concrete, sawn
):
    """Closed form, by the plan alone: pavers and what fills their joints are less by the body of
    the drain, bed, panels and base by the concrete round it; and pavers are sawn along it, but for
    what of it lies in a joint."""
    jobs = [
        yard(each, base=base).order.areas[0].takeoffs[base] for each in ((LAWN,), (LAWN, drain))
    ]
    bare, drained = jobs
    assert bare.pavers.area - drained.pavers.area == pytest.approx(open_to_the_sky, rel=1e-9)
    for one, other in zip(bare.layers, drained.layers, strict=True):
        less = open_to_the_sky if one.layer.role == "paver" else concrete
        assert one.area - other.area == pytest.approx(less, rel=1e-9), one.layer.name
    more = drained.pavers.field.cut_length - bare.pavers.field.cut_length
    assert 0.8 * sawn <= more <= 1.05 * sawn
    if bare.panels is not None:
        assert drained.panels.covered < bare.panels.covered
    assert not any("along the drain" in work.title for each in drained.structures
                   for work in each.works)  # fmt: skip


def test_stone_is_laid_under_a_channel_that_does_not_go_down_to_the_bottom_of_the_hole():
    """Closed form: the finish falls 2 % over the line, which is level: 10.15 - 2.5 x 2 %; the hole
    is 9 3/8 in deep, the concrete's underside 4 + 5/8 + 4 in below the grate."""
    made = yard((MIDDLE, LAWN))
    middle = 10.15 - 2.5 * 0.02
    lip = 0.5 * sum(made.limits.pair("drain-grate"))
    wide = 0.1 + 2 * WALL + 2 * BED
    # The grate lies below the lowest place of its own line.
    under = (middle - lip - 4 * INCH - WALL - BED) - (middle - (2 + 3 / 8 + 1 + 6) * INCH)
    assert under > 0.02 * wide / 2  # all across, though the hole falls under it
    lines = [line for each in built(made)["drain"].makers for line in each.lines(made.crew)]
    (line,) = [line for line in lines if line.title == "stone under drain"]
    assert line.compacted == pytest.approx(under * wide * WIDE, rel=1e-6)
    assert line.item == "dense-graded"


def test_a_channel_is_drawn_as_it_is_counted(channelled):
    """Bodies: grate on channel on concrete, the concrete as much as is ordered, less its allowance;
    pipe at its inverts."""
    drain = built(channelled)["channel"]
    by = {}
    for solid in drain.solids:
        by.setdefault(solid.material, []).append(solid)
    assert set(by) == {"concrete", "channel", "grate", "pipe"}

    def volume(solid):
        bottom, top = solid.between(shapely.get_coordinates(solid.footprint.centroid))
        return float((top - bottom)[0]) * solid.footprint.area

    (grate,), (body,) = by["grate"], by["channel"]
    assert grate.bottom == body.top
    assert grate.top - drain.runs[0].inverts[0] == pytest.approx(4 * INCH)
    lines = {line.title: line for maker in drain.makers for line in maker.lines(default_crew())}
    concrete = sum(map(volume, by["concrete"]))
    assert concrete * default_crew()["concrete-density"] == pytest.approx(
        lines["concrete of channel"].net, rel=1e-6
    )
    pipe = by["pipe"][-1]
    end = drain.led.line[-1:]
    assert pipe.between(end)[0][0] == pytest.approx(drain.led.z, abs=1e-6)


def test_the_hole_and_the_hours_hold_what_a_drain_takes(channelled):
    crew = default_crew()
    bare = order_of(yard([LAWN]), crew).areas[0].bases["dense"]
    job = order_of(channelled, crew).areas[0].bases["dense"]
    drain = built(channelled)["channel"]
    assert job.cut - bare.cut == pytest.approx(drain.dug.bank, rel=1e-6)
    titles = {task.title for task in job.tasks} - {task.title for task in bare.tasks}
    assert {"set channel drain", "lay drain pipe", "place concrete round the drain"} <= titles
    assert job.time.mean / HOUR > bare.time.mean / HOUR + 4
    assert job.cost.total > bare.cost.total + 500


def test_the_record_tells_where_it_goes_and_what_it_takes(channelled):
    drain = built(channelled)["channel"]
    (told,) = structures_record([drain], default_crew())
    assert told["drain"]["outlet"]["name"] == "low lawn"
    assert told["drain"]["outlet"]["slope"] == pytest.approx(drain.led.slope)
    assert told["drain"]["capacity"]["governs"] == drain.capacity.governing[0]
    assert told["drain"]["runs"][0]["kind"] == "channel"


def test_a_drain_whose_place_lies_too_high_has_no_outlet():
    """A street as high as the grate: it fails, and says by how much; no pipe is counted."""
    street = {"name": "street", "kind": "street", "at": [[-3, 9], [10, 9]], "z": 10.0}
    made = yard([CHANNEL, street])
    drain = built(made)["channel"]
    assert not drain.led.reached
    bottom = drain.runs[0].inverts[-1]
    least = made.limits["drain-slope"]
    assert drain.led.short == pytest.approx(10.0 + least * 4.0 - bottom, abs=2e-3)
    check = checked(made)["drain-outlet", "channel"]
    assert check.status == "fail"
    assert "has no outlet: street lies" in check.text
    assert "To mend it: lead it to a place that lies" in check.text
    assert not any(run.kind == "solid pipe" for run in drain.runs)
    assert any("the pipe of channel" in each for each in drain.not_counted)


def test_a_drain_of_which_nothing_is_known_does_not_pass():
    """No place is named, and no storm: neither where it goes nor what comes is known."""
    made = yard([CHANNEL], storm=False)
    found = checked(made)
    outlet, takes = found["drain-outlet", "channel"], found["drain-capacity", "channel"]
    assert (outlet.status, takes.status) == ("unknown", "unknown")
    assert "the site names no place" in outlet.text
    assert "add an [[outfall]]" in outlet.text


def test_a_drain_is_led_to_another_that_is_built_only_by_name():
    """What is built is led out itself: water in it is not yet led anywhere."""
    low = {"name": "basin", "kind": "drain", "at": [[3.0, DEEP + 0.1]], "z": 9.0}
    found = built(yard([CHANNEL, low, LAWN]))
    assert found["channel"].led.outlet == "low lawn"
    named = built(yard([{**CHANNEL, "outlet": "basin"}, low, LAWN]))
    assert named["channel"].led.outlet == "basin"
    there = built(yard([CHANNEL, {**low, "existing": True}, LAWN]))
    assert there["channel"].led.outlet == "basin"


def test_stone_with_an_underdrain_is_not_told_to_want_one():
    """Where it comes out the stone is emptied; where no place is named it is not."""
    for places, status in (([LAWN], "pass"), ([], "unknown")):
        made = yard(places, base="open")
        (check,) = (one for one in made.checks if one.rule == "stone-reservoir")
        assert ("its underdrain lets it out" in check.text) == bool(places)
        assert (check.status == "pass") == bool(places)
        assert checked(made)["drain-outlet", "underdrain of patio"].status == status


def test_an_underdrain_lies_in_the_stone_and_not_in_the_wall_that_holds_it():
    made = sampled("raised-patio")
    (area,) = made.areas
    *_, drain = drains(made, area, area.chosen_dig, made.crew)
    pipe = drain.runs[0]
    assert pipe.kind == "perforated pipe"
    structures = made.order.of(area).takeoffs[area.chosen].structures
    (wall,) = (each for each in structures if each.kind == "block wall")
    stands = [solid.footprint for solid in wall.solids if solid.material in ("block", "cap")]
    away = shapely.LineString(pipe.line).distance(shapely.union_all(stands))
    assert away > made.crew["underdrain-pipe"] / 2


def test_a_basin_and_a_pipe_that_turns():
    basin = {"name": "basin", "kind": "drain", "at": [[3, 2.5]], "outlet": "low lawn",
             "via": [[8, 2.5]]}  # fmt: skip
    drain = built(yard([basin, LAWN]))["basin"]
    lines = {line.title: line.net for maker in drain.makers for line in maker.lines(default_crew())}
    assert drain.kind == "drain basin"
    assert drain.led.length == pytest.approx(5.0 + 11.5, abs=0.02)
    # One at its outlet, and one where it turns by a right angle.
    assert lines["bends of basin"] == 2


def test_a_drain_that_is_there_is_not_built():
    assert built(yard([{**CHANNEL, "width": None, "existing": True}, LAWN])) == {}


SPOUT = {"name": "spout", "at": [7.0, 0.2], "roof": "39 m2"}


def test_an_extension_comes_out_above_the_ground():
    """Closed form: it ends on the lawn at 10 - 6 % x 8 m. Where the least fall, 1:96, would leave
    6 in over its 4 in it has them: at d from its end that is 6 % d - 10 in >= d / 96, from 5.12 m
    on, and there it is held by just that."""
    made = yard([LAWN], [{**SPOUT, "to": [7.0, 13.0]}])
    drain = built(made)["extension of spout"]
    end = 10.0 - FALL * 8.0
    shallow = 10 * INCH / (FALL - 1 / 96)
    assert drain.led.z == pytest.approx(end, abs=1e-3)
    # Stations are a quarter of a metre apart, so it may rise a little above the least fall.
    assert 1 / 96 - 1e-9 <= drain.led.slope <= FALL - 10 * INCH / (shallow + 0.25) + 1e-3
    found = checked(made)
    assert found["drain-outlet", "extension of spout"].status == "pass"
    assert drain.cover.least >= 6 * INCH - 1e-6
    assert drain.cover.shallow == pytest.approx(shallow, abs=0.4)
    cover = found["pipe-cover", "extension of spout"]
    assert (cover.status, "within the last" in cover.text) == ("warn", True)
    assert drain.capacity.coming == pytest.approx(0.95 * RAIN * 39.0, rel=0.01)
    lines = {line.title: line.net for maker in drain.makers for line in maker.lines(default_crew())}
    assert lines["adapters of spout"] == lines["pop-up with a weep hole of spout"] == 1


def test_an_extension_that_would_end_below_the_lawn_has_no_outlet():
    made = yard([LAWN], [{**SPOUT, "to": [7.0, 6.0]}])
    check = checked(made)["drain-outlet", "extension of spout"]
    assert check.status == "fail"
    assert "too high" in check.text


def test_an_extension_off_the_survey_is_not_known_to_end_low_enough():
    made = yard([LAWN], [{**SPOUT, "to": [7.0, 15.5]}])
    check = checked(made)["drain-outlet", "extension of spout"]
    assert check.status == "unknown"
    assert "not surveyed" in check.text


SOAK = {"pit": [1.0, 0.75, 1.0], "minutes": 56}
WELL = {"name": "dry well", "kind": "dry well", "at": [[7.0, 12.0]], "soak_test": SOAK}
INTO = {**SPOUT, "to": [7.0, 12.0]}


def test_a_dry_well_holds_a_storm_of_two_inches():
    """39 m2 of roof (420 ft2) in full: A d / v = 39 x .0508 / .4 m3 of stone, in 4 ft of depth; it
    soaks by the pit of the worked example, 4.461e-5 m/s, through its sides alone."""
    made = yard([WELL, LAWN], [INTO])
    drain = built(made)["dry well"]
    stone = 39.0 * 2 * INCH / 0.4
    assert drain.well.stone >= stone
    assert drain.well.stone == pytest.approx(stone, rel=0.1)  # and what of the lawn runs into it
    assert drain.well.soak == pytest.approx(4.461e-5, rel=1e-3)
    length, width, deep = drain.well.sides
    assert deep == pytest.approx(4 * FOOT)
    hours = 0.4 * drain.well.stone / ((length + width) * deep * 4.461e-5) / HOUR
    assert drain.well.hours == pytest.approx(hours, rel=1e-3)
    found = checked(made)
    statuses = {rule: found[rule, "dry well"].status for rule in
                ("dry-well-distance", "dry-well-size", "dry-well-soil")}  # fmt: skip
    assert set(statuses.values()) == {"pass"}
    assert drain.dug.bank == pytest.approx(length * width * (deep + FOOT), rel=1e-6)
    # Its inlet is the pipe of the downspout, which ends at the top of its stone.
    inlet = built(made)["extension of spout"]
    assert inlet.led.z == pytest.approx(10 - FALL * 7 - FOOT, abs=2e-3)


@pytest.mark.parametrize(
    ("soil", "test", "status", "words"),
    [
        ("clay", None, "fail", "no soak test"),
        ("loam", None, "unknown", "not known"),
        ("clay", SOAK, "pass", "by its soak test"),
        ("loam", {**SOAK, "minutes": 24 * 60}, "fail", "less than"),
    ],
)
def test_a_dry_well_wants_soil_that_takes_water_in(soil, test, status, words):
    """A published brief: none under .27 in/h (1.9e-6 m/s); the slowest pit takes 1.7e-6."""
    made = yard([{**WELL, "soak_test": test}, LAWN], [INTO], soil=soil)
    check = checked(made)["dry-well-soil", "dry well"]
    assert check.status == status
    assert words in check.text
    counted = bool(built(made)["dry well"].makers)
    assert counted == (soil != "clay" or test is not None)


def test_a_dry_well_by_the_house_or_too_small_does_not_pass():
    near = {**WELL, "at": [[[6.5, 1], [7.5, 1], [7.5, 2], [6.5, 2], [6.5, 1]]][0], "depth": 1.0}
    made = yard([near, LAWN], [{**SPOUT, "to": [7.0, 1.5]}])
    found = checked(made)
    assert found["dry-well-distance", "dry well"].status == "fail"
    size = found["dry-well-size", "dry well"]
    assert size.status == "warn"
    assert "more of stone" in size.text
    # A cubic metre of stone is 400 L of voids; 39 m2 of roof bring 1981 L in 2 in of rain.
    plain = built(made)["dry well"].plain
    holds, comes = (float(each.replace(",", "")) for each in re.findall(r"([\d,]+) L", plain))
    assert holds == 400
    assert comes == pytest.approx(1981, rel=0.1)
    assert plain.endswith("what is more runs over.")


def test_a_dry_well_that_nothing_is_led_to_is_not_known_to_be_large_enough():
    found = checked(yard([{**WELL, "at": [[10.0, 1.0]]}, LAWN]))
    assert found["dry-well-size", "dry well"].status in ("unknown", "pass")


def test_a_membrane_follows_its_stone_where_that_falls_along_the_wall():
    made = yard(base="open", bearing=90)
    (area,) = made.areas
    dig, (membrane,) = area.chosen_dig, membranes(made, area, area.chosen_dig, made.crew)
    paver = sum(each.thickness for each in dig.system.layers if each.role == "paver")
    whole = shapely.union_all([each.footprint for each in membrane.solids])
    along = np.column_stack([np.linspace(0.01, WIDE - 0.01, 13), np.zeros(13)])
    assert shapely.intersects_xy(whole, along).all()
    finish = 10.15 - 0.02 * along[:, 0]
    for solid in membrane.solids:
        here = shapely.intersects_xy(solid.footprint, along)
        bottom, top = solid.between(along[here])
        assert top == pytest.approx(finish[here] - paver)
        assert bottom == pytest.approx(finish[here] - dig.build_up)


def test_work_that_is_called_alike_is_told_once_however_many_drains_there_are():
    """Two channels: the pipe of both in one row, as long and as slow as that of each together."""
    other = {**CHANNEL, "name": "other", "at": [[0, 2.5], [WIDE, 2.5]]}
    jobs = [
        yard([*some, LAWN]).order.total for some in ((CHANNEL, other), (CHANNEL,), (other,), ())
    ]
    both, one, two, none = ({task.title: task for task in job.tasks} for job in jobs)
    assert len(both) == len(jobs[0].tasks)
    for title in ("set channel drain", "lay drain pipe", "fittings and ends of drains"):
        assert title not in none
        assert both[title].amount == pytest.approx(one[title].amount + two[title].amount)
        assert both[title].mean == pytest.approx(one[title].mean + two[title].mean)
