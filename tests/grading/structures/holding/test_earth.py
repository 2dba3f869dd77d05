"""What is dug for a wall beyond the hole of the paving: a union, held against cells of an inch."""

import numpy as np
import pytest
import shapely
from make.plans.raised_yard import yard

from grading.structures.holding.holds import holding_of
from grading.structures.holding.wall_parts import trenches
from grading.units import FOOT, INCH

CELL = INCH / 2
ORGANICS = 3 * INCH


def by_cells(made, base):
    """Return all that is dug [m3]: in each cell as deep as the deeper of hole and trench."""
    area = made.areas[0]
    dig = area.digs[base]
    (wall,) = holding_of(made, area, base).walls
    dug = trenches(wall)
    every = shapely.union_all([dig.polygon, *(where for where, _ in dug)])
    x0, y0, x1, y1 = every.bounds
    x, y = np.meshgrid(
        np.arange(x0 + CELL / 2, x1, CELL), np.arange(max(y0, 0.0) + CELL / 2, y1, CELL)
    )
    x, y = x.ravel(), y.ravel()
    ground = made.ground.elevation(np.column_stack([x, y]))
    depth = np.zeros(len(x))
    hole = shapely.contains_xy(dig.polygon, x, y)
    formation = area.finish.plane.at(np.column_stack([x, y])) - dig.build_up
    depth[hole] = np.maximum(ground - formation, ORGANICS)[hole]
    for where, bottom in dug:
        inside = shapely.contains_xy(where, x, y)
        depth[inside] = np.maximum(depth, ground - bottom)[inside]
    return float(depth.sum()) * CELL**2


@pytest.mark.parametrize(
    ("high", "lawn", "base"), [(12, 0.0, "dense"), (7, 0.03, "open"), (18, 0.01, "dense")]
)
def test_a_trench_and_a_hole_are_dug_as_one(high, lawn, base):
    made = yard(high, {"kind": "block wall"}, lawn=lawn, base=base)
    (one,) = made.order.areas
    job = one.takeoffs[base]
    (wall,) = [each for each in job.structures if each.kind == "block wall"]
    # Clean stone by the house has an underdrain besides, whose trench is dug below the hole.
    others = sum(each.dug.bank for each in job.structures if each is not wall)
    assert job.dug - others == pytest.approx(by_cells(made, base), rel=0.01)
    # A sum would count twice what the hole has dug already.
    (built,) = holding_of(made, made.areas[0], base).walls
    lawn_at = float(made.ground.elevation(np.array([[8 * FOOT, 7 * FOOT]]))[0])
    alone = sum(float(where.area) * (lawn_at - low) for where, low in trenches(built))
    assert wall.dug.bank < alone
    assert 0 < wall.dug.topsoil < wall.dug.bank
    assert 0 < wall.dug.put_back <= wall.dug.bank - wall.dug.topsoil


def test_stone_behind_a_wall_takes_the_place_of_a_base_that_is_not_clean():
    """12 in of clean stone inside the edge, where a base with fines would hold water."""
    made = yard(12, {"kind": "block wall"})
    (one,) = made.order.areas
    job = one.takeoffs["dense"]
    (base,) = [part for part in job.layers if part.layer.role == "base"]
    # 16 x 14 ft less a strip 1 ft wide along the front and both sides.
    assert base.area / FOOT**2 == pytest.approx(14 * 13, abs=0.1)
    told = {line.title: line for _, line in one.chosen.lines}
    # From the pad, 20 1/4 in below the finish, up to the bedding, 3 3/8 in below it.
    height = 20.25 - 3.375
    (drain,) = [line for title, line in told.items() if title.startswith("drain stone")]
    # Behind courses of 6 in that each stand 3/4 in behind the one below: 0, 3/4 and 1 1/2 in.
    behind = (0.75 + 1.5) * 6 / 12
    assert drain.compacted / (FOOT * FOOT * INCH) == pytest.approx((height + behind) * 44, rel=0.03)
