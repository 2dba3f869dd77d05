import math

import numpy as np
import pytest
import shapely
from measure.arcs import outline_area

from grading.geometry.outline import (
    CHORD_TOLERANCE,
    Arc,
    OutlineError,
    outline_polygon,
)

CIRCLE = [[3, 1], {"arc": [[1, 3], [-1, 1]]}, {"arc": [[1, -1], [3, 1]]}]
MAJOR = [[1, 0], {"arc": [[0, 3], [-1, 0]]}]  # more than half a turn, on a chord of 2
RADIUS = (1 + 3**2) / (2 * 3)  # of MAJOR: chord 2, rise 3


def farthest_from_circle(polygon, centre, radius):
    """Return how far the boundary leaves a circle, vertices and middles of edges alike."""
    ring = shapely.get_coordinates(polygon.exterior)
    both = np.concatenate([ring, (ring[:-1] + ring[1:]) / 2])
    return np.abs(np.hypot(*(both - centre).T) - radius).max()


def test_straight_edges_are_kept_and_run_counter_clockwise():
    clockwise = [[2, 18], [30, 18], [30, 0], [2, 0]]
    for edges in (clockwise, clockwise[::-1], [*clockwise, clockwise[0]]):
        polygon = outline_polygon(edges)
        assert polygon.equals(shapely.box(2, 0, 30, 18))
        assert polygon.exterior.is_ccw
        assert len(polygon.exterior.coords) == 5
        assert outline_area(edges) == 504


@pytest.mark.parametrize("tolerance", [0.1, 1e-2, 1e-3, 1e-5])
def test_a_circle_of_two_arcs_has_the_area_of_the_circle(tolerance):
    polygon = outline_polygon(CIRCLE, tolerance)
    assert outline_area(CIRCLE) == pytest.approx(4 * math.pi, rel=1e-15)
    assert polygon.area == pytest.approx(4 * math.pi, rel=1e-12)
    assert farthest_from_circle(polygon, (1, 1), 2) <= tolerance


def test_a_circle_may_start_with_an_arc_and_give_no_corner():
    assert outline_polygon(CIRCLE[1:]).equals(outline_polygon(CIRCLE))
    assert outline_area(CIRCLE[1:]) == outline_area(CIRCLE)


def test_arcs_are_given_as_tables_or_as_arcs():
    arcs = [edge if isinstance(edge, list) else Arc(*edge["arc"]) for edge in CIRCLE]
    assert outline_polygon(arcs).equals(outline_polygon(CIRCLE))


def test_an_arc_of_more_than_half_a_turn_keeps_its_area():
    sweep = 2 * math.pi - 2 * math.asin(1 / RADIUS)
    exact = RADIUS**2 / 2 * (sweep - math.sin(sweep))
    assert outline_area(MAJOR) == pytest.approx(exact, rel=1e-14)
    polygon = outline_polygon(MAJOR)
    assert polygon.area == pytest.approx(exact, rel=1e-12)
    assert polygon.bounds[3] == pytest.approx(3, abs=CHORD_TOLERANCE)


def test_an_arc_that_bulges_in_takes_its_segment_away():
    half_disc = math.pi * 2**2 / 2
    square = [[0, 0], [10, 0], [10, 10]]
    inward = [*square, [7, 10], {"arc": [[5, 8], [3, 10]]}, [0, 10]]
    outward = [*square, [7, 10], {"arc": [[5, 12], [3, 10]]}, [0, 10]]
    for edges, area in ((inward, 100 - half_disc), (outward, 100 + half_disc)):
        for way in (edges, _backward(edges)):
            assert outline_area(way) == pytest.approx(area, rel=1e-14)
            assert outline_polygon(way).area == pytest.approx(area, rel=1e-12)
            assert outline_polygon(way).exterior.is_ccw


def _backward(edges):
    """Write the same outline the other way round."""
    ends = [edge["arc"][1] if isinstance(edge, dict) else edge for edge in edges]
    turned = []
    for place in reversed(range(len(edges))):
        start = ends[place - 1]
        edge = edges[place]
        turned.append({"arc": [edge["arc"][0], start]} if isinstance(edge, dict) else start)
    return turned


def test_the_ends_of_an_arc_stay_where_they_were_written():
    ring = shapely.get_coordinates(outline_polygon(MAJOR))
    for end in ([1, 0], [-1, 0]):
        assert (ring == end).all(axis=1).any()


def test_a_flat_arc_far_from_the_origin_keeps_its_digits():
    far = 6e5
    edges = [[far, far], [far + 10, far], {"arc": [[far + 10.001, far + 5], [far + 10, far + 10]]}]
    near = [[0, 0], [10, 0], {"arc": [[10.001, 5], [10, 10]]}]
    # The coordinates themselves are kept to 1e-10 m there.
    assert outline_polygon(edges).area == pytest.approx(outline_area(near), rel=1e-10)
    assert outline_polygon(near).area == pytest.approx(outline_area(near), rel=1e-12)
    assert outline_area(near) == pytest.approx(50 + 2 / 3 * 10 * 0.001, rel=1e-9)


def test_a_finer_tolerance_takes_more_chords_and_no_more_than_it_needs():
    counts = [len(outline_polygon(CIRCLE, 10.0**-power).exterior.coords) for power in (1, 3, 5)]
    assert counts[0] < counts[1] < counts[2]
    # Radius 2 m at 1 mm: sixty chords of the plain kind keep to it, and ours are not many more.
    assert counts[1] <= 1.3 * 2 * math.pi / (2 * math.acos(1 - 1e-3 / 2))


@pytest.mark.parametrize(
    ("edges", "found", "index"),
    [
        ([], "an outline of 0 corners", None),
        ([[0, 0], [1, 0]], "an outline of 2 corners", None),
        ([[0, 0], [1, 0], [0, 0], [1e-12, 0]], "an outline of 2 corners", None),
        ([[0, 0], [1, 0], [2, 0]], "an outline that encloses no area", None),
        ([[0, 0], [1, 0], {"arc": [[0.5, 0], [0, 0]]}], "on one line", 2),
        ([[0, 0], {"arc": [[1, 1], [0, 0]]}, [3, 3]], "on one another", 1),
        ([{"arc": [[1, 1], [0, 0]]}], "on one another", 0),
        ([[0, 0], [2, 0], [2, 2], [1, 0], [0, 2]], "touches itself at (1.000, 0.000) m", None),
    ],
)
def test_an_outline_that_encloses_no_one_area_is_refused(edges, found, index):
    with pytest.raises(OutlineError) as refused:
        outline_polygon(edges)
    assert found in str(refused.value)
    assert refused.value.index == index
    assert refused.value.mend


def test_a_crossing_is_refused_and_its_place_told():
    with pytest.raises(
        OutlineError, match=r"crosses or touches itself at \(0\.500, 0\.500\) m"
    ) as refused:
        outline_polygon([[0, 0], [1, 1], [1, 0], [0, 1]])
    assert refused.value.at == (0.5, 0.5)
    with pytest.raises(OutlineError, match="crosses"):
        outline_polygon([[0, 0], [4, 0], [4, 1], {"arc": [[2, -1], [0, 1]]}])


@pytest.mark.parametrize("far", [1e9, 2.0**62, 1e300])
def test_an_arc_far_beyond_any_yard_is_refused_at_once(far):
    with pytest.raises(OutlineError):
        outline_polygon([(0, 0), (1, 0), {"arc": [(far, far / 3), (0, 1)]}])
