"""What is local is told as local, and does not decide for the whole area."""

import re

import numpy as np
import pytest
import shapely
from make.plans.advised import AT_THE_WALL, advised, patio, planned, rules

from grading.catalogue.rules import RULES
from grading.catalogue.verdicts import Choice, Option, Verdict
from grading.choice.facts import _of_parts
from grading.design.edge_holding import holders, raised_stretches
from grading.design.local_parts import parts_above, where_words
from grading.design.underfoot import level_at
from grading.records.advice import advice_record
from grading.site.model import GroundSpec
from viz.words.advice import area_lines

RAISED = RULES["raised-area"].limit


def dipped(depth, reach=3.0):
    """Return ground 0.1 m under the finish that dips at the outer right corner, (9, 5). [m]"""

    def height(x, y):
        away = np.abs(x - 9) + np.abs(y - 5)
        return 30 - 0.02 * y - depth * np.clip(1 - away / reach, 0, 1)

    return height


def sampled(plan, limit=RAISED, step=0.02):
    """Return the share of the paving that stands higher than a limit, by points. [ratio]"""
    area = plan.areas[0]
    x, y = np.meshgrid(np.arange(1 + step / 2, 9, step), np.arange(step / 2, 5, step))
    points = np.column_stack([x.ravel(), y.ravel()])
    return float(np.mean(level_at(area, points) - plan.ground.elevation(points) > limit))


def test_one_low_corner_does_not_throw_a_patio_off_panels():
    """Common practice, no source: a corner is built up by itself, the patio stays on panels."""
    plan = planned([patio(base=None)], height=dipped(0.15, 4.0))
    share = sampled(plan)
    assert 0.05 < share < 0.25
    advice = plan.advice
    panel = advice.area("patio").base.advised
    assert panel.option.name == "panel"
    assert "panel-raised" not in rules(advice, "panel")
    (local,) = [one for one in panel.reasons if one.rule == "panel-raised-local"]
    assert local.level == "care"
    (told,) = re.findall(r"over ([0-9.]+) % of the area alone", local.text)
    assert float(told) == pytest.approx(100 * share, abs=0.6)
    # How much of it, how high, and where: the corner is 9 m along x, 5 m out.
    found = re.search(
        r"\((\S+) m², up to (\d+) mm, (\S+) m from the left end of wall 1, 5 m out", local.text
    )
    size, high, along = map(float, found.groups())
    assert size == pytest.approx(40 * share, abs=0.2)
    assert high == pytest.approx(250, abs=20)  # the spots do not stand at the corner itself
    assert along == pytest.approx(2, abs=0.2)


def test_a_patio_that_is_raised_over_most_of_it_is_still_a_raised_area():
    """Common practice, no source."""
    advice = advised([patio(base=None, plane={**AT_THE_WALL, "z": 30.3})])
    assert "panel-raised" in rules(advice, "panel")
    assert "panel-raised-local" not in rules(advice, "panel")


def test_a_site_says_itself_what_share_makes_an_area_raised():
    plan = planned([patio(base=None)], height=dipped(0.15, 4.0), limits={"raised-share": 0.02})
    assert "panel-raised" in rules(plan.advice, "panel")


def test_one_deep_hole_is_told_as_local():
    """Common practice, no source: a stump is dug out by itself."""
    x, y = (each.ravel() for each in np.meshgrid(np.arange(0, 11, 1.0), np.arange(-1, 8, 1.0)))
    depth = np.where((x == 4) & (y == 2), 0.3, 0.05)
    plan = planned([patio(base=None)], ground=GroundSpec(probes=np.column_stack([x, y, depth])))
    advice = plan.advice
    assert "panel-organics" not in rules(advice, "panel")
    panel = advice.area("patio").base.of("panel")
    (local,) = [one for one in panel.reasons if one.rule == "panel-organics-local"]
    assert (
        "(300 mm deep, 7 m from the left end of wall 1, 2 m out; the others at most 50 mm)"
        in local.text
    )


@pytest.mark.parametrize("depth", [0.08, 0.15, 0.4])
def test_a_wall_is_told_for_the_length_of_edge_that_is_raised(depth):
    plan = planned([patio(base=None)], height=dipped(depth))
    area = plan.areas[0]
    line = shapely.LineString([(1, 0), (1, 5), (9, 5), (9, 0)])
    along = np.arange(0.005, line.length, 0.01)
    points = shapely.get_coordinates(line.interpolate(along))
    high = level_at(area, points) - plan.ground.elevation(points) > RULES["raised-edge"].limit
    long = float(high.mean() * line.length)
    assert 0.5 < long < 7
    one = plan.advice.area("patio")
    held = {each.name: each.length for each in one.held}
    assert held == {
        "wall": pytest.approx(long, abs=0.05), "panel edge": pytest.approx(18 - long, abs=0.25),
    }  # fmt: skip
    assert one.edge.advised.option.name == "panel edge"
    (stretch,) = raised_stretches(area.edge_runs, RULES["raised-edge"].limit)
    assert stretch.at == pytest.approx([9, 5])
    assert re.search(
        r"along [0-9.]+ m of it the wall .* \(up to .* above the ground 2 m from .* 5 m out\)",
        one.holding,
    )
    assert f"Edge: {one.holding}" in "\n".join(area_lines(plan.advice, "patio", "m"))
    told = advice_record(plan.advice, "patio")["edge"]["holders"]
    assert {each["name"]: each["length"] for each in told} == held


def test_a_wall_holds_all_of_an_edge_that_is_raised_all_along():
    one = advised([patio(plane={**AT_THE_WALL, "z": 30.4})]).area("patio")
    assert [each.name for each in one.held] == ["wall"]
    assert one.holding == one.edge.advised.option.title


def test_no_wall_where_nothing_is_raised():
    one = advised().area("patio")
    assert [each.name for each in one.held] == ["panel edge"]
    assert one.edge.of("wall").level == "rules out"


def test_an_area_without_a_free_edge_is_held_by_nothing_of_its_own():
    wall = Verdict(Option("wall", "wall", frozenset()), (), (), ())
    assert holders(Choice("edge", (wall,)), "spiked edge", 0.0, 0.0) == ()


def test_parts_are_told_apart_and_the_largest_comes_first():
    plan = planned()
    paved = plan.areas[0].chosen_dig.paved
    x, y = paved.xy[..., 0], paved.xy[..., 1]
    # Linear on each piece: two ridges, the right one wider.
    values = np.maximum(1.5 - np.abs(x - 2), 0) + np.maximum(2 - np.abs(x - 7), 0) + 0 * y
    parts = parts_above(paved, values, 1.0)
    assert [part.greatest for part in parts] == pytest.approx([2.0, 1.5], abs=0.05)
    grid = (np.arange(400) + 0.5) / 400
    u, v = (axis.ravel() for axis in np.meshgrid(grid, grid))
    u, v = u[u + v < 1], v[u + v < 1]
    weights = np.stack([1 - u - v, u, v], axis=-1)
    whole = paved.areas @ (values @ weights.T > 1.0).mean(axis=1)
    assert sum(part.area for part in parts) == pytest.approx(whole, rel=5e-3)


@pytest.mark.parametrize("turn", [0, 23.4])
def test_topsoil_as_deep_as_the_limit_is_not_deeper(turn):
    """As a length: a probe of 5 in is none of more than 5 in, however the yard lies."""
    limit = RULES["deep-organics"].limit
    plan = planned(ground=GroundSpec(soil="clay", organics=limit))
    area = plan.areas[0]
    paved = area.chosen_dig.paved
    assert parts_above(paved, paved.organics, limit) == ()
    # What rounding leaves of a level that was worked out is no depth that passes it.
    noise = limit + 1e-12 * np.sin(paved.xy[..., 0] + turn)
    assert parts_above(paved, noise, limit) == ()
    assert len(parts_above(paved, noise + 2e-3, limit)) == 1
    (organics,) = (_of_parts(plan, area)["organics_share"],)
    assert organics.value == 0.0


def test_no_place_is_told_as_empty():
    assert where_words((), planned().places, "ft") == "in parts too small to name"
