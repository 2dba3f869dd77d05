"""What a limit that holds the finish costs is told in words that cannot be read the wrong way."""

import re

import numpy as np
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.finish.model import Binding
from grading.pipeline import plan
from grading.site.model import GroundSpec
from grading.units import INCH
from viz.words.paving.finish import finish_lines

HOUSE = {"walls": [[0, 0], [10, 0]], "inside": [5, -3]}
PATIO = {"name": "patio", "outline": [[2, 0], [8, 0], [8, 4], [2, 4]], "base": "dense"}
SPOTS = grid_of_spots(lambda x, y: 30.0 - 0.03 * y, ((-1, -1), (11, 6)))


def planned(most):
    door = {"at": [5, 0], "sill": 30.6, "step": ["38 mm", most]}
    return plan(site_of(SPOTS, [PATIO], house=HOUSE, doors=[door]))


def test_a_step_of_at_most_that_is_held_stricter_is_a_smaller_step():
    """The words say "stricter" of what costs: plan it with the smaller step, and it does cost."""
    now, smaller = planned(0.15), planned(0.15 - INCH)
    more = smaller.areas[0].finish.work - now.areas[0].finish.work
    assert more > 0
    lines = list(finish_lines(now.areas[0], now.places))
    (told,) = [line for line in lines if "below the sill" in line]
    assert "more of it" not in told
    assert "less saves" not in told
    found = re.search(r"25 mm stricter it takes ([0-9.]+) m³ more dug and refilled", told)
    assert found is not None, told
    assert np.isclose(float(found[1]), more, atol=0.01)


def test_a_looser_limit_that_takes_more_work_on_grade_is_told_with_what_it_wins():
    """A sill that keeps the paving above a lawn: it digs more lower down, nearer to the lawn."""
    door = {"at": [5, 0], "sill": 30.28, "step": ["38 mm", "197 mm"]}
    ground = GroundSpec(soil="clay", organics=0.1)
    made = plan(site_of(SPOTS, [PATIO], house=HOUSE, doors=[door], ground=ground, finish={}))
    held = [one for one in made.areas[0].finish.binding if "below the sill" in one.wish]
    assert held[0].easier > 0
    assert held[0].nearer > 0
    (told,) = [line for line in finish_lines(made.areas[0], made.places) if "below the" in line]
    assert "25 mm looser the edge lies nearer to the lawn, and it takes" in told
    assert "more dug and refilled; 25 mm stricter it takes" in told
    assert told.endswith("less dug and refilled")


def test_what_is_met_is_not_told_as_met_stricter():
    meet = {"name": "drive", "kind": "driveway", "at": [[8, 0], [8, 4]], "z": [30.0, 29.9]}
    made = plan(site_of(SPOTS, [PATIO], house=HOUSE, meets=[meet], finish={}))
    told = [line for line in finish_lines(made.areas[0], made.places) if "meeting drive" in line]
    assert told
    assert "stricter" not in told[0]


def test_what_holds_nothing_is_not_told():
    made = plan(site_of(SPOTS, [PATIO], house=HOUSE, finish={}))
    area = made.areas[0]
    idle = Binding("a comfortable fall", "comfortable-fall-patio", "0.5 %", 0.0, 0.0)
    half = Binding("siding", "siding-clearance", "1 in", 0.4, -1e-4)
    finish = replace(area.finish, binding=(*area.finish.binding, idle, half))
    lines = list(finish_lines(replace(area, finish=finish), made.places))
    assert not any("0.00" in line for line in lines)
    assert not any("a comfortable fall: " in line for line in lines)
    assert (
        "  held by siding: 1 in looser it takes as much; 1 in stricter it takes 0.40 m³ more"
        in ("\n".join(lines))
    )
