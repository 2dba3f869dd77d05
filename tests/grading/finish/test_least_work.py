"""The default finish takes the least digging and refilling: held to a solver of another kind.

The other route shares nothing with ours but the spots: SciPy's Delaunay triangles (Qhull), an
integral by quadrature over a fine grid of its own, bounds written down here from the yard's own
numbers, and a linear program (HiGHS) in place of Newton steps. With one slack t for each cell,
the sum of area times t is the least while t >= abs(ground - topsoil - subgrade), so the optimum
of the program is that of the quadrature; the two differ from ours by the quadrature alone.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import pytest
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from scipy.interpolate import LinearNDInterpolator
from scipy.optimize import linprog
from scipy.sparse import csr_array, hstack, identity, vstack

from grading.pipeline import plan
from grading.records.plan import record
from grading.site.model import GroundSpec
from grading.units import INCH

CELL = 0.16  # m
CLOSE = 3e-3  # of the volume: what the quadrature misses
BUILD_UP = {"dense": 9.375 * INCH, "open": 9.375 * INCH, "panel": 4.125 * INCH}
SIDES = 180  # of the polygon that stands for the greatest fall


@dataclass
class Program:
    """A linear program over planes z = a + b x + c y, three unknowns for each area."""

    areas: list[dict]
    rows: list = field(default_factory=list)
    most: list = field(default_factory=list)

    def level(self, area: int, x: float, y: float) -> np.ndarray:
        row = np.zeros(3 * len(self.areas))
        row[3 * area : 3 * area + 3] = 1, x, y
        return row

    def fall(self, area: int, x: float, y: float) -> np.ndarray:
        row = np.zeros(3 * len(self.areas))
        row[3 * area + 1 : 3 * area + 3] = -x, -y
        return row

    def at_most(self, row: np.ndarray, value: float) -> None:
        self.rows.append(row)
        self.most.append(value)

    def at_least(self, row: np.ndarray, value: float) -> None:
        self.at_most(-row, -value)

    def total_fall(self, area: int, greatest: float) -> None:
        for turn in np.linspace(0, 2 * np.pi, SIDES, endpoint=False):
            self.at_most(self.fall(area, np.cos(turn), np.sin(turn)), greatest)

    def cells(self, spots: np.ndarray, topsoil, weighed: bool):
        """Return rows (c, n), what they are to be near (c,), the area of each, and the topsoil."""
        surface = LinearNDInterpolator(spots[:, :2], spots[:, 2])
        rows, wanted, sizes, stripped = [], [], [], 0.0
        for number, area in enumerate(self.areas):
            ring = np.array(area["outline"])
            (left, bottom), (right, top) = ring.min(axis=0), ring.max(axis=0)
            across, up = round((right - left) / CELL), round((top - bottom) / CELL)
            x = left + (np.arange(across) + 0.5) * (right - left) / across
            y = bottom + (np.arange(up) + 0.5) * (top - bottom) / up
            at = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
            depth = topsoil(at)
            size = (right - left) * (top - bottom) / len(at)
            own = np.zeros((len(at), 3 * len(self.areas)))
            own[:, 3 * number] = 1
            own[:, 3 * number + 1 : 3 * number + 3] = at
            rows.append(own)
            firm = surface(at) - (depth if weighed else 0)
            wanted.append(firm + BUILD_UP[area["base"]])
            sizes.append(np.full(len(at), size))
            stripped += size * depth.sum() if weighed else 0.0
        return np.vstack(rows), np.concatenate(wanted), np.concatenate(sizes), stripped

    def least(self, spots: np.ndarray, topsoil, weighed: bool = True) -> float:
        """Return the least volume of any planes within the bounds. [m3]"""
        rows, wanted, sizes, stripped = self.cells(spots, topsoil, weighed)
        count = rows.shape[1]
        slack = identity(len(rows), format="csr")
        none = csr_array((len(self.rows), len(rows)))
        answer = linprog(
            np.concatenate([np.zeros(count), sizes]),
            A_ub=vstack(
                [
                    hstack([csr_array(rows), -slack]),
                    hstack([csr_array(-rows), -slack]),
                    hstack([csr_array(np.array(self.rows)), none]),
                ]
            ),
            b_ub=np.concatenate([wanted, -wanted, self.most]),
            bounds=[(None, None)] * count + [(0, None)] * len(rows),
            method="highs",
        )
        assert answer.status == 0, answer.message
        return float(answer.fun) + stripped

    def volume(self, spots: np.ndarray, topsoil, unknowns: np.ndarray) -> float:
        """Return the same volume under given planes. [m3]"""
        rows, wanted, sizes, stripped = self.cells(spots, topsoil, True)
        return float(sizes @ np.abs(rows @ unknowns - wanted)) + stripped


def yard(seed: int):
    """Return the spots of a rough yard that falls some way, and its topsoil, probed at each spot.

    A probe is given back exactly where it was made, so between spots the depth is as linear as
    the ground is.
    """
    rng = np.random.default_rng(seed)
    fall, across = rng.uniform(-0.05, 0.02), rng.uniform(-0.02, 0.02)
    wave, phase = rng.uniform(0.01, 0.06), rng.uniform(0, 6)

    def height(x, y):
        return 30 + fall * y + across * x + wave * np.sin(0.9 * x + phase) * np.cos(0.7 * y)

    spots = grid_of_spots(height)
    depth = rng.uniform(0.05, 0.2) + rng.uniform(0, 0.05, len(spots))
    ground = GroundSpec(probes=np.column_stack([spots[:, :2], depth]))
    return spots, LinearNDInterpolator(spots[:, :2], depth), ground


def planes(made) -> np.ndarray:
    found = [area.finish.plane for area in made.areas]
    return np.concatenate([[plane.z0, plane.dzdx, plane.dzdy] for plane in found])


SILL, SIDING = 30.12, 30.2
HELD = {
    "house": WALL,
    "doors": [{"name": "door", "at": [3, 0], "sill": SILL}],
    "ceilings": [{"kind": "siding", "at": [[1, 0], [9, 0]], "z": SIDING}],
}


def held(area: dict) -> Program:
    """Write down what that house asks of a patio against it."""
    other = Program([area])
    other.at_least(other.fall(0, 0, 1), 0.02)
    other.total_fall(0, 0.04)
    other.at_most(other.level(0, 3, 0), SILL - 1.5 * INCH)
    other.at_least(other.level(0, 3, 0), SILL - 7.75 * INCH)
    for x in (1, 9):
        other.at_most(other.level(0, x, 0), SIDING - 2 * INCH)
    return other


@pytest.mark.parametrize("seed", range(5))
@pytest.mark.parametrize("base", ["panel", "dense"])
def test_one_area_takes_what_the_other_solver_proves_the_least(seed, base):
    spots, topsoil, ground = yard(seed)
    area = {**PATIO, "base": base}
    made = plan(site_of(spots, [area], ground=ground, **HELD))
    other = held(area)
    least = other.least(spots, topsoil)
    finish = made.areas[0].finish
    assert finish.work == pytest.approx(least, rel=CLOSE)
    assert other.volume(spots, topsoil, planes(made)) <= least * (1 + CLOSE)
    assert 0 <= finish.gap <= 1e-6 * finish.work


@pytest.mark.parametrize("seed", range(3))
def test_least_earth_stays_to_be_had_by_its_name(seed):
    spots, topsoil, ground = yard(seed)
    area = {**PATIO, "base": "panel"}
    finish = {"objective": "least earth"}
    made = plan(site_of(spots, [area], ground=ground, finish=finish, **HELD))
    least = held(area).least(spots, topsoil, weighed=False)
    # Of earth there is little where the ground is followed: the quadrature misses more of it.
    assert made.areas[0].finish.moved == pytest.approx(least, rel=5 * CLOSE, abs=5e-3)
    assert made.areas[0].finish.work > held(area).least(spots, topsoil)


LOWER = {**PATIO, "name": "lower", "base": "panel", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]}


@pytest.mark.parametrize("seed", range(20, 23))
def test_areas_with_a_step_between_them_take_the_least_together(seed):
    spots, topsoil, ground = yard(seed)
    areas = [PATIO, {**LOWER, "toward": 0}]
    step = {"down": ["patio", "lower"], "risers": 1, "riser": ["4 in", "7 in"]}
    made = plan(
        site_of(
            spots, areas, house=WALL, ground=ground, steps=[step], limits={"foundation-reach": 4.0}
        )
    )
    other = Program(areas)
    other.at_least(other.fall(0, 0, 1), 0.02)
    other.at_least(other.fall(1, 0, 1), 0.02)
    other.at_most(other.fall(1, 1, 0), 0.0)
    other.at_least(other.fall(1, 1, 0), 0.0)
    other.total_fall(0, 0.04)
    other.total_fall(1, 0.04)
    drops = [other.level(0, x, 5) - other.level(1, x, 5) for x in (1, 9)]
    for drop in drops:
        other.at_least(drop, 4 * INCH)
        other.at_most(drop, 7 * INCH)
    for one, two in (drops, drops[::-1]):
        other.at_most(one - two, 3 / 8 * INCH)
    least = other.least(spots, topsoil)
    assert sum(area.finish.work for area in made.areas) == pytest.approx(least, rel=CLOSE)
    assert other.volume(spots, topsoil, planes(made)) <= least * (1 + CLOSE)


WALK = {**PATIO, "name": "walk", "use": "walkway", "outline": [[9, 0], [11, 0], [11, 5], [9, 5]]}


@pytest.mark.parametrize("seed", range(30, 33))
def test_areas_flush_along_an_edge_take_the_least_together(seed):
    spots, topsoil, ground = yard(seed)
    areas = [PATIO, {**WALK, "base": "panel"}]
    made = plan(site_of(spots, areas, ground=ground, **HELD))
    other = Program(areas)
    for number, greatest in enumerate((0.04, 0.05)):
        other.at_least(other.fall(number, 0, 1), 0.02)
        other.total_fall(number, greatest)
    other.at_most(other.level(0, 3, 0), SILL - 1.5 * INCH)
    other.at_least(other.level(0, 3, 0), SILL - 7.75 * INCH)
    for x in (1, 9):
        other.at_most(other.level(0, x, 0), SIDING - 2 * INCH)
    other.at_most(other.level(1, 9, 0), SIDING - 2 * INCH)
    for y in (0, 5):
        along = other.level(0, 9, y) - other.level(1, 9, y)
        other.at_most(along, 0.0)
        other.at_least(along, 0.0)
    least = other.least(spots, topsoil)
    assert sum(area.finish.work for area in made.areas) == pytest.approx(least, rel=CLOSE)
    assert other.volume(spots, topsoil, planes(made)) <= least * (1 + CLOSE)


def test_what_the_fit_counts_is_what_the_holes_dig_and_take():
    """By the depths themselves: dug to the formation or the topsoil's bottom, and made up."""
    spots, _, ground = yard(3)
    (area,) = plan(site_of(spots, [{**PATIO, "base": "panel"}], ground=ground, **HELD)).areas
    paved, formation = area.chosen_dig.paved, area.chosen_dig.formation
    # Each piece parted alike into some hundreds, and both volumes summed at their middles.
    parts = 24
    i, j = np.mgrid[:parts, :parts].reshape(2, -1)
    middles = [np.column_stack([i + k, j + k, parts - i - j - 2 * k]) for k in (1 / 3, 2 / 3)]
    weights = np.vstack([middle[middle[:, 2] > 0] for middle in middles]) / parts
    assert len(weights) == parts**2
    assert weights.min() > 0
    above = paved.depth_below(formation.coefficients) @ weights.T
    topsoil = paved.organics @ weights.T
    dug, made_up = np.maximum(above, topsoil), np.maximum(topsoil - above, 0)
    counted = float(paved.areas @ (dug + made_up).mean(axis=1))
    assert area.finish.work == pytest.approx(counted, rel=CLOSE)


def test_the_json_tells_both_volumes_of_a_finish_and_of_the_falls():
    spots, _, ground = yard(1)
    made = plan(site_of(spots, [{**PATIO, "base": "panel"}], ground=ground, **HELD))
    told = record(made)
    finish, (group,) = told["areas"][0]["finish"], told["finishes"]
    assert finish["dug_and_refilled"] == made.areas[0].finish.work > finish["moved"]
    assert finish["gap"] == made.areas[0].finish.gap
    first = group["outcomes"][0]
    assert first["objective"] == "least dig and refill" == made.site.finish.objective
    assert first["dug_and_refilled"] == pytest.approx(finish["dug_and_refilled"])
    at = {round(each["fall_away"], 3): each for each in group["tradeoff"]}
    assert at[0.02]["dug_and_refilled"] == pytest.approx(finish["dug_and_refilled"], abs=1e-6)
    assert at[0.02]["moved"] == pytest.approx(finish["moved"], rel=1e-3)
