"""Whole jobs small enough to check by hand.

Source: common practice, no source. Each is worked by hand in the comment beside it; what is
printed to 1/8 in or to 0.1 cu yd is held to half of that.
"""

from __future__ import annotations

import numpy as np
import pytest
from make.sites.on_a_plane import planar_spots, written

from grading.geometry.plane import Plane
from grading.pipeline import plan
from grading.units import (
    CUBIC_YARD,
    FOOT,
    INCH,
    SQUARE_FOOT,
    inches,
    percent,
    read_length,
)

QUARTER_PER_FOOT = 1 / 48


def test_rods_from_a_sill(tmp_path):
    """Sill 100' 0", rod on it 3' 2 1/2": instrument at 103' 2 1/2". Finish 7 in below the sill at
    the wall, falling 1/4 in/ft to 14 ft out (3 1/2 in).

    Rods at the wall and 14 ft out: finish 3' 9 1/2" and 4' 1"; base (3 3/8 in down) 4' 0 7/8" and
    4' 4 3/8"; subgrade (9 3/8 in down) 4' 6 7/8" and 4' 10 3/8".
    """
    site = written(
        tmp_path,
        """
        name = "rods"
        unit = "ft"
        spots = "spots.csv"
        [house]
        walls = [[-2, 0], [22, 0]]
        inside = [10, -5]
        [[door]]
        at = [10, 0]
        sill = 100
        [[area]]
        name = "patio"
        use = "patio"
        outline = [[0, 0], [20, 0], [20, 14], [0, 14]]
        base = "dense"
        plane = {at = [10, 0], z = "99' 5\\"", fall = "1/4 in/ft", bearing = 0}
        """,
        planar_spots((20, 14), (99.5, 0, -0.02)),
    )
    area = plan(site).areas[0]
    instrument = read_length("100'", "ft") + read_length("3' 2 1/2\"", "ft")
    dig = area.chosen_dig
    base = dig.finish.lowered(dig.system.tops()[2])
    stakes = np.array([[10, 0], [10, 14]]) * FOOT
    printed = {
        dig.finish: ["3' 9 1/2\"", "4' 1\""],
        base: ["4' 0 7/8\"", "4' 4 3/8\""],
        dig.formation: ["4' 6 7/8\"", "4' 10 3/8\""],
    }
    for surface, rods in printed.items():
        read = [read_length(rod, "ft") for rod in rods]
        assert instrument - surface.at(stakes) == pytest.approx(read, abs=INCH / 16)
        assert instrument - surface.at(stakes) == pytest.approx(read, abs=1e-9)  # all exact
    assert dig.finish.main.fall == pytest.approx(QUARTER_PER_FOOT, rel=1e-12)


def test_inside_corner_by_one_plane(tmp_path):
    """14 ft square patio in an inside corner on level ground: 2 % off both walls is one plane that
    falls 2.83 % on the diagonal, 6.72 in down at the outer corner."""
    site = written(
        tmp_path,
        """
        name = "corner"
        unit = "ft"
        spots = "spots.csv"
        [house]
        walls = [[0, 20], [0, 0], [20, 0]]
        inside = [-5, -5]
        [[area]]
        name = "patio"
        use = "patio"
        outline = [[0, 0], [14, 0], [14, 14], [0, 14]]
        base = "dense"
        """,
        planar_spots((20, 20), (100, 0, 0)),
    )
    finish = plan(site).areas[0].finish.plane
    # On level ground any steeper moves more, so both walls bind.
    assert (finish.dzdx, finish.dzdy) == pytest.approx((-0.02, -0.02), abs=1e-8)
    assert percent(finish.fall, 2) == "2.83 %"
    near, far = finish.at(np.array([[0, 0], [14, 14]]) * FOOT)
    assert (near - far) / INCH == pytest.approx(6.72, abs=0.005)


def test_inside_corner_by_two_planes():
    """Level along both walls and 2 % off each: the planes meet in a valley of 1.41 %, and the
    outer corner of a 14 ft square is 3.36 in down."""
    first, second = Plane(0.0, 0.0, -0.02), Plane(0.0, -0.02, 0.0)
    across = first.gradient - second.gradient  # the planes are level with each other along it
    valley = np.array([across[1], -across[0]]) / np.hypot(*across)
    assert abs(first.fall_along(valley)) == pytest.approx(0.0141, abs=5e-5)
    assert first.fall_along(valley) == pytest.approx(second.fall_along(valley), abs=1e-15)
    corner = np.array([[14, 14]]) * FOOT
    drop = -max(first.at(corner)[0], second.at(corner)[0])
    assert drop / INCH == pytest.approx(3.36, abs=0.005)


WALK = """
name = "walk"
unit = "ft"
spots = "spots.csv"
[ground]
soil = "{soil}"
[[area]]
name = "walk"
use = "walkway"
outline = [[0, 0], [30, 0], [30, 4], [0, 4]]
base = "dense"
plane = {{at = [0, 0], z = 100, fall = "2 %", bearing = 0}}
[[area]]
name = "landing at the gate"
use = "walkway"
outline = [[-3, -1], [0, -1], [0, 5], [-3, 5]]
base = "dense"
plane = {{at = [0, 0], z = 100, fall = "2 %", bearing = 0}}
[[area]]
name = "landing at the yard"
use = "walkway"
outline = [[30, -1], [33, -1], [33, 5], [30, 5]]
base = "dense"
plane = {{at = [0, 0], z = 100, fall = "2 %", bearing = 0}}
"""


@pytest.mark.parametrize(("soil", "loose"), [("loam", 5.4), ("clay", 5.6)])
def test_narrow_walk_is_a_quarter_over_dig(tmp_path, soil, loose):
    """4 by 30 ft, dense 6 in, over-dig 6 in on the long sides alone (paving at both ends):
    150 sq ft by 9 3/8 in = 4.34 cu yd, 3.47 without the over-dig; 5.4 to 5.6 loose.

    At each end the 6 in square by both is dug half with the landing: 0.5 sq ft less in all."""
    spots = planar_spots((30, 4), (100, 0, -0.02))
    walk = plan(written(tmp_path, WALK.format(soil=soil), spots)).areas[0]
    dig = walk.chosen_dig
    shared = 4 * 0.5**2 / 2
    assert dig.dig_area / SQUARE_FOOT == pytest.approx(150 - shared, rel=1e-9)
    assert dig.cut / CUBIC_YARD == pytest.approx(4.34 * (150 - shared) / 150, abs=0.005)
    assert dig.cut_in_outline / CUBIC_YARD == pytest.approx(3.47, abs=0.005)
    assert dig.cut / dig.cut_in_outline == pytest.approx(1.25 - shared / 120, rel=1e-9)
    assert dig.spoil_loose / CUBIC_YARD == pytest.approx(loose, abs=0.05)
    assert dig.fill == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(("over_dig", "more"), [(8, 33), (12, 50)])
def test_narrow_walk_with_wider_over_dig(tmp_path, over_dig, more):
    """On a 4 ft walk 8 in each side is a third more dig, 12 in half as much again."""
    toml = WALK.format(soil="loam") + f'[limits]\nover-dig = "{over_dig} in"\n'
    spots = planar_spots((30, 4), (100, 0, -0.02))
    dig = plan(written(tmp_path, toml, spots)).areas[0].chosen_dig
    # Less what is dug half with the landings, at four corners of 120 sq ft.
    shared = 4 * (over_dig / 12) ** 2 / 2 / 120
    assert (dig.cut / dig.cut_in_outline - 1 + shared) * 100 == pytest.approx(more, abs=0.5)


PATIO = """
name = "comparison"
unit = "ft"
spots = "spots.csv"
[ground]
soil = "{soil}"
organics = "{organics}"
[house]
walls = [[-3, 0], [23, 0]]
inside = [10, -5]
[[area]]
name = "patio"
use = "patio"
outline = [[0, 0], [20, 0], [20, 14], [0, 14]]
base = "{base}"
plane = {{at = [10, 0], z = 100, fall = "2 %", bearing = 0}}
[[base]]
name = "open"
layers = [{{name = "paver", thickness = "2 3/8 in"}},
          {{name = "chip bedding", thickness = "1 1/2 in"}},
          {{name = "open-graded base", thickness = "6 in"}}]
[[base]]
name = "panel"
layers = [{{name = "paver", thickness = "2 3/8 in"}}, {{name = "panel", thickness = "3/4 in"}},
          {{name = "bedding", thickness = "1/2 in"}}]
"""


def patio(folder, soil="loam", organics="0 in", base="dense"):
    """20 by 14 ft against a wall, on ground at the level of the finish."""
    toml = PATIO.format(soil=soil, organics=organics, base=base)
    return plan(written(folder, toml, planar_spots((20, 14), (100, 0, -0.02)))).areas[0]


@pytest.mark.parametrize(
    ("name", "depth", "bank", "loose"),
    [
        ("dense", "9 3/8 in", 8.8, (11.0, 11.5)),
        ("open", "9 7/8 in", 9.3, (11.6, 12.1)),
        ("panel", "3 5/8 in", 3.4, (4.3, 4.4)),
    ],
)
def test_three_bases_under_a_patio(tmp_path, name, depth, bank, loose):
    """20 by 14 ft, over-dig 6 in on three sides: 21 by 14 1/2 ft = 304.5 sq ft. Bank volume is
    that times the dig; loose at 25 and 30 %."""
    for soil, in_the_barrow in zip(("loam", "clay"), loose, strict=True):
        dig = patio(tmp_path, soil).digs[name]
        assert dig.dig_area / SQUARE_FOOT == pytest.approx(304.5, rel=1e-9)
        assert inches(dig.build_up, 8) == depth
        assert dig.max_dig == pytest.approx(dig.build_up, rel=1e-9)
        assert dig.cut / CUBIC_YARD == pytest.approx(bank, abs=0.05)
        assert dig.spoil_loose / CUBIC_YARD == pytest.approx(in_the_barrow, abs=0.06)
        assert dig.fill == pytest.approx(0, abs=1e-12)


def test_stone_under_a_patio(tmp_path):
    """304.5 sq ft by 6 in of base = 5.6 cu yd compacted; bedding and pavers end with the edge."""
    dense = patio(tmp_path).digs["dense"]
    volumes = {layer.layer.name: layer.volume / CUBIC_YARD for layer in dense.layers}
    assert volumes["dense-graded base"] == pytest.approx(5.6, abs=0.05)
    assert volumes["bedding sand"] == pytest.approx(280 / 12 / 27, rel=1e-9)
    assert volumes["paver"] == pytest.approx(280 * 2.375 / 12 / 27, rel=1e-9)


def test_deep_topsoil_takes_the_panels_saving(tmp_path):
    """With 7 in of topsoil the panel's hole is 6.6 cu yd, and 3 3/8 in of refill, 3.2 cu yd,
    comes in; the saving on dense falls from more than half to a quarter."""
    bare, deep = patio(tmp_path), patio(tmp_path, organics="7 in")
    panel = deep.digs["panel"]
    assert panel.cut / CUBIC_YARD == pytest.approx(6.6, abs=0.05)
    assert panel.fill / CUBIC_YARD == pytest.approx(3.2, abs=0.05)
    assert panel.max_dig / INCH == pytest.approx(7, rel=1e-9)
    refill = panel.fill / panel.dig_area
    assert inches(refill, 8) == "3 3/8 in"
    # Stone is dug deeper than the topsoil, so there it changes nothing.
    assert deep.digs["dense"].cut == pytest.approx(bare.digs["dense"].cut, rel=1e-12)

    def saving(area):
        return 1 - area.digs["panel"].cut / area.digs["dense"].cut

    assert saving(bare) > 0.6
    assert saving(deep) == pytest.approx(0.25, abs=0.01)
