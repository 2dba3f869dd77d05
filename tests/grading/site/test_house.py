import numpy as np
import pytest
import shapely
from pydantic import ValidationError

from grading.site.house import House

RING = [[0, 0], [10, 0], [10, 6], [0, 6], [0, 0]]
ELL = [[0, 0], [10, 0], [10, 10]]


def outward(house):
    return [normal.tolist() for _, _, normal in house.segments()]


def test_an_open_wall_faces_away_from_the_inside():
    assert outward(House(walls=[[0, 0], [32, 0]], inside=[16, -8])) == [[0, 1]]
    assert outward(House(walls=[[32, 0], [0, 0]], inside=[16, -8])) == [[0, 1]]
    assert outward(House(walls=[[0, 0], [32, 0]], inside=[16, 8])) == [[0, -1]]
    # Beside the end of the wall the line goes on and still tells the sides apart.
    assert outward(House(walls=[[0, 0], [32, 0]], inside=[40, -1])) == [[0, 1]]


@pytest.mark.parametrize("inside", [[9, 1], [1, 9], [5, 5], [9.9, 9.9]])
def test_the_walls_of_a_corner_face_away_together(inside):
    assert outward(House(walls=ELL, inside=inside)) == [[0, -1], [1, 0]]


@pytest.mark.parametrize("inside", [[11, -1], [12, 5], [5, -3], [30, -30]])
def test_outside_the_corner_they_face_the_other_way(inside):
    assert outward(House(walls=ELL, inside=inside)) == [[0, 1], [-1, 0]]


def test_the_segments_run_along_the_wall_as_written():
    segments = House(walls=ELL, inside=[9, 1]).segments()
    assert [(p.tolist(), q.tolist()) for p, q, _ in segments] == [
        ([0, 0], [10, 0]),
        ([10, 0], [10, 10]),
    ]


@pytest.mark.parametrize("walls", [RING, RING[::-1]])
def test_a_closed_wall_faces_out_all_round(walls):
    house = House(walls=walls, inside=[5, 5.9])
    assert house.closed
    assert not house.courtyard
    ring = shapely.Polygon(RING)
    for start, end, normal in house.segments():
        assert not ring.covers(shapely.Point((start + end) / 2 + 0.01 * normal))
    assert house.polygon(2).equals(ring)


@pytest.mark.parametrize("at", [[0, 0], [600_000.25, 180_000.5]])
@pytest.mark.parametrize("walls", [RING, RING[::-1], RING[:-1], [[0, 6], [0, 0], [10, 0], [10, 6]]])
def test_a_point_as_far_from_two_walls_is_inside_all_the_same(walls, at):
    """The very middle of the house is where most people put it."""
    moved = np.array(walls) + at
    house = House(walls=moved.tolist(), inside=(np.array([5.0, 3.0]) + at).tolist())
    for start, end, normal in house.segments():
        away = (start + end) / 2 - house.inside
        assert away @ normal > 0


def test_a_wall_round_a_courtyard_faces_in():
    house = House(walls=RING, inside=[12, 3])
    assert house.courtyard
    ring = shapely.Polygon(RING)
    for start, end, normal in house.segments():
        assert ring.contains(shapely.Point((start + end) / 2 + 0.01 * normal))
    body = house.polygon(2)
    assert body.area == pytest.approx(14 * 10 - 60)
    assert not body.contains(shapely.Point(5, 3))


def test_the_body_of_an_open_wall_is_a_strip_on_its_inside():
    for walls in ([[0, 0], [32, 0]], [[32, 0], [0, 0]]):
        assert House(walls=walls, inside=[16, -8]).polygon(2).equals(shapely.box(0, -2, 32, 0))
    ell = House(walls=ELL, inside=[9, 1]).polygon(2)
    assert ell.area == pytest.approx(2 * 10 + 2 * 8)
    assert ell.contains(shapely.Point(9, 1))
    around = House(walls=ELL, inside=[11, -1]).polygon(2)
    assert around.area == pytest.approx(2 * 10 + 2 * 10 + 4)
    assert around.contains(shapely.Point(11, -1))


def test_a_corner_written_twice_makes_no_wall():
    house = House(walls=[[0, 0], [10, 0], [10, 0], [10, 10]], inside=[9, 1])
    assert len(house.segments()) == 2
    assert np.isfinite(outward(house)).all()


@pytest.mark.parametrize(
    ("walls", "inside", "sentence"),
    [
        ([[0, 0]], [1, 1], "two corners of the wall or more"),
        ([], [1, 1], "two corners of the wall or more"),
        ([[0, 0], [0, 0]], [1, 1], "two corners of the wall or more"),
        ([[0, 0], [10, 0], [0, 0]], [1, 1], "does not cross itself or run back"),
        ([[0, 0], [9, 9], [9, 0], [0, 9]], [1, 4], "does not cross itself"),
        ([[0, 0], [10, 0]], [5, 0.0005], "off the line of the wall"),
        ([[0, 0], [10, 0]], [50, 0], "off the line of the wall"),
        (RING, [10, 3], "off the line of the wall"),
    ],
)
def test_what_does_not_tell_inside_from_outside_is_refused(walls, inside, sentence):
    with pytest.raises(ValidationError, match=sentence):
        House(walls=walls, inside=inside)


@pytest.mark.parametrize(
    ("walls", "inside", "size"),
    [
        # Round an outside corner the two ways in meet: the house is what they close.
        ([[-20, 0], [10, 0], [10, -20]], [-4, -8], 30 * 20),
        # Behind a straight wall it goes on as far as one asks.
        ([[0, 0], [32, 0]], [16, -8], 32 * 40),
        # Of a bump in a wall, the yard on either side of it stays yard.
        ([[-10, 0], [0, 0], [0, 10], [10, 10], [10, 0], [20, 0]], [5, 5], 30 * 40 + 100),
        # Behind an inside corner it is all that is not yard.
        ([[0, 22], [0, 0], [26, 0]], [-5, -5], 40 * 22 + 66 * 40),
        (RING, [5, 3], 0),
    ],
)
def test_what_lies_behind_an_open_line(walls, inside, size):
    house = House(walls=walls, inside=inside)
    behind = house.behind(40)
    assert behind.area == pytest.approx(size)
    assert not behind.intersects(house.yard(2).buffer(-0.01))
    if size:
        assert behind.contains(shapely.Point(inside))
