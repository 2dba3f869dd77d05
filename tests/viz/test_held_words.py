"""What a limit that holds the finish costs is told in words that cannot be read the wrong way."""

import re

import numpy as np
from handmade import grid_of_spots, site_of

from grading.pipeline import plan
from grading.units import INCH
from viz.finish_words import finish_lines

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
    found = re.search(r"held 25 mm stricter it costs ([0-9.]+) m³", told)
    assert found is not None, told
    assert np.isclose(float(found[1]), more, atol=0.01)
