"""Pavers laid over real outlines: counted by hand, and by brute force on small shapes."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from pydantic import ValidationError

from grading.errors import SiteError
from grading.geometry.outline import Arc, edge_lines, outline_polygon
from grading.order.laid.pavers import lay_pavers, paver_faces
from grading.order.laid.units import frames_of, lay, units_over
from grading.site.model import Area
from grading.site.paver_table import Pavers
from grading.units import FOOT, INCH

W = 0.1  # m, and units twice as long


def pavers(**keys):
    return Pavers.model_validate(keys)


def rectangle(wide, deep):
    return [(0, 0), (wide, 0), (wide, deep), (0, deep)]


def units_of(layout):
    """Return how many units a layout takes, cut waste included."""
    return layout.field.units + layout.soldier_pieces


def laid(edges, **keys):
    return lay_pavers(shapely.Polygon(edges), edges, pavers(**keys))


def cells_of(mask):
    """Return the polygon of the unit cells of a mask, W wide each."""
    boxes = [shapely.box(x * W, y * W, (x + 1) * W, (y + 1) * W) for y, x in np.argwhere(mask)]
    return shapely.union_all(boxes)


def herringbone_unit(x, y):
    """Name the unit that a cell belongs to: along a row, cells go 0 and 1 to one lying unit, 2 to
    the upper and 3 to the lower end of standing ones."""
    return [("lies", x, y), ("lies", x - 1, y), ("stands", x, y - 1), ("stands", x, y)][(x - y) % 4]


def stack_unit(x, y):
    return "lies", x // 2, y


def running_unit(x, y):
    return "lies", (x - y) // 2, y


@pytest.mark.parametrize(
    ("pattern", "unit_of"),
    [
        ("herringbone 90", herringbone_unit),
        ("stack", stack_unit),
        ("running", running_unit),
    ],
)
@pytest.mark.parametrize("seed", range(4))
def test_brute_force_on_cells(pattern, unit_of, seed):
    """On a region of whole cells each unit has two of them: both inside, one, or none."""
    rng = np.random.default_rng(seed)
    mask = np.ones((6, 9), bool)
    mask[: rng.integers(1, 4), : rng.integers(1, 5)] = False
    mask[-rng.integers(1, 3) :, -rng.integers(1, 4) :] = False
    region = cells_of(mask)
    inside = {}
    for y, x in np.argwhere(mask):
        unit = unit_of(int(x), int(y))
        inside[unit] = inside.get(unit, 0) + 1
    whole = sum(count == 2 for count in inside.values())
    halves = sum(count == 1 for count in inside.values())
    found = lay(region, pattern, (2 * W, W), 0.0)
    assert (found.whole, found.halves, found.large) == (whole, halves, 0)
    assert found.units == whole + math.ceil(halves / 2)
    assert found.covered == pytest.approx(region.area)


@pytest.mark.parametrize("pattern", ["running", "stack", "herringbone 90"])
@pytest.mark.parametrize("size", [(0.2, 0.1), (0.3, 0.1), (0.23, 0.152), (0.2, 0.2)])
@pytest.mark.parametrize("joint", [0.0, 0.004])
def test_patterns_tile_the_plane(pattern, size, joint):
    """Units with half a joint about each cover every place once."""
    if pattern.startswith("herringbone") and size[0] == size[1]:
        return
    boxes = units_over(pattern, size, joint, (-1, -1, 1, 1))
    grown = shapely.box(boxes[:, 0], boxes[:, 1], boxes[:, 2] + joint, boxes[:, 3] + joint)
    frame = shapely.box(-0.9, -0.9, 0.9, 0.9)
    pieces = shapely.intersection(grown, frame)
    assert shapely.area(pieces).sum() == pytest.approx(frame.area, rel=1e-9)
    assert shapely.union_all(pieces).area == pytest.approx(frame.area, rel=1e-9)


@pytest.mark.parametrize("pattern", ["running", "stack", "herringbone 90", "herringbone 45"])
def test_one_by_one_on_a_round_bed(pattern):
    """The same units, each intersected alone, give the same counts."""
    region = shapely.Point(0.7, 0.6).buffer(0.8) - shapely.box(0.4, 0.3, 0.9, 0.7)
    size = (0.2, 0.1)
    found = lay(region, pattern, size, 0.003)
    whole = cut = 0
    covered = 0.0
    for x0, y0, x1, y1 in units_over(pattern, size, 0.003, region.bounds):
        piece = shapely.box(x0, y0, x1, y1) & region
        area = piece.area
        covered += area
        if area > 0.9999 * 0.02:
            whole += 1
        elif area > 1e-4 * 0.02:
            cut += 1
    assert found.whole == pytest.approx(whole, abs=2)  # those within a millimetre of the edge
    assert found.cut == pytest.approx(cut, abs=4)
    assert found.covered == pytest.approx(covered, rel=2e-3)


def test_a_run_of_whole_units_has_no_cut_but_the_halves():
    """Running bond 10 units long and 4 courses: two courses start and end with a half."""
    found = laid(rectangle(10 * 0.2, 4 * 0.1), length=0.2, width=0.1, joint=0)
    assert (found.field.whole, found.field.halves, found.field.large) == (2 * 10 + 2 * 9, 4, 0)
    assert units_of(found) == 40
    assert units_of(found) * found.unit_area == pytest.approx(found.area)
    # Each cut is one unit's width; two of its four sides stand at the edge.
    assert found.field.cut_length == pytest.approx(4 * 0.1, abs=0.01)


def test_waste_grows_with_the_pattern():
    """20 x 14 ft in 4 x 8: running bond takes least, herringbone on the slant most."""
    edges = [(x * FOOT, y * FOOT) for x, y in rectangle(20, 14)]
    names = ["stack", "running", "herringbone 90", "herringbone 45"]
    found = [laid(edges, pattern=name) for name in names]
    waste = [units_of(one) * one.unit_area / one.area - 1 for one in found]
    assert waste == sorted(waste)
    assert 0.01 < waste[1] < 0.05
    assert 0.03 < waste[3] < 0.12


def test_laid_the_same_wherever_and_however_turned():
    edges = np.array(rectangle(5.03, 3.17))
    turn = np.radians(37)
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    moved = [tuple(point) for point in (edges @ spin + [1000, -400]).tolist()]
    for pattern in ("running", "herringbone 45"):
        one = laid([tuple(p) for p in edges.tolist()], pattern=pattern)
        other = laid(moved, pattern=pattern)
        assert units_of(one) == units_of(other)
        assert one.field.cut == other.field.cut


def test_soldier_course_round_a_rectangle():
    """6 x 4 ft, all round, 4 x 8 without joints: 2 (6 + 4) ft less 4 corners of 8 in; each course
    butts against the one before, so the first is whole and two are short at one or two ends."""
    edges = [(x * FOOT, y * FOOT) for x, y in rectangle(6, 4)]
    found = laid(edges, length=8 * INCH, width=4 * INCH, joint=0, soldier="all")
    assert found.soldier_length == pytest.approx((20 - 4 * 8 / 12) * FOOT)
    assert found.soldier_pieces == 18 + 10 + 16 + 8
    inner = (6 - 16 / 12) * (4 - 16 / 12) * FOOT**2
    assert found.field.covered == pytest.approx(inner, rel=1e-6)


def test_soldier_course_on_chosen_edges_and_round_a_bend():
    radius = 2.0
    edges = [(0, 0), (4, 0), (4, 3), {"arc": [[2, 3 + radius], [0, 3]]}]
    polygon = shapely.Polygon([(0, 0), (4, 0), (4, 3)]).union(shapely.box(0, 0, 4, 3)) | (
        shapely.Point(2, 3).buffer(radius, quad_segs=64) & shapely.box(0, 3, 4, 6)
    )
    one = lay_pavers(polygon, edges, pavers(length=0.2, width=0.1, joint=0, soldier=[1]))
    assert one.soldier_pieces == 40
    bend = lay_pavers(polygon, edges, pavers(length=0.2, width=0.1, joint=0, soldier=[3]))
    # Pieces touch along the outer side; the middle of the course is 0.1 m further in.
    assert bend.soldier_pieces == pytest.approx(math.pi * radius / 0.1, abs=1)
    assert bend.soldier_length == pytest.approx(math.pi * (radius - 0.1), rel=5e-3)


def test_edges_are_counted_from_the_first_corner():
    lines = edge_lines([(0, 0), (4, 0), (4, 3), (0, 3), (0, 0)])
    assert [line[0].tolist() for line in lines] == [[0, 0], [4, 0], [4, 3], [0, 3]]
    assert lines[-1][-1].tolist() == [0, 0]


def test_the_longest_edges_lead():
    frames = frames_of(shapely.Polygon([(0, 0), (0, 5), (-2, 5), (-2, 0)]))
    assert [math.sin(turn) for _, _, turn in frames] == pytest.approx([1, -1])
    assert [origin.tolist() for origin, _, _ in frames] == [[0, 0], [-2, 5]]
    # As it was measured: sides that differ by a quarter of an inch are as long as one another.
    frames = frames_of(shapely.Polygon([(0, 0), (0, 5.006), (-2, 5), (-2, 0)]))
    assert len(frames) == 2


def test_slivers_are_counted():
    """Stack bond over 2.005 units: the last column is 5 mm wide."""
    found = laid(rectangle(2 * 0.2 + 0.005, 0.3), length=0.2, width=0.1, joint=0, pattern="stack")
    assert found.field.slivers == 3


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"length": 0.1, "width": 0.2}, "longer side"),
        ({"pattern": "herringbone 90", "length": 0.2, "width": 0.2}, "herringbone"),
        ({"length": 0.002, "width": 0.001}, "at least 1 in"),
        ({"soldier": [0]}, "edges of the outline"),
        ({"soldier": "some"}, "edges of the outline"),
        ({"patern": "stack"}, "Extra inputs"),
    ],
)
def test_wrong_pavers_are_refused(keys, said):
    with pytest.raises(ValidationError, match=said):
        pavers(**keys)


def test_an_edge_that_is_not_there_is_refused():
    with pytest.raises(ValidationError, match="an edge of the outline, 1 to 4"):
        Area.model_validate(
            {"name": "patio", "outline": rectangle(4, 3), "pavers": {"soldier": [5]}}
        )


def test_more_units_than_memory_holds_are_refused_with_a_sentence():
    with pytest.raises(SiteError, match="at most 2,000,000 pieces"):
        lay(shapely.box(0, 0, 1e5, 1e5), "running", (0.2, 0.1), 0.0)


@pytest.mark.parametrize("pattern", ["running", "stack", "herringbone 90", "herringbone 45"])
@pytest.mark.parametrize("turn", [0.0, 0.4, 2.1])
def test_the_faces_that_are_seen_are_those_that_were_counted(pattern, turn):
    cos, sin = math.cos(turn), math.sin(turn)
    corners = np.array([[0, 0], [5, 0], [5, 3.1], [2.2, 3.1], [2.2, 4.4], [0, 4.4]])
    edges = [tuple(corner) for corner in corners @ np.array([[cos, sin], [-sin, cos]]) + [40, -7]]
    polygon = shapely.Polygon(edges)
    laid = lay_pavers(polygon, edges, pavers(length=0.2, width=0.1, joint=0.003, pattern=pattern))
    faces, count = paver_faces(edges, laid)
    assert count == len(faces)
    assert shapely.area(faces).sum() == pytest.approx(laid.field.covered, rel=1e-3)
    assert shapely.union_all(faces).within(polygon.buffer(1e-9))
    # A joint lies between them everywhere, so none touches another.
    tree = shapely.STRtree(faces)
    one, other = tree.query(faces, "intersects")
    assert (one == other).all()


def test_soldiers_stand_along_a_round_edge_and_along_a_straight_one():
    edges = [(-2.0, 0.0), (2.0, 0.0), Arc((0.0, 2.0), (-2.0, 0.0))]
    polygon = outline_polygon(edges)
    width, length, joint = 0.1, 0.2, 0.004
    laid = lay_pavers(
        polygon, edges, pavers(length=length, width=width, joint=joint, soldier="all")
    )
    faces, count = paver_faces(edges, laid)
    soldiers = faces[count:]
    lines = [shapely.LineString(line) for line in edge_lines(edges)]
    steps = sum(math.ceil(line.length / (width + joint)) for line in lines)
    assert steps - 6 <= len(soldiers) <= steps
    # A whole one is as long as it is, square to its edge; on the bend it is cut to a taper.
    straight = [face for face in soldiers if face.distance(lines[0]) < 1e-9][5:-5]
    assert {round(face.area, 9) for face in straight} == {round(width * length, 9)}
    bend = [face for face in soldiers if face.distance(lines[1]) < 1e-9 and face not in straight]
    whole = [face for face in bend if face.area > 0.8 * width * length]
    assert len(whole) > 40
    # The round edge bulges over its chord by chord²/8 radius, here 6e-4 of a unit.
    assert max(face.area for face in whole) <= width * length * 1.005
    assert shapely.union_all(faces).within(polygon.buffer(1e-9))


def test_a_small_corner_piece_is_a_cut():
    """A triangle with legs of 15 mm beside one whole unit: a piece to saw, however small."""
    corner = shapely.Polygon([(0, 0), (0.215, 0), (0.2, 0.015), (0.2, 0.1), (0, 0.1)])
    laid = lay(corner, "stack", (0.2, 0.1), 0.0)
    assert (laid.whole, laid.cut) == (1, 1)
