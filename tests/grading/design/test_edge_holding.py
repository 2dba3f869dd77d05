"""What holds the free edge is told as it is laid and counted: spikes, panels cut, kerbs, walls."""

from __future__ import annotations

import numpy as np
import pytest
from make.sites.handmade import site_of

from grading.pipeline import plan
from grading.site.model import GroundSpec
from grading.structures.holding.holds import holding_of
from grading.units import FOOT, INCH
from viz.words.advice import area_lines
from viz.words.uncounted import not_counted


def yard(lawn=0.02, sill=6.0, **area):
    """Return paving of 16 x 14 ft before a wall, on a lawn that falls so much away from it."""
    x, y = np.meshgrid(np.arange(-10, 31, 4.0), np.arange(-6, 41, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), 100 - lawn * y.ravel()])
    outline = [[0, 0], [16, 0], [16, 14], [0, 14]]
    return plan(
        site_of(
            spots * FOOT,
            [{"name": "paving", "base": "dense", "outline": outline, **area}],
            unit="ft",
            house={"walls": [[-10, 0], [30, 0]], "inside": [8, -8]},
            doors=[{"name": "back door", "at": [8, 0], "sill": 100 + sill / 12}],
            ground=GroundSpec(soil="loam", organics=3 * INCH),
            finish={},
        )
    )


def edge_line(made):
    (line,) = [one for one in area_lines(made.advice, "paving", "ft") if one.startswith("Edge: ")]
    return line


@pytest.mark.parametrize(("use", "spacing"), [("patio", "12 in"), ("driveway", "8 in")])
def test_spikes_are_told_as_far_apart_as_the_order_counts_them(use, spacing):
    made = yard(use=use)
    assert f"spikes every {spacing}, closer on curves" in edge_line(made)
    (counted,) = [line for _, line in made.order.areas[0].chosen.lines if line.item == "spikes"]
    assert counted.how.startswith(f"one in {spacing}, ")


@pytest.mark.parametrize(("base", "cut"), [("panel", True), ("dense", False)])
@pytest.mark.parametrize("edge", ["concrete edge", "border"])
def test_a_panel_is_cut_flush_where_there_is_one(edge, base, cut):
    line = edge_line(yard(base=base, edge=edge))
    assert ("the panel cut flush with it" in line) is cut
    assert "where there is one" not in line


def held(made, kind):
    area = made.areas[0]
    parts = holding_of(made, area, area.chosen).parts
    return sum(part.length for part in parts if part.kind == kind)


def test_a_curb_holds_what_no_shoulder_of_soil_does_and_no_wall_is_needed_for():
    """The finish falls 2.5 % and the lawn 5.5 %: the edge rises from 0.25 in to 5.3 in over it."""
    made = yard(0.055, 8.0)
    # Both sides rise from 0.25 in by 0.36 in/ft: to 4 in at 10.42 ft of their 14; the front is 16.
    long = (2 * (14 - 3.75 / 0.36) + 16) * FOOT
    assert held(made, "curb") == pytest.approx(long, abs=0.05)
    assert held(made, "block wall") == 0
    assert "along 23' 2\" of it a curb of concrete" in edge_line(made)
    assert not any("curb" in words or "kerb" in words for words in not_counted(made))
    assert held(yard(0.055, 8.0, edge="concrete edge"), "curb") == 0
    assert held(yard(), "curb") == 0


def test_a_wall_runs_on_to_where_soil_holds_the_edge():
    """The lawn falls 6 %: the edge stands 6 in over it at 13.7 ft, and 4 in at 8.9 ft."""
    made = yard(0.06, 8.0)
    long = (2 * (14 - 3.75 / (0.035 * 12)) + 16) * FOOT
    assert held(made, "block wall") == pytest.approx(long, abs=0.05)
    assert held(made, "curb") == 0
