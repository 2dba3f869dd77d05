"""Steps at a high sill: none where none are needed, and to the highest sill first."""

from types import SimpleNamespace

import pytest
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of

from grading.design.door_steps import door_steps
from grading.errors import NoFinish
from grading.finish import sills
from grading.finish.sills import with_steps
from grading.pipeline import plan

DOORS = [
    {"name": "kitchen", "at": [3, 0], "sill": 30.8},
    {"name": "garden", "at": [7, 0], "sill": 31.0},
]


def test_a_sill_far_above_the_lawn_gets_steps_and_leaves_the_paving_on_the_lawn():
    site = site_of(
        grid_of_spots(lambda x, y: 30 - 0.02 * y), [PATIO], house=WALL, doors=DOORS, finish={}
    )
    made = plan(site)
    assert [step.risers > 1 for step in door_steps(made.areas[0])] == [True, True]
    for step in door_steps(made.areas[0]):
        assert step.finish == pytest.approx(30.0, abs=0.1)


def tried(monkeypatch, high, fails=()):
    """Return which doors had steps in each try, the highest sills given first."""
    asked = []
    monkeypatch.setattr(sills, "high_sills", lambda group: high)
    monkeypatch.setattr(sills, "replace", lambda group, stepped: SimpleNamespace(
        limits=group.limits, stepped=stepped))  # fmt: skip

    def solve(group):
        asked.append(tuple(group.stepped))
        if tuple(group.stepped) in fails:
            raise NoFinish(lambda: "", list, tuple)
        return SimpleNamespace(departure=1.0 - 0.1 * len(group.stepped), stepped=group.stepped)

    group = SimpleNamespace(limits={"high-sill-gain": 0.05}, stepped={})
    return with_steps(group, solve), asked


def test_the_highest_sill_has_steps_first_and_none_is_tried_too(monkeypatch):
    best, asked = tried(monkeypatch, {"garden": 30.0, "kitchen": 30.0})
    assert asked == [(), ("garden",), ("garden", "kitchen")]
    assert tuple(best.stepped) == ("garden", "kitchen")


def test_a_way_that_no_finish_has_leaves_the_others(monkeypatch):
    best, _ = tried(monkeypatch, {"garden": 30.0}, fails=((),))
    assert tuple(best.stepped) == ("garden",)
