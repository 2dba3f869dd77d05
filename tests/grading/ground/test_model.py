"""The ground of a survey: what it answers, and where it refuses."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely

from grading.errors import OutsideSurvey, SiteError
from grading.ground.model import surface, survey_to_ground
from grading.ground.spots import SpotNames
from grading.ground.topsoil import depth_between
from grading.site.model import Spots
from grading.units import FOOT

# a square of ten metres with a pyramid of one metre on it
PYRAMID = np.array([[0, 0, 0], [10, 0, 0], [10, 10, 0], [0, 10, 0], [5, 5, 1.0]])


def site(**changes):
    spots = Spots(
        xyz=PYRAMID,
        ids=("a", "b", "c", "d", "top"),
        lines=(2, 3, 4, 5, 6),
        file="spots.csv",
        own_ids=(),
        read_again=(),
    )
    ground = SimpleNamespace(organics=0.1, probes=None, breaklines=(), surface="tin", **changes)
    return SimpleNamespace(spots=spots, ground=ground, unit="ft")


def test_ground_of_a_site():
    ground = survey_to_ground(site())
    assert ground.spots == 5
    assert ground.triangles.shape == (4, 3)
    assert ground.organics.tolist() == [0.1] * 5
    assert ground.surveyed.equals(shapely.box(0, 0, 10, 10))
    assert not ground.beyond.any()
    assert ground.surface == "tin"
    assert ground.warnings == ()


def test_elevation_is_exact_at_spots_and_on_sides():
    ground = surface(PYRAMID)
    assert ground.elevation(PYRAMID[:, :2]).tolist() == PYRAMID[:, 2].tolist()
    assert ground.elevation(np.array([[5, 2.5], [2.5, 2.5], [5, 0]])).tolist() == [0.5, 0.5, 0]


def test_elevation_is_nan_outside_and_not_within_a_micrometre_of_the_edge():
    ground = surface(PYRAMID)
    z = ground.elevation(np.array([[-0.001, 5], [-1e-7, 5], [99, 99], [np.nan, 5]]))
    assert np.isnan(z).tolist() == [True, False, True, True]
    assert z[1] == pytest.approx(0, abs=1e-7)
    assert np.isnan(ground.gradient(np.array([[-1, 5]]))).all()
    assert ground.elevation(np.zeros((0, 2))).shape == (0,)


def test_gradient_of_each_face():
    ground = surface(PYRAMID)
    west, south = ground.gradient(np.array([[1, 5], [5, 1]]))
    assert west == pytest.approx([0.2, 0])
    assert south == pytest.approx([0, 0.2])


def test_far_from_the_origin_nothing_is_lost():
    far = np.array([500_000.0, 4_000_000.0, 100])
    ground = surface(PYRAMID + far)
    where = np.array([[5, 2.5], [1, 5]])
    assert ground.elevation(where + far[:2]) - 100 == pytest.approx([0.5, 0.2], abs=1e-9)


def test_section_has_a_vertex_at_every_crease():
    ground = surface(PYRAMID)
    assert ground.section(np.array([[0, 5], [10, 5]])).tolist() == [[0, 0], [5, 1], [10, 0]]
    cut = ground.section(np.array([[-2, 2], [12, 2]]))
    assert cut == pytest.approx(np.array([[2, 0], [4, 0.4], [10, 0.4], [12, 0]]))


def test_section_along_a_side_of_the_triangles():
    section = surface(PYRAMID).section(np.array([[0, 0], [5, 5], [10, 10]]))
    assert section == pytest.approx(np.array([[0, 0], [50**0.5, 1], [200**0.5, 0]]))


def test_section_turns_where_the_line_turns():
    section = surface(PYRAMID).section(np.array([[1, 5], [3, 5], [3, 6]]))
    assert section == pytest.approx(np.array([[0, 0.2], [2, 0.6], [3, 0.6]]))


def test_section_says_where_the_line_leaves_the_ground():
    bent = np.array([[8, 5], [12, 5], [12, 6], [8, 6]])
    section = surface(PYRAMID).section(bent)
    gap = np.flatnonzero(np.isnan(section[:, 1]))
    assert gap.tolist() == [2]
    assert section[:, 0] == pytest.approx([0, 2, 2, 7, 9])
    assert section[[0, 1, 3, 4], 1] == pytest.approx([0.4, 0, 0, 0.4])


def test_section_off_the_ground_is_empty():
    assert surface(PYRAMID).section(np.array([[20, 0], [30, 0]])).shape == (0, 2)
    assert surface(PYRAMID).section(np.array([[5, 5], [5, 5]])).shape == (0, 2)


def test_contours_of_a_pyramid_are_squares():
    half, top, above, foot = surface(PYRAMID).contours(np.array([0.5, 1.0, 1.5, 0.0]))
    (line,) = half
    assert (line[0] == line[-1]).all()
    assert shapely.Polygon(line).equals(shapely.box(2.5, 2.5, 7.5, 7.5))
    assert top == []
    assert above == []
    assert foot == []  # nothing lies below it


def test_contour_through_a_spot_at_its_own_level():
    slope = PYRAMID.copy()
    slope[:, 2] = slope[:, 0] / 10
    (line,) = surface(slope).contours(np.array([0.5]))[0]
    assert sorted(line.tolist()) == [[5, 0], [5, 5], [5, 10]]


def test_contour_round_a_level_terrace_follows_its_lower_edge():
    terrace = np.array([[0, 0, 0], [9, 0, 0], [0, 3, 1], [9, 3, 1], [0, 9, 1], [9, 9, 1.0]])
    (line,) = surface(terrace).contours(np.array([1.0]))[0]
    assert sorted(line.tolist()) == [[0, 3], [9, 3]]


def test_ground_inside_the_survey_is_not_extended():
    ground = surface(PYRAMID)
    assert ground.reaching(shapely.box(0, 0, 10, 10)) is ground
    assert ground.beyond_survey(shapely.box(1, 1, 9, 9))[0] == 0


def test_ground_goes_on_along_the_slope_at_the_edge():
    x, y = np.meshgrid(np.arange(7.0), np.arange(7.0))
    bank = np.column_stack((x.ravel(), y.ravel(), np.where(x < 4, 0, (x - 4) * 0.5).ravel()))
    ground = surface(bank, organics=0.15).reaching(shapely.box(2, 2, 6.8, 4))
    flat, steep = ground.elevation(np.array([[-0.5, 3], [6.5, 3]]))
    assert flat == pytest.approx(0)
    assert 1.1 < steep < 1.26
    assert ground.organics_at(np.array([[6.5, 3]])) == pytest.approx([0.15])
    assert ground.surveyed.equals(shapely.box(0, 0, 6, 6))
    assert ground.outline.contains(ground.surveyed)
    assert ground.reaching(shapely.box(2, 2, 6.8, 4)) is ground


def test_ground_is_extended_farther_when_asked():
    ground = surface(PYRAMID).reaching(shapely.box(0, 0, 10.5, 10))
    wider = ground.reaching(shapely.box(0, 0, 12, 10), margin=2)
    assert np.isfinite(wider.elevation(np.array([[12, 5]]))).all()
    assert (~wider.beyond).sum() == 4


def test_outline_too_far_out_is_refused_with_how_far_and_where():
    with pytest.raises(OutsideSurvey) as refused:
        surface(PYRAMID).reaching(shapely.box(0, 0, 10 + 5 * FOOT, 4))
    (problem,) = refused.value.problems
    assert "5' 0\" (1.52 m)" in problem.found
    assert f"x = {10 + 5 * FOOT:.2f}" in problem.found
    assert "36 in (914 mm)" in problem.expected
    assert "Shoot spots" in problem.mend


def test_smooth_ground_meets_every_spot_and_keeps_breaklines():
    ground = surface(PYRAMID, kind="smooth", breaklines=[PYRAMID[[0, 4, 2], :2]])
    assert ground.surface == "smooth"
    assert ground.spots == 5
    assert 3000 < len(ground.points) < 4000
    assert ground.elevation(PYRAMID[:, :2]) == pytest.approx(PYRAMID[:, 2], abs=1e-12)
    along = ground.elevation(np.array([[1, 1], [2.5, 2.5], [7, 7]]))
    assert along == pytest.approx([0.2, 0.5, 0.6])
    assert ground.surveyed.equals(shapely.box(0, 0, 10, 10))


def test_smooth_ground_has_no_creases_at_the_spots():
    rng = np.random.default_rng(3)
    plan = rng.uniform(0, 12, (40, 2))
    spots = np.column_stack((plan, np.sin(plan[:, 0] / 4) * np.cos(plan[:, 1] / 5)))
    inside = rng.uniform(4, 8, (300, 2))
    true = np.sin(inside[:, 0] / 4) * np.cos(inside[:, 1] / 5)
    flat = np.abs(surface(spots).elevation(inside) - true).max()
    smooth = np.abs(surface(spots, kind="smooth").elevation(inside) - true).max()
    assert smooth < flat / 3


def test_smooth_ground_of_a_scan_stays_flat_between_spots_and_says_so():
    plan = np.random.default_rng(0).uniform(0, 50, (2100, 2))
    ground = surface(np.column_stack((plan, plan[:, 0] / 50)), kind="smooth")
    assert ground.surface == "tin"
    assert "2100 points" in ground.warnings[0]


def test_probes_give_the_depth_of_organics():
    probes = np.array([[2, 2, 0.1], [8, 8, 0.3], [5, 5, 0.2], [30, 5, 0.4]])
    ground = surface(PYRAMID, probes=probes)
    assert ground.organics_at(probes[:3, :2]) == pytest.approx([0.1, 0.3, 0.2], abs=1e-12)
    assert ground.elevation(np.array([[2, 2], [8, 8]])) == pytest.approx([0.4, 0.4])
    assert len(ground.points) == 7
    assert 0.1 < ground.organics[0] < 0.2


@pytest.mark.parametrize(
    ("probes", "found"),
    [
        ([[2, 2, -0.1]], "depth -0.1 m"),
        ([[2, 2, np.nan]], "depth nan m"),
        ([[2, 2, 0.1], [2, 2, 0.2]], "depth 0.2 m where probe 1 has 0.1 m"),
    ],
)
def test_probes_that_cannot_be_are_refused(probes, found):
    with pytest.raises(SiteError, match=found):
        surface(PYRAMID, probes=np.array(probes))


def test_depth_between_probes_weighs_by_the_square_of_distance():
    probes = np.array([[0, 0, 0.1], [3, 0, 0.4]])
    where = np.array([[1.5, 4], [1, 0], [0, 0], [1e9, 0]])
    depth = depth_between(probes, where)
    # at (1, 0) the weights are as 4 to 1
    assert depth == pytest.approx([0.25, 0.16, 0.1, 0.25])


def test_names_default_to_numbers():
    assert SpotNames().name(4) == "spot 5"
