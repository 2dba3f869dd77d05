"""A homeowner hears of each flight of steps once: in the row of its door, or in a sentence."""

from types import SimpleNamespace

from make.plans.advised import patio, planned

from viz.sheets.homeowner.told import steps_told

DOOR = {"name": "back door", "at": [5, 0], "sill": 30.5, "steps": 3}


def test_steps_at_a_door_stand_in_its_row_and_not_beside_it():
    made = planned([patio(base="dense")], doors=[DOOR])
    found = steps_told(SimpleNamespace(plan=made, unit="m"))
    (row,) = found["rows"]
    assert row["door"] == "back door"
    assert " steps of " in row["step"]
    assert not any("from back door down" in said for said in found["said"])
