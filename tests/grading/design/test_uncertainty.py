"""The plus-or-minus of a design's numbers, and the checks that hang on the ground."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from msgspec.structs import replace

from grading.checks.ground import unsure_of_level
from grading.ground.certainty import certainty_of
from grading.order.model import bins_between
from grading.pipeline import plan
from grading.records.plan import record
from grading.site.model import Done, GroundSpec
from grading.units import FOOT

GIVEN = {"plane": {"at": [1, 0], "z": 30.2, "fall": "2 %", "bearing": 0}}
NARROW = {**PATIO, **GIVEN, "outline": [[1, 0], [9, 0], [9, 1.5], [1, 1.5]]}


def rolling(fall=0.02, rough=0.06, lift=0.0):
    def height(x, y):
        return 30 + lift - fall * y + rough * np.sin(x * 1.1) * np.cos(y * 0.9)

    return height


def made(area=None, height=None, spacing=2.5, **others):
    spots = grid_of_spots(height or rolling(), spacing=spacing)
    return plan(
        site_of(spots, [{**PATIO, **GIVEN} if area is None else area], house=WALL, **others)
    )


@pytest.fixture(scope="module")
def sparse():
    return made()


def test_a_dig_without_a_zero_line_is_known_as_its_volume_is(sparse):
    """Cut then is the level's integral less a constant: by a grid of its own, laid elsewhere."""
    dig, known = sparse.areas[0].digs["dense"], sparse.uncertainty
    assert dig.fill < 1e-3
    west, south, east, north = dig.polygon.bounds
    x, y = np.meshgrid(np.arange(west, east, 0.31) + 0.1, np.arange(south, north, 0.31) + 0.1)
    xy = np.column_stack((x.ravel(), y.ravel()))
    xy = xy[shapely.contains_xy(dig.polygon, xy[:, 0], xy[:, 1])]
    certainty = certainty_of(sparse.ground.measured, shapely.get_coordinates(dig.polygon))
    reach = certainty.of_sum(xy, np.full(len(xy), dig.dig_area / len(xy)))
    found = known.digs["patio", "dense"]
    assert found.cut.low < dig.cut < found.cut.high
    assert found.cut.either_way == pytest.approx(reach, rel=0.12)
    assert known.cut.either_way == pytest.approx(found.cut.either_way)
    assert found.deepest.low <= dig.max_dig <= found.deepest.high


def test_no_volume_is_below_nothing_and_each_interval_holds_what_is_shown(sparse):
    for (area, base), found in sparse.uncertainty.digs.items():
        dig = next(each for each in sparse.areas if each.area.name == area).digs[base]
        for shown, within in ((dig.cut, found.cut), (dig.fill, found.fill)):
            assert 0 <= within.low <= shown <= within.high


def test_where_topsoil_alone_is_dug_the_refill_is_what_is_not_known():
    """Topsoil of 0.5 m under a build-up of a quarter: the cut is the topsoil, whatever lies on."""
    deep = made(ground=GroundSpec(organics=0.5))
    dig, found = deep.areas[0].digs["dense"], deep.uncertainty.digs["patio", "dense"]
    assert found.cut.low == found.cut.high == pytest.approx(dig.cut)
    assert found.fill.low < dig.fill < found.fill.high


def test_more_spots_leave_less(sparse):
    dense = made(spacing=1.0)
    assert dense.uncertainty.cut.either_way < sparse.uncertainty.cut.either_way / 2
    assert dense.uncertainty.deviation < sparse.uncertainty.deviation / 2


def test_next_shots_are_told_from_where_they_stand(sparse):
    shots = sparse.uncertainty.next_shots
    assert len(shots) == 3
    assert shots[0].before == pytest.approx(sparse.uncertainty.cut.either_way)
    for one, other in pairwise(shots):
        assert one.after == other.before
    for shot in shots:
        assert shot.after < shot.before
        assert shot.at[1] > 0  # in front of the wall
        assert sparse.ground.surveyed.covers(shapely.Point(shot.at))


def test_the_ground_of_what_is_dug_already_is_gone():
    half = made()
    site = replace(half.site, done=Done())
    assert replace(half.uncertainty, site=site).next_shots == ()


def test_too_few_spots_say_nothing_and_the_plan_stands():
    corners = np.array([[-2, -1, 30], [12, -1, 30], [12, 9, 29.8], [-2, 9, 29.8]])
    bare = plan(site_of(corners, [{**PATIO, **GIVEN}], house=WALL))
    told = record(bare)
    assert bare.uncertainty is None
    assert told["ground"]["uncertainty"] is None
    assert told["next_shots"] == []
    assert told["bins_between"] is None
    assert told["areas"][0]["bases"]["dense"]["cut_low"] is None


def test_the_json_tells_what_each_number_may_be(sparse):
    told = record(sparse)
    ground, base = told["ground"]["uncertainty"], told["areas"][0]["bases"]["dense"]
    assert ground["kernel"] == "matern-3/2"
    assert ground["share"] == 0.9
    assert ground["spots"] == sparse.ground.spots
    assert min(ground[key] for key in ("length", "sd", "noise", "sd_median")) > 0
    for name in ("cut", "fill", "max_dig"):
        assert base[f"{name}_low"] <= base[name] <= base[f"{name}_high"]
    for shot in told["next_shots"]:
        assert set(shot) == {"at", "place", "halves", "of", "from", "to"}
        assert shot["to"] < shot["from"]
    for wall in told["areas"][0]["walls"]:
        assert (wall["fall_low"] is None) == (wall["ground_beyond"] is None)


def fall_check(fall, spacing=2.5, rough=0.06):
    done = made(NARROW, rolling(fall, rough), spacing)
    (check,) = [each for each in done.checks if each.rule == "ground-fall-away"]
    return done, check


def test_ground_that_clearly_falls_enough_still_passes():
    _, check = fall_check(0.2, spacing=1.0, rough=0.0)
    assert check.status == "pass"
    assert "\N{PLUS-MINUS SIGN}" not in check.text


def test_ground_that_is_clearly_short_is_still_told():
    assert fall_check(0.01, spacing=1.0, rough=0.0)[1].status == "warn"
    assert fall_check(-0.05, spacing=1.0, rough=0.0)[1].status == "fail"


def test_a_limit_within_the_plus_or_minus_is_not_known_and_says_where_to_shoot():
    done, check = fall_check(0.08)
    (wall,) = done.areas[0].walls
    within = done.uncertainty.fall(wall)
    assert within.low < 0.05 < wall.beyond.fall < within.high
    assert check.status == "unknown"
    assert check.value == wall.beyond.fall
    assert "on which side of 5.0 % it lies is not known; shoot " in check.text
    shots = done.uncertainty.settling(wall, 0.05)
    assert all(done.places.at(shot.at) in check.text for shot in shots)
    told = [shot for shot in record(done)["next_shots"] if shot["halves"] == "fall"]
    assert [shot["of"] for shot in told] == ["wall 1"] * len(shots)


def test_what_was_measured_short_says_how_to_mend_it_though_it_is_not_known():
    done, check = fall_check(0.055)
    (wall,) = done.areas[0].walls
    assert 0 < wall.beyond.fall < 0.05 < done.uncertainty.fall(wall).high
    assert check.status == "unknown"
    assert check.text.endswith(". As it was measured: regrade it to at least 5.0 %, or drain it")


def test_ground_measured_to_fall_back_fails_however_badly_it_is_known():
    done, check = fall_check(0.005)
    (wall,) = done.areas[0].walls
    assert wall.beyond.fall < 0 < done.uncertainty.fall(wall).high
    assert check.status == "fail"


def test_an_edge_near_its_limit_above_poorly_known_ground_is_not_known():
    def flat(x, y):
        return 30 - 0.02 * y + 0.1 * np.sin(x * 0.5) * np.cos(y * 0.4)

    (area,) = made(height=flat).areas
    above = area.edge_heights[0]
    z = 30.2 + 0.5 * FOOT - above - 0.002
    done = made({**PATIO, "plane": {**GIVEN["plane"], "z": z}}, flat)
    (check,) = [each for each in done.checks if each.rule == "raised-edge"]
    assert check.value == pytest.approx(0.5 * FOOT - 0.002)
    assert check.status == "unknown"
    assert "it would be known to \N{PLUS-MINUS SIGN}" in check.text
    known = done.uncertainty
    run, at = done.areas[0].edge_extremes[1]
    highest = run.points[at]
    assert known.level_with_shot(highest) < known.level(highest[None])[0]


def test_a_height_far_from_its_limit_is_told_as_it_was(sparse):
    at, places, known = np.array([5.0, 5.0]), sparse.places, sparse.uncertainty
    assert not unsure_of_level(0.0, 5.0, at, places, known)
    assert not unsure_of_level(0.1, 0.1, at, places, None)
    assert not unsure_of_level(0.1, 0.1, None, places, known)


def test_bins_of_soil_may_be_one_more_or_less(sparse):
    """A bin that holds what the dig is not known to."""
    order = sparse.order
    low, high = bins_between(order)
    assert low <= order.total.haul.bins.count <= high
    (entry,) = [each for each in order.crew.entries() if each.name == "bin-volume"]
    small = order.crew.having(entry, sparse.uncertainty.cut.either_way)
    fewer, more = bins_between(replace(order, crew=small))
    assert 2 <= more - fewer <= 4
