import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from make.sites.strategies import edges
from measure.arcs import outline_area

from grading.geometry.outline import Arc, OutlineError, outline_polygon

tolerances = st.sampled_from([1e-2, 1e-3, 1e-4])


def circle(start, arc):
    """Return centre and radius of the circle through three points, by linear algebra."""
    points = np.array([start, arc.through, arc.end])
    shifted = points - points[0]
    rows = np.column_stack([2 * shifted[1:]])
    centre = np.linalg.solve(rows, (shifted[1:] ** 2).sum(axis=1))
    return centre + points[0], np.hypot(*centre)


@given(edges(), tolerances)
def test_the_polygon_has_the_area_of_the_outline_at_any_tolerance(written, tolerance):
    polygon = outline_polygon(written, tolerance)
    assert polygon.area == pytest.approx(outline_area(written), rel=1e-11)
    assert polygon.exterior.is_ccw
    assert polygon.is_valid


@given(edges(), tolerances)
def test_no_vertex_leaves_the_outline_by_more_than_the_tolerance(written, tolerance):
    ring = shapely.get_coordinates(outline_polygon(written, tolerance))
    ends = [edge["arc"][1] if isinstance(edge, dict) else edge for edge in written]
    away = []
    for place, edge in enumerate(written):
        start = ends[place - 1]
        if isinstance(edge, dict):
            centre, radius = circle(start, Arc(*edge["arc"]))
            away.append(np.abs(np.hypot(*(ring - centre).T) - radius))
        else:
            line = shapely.LineString([start, edge])
            away.append(shapely.distance(shapely.points(ring), line))
    assert np.min(away, axis=0).max() <= tolerance * (1 + 1e-6) + 1e-9


@given(edges(), st.floats(0, 6.3), st.floats(-50, 50))
def test_turning_and_shifting_an_outline_keeps_its_area(written, turn, shift):
    spin = np.exp(1j * turn)

    def moved(point):
        there = complex(*point) * spin + shift
        return [there.real, there.imag]

    other = [
        {"arc": [moved(point) for point in edge["arc"]]} if isinstance(edge, dict) else moved(edge)
        for edge in written
    ]
    assert outline_area(other) == pytest.approx(outline_area(written), rel=1e-9)
    assert outline_polygon(other).area == pytest.approx(outline_polygon(written).area, rel=1e-9)


point = st.tuples(st.integers(-5, 5), st.integers(-5, 5)).map(list)
anything = st.lists(
    st.one_of(point, st.tuples(point, point).map(lambda pair: {"arc": list(pair)})), max_size=7
)


@given(anything)
def test_any_edges_give_an_area_or_a_sentence(written):
    try:
        polygon = outline_polygon(written)
    except OutlineError as error:
        said = str(error)
    else:
        assert polygon.is_valid
        assert polygon.area > 0
        assert polygon.area == pytest.approx(outline_area(written), rel=1e-9)
        return
    assert "expected" in said
