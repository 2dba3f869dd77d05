"""Arcs are marked from a string, in closed form, and their ends and middles are stakes."""

import math

import numpy as np
import pytest
import shapely
from make.sites.on_a_plane import planar_spots, written

from grading.design.points import named_points
from grading.pipeline import plan
from grading.records.stakes import stakes_record
from grading.setout.model import set_out
from grading.units import FOOT

SITE = """name = "bent"
unit = "ft"
spots = "spots.csv"
[house]
walls = [[-3, 0], [40, 0]]
inside = [5, -5]
[[area]]
name = "walk"
outline = {outline}
base = "dense"
plane = {{at = [0, 0], z = 100, fall = "2 %", bearing = 0}}
"""
BOW = "[[0, 0], [24, 0], [24, 4], [20, 4], {arc = [[12, 5], [4, 4]]}, [0, 4]]"
LIP = "[[0, 0], [24, 0], [24, 8], {arc = [[20, 12], [16, 8]]}, [0, 8]]"
HOLLOW = "[[0, 0], [24, 0], [24, 8], {arc = [[12, 5], [0, 8]]}]"


def made(folder, outline):
    folder.mkdir(exist_ok=True)
    site = written(
        folder, SITE.format(outline=outline), planar_spots((40, 24), (100.0, 0.0, -0.01))
    )
    return plan(site)


def test_a_bow_of_a_walk_is_marked_from_the_string_over_it(tmp_path):
    """Chord 16 ft, rise 1 ft: r = (8^2 + 1^2) / 2 = 32.5 ft; off at 2 ft = sqrt(r^2-6^2) - 31.5."""
    (area,) = set_out(made(tmp_path, BOW)).areas
    (bent,) = area.curves
    assert bent.outward
    assert bent.length / FOOT == pytest.approx(16)
    assert [mark.along / FOOT for mark in bent.marks] == pytest.approx([2, 4, 6, 8, 10, 12, 14])
    by_hand = [math.sqrt(32.5**2 - (t - 8) ** 2) - 31.5 for t in (2, 4, 6, 8, 10, 12, 14)]
    assert [mark.off / FOOT for mark in bent.marks] == pytest.approx(by_hand)
    at = {stake.name: stake.at / FOOT for stake in area.stakes}
    # On the paving, looking out over the arc with the house behind: left is +x, by hand.
    assert at[bent.start] == pytest.approx([4, 4])
    assert at[bent.end] == pytest.approx([20, 4])
    kinds = {stake.kind: stake.at / FOOT for stake in area.stakes}
    assert kinds["middle of an arc"] == pytest.approx([12, 5])


@pytest.mark.parametrize("outline", [BOW, LIP, HOLLOW])
def test_every_mark_lies_on_the_edge_of_the_paving(tmp_path, outline):
    (area,) = set_out(made(tmp_path, outline)).areas
    edge = area.area.outline.exterior
    for bent in area.curves:
        for mark in bent.marks:
            foot, at = bent.place(mark)
            # The outline's own chords leave the arc by at most a millimetre.
            assert edge.distance(shapely.Point(at)) < 2e-3
            inside = shapely.contains_xy(area.area.outline.buffer(1e-3), *foot)
            assert inside == bent.outward


def test_half_a_circle_is_marked_in_two_halves_and_a_hollow_from_outside(tmp_path):
    (area,) = set_out(made(tmp_path / "lip", LIP)).areas
    first, second = area.curves
    for half in (first, second):
        assert half.length / FOOT == pytest.approx(4 * math.sqrt(2))
    assert first.end == second.start or first.start == second.end
    (hollow,) = set_out(made(tmp_path / "hollow", HOLLOW)).areas[0].curves
    assert not hollow.outward
    assert max(mark.off for mark in hollow.marks) / FOOT == pytest.approx(3.0)


def test_where_an_arc_runs_on_from_a_straight_edge_is_a_point(tmp_path):
    """Quarter of a circle of 12 ft that leaves the straight edge in its own direction."""
    outline = "[[0, 0], [24, 0], [24, 16], [12, 16], {arc = [[3.5147186, 12.4852814], [0, 4]]}]"
    found = made(tmp_path, outline)
    points = named_points(found.areas[0])
    at = points.xy[: points.corners] / FOOT
    for wanted in ((12, 16), (0, 4)):
        assert np.hypot(*(at - wanted).T).min() < 1e-6, wanted
    assert points.middles == 1
    assert points.xy[-1] / FOOT == pytest.approx([3.5147186, 12.4852814], abs=1e-5)
    assert list(points.names) == sorted(points.names)


def test_the_record_of_stakes_has_the_marks(tmp_path):
    found = set_out(made(tmp_path, BOW))
    (told,) = stakes_record(found, "ft-in", 0.001)["areas"][0]["curves"]
    (bent,) = found.areas[0].curves
    assert told["from"] == bent.start
    assert told["outward"] is True
    assert told["marks"][3] == {"along": bent.marks[3].along, "off": bent.marks[3].off}
    assert told["marks"][3]["off"] / FOOT == pytest.approx(1.0)
