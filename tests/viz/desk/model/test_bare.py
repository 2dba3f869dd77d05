"""Before there is a plan the model is of what there is: the ground as it was shot, spots, house."""

from __future__ import annotations

import re

import numpy as np
import pytest
from make.plans.looked_at import copied, looked

from grading.ground.model import surface
from viz.desk.model.bare import FEW
from viz.desk.model.telling import UNPLANNED
from viz.desk.model.turning import Turning

NEW = 'name = "Larch Row"\nunit = "ft"\n'
HOUSE = "[house]\nwalls = [[0, 0], [24, 0]]\ninside = [12, -6]\n"
DOOR = '[[door]]\nname = "back door"\nat = [12, 0]\nsill = 100.5\n'


def begun(folder, site, spots=None):
    """Return what is seen of a yard that is only begun."""
    folder.mkdir()
    if spots is not None:
        (folder / "spots.csv").write_text(spots)
        site = f'{site}spots = "spots.csv"\n'
    (folder / "site.toml").write_text(site)
    return looked(folder, view="model")


def kinds(model):
    return {part["kind"] for part in model.parts}


def of_kind(model, kind):
    (part,) = [part for part in model.parts if part["kind"] == kind]
    shape = model.shapes[part["hash"]]
    origin = np.array(model.header["origin"])
    return shape.vertices.astype(float) + origin, shape.triangles.astype(int)


def test_nothing_is_drawn_of_an_empty_yard(tmp_path):
    assert Turning().whole(begun(tmp_path / "new", NEW)) is None


def test_each_thing_is_drawn_as_soon_as_it_exists(tmp_path):
    house = Turning().whole(begun(tmp_path / "house", NEW + HOUSE))
    assert kinds(house) == {"foundation", "siding"}
    doors = Turning().whole(begun(tmp_path / "door", NEW + HOUSE + DOOR))
    assert kinds(doors) == {"foundation", "siding", "door", "sill"}
    assert [each["text"] for each in doors.header["labels"]] == [["back door", "sill 100' 6\""]]
    few = "x,y,z\n3,4,99.8\n9,12,99.5\n"
    two = Turning().whole(begun(tmp_path / "two", NEW, few))
    assert kinds(two) == {"ink"}
    assert "too few for a surface" in two.header["views"][0]["said"]
    four = Turning().whole(begun(tmp_path / "four", NEW, f"{few}20,3,99.9\n18,15,99.1\n"))
    assert {"turf", "ink"} <= kinds(four)
    for model in (house, doors, two, four):
        assert model.header["heights"].startswith(UNPLANNED)
        assert not any(part["role"] == "layer" for part in model.parts)


@pytest.mark.parametrize("name", ["back-patio", "garden-court"])
def test_the_ground_that_is_drawn_goes_through_the_spots(name, tmp_path):
    """By a route of its own: the plates of the surface, read at the corners of the turf."""
    site = copied(name, tmp_path)
    file = site / "site.toml"
    begins = file.read_text().partition("[[area]]")[0]
    file.write_text(re.sub(r"^breaklines.*$", "", begins, flags=re.MULTILINE))
    seen = looked(site, whole=False, view="model")
    assert seen.plan is None
    turning = Turning()
    model = turning.whole(seen)
    xyz = seen.partly.spots.xyz
    turf, _ = of_kind(model, "turf")
    ground = surface(xyz)
    tops = turf[np.abs(turf[:, 2] - ground.elevation(turf[:, :2])) < 1e-3]
    assert len(tops) >= len(turf) / 2 - 1
    marks, triangles = of_kind(model, "ink")
    assert len(triangles) == 12 * min(len(xyz), FEW)
    feet = marks[:, 2].reshape(len(xyz), -1).min(axis=1)
    np.testing.assert_allclose(np.sort(feet), np.sort(xyz[:, 2]), atol=1e-3)
    # Looked at towards the house, as the plan of the page is turned.
    house = seen.partly.house
    out = sum(np.asarray(outward) for *_, outward in house.segments())
    assert np.dot(model.header["near"], out) > 0
    again = turning.whole(seen)
    assert again.header["origin"] == model.header["origin"]
    assert set(again.shapes) == set(model.shapes)
