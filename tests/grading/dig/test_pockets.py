"""Planting pockets: rain soaks into the bed or runs on over it, and never stands for ever."""

import pytest
import shapely
from make.plans.advised import patio, planned

from grading.catalogue.rules import Limits
from grading.geometry.outline import outline_polygon
from grading.records.plan import record
from grading.site.model import Outfall
from viz.words.water import water_lines

HOLE = [[4, 2], [6, 2], [6, 3], [4, 3]]
LAWN = Outfall(name="lawn", kind="lawn", at=[[-2, 7.5], [12, 7.5]])


def with_pocket(**kwargs):
    """A patio above the ground as it lies: the hole in it was a pit with no way out."""
    from msgspec.structs import replace

    from grading.pipeline import plan

    area = patio(holes=[HOLE], plane={"at": [1, 0], "z": 30.1, "fall": "2 %", "bearing": 0})
    made = planned([area], height=lambda x, y: 29.95 - 0.02 * y + 0 * x, **kwargs)
    return plan(replace(made.site, outfalls=(LAWN,)))


def test_a_planting_pocket_is_no_low_spot_and_fails_nothing():
    made = with_pocket()
    assert made.water.low_spots == ()
    (area,) = made.water.areas
    assert area.verdict == "named"
    assert not [check for check in made.checks if check.status == "fail"]


@pytest.mark.parametrize("lip", [0.0, 0.2])
def test_no_lip_makes_a_pond_of_it(lip):
    assert with_pocket(limits={"planting-lip": lip}).water.low_spots == ()


def test_what_runs_over_it_is_the_rain_that_falls_above_it():
    made = with_pocket()
    (bed,) = made.water.areas[0].pockets
    paving = made.areas[0].outline.area
    assert bed.share == pytest.approx(2 * 2 / paving, abs=0.01)
    assert outline_polygon(HOLE).contains(shapely.Point(bed.at))
    told = record(made)["areas"][0]["water"]["pockets"]
    assert told == [{"at": bed.at.tolist(), "share": bed.share}]
    assert any("11 % runs over a planting pocket" in line for line in water_lines(made))


def test_what_runs_over_it_has_not_left_the_area_there():
    (area,) = with_pocket().water.areas
    assert sum(edge.share for edge in area.edges) == pytest.approx(1.0, abs=0.02)
    hole = outline_polygon(HOLE)
    assert all(edge.stretch.disjoint(hole) for edge in area.edges)
    assert all(not hole.covers(shapely.Point(edge.at)) for edge in area.edges)


def test_its_soil_lies_a_lip_below_the_finish():
    made = with_pocket(limits={"planting-lip": 0.05})
    (pocket,) = made.areas[0].pockets
    at = pocket.polygon.centroid.coords[0]
    finish = made.areas[0].finish.plane.at([at])
    assert finish - pocket.level([at]) == pytest.approx(0.05)
    assert 0 < Limits({})["planting-lip"] < 0.03
