"""What a survey must be before a surface can rest on it."""

from __future__ import annotations

import numpy as np
import pytest

from grading.errors import SiteError
from grading.geometry.tolerances import SAME_PLACE
from grading.ground.model import surface
from grading.ground.spots import SpotNames, _same_place, distinct_spots
from grading.units import FOOT

NAMES = SpotNames(("a", "", "c", "d"), (2, 3, 5, 6), "spots.csv", "ft")
SQUARE = np.array([[0, 0, 100], [10, 0, 100], [10, 10, 100], [0, 10, 100]]) * FOOT


def problems(xyz, names=NAMES):
    with pytest.raises(SiteError) as refused:
        distinct_spots(np.array(xyz, float), names)
    return refused.value.problems


def shot_again(spots, offset):
    """The spots, and the second of them once more, off by `offset`."""
    return np.vstack((spots, spots[1] + offset))


def test_distinct_spots_stay_as_they_are():
    points, member = distinct_spots(SQUARE, NAMES)
    assert (points == SQUARE).all()
    assert member.tolist() == [0, 1, 2, 3]


@pytest.mark.parametrize("aside", [[0, 0], [0.0006, 0.0006], [-0.0009, 0], [0, -0.00099]])
def test_a_spot_shot_twice_is_one_spot(aside):
    twice = shot_again(SQUARE, [*aside, 0.004])
    points, member = distinct_spots(twice, NAMES)
    assert member.tolist() == [0, 1, 2, 3, 1]
    assert points[1].tolist() == pytest.approx([*SQUARE[1, :2], SQUARE[1, 2] + 0.002])


def test_spots_more_than_a_millimetre_apart_stay_two():
    near = shot_again(SQUARE, [0.0011, 0, 0.3])
    assert len(distinct_spots(near, NAMES)[0]) == 5


def test_many_shots_at_one_place_become_one():
    points, member = distinct_spots(np.concatenate((SQUARE, np.repeat(SQUARE, 3, axis=0))), NAMES)
    assert len(points) == 4
    assert np.bincount(member).tolist() == [4] * 4


def test_every_close_pair_of_a_dense_cloud_is_found():
    """Compared with all pairs by brute force; 2 mm cells hold several points each."""
    rng = np.random.default_rng(5)
    plan = rng.uniform(0, 0.08, (800, 2))
    gap = np.hypot(*(plan[:, None] - plan[None]).transpose(2, 0, 1))
    _, member = distinct_spots(np.column_stack((plan, np.zeros(800))), NAMES)
    a, b = np.nonzero(gap < 1e-3)
    assert (member[a] == member[b]).all()
    assert len(np.unique(member)) < 800


def shots(spots, names=NAMES):
    return surface(np.asarray(spots), names=names)


def test_two_levels_at_one_place_are_told_with_both_spots():
    ground = shots(shot_again(SQUARE[:3], [0, 0, FOOT]))
    (suspect,) = ground.shots.suspects
    assert suspect.text.startswith(
        "spots.csv, line 6: spot d has elevation 101 ft where spot 2 (spots.csv, line 3) has 100 ft"
    )
    assert "x = 10, y = 0" in suspect.text
    assert suspect.off == pytest.approx(FOOT)


def test_shots_at_one_place_a_little_apart_are_thinned_and_told():
    ground = shots(shot_again(SQUARE[:3], [0, 0, 0.02]))
    assert not ground.shots.suspects
    (said,) = ground.warnings
    assert said.startswith("spots.csv: 1 place was shot more than once, at levels up to 0.07 ft")
    assert ground.surveyed_points[1, 2] == pytest.approx(SQUARE[1, 2] + 0.01)


def test_a_dense_scan_is_read():
    """A scan meets a place twice at a millimetre, once the ground and once the grass over it."""
    rng = np.random.default_rng(0)
    plan = rng.uniform(0, 12, (4000, 2))
    again = plan[:900] + rng.uniform(-3e-4, 3e-4, (900, 2))
    z = 30 + 0.02 * np.concatenate((plan, again))[:, 0]
    z[4000:] += rng.uniform(0, 0.12, 900)
    ground = surface(np.column_stack((np.concatenate((plan, again)), z)))
    assert not ground.shots.suspects
    assert len(ground.warnings) == 1
    assert "places were shot more than once" in ground.warnings[0]


@pytest.mark.parametrize("value", [np.nan, np.inf, -np.inf])
def test_a_number_that_is_none_is_refused(value):
    odd = SQUARE.copy()
    odd[2, 1] = value
    (problem,) = problems(odd)
    assert problem.where == "spots.csv, line 5"
    assert problem.found.startswith("y = ")
    assert problem.found.endswith("spot c")


@pytest.mark.parametrize(("count", "said"), [(0, "no spot"), (1, "one spot"), (2, "two spots")])
def test_too_few_spots_are_refused(count, said):
    (problem,) = problems(SQUARE[:count].reshape(-1, 3))
    assert problem.found == f"{said} at distinct places"


def test_three_shots_at_two_places_are_too_few():
    (problem,) = problems(SQUARE[[0, 1, 1]])
    assert problem.found == "two spots at distinct places"


def test_spots_on_one_line_are_refused_with_its_ends():
    along = np.linspace(0, 30, 7)[:, None]
    (problem,) = problems(along * [0.6, 0.8, 0.01] * FOOT)
    assert "all 7 spots on one line" in problem.found
    assert "x = 18, y = 24" in problem.found


def test_a_slipped_decimal_is_refused():
    far = SQUARE.copy()
    far[2, 0] *= 1e6
    (problem,) = problems(far)
    assert problem.where == "spots.csv, line 5"
    assert "slipped decimal" in problem.mend


def test_spots_at_one_place_are_found_as_by_a_tree_of_them():
    """SciPy's tree, and the connected parts of the pairs that it finds."""
    from scipy.sparse import coo_array
    from scipy.sparse.csgraph import connected_components
    from scipy.spatial import cKDTree

    rng = np.random.default_rng(6)
    own = rng.uniform(0, 8, (900, 2))
    again = own[rng.integers(0, 900, 400)] + rng.normal(0, 0.6 * SAME_PLACE, (400, 2))
    xy = np.concatenate([own, again])
    pair = cKDTree(xy).query_pairs(SAME_PLACE, output_type="ndarray")
    links = coo_array((np.ones(len(pair)), pair.T), shape=(len(xy),) * 2)
    part = connected_components(links, directed=False)[1]
    first = {each: int(np.flatnonzero(part == each)[0]) for each in np.unique(part)}
    assert len(first) < len(xy) - 100
    assert _same_place(xy).tolist() == [first[each] for each in part]
