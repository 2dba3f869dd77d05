"""The water of a planned site: house, paving and what lies under it are those of the plan."""

import pytest
import shapely
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of

from grading.pipeline import plan
from grading.water.site import water_of_design

TO_THE_WALL = {"at": [1, 0], "z": 30.1, "fall": "2 %", "bearing": 180}
AWAY = {**TO_THE_WALL, "bearing": 0}


def watered(plane, house=WALL, **kwargs):
    site = site_of(grid_of_spots(lambda x, y: 30 - 0.03 * y), [{**PATIO, "plane": plane}],
                   house=house, **kwargs)  # fmt: skip
    made = plan(site)
    return made, water_of_design(made)


def foundation(water):
    return sum(part.share for part in water.areas[0].shares if part.kind == "foundation")


def test_paving_that_tips_to_the_house_wets_it_and_paving_without_a_house_wets_nothing():
    assert foundation(watered(TO_THE_WALL)[1]) == pytest.approx(1.0, abs=1e-3)
    assert foundation(watered(AWAY)[1]) == 0.0
    assert foundation(watered(TO_THE_WALL, house=None)[1]) == 0.0


def test_no_water_is_followed_inside_of_the_house():
    _, water = watered(AWAY)
    inside = water.relief.cells(shapely.get_coordinates(shapely.Point(5, -0.8)))
    assert not water.relief.ground.ravel()[inside].any()


PAVERS_ALONE = [
    {"name": "paver", "thickness": "60 mm"},
    {"name": "bedding sand", "thickness": "25 mm"},
]
BARE = {"name": "slab", "over": "sound concrete", "layers": PAVERS_ALONE}


@pytest.mark.parametrize(
    ("base", "bases", "below"),
    [
        ("dense", (), 0.060 + 0.025),  # on the top of the base
        ("open", (), 0.060 + 0.025 + 0.150),  # on the subgrade
        ("panel", (), 0.060),  # on the panel
        ("slab", (BARE,), 0.060),  # below the pavers, where there is no base
    ],
)
def test_what_gets_through_the_pavers_runs_on_what_lies_under_them(base, bases, below):
    site = site_of(
        grid_of_spots(lambda x, y: 30 - 0.03 * y), [{**PATIO, "plane": AWAY, "base": base}],
        house=WALL, bases=bases,
    )  # fmt: skip
    made = plan(site)
    (area,) = water_of_design(made).areas
    system = made.areas[0].chosen_dig.system
    nominal = sum(
        layer.thickness for layer in system.layers[: {"dense": 2, "open": 3}.get(base, 1)]
    )
    assert nominal == pytest.approx(below, abs=0.004)
    finish = made.areas[0].finish.plane.at([[5.0, 5.0]])[0]  # its low edge
    assert area.under.z == pytest.approx(finish - nominal, abs=1e-9)
