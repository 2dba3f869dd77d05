"""What the screen in the trench is told, and the number that it is told by."""

import json

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled
from make.sites.on_a_plane import planar_spots, written
from msgspec.structs import replace

import grading
import sample_sites
from grading.setout.instrument import benchmarks_of
from grading.setout.model import set_out
from grading.setout.number import set_out_number
from grading.units import METRES, length
from viz.desk.field.trench import trench

NAMES = ("back-patio", "garden-court", "booked-yard", "raised-patio")


@pytest.fixture(scope="module", params=NAMES)
def plan(request):
    return sampled(request.param)


def test_it_is_plain_data_with_every_stake_that_has_a_level(plan):
    told = trench(plan, 7)
    assert json.loads(json.dumps(told, allow_nan=False)) == told
    assert told["revision"] == 7
    found = set_out(plan)
    assert {each["name"]: each["z"] for each in told["benchmarks"]} == benchmarks_of(plan.site)
    for each, area in zip(found.areas, told["areas"], strict=True):
        levelled = [stake for stake in each.stakes if stake.layers]
        assert [stake["name"] for stake in area["stakes"]] == [stake.name for stake in levelled]
        for stake, own in zip(levelled, area["stakes"], strict=True):
            assert own["z"] == {layer.name: layer.z for layer in stake.layers}
            assert np.array(own["at"]) * METRES[plan.site.unit] == pytest.approx(stake.at)
            assert own["level"]["finish"] == length(stake.layers[-1].z, plan.site.unit)
        # The finish first, and every surface below the one before it.
        first = area["stakes"][0]
        levels = [
            first["z"][layer["name"]] for layer in area["layers"] if layer["name"] in first["z"]
        ]
        assert levels == sorted(levels, reverse=True)
        assert area["layers"][0]["built"] == "surface"


def test_the_cut_from_the_lawn_is_the_lawn_less_the_level(plan):
    """Told of every layer, in eighths of an inch or millimetres, from the survey itself."""
    unit = plan.site.unit
    for area in trench(plan)["areas"]:
        for stake in area["stakes"]:
            at = np.array([stake["at"]]) * METRES[unit]
            lawn = float(plan.ground.elevation(at)[0])
            for layer in area["layers"]:
                if layer["name"] not in stake["z"] or not stake["lawn"][layer["name"]]:
                    continue
                deep = lawn - stake["z"][layer["name"]]
                words = stake["lawn"][layer["name"]]
                size = f"{round(abs(deep) * 1000)} mm" if unit == "m" else None
                if layer["role"] == "finish":
                    assert words.endswith("above the lawn" if deep <= 0 else "below the lawn")
                else:
                    assert words.startswith("cut " if deep >= 0 else "fill ")
                if size:
                    assert size in words


def test_limits_are_those_of_the_site(tmp_path):
    site = written(
        tmp_path,
        'name = "Ash Row"\nunit = "ft"\nspots = "spots.csv"\n'
        "[house]\nwalls = [[0, 0], [30, 0]]\ninside = [15, -5]\n"
        '[[door]]\nname = "door"\nat = [15, 0]\nsill = 100.8\n'
        '[[area]]\nname = "patio"\noutline = [[5, 0], [20, 0], [20, 12], [5, 12]]\n'
        '[limits]\nbuilt-subgrade = "1 in"\nbuilt-again = "9 in"\nrod-length = "13 ft"\n',
        planar_spots((30, 20), (100.0, 0.0, -0.02)),
    )
    told = trench(grading.plan(site))
    subgrade = told["areas"][0]["layers"][-1]
    assert subgrade["tolerance"] == pytest.approx(0.0254)
    assert subgrade["within"] == "1 in"
    assert told["again"]["limit"] == pytest.approx(9 * 0.0254)
    assert told["rod_length"] == pytest.approx(13 * 0.3048)


def test_the_plan_is_turned_and_never_mirrored(plan):
    """Corners that go round one way on the ground go round the same way as seen from above."""
    told = trench(plan)
    for each, area in zip(set_out(plan).areas, told["areas"], strict=True):
        names = each.points.names[: each.points.corners]
        dots = {stake["name"]: stake["dot"] for stake in area["stakes"]}
        ground = shapely.LinearRing(each.points.xy[: each.points.corners])
        # On the screen y runs down: what is anticlockwise from above has the other sign there.
        seen = shapely.LinearRing([(dots[name][0], -dots[name][1]) for name in names])
        assert seen.is_ccw == ground.is_ccw
        assert shapely.Polygon(seen).area == pytest.approx(shapely.Polygon(ground).area, rel=1e-3)


def test_the_house_is_at_the_top(plan):
    told = trench(plan)
    x, y, wide, tall = told["plan"]["box"]
    numbers = told["plan"]["house"].replace("M", " ").replace("L", " ").split()
    house = np.array(numbers, float).reshape(-1, 2)
    dots = np.array([stake["dot"] for area in told["areas"] for stake in area["stakes"]])
    assert house[:, 1].mean() < dots[:, 1].mean()
    assert (dots >= (x, y)).all()
    assert (dots <= (x + wide, y + tall)).all()


def test_the_number_is_that_of_stakes_and_levels_and_of_nothing_else():
    folder = sample_sites.path("back-patio")
    site = grading.read_site(folder)
    plan = grading.plan(site)
    number = set_out_number(set_out(plan))
    assert number == set_out_number(set_out(grading.plan(grading.read_site(folder))))
    assert len(number) == 9
    # Where the paths of rods go is no part of it; a sill, and with it the finish, is.
    assert number == set_out_number(replace(set_out(plan), references=()))
    door = site.doors[0]
    lower = replace_door(site, door, door.sill - 0.01)
    assert number != set_out_number(set_out(grading.plan(lower)))


def replace_door(site, door, sill):
    moved = door.model_copy(update={"sill": sill})
    return replace(site, doors=(moved, *site.doors[1:]))
