"""Strings: a whole measure above the finish, clear of the ground, boards beyond the hole."""

import numpy as np
import pytest
import shapely
from make.plans.folded import FOLDED
from make.sites.compared import GIVEN, folder

import grading
from grading.design.folds import folds_of
from grading.setout.model import set_out
from grading.units import FOOT


@pytest.fixture(scope="module")
def area(tmp_path_factory):
    root = folder(tmp_path_factory.mktemp("strings") / "a")
    return set_out(grading.plan(grading.read_site(root))).areas[0]


def by_name(area):
    return {string.name: string for string in area.strings}


def corner(area, name):
    return area.points.xy[area.points.names.index(name)]


def test_each_straight_edge_has_a_line_and_that_at_the_wall_is_chalked(area):
    assert len(area.strings) == 4
    (chalked,) = (string for string in area.strings if string.chalked)
    ends = [corner(area, board.corner) for board in (chalked.start, chalked.end)]
    assert all(at[1] == 0.0 for at in ends)
    assert chalked.start.on_house
    assert chalked.end.on_house


def test_boards_stand_beyond_the_hole_where_the_house_lets_them(area):
    # Round where a site is in metres: 150 mm dug beyond the edge, 750 mm from there to a board.
    past = 0.15 + 0.75
    for string in area.strings:
        for board in (string.start, string.end):
            at = corner(area, board.corner)
            if at[1] == 0.0:  # at the wall, a string is tied to the house
                assert board.on_house
                assert board.beyond == 0.0
            else:
                assert not board.on_house
                assert board.beyond == pytest.approx(past)
                assert np.hypot(*(board.at - at)) == pytest.approx(past)
                assert not area.area.chosen_dig.polygon.intersects(shapely.Point(board.at))


def test_every_string_is_as_high_above_the_finish_and_clears_the_ground(area):
    over = {string.over for string in area.strings}
    assert len(over) == 1
    (high,) = over
    assert round(high * 100, 9) % 1 == 0.0  # whole centimetres on a metric site
    lowest = np.inf
    for string in area.strings:
        for board in (string.start, string.end):
            # The paving's plane goes on under the string: 10.03 at the wall, 3 % away from it.
            assert board.z == pytest.approx(10.03 - 0.03 * board.at[1] + high)
            ground = 10.0 - 0.02 * board.at[1]
            assert board.above == pytest.approx(board.z - ground)
            if not string.chalked:
                lowest = min(lowest, board.above)
    assert lowest >= 3 * FOOT / 12 - 1e-9
    assert lowest < 3 * FOOT / 12 + 0.01  # and no higher than it must


def test_a_string_tells_how_long_it_is_and_what_it_falls(area):
    for string in area.strings:
        one, other = (corner(area, board.corner) for board in (string.start, string.end))
        assert string.length == pytest.approx(float(np.hypot(*(one - other))))
        assert string.drop == pytest.approx(0.03 * (other[1] - one[1]), abs=1e-9)


def test_both_diagonals_check_four_corners(area):
    assert sorted(far for _, _, far in area.diagonals) == pytest.approx([5.0, 5.0])


def test_a_string_breaks_where_the_finish_folds():
    plan = grading.plan(FOLDED["ridge"]())
    (fold,) = folds_of(plan.areas[0])
    found = set_out(plan).areas[0]
    whole = plan.areas[0].area.outline
    assert len(found.strings) > len(whole)
    surface = plan.areas[0].finish.surface
    for string in found.strings:
        ends = np.array([board.z for board in (string.start, string.end)])
        at = np.array([board.at for board in (string.start, string.end)])
        corners = np.array([corner(found, b.corner) for b in (string.start, string.end)])
        for share in (0.25, 0.5, 0.75):
            here = corners[0] + share * (corners[1] - corners[0])
            far = np.hypot(*(here - at[0])) / np.hypot(*(at[1] - at[0]))
            level = ends[0] + far * (ends[1] - ends[0])
            assert level == pytest.approx(float(surface.at(here[None])[0]) + string.over)
    assert abs(fold.bend) > 0.01


def test_arcs_have_no_string(tmp_path):
    root = folder(tmp_path / "a", area=GIVEN)
    text = (root / "site.toml").read_text(encoding="utf-8")
    text = text.replace("[2, 3], [-2, 3]]", "[2, 3], {arc = [[0, 4], [-2, 3]]}]")
    (root / "site.toml").write_text(text, encoding="utf-8")
    found = set_out(grading.plan(grading.read_site(root))).areas[0]
    assert len(found.strings) == 3
    ((name, radius),) = found.radii
    # Through (-2, 3), (0, 4), (2, 3): r = (2^2 + 1^2) / 2.
    assert radius == pytest.approx(2.5)
    (centre,) = (stake for stake in found.stakes if stake.kind == "centre")
    assert centre.name == name
    assert centre.at == pytest.approx([0.0, 1.5])
    assert centre.layers == ()
