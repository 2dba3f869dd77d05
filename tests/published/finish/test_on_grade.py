"""Paving on grade against linear programming by HiGHS, which is given rows of its own.

What is aimed for is stated here once more, in feet and from the corners as a person writes them:
the fall that is comfortable; then the least departure from the lawn along the free edges, summed
over points an inch apart; then, of the finishes that depart no more, the least dug and refilled,
summed over small squares. The ground is SciPy's Delaunay interpolation of the spots. Heights and
weights are common practice, no source. Huangfu and Hall, "Parallelizing the dual revised simplex
method", Mathematical Programming Computation 10 (2018).
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from make.sites.handmade import site_of
from msgspec.structs import replace
from scipy import sparse
from scipy.interpolate import LinearNDInterpolator
from scipy.optimize import linprog

from grading.choice.sills import ways_words
from grading.finish.departure import Lying, Profile, departure_of
from grading.pipeline import plan
from grading.site.model import GroundSpec
from grading.units import FOOT, INCH

IN = 1 / 12  # ft
BASES = {"panel": 4.125 * IN, "dense": 9.375 * IN}
USES = {"patio": 0.025, "walkway": 0.04, "driveway": 0.08}
ROW = 1 / 12  # ft: between points of an edge
CELL = 0.5


def turned(points, angle):
    """Turn points (k, 2) [ft] about the origin."""
    cos, sin = np.cos(angle), np.sin(angle)
    return np.asarray(points, dtype=float) @ np.array([[cos, sin], [-sin, cos]])


class Yard:
    """Paving wide and deep [ft] before a wall along y = 0, on rough ground that falls some way."""

    def __init__(self, seed, *, fall=None, waves=None, use=None, topsoil=None, sill=None):
        rng = np.random.default_rng(seed)
        self.wide, self.deep = rng.uniform(8, 22), rng.uniform(8, 18)
        self.use = use or list(USES)[seed % 3]
        self.base = ["panel", "dense"][seed % 2]
        self.topsoil = rng.uniform(1, 10) * IN if topsoil is None else topsoil
        self.fall = rng.uniform(-0.04, 0.06, 2) * [0.6, 1] if fall is None else np.array(fall)
        self.waves = rng.uniform(0.02, 0.2, 2) if waves is None else np.full(2, waves)
        x, y = np.meshgrid(np.arange(-8, 32, 4.0), np.arange(-8, 28, 4.0))
        xy = np.column_stack([x.ravel(), y.ravel()]) + rng.uniform(-0.8, 0.8, (x.size, 2))
        z = 100 - xy @ self.fall + (self.waves * np.sin(xy / rng.uniform(3, 9, 2))).sum(axis=1)
        self.spots = np.column_stack([xy, z])
        self.lawn = LinearNDInterpolator(xy, z)
        self.door = (self.wide * rng.uniform(0.2, 0.8), 0.0)
        over = rng.uniform(3, 9) * IN if sill is None else sill
        self.sill = float(self.lawn(*self.door)) + over
        self.angle = rng.uniform(0, 2 * np.pi)

    def site(self, **changes):
        corners = [(0, 0), (self.wide, 0), (self.wide, self.deep), (0, self.deep)]
        spots = self.spots.copy()
        spots[:, :2] = turned(spots[:, :2], self.angle)
        area = {"name": "paving", "use": self.use, "base": self.base, **changes.pop("area", {})}
        door = {"name": "door", "at": turned([self.door], self.angle)[0].tolist(),
                "sill": self.sill, **changes.pop("door", {})}  # fmt: skip
        return site_of(
            spots * FOOT,
            [{**area, "outline": turned(corners, self.angle).tolist()}],
            unit="ft",
            house={"walls": turned([(-30, 0), (60, 0)], self.angle).tolist(),
                   "inside": turned([(5, -7)], self.angle)[0].tolist()},
            doors=[door],
            ground=GroundSpec(soil="loam", organics=self.topsoil * FOOT),
            finish={},
            **changes,
        )  # fmt: skip

    def plane(self, made):
        """Return the level at the origin and the slopes of the finish, turned back. [ft, ratio]"""
        finish = made.areas[0].finish.plane
        return np.array([finish.z0 / FOOT, *turned([finish.gradient], -self.angle)[0]])

    @property
    def edge(self):
        """Points along the free edge, (k, 2), and the length that each stands for. [ft]"""
        found, length = [], []
        corners = np.array([(self.wide, 0), (self.wide, self.deep), (0, self.deep), (0, 0)])
        for start, end in pairwise(corners):
            count = round(float(np.hypot(*(end - start))) / ROW)
            share = (np.arange(count) + 0.5) / count
            found.append(start + share[:, None] * (end - start))
            length.append(np.full(count, np.hypot(*(end - start)) / count))
        return np.concatenate(found), np.concatenate(length)

    @property
    def squares(self):
        """Middles of small squares that make up the paving, (k, 2), and their area. [ft]"""
        across, along = round(self.wide / CELL), round(self.deep / CELL)
        x = (np.arange(across) + 0.5) * self.wide / across
        y = (np.arange(along) + 0.5) * self.deep / along
        at = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        return at, self.wide * self.deep / len(at)

    def departure(self, plane):
        """Return the departure of a plane from the lawn. [ft2]"""
        at, length = self.edge
        height = (np.column_stack([np.ones(len(at)), at]) @ plane - self.lawn(at)) / IN
        away = (2 * np.maximum(0.5 - height, 0) + np.maximum(height - 1.5, 0)
                + 2 * np.maximum(height - 4, 0))  # fmt: skip
        tilt = 0.5 * abs(plane[1]) / 0.01 if self.use == "patio" else 0.0
        return float((away + tilt) @ length) * IN

    def work(self, plane):
        """Return what is dug and refilled, topsoil to its bottom included. [ft3]"""
        at, size = self.squares
        subgrade = np.column_stack([np.ones(len(at)), at]) @ plane - BASES[self.base]
        dug = np.maximum(self.lawn(at) - subgrade, self.topsoil)
        return float((dug + np.maximum(subgrade - (self.lawn(at) - dug), 0)).sum()) * size

    def rows(self):
        """Return what every finish must meet, as rows (r, 3) that are at most limits (r,)."""
        turns = np.linspace(0, 2 * np.pi, 720, endpoint=False)
        disc = np.column_stack([np.zeros(720), np.cos(turns), np.sin(turns)])
        door = np.array([[1.0, *self.door]])
        rows = np.vstack([disc, [[0, 0, 1]], door, -door])
        limits = np.concatenate([np.full(720, USES[self.use]), [-0.02],
                                 [self.sill - 1.5 * IN], [7.75 * IN - self.sill]])  # fmt: skip
        return rows, limits

    def nearest_lawn(self):
        """Return the least departure that there is [ft2]; None where nothing meets the rest."""
        at, length = self.edge
        count = len(at)
        level, lawn = np.column_stack([np.ones(count), at]), self.lawn(at)
        none, one = sparse.csr_array((count, count)), sparse.eye(count)
        bare = np.zeros((count, 1))
        rows, limits = self.rows()
        parts = [
            sparse.hstack([-level, -one, none, none, bare]),
            sparse.hstack([level, none, -one, none, bare]),
            sparse.hstack([level, none, none, -one, bare]),
            sparse.csr_array([[0, 1, 0, *np.zeros(3 * count), -1.0]]),
            sparse.csr_array([[0, -1, 0, *np.zeros(3 * count), -1.0]]),
            sparse.hstack([rows, sparse.csr_array((len(rows), 3 * count + 1))]),
        ]
        tilt = 0.5 * IN * length.sum() / 0.01 if self.use == "patio" else 0.0
        answer = linprog(
            np.concatenate([np.zeros(3), 2 * length, length, 2 * length, [tilt]]),
            A_ub=sparse.vstack(parts).tocsr(),
            b_ub=np.concatenate([-(lawn + 0.5 * IN), lawn + 1.5 * IN, lawn + 4 * IN, [0, 0],
                                 limits]),
            bounds=[(None, None)] * 3 + [(0, None)] * (3 * count + 1),
            method="highs",
        )  # fmt: skip
        return answer.fun if answer.status == 0 else None

    def least_work(self, departure):
        """Return the least dug and refilled of the finishes that depart no more. [ft3]"""
        at, size = self.squares
        edge, length = self.edge
        some, count = len(edge), len(at)
        total = 3 + 3 * some + 1 + count
        level, lawn = np.column_stack([np.ones(some), edge]), self.lawn(edge)
        paved = np.column_stack([np.ones(count), at])
        firm = self.lawn(at) - self.topsoil + BASES[self.base]

        def placed(own, first=None, size=0, by=0.0):
            found = sparse.lil_array((own.shape[0], total))
            found[:, :3] = own
            if size:
                found[:, first : first + size] = by * np.eye(size)
            return found.tocsr()

        rows, limits = self.rows()
        tilt = 0.5 * IN * length.sum() / 0.01 if self.use == "patio" else 0.0
        whole = sparse.lil_array((1, total))
        whole[0, 3 : 3 + 3 * some + 1] = np.concatenate([2 * length, length, 2 * length, [tilt]])
        over = 3 + 3 * some
        tilted = sparse.lil_array((2, total))
        tilted[0, 1], tilted[1, 1], tilted[0, over], tilted[1, over] = 1, -1, -1, -1
        parts = [
            placed(-level, 3, some, -1.0), placed(level, 3 + some, some, -1.0),
            placed(level, 3 + 2 * some, some, -1.0), tilted.tocsr(), whole.tocsr(), placed(rows),
            placed(paved, over + 1, count, -1.0), placed(-paved, over + 1, count, -1.0),
        ]  # fmt: skip
        answer = linprog(
            np.concatenate([np.zeros(over + 1), np.ones(count)]),
            A_ub=sparse.vstack(parts).tocsr(),
            b_ub=np.concatenate([-(lawn + 0.5 * IN), lawn + 1.5 * IN, lawn + 4 * IN, [0, 0],
                                 [departure], limits, firm, -firm]),
            bounds=[(None, None)] * 3 + [(0, None)] * (total - 3),
            method="highs",
        )  # fmt: skip
        assert answer.status == 0
        # With topsoil o, firm ground g above the subgrade: o and abs(g) are dug and refilled.
        return (answer.fun + count * self.topsoil) * size


@pytest.mark.parametrize("seed", range(16))
def test_paving_on_grade_is_nearest_to_the_lawn_and_then_the_least_work(seed):
    yard = Yard(seed)
    least = yard.nearest_lawn()
    assert least is not None
    ours = yard.plane(plan(yard.site()))
    length = yard.edge[1].sum()

    # A hundredth of an inch all along the edge, then a thousandth of the work.
    assert yard.departure(ours) == pytest.approx(least, abs=0.01 * IN * length)
    best = yard.least_work(yard.departure(ours) + 1e-9)
    assert yard.work(ours) == pytest.approx(best, rel=1e-3)


def heights(made):
    """Return least and greatest height of the free edge over the lawn. [in]"""
    found = np.concatenate([run.height for run in made.areas[0].edge_runs]) / INCH
    return float(found.min()), float(found.max())


def patio(lawn, sill, *, use="patio", base="panel", topsoil=3.0, door=None, **area):
    """Return a patio of 16 x 14 ft on plane lawn that falls away from the house by `lawn`."""
    x, y = np.meshgrid(np.arange(-10, 31, 4.0), np.arange(-6, 41, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), 100 - lawn * y.ravel()])
    return plan(
        site_of(
            spots * FOOT,
            [{"name": "patio", "use": use, "base": base, **area,
              "outline": [[0, 0], [16, 0], [16, 14], [0, 14]]}],
            unit="ft",
            house={"walls": [[-10, 0], [30, 0]], "inside": [8, -8]},
            doors=[{"name": "back door", "at": [8, 0], "sill": 100 + sill / 12, **(door or {})}],
            ground=GroundSpec(soil="loam", organics=topsoil * INCH),
            finish={},
        )
    )  # fmt: skip


def saved(made):
    """Return what panels save of the dig on dense-graded base. [ratio]"""
    digs = made.areas[0].digs
    return 1 - digs["panel"].cut / digs["dense"].cut


# A patio of 16 x 14 ft on plane lawn; with topsoil of 3 in where none is told, the least work is
# where panels, 4 1/8 in thick, are dug to its bottom: 1 1/8 in over the lawn.
@pytest.mark.parametrize(
    ("lawn", "sill", "asked", "fall", "edge", "panels_save"),
    [
        (0.02, 6, {}, 0.02, (1.125, 1.125), 0.64),
        (0.02, 6, {"topsoil": 8.0}, 0.02, (0.5, 0.5), 0.10),
        (0.03, 6, {"use": "driveway"}, 0.03, (1.125, 1.125), 0.64),
        # The step of 7 3/4 in holds it at the door, and the cap of 2.5 % lets the lawn fall away.
        (0.04, 8, {}, 0.025, (0.25, 0.25 + 0.015 * 168), 0.60),
        (0.06, 8, {}, 0.025, (0.25, 0.25 + 0.035 * 168), 0.50),
        (0.02, 16, {}, 0.02, (1.125, 1.125), 0.64),
        (0.02, 16, {"door": {"steps": 0}}, 0.025, (8.25 - 0.005 * 168, 8.25), 0.0),
    ],
)  # fmt: skip
def test_paving_on_plane_lawn_lies_where_a_crew_lays_it(lawn, sill, asked, fall, edge, panels_save):
    made = patio(lawn, sill, **asked)
    assert made.areas[0].finish.plane.fall == pytest.approx(fall, abs=1e-4)
    assert heights(made) == pytest.approx(edge, abs=0.1)
    assert saved(made) == pytest.approx(panels_save, abs=0.01)


def test_a_high_sill_gets_steps_and_is_shown_raised_beside_them():
    made = patio(0.02, 16)
    ways = made.sill_ways
    assert [way.kind for way in ways] == ["on grade with steps", "raised to the door"]
    assert [way.planned for way in ways] == [True, False]
    steps, raised = (way.doors[0] for way in ways)
    # 16 in less the 1 1/8 in that the paving stands over the lawn there, in two.
    assert (steps.risers, steps.riser / INCH) == (2, pytest.approx(14.875 / 2, abs=0.01))
    assert (raised.risers, raised.step / INCH) == (1, pytest.approx(7.75, abs=0.01))
    assert ways[0].work < ways[1].work
    assert ways[0].cost < ways[1].cost
    # No price on a homeowner's paper unless the crew shows one, and what it costs on none.
    assert "$" not in ways_words(ways, "ft")
    assert "loads more of soil and stone" in ways_words(ways, "ft")
    assert "its price is $1,200 more" in ways_words(ways, "ft", "$1,200 more")
    assert "cost" not in ways_words(ways, "ft", "$1,200 more")
    # One height of the edge, wherever it is told.
    assert ways[0].edge[2] == made.areas[0].edge_heights[0]
    assert -ways[0].edge[0] == made.areas[0].edge_heights[1]
    (check,) = [one for one in made.area_checks if one.rule == "door-step"]
    assert check.status == "pass"
    assert check.text.startswith("2 steps of 7 7/16 in from the sill of back door")


@pytest.mark.parametrize(("sill", "steps"), [(9.2, False), (11.0, False), (13.0, True)])
def test_steps_are_planned_from_a_sill_of_about_a_foot(sill, steps):
    made = patio(0.02, sill)
    assert bool(made.groups[0].group.stepped) is steps
    assert bool(made.sill_ways) is (sill > 9.25)


def test_another_shape_is_advised_where_the_lawn_falls_and_not_where_a_door_holds_it_up():
    def told(*yard, **door):
        (check,) = [one for one in patio(*yard, door=door).area_checks
                    if one.rule == "lawn-shoulder"]  # fmt: skip
        return check.text

    assert "two levels with a step between them" in told(0.06, 8)
    assert "one step more" not in told(0.06, 8)
    held = told(0.02, 16, steps=0)
    assert "two levels" not in held
    assert held.endswith("one step more at that door lets it lie up to 7 3/4 in lower")


def test_steps_that_are_asked_for_are_held():
    made = patio(0.02, 16, door={"steps": 3})
    height = 16 - heights(made)[0]
    assert 3 * 1.5 <= height <= 3 * 7.75
    assert not made.sill_ways
    (check,) = [one for one in made.area_checks if one.rule == "door-step"]
    assert check.text.startswith("3 steps of")
    assert check.limit == pytest.approx(3 * 7.75 * INCH)


def test_two_sills_far_apart_each_get_what_they_need():
    """The kitchen door's steps free the patio; the other door then has its one step."""
    yard = Yard(0, fall=(0, 0.02), waves=0.0, use="patio", sill=16 * IN)
    site = yard.site()
    at = turned([(1.0, 0.0)], yard.angle)[0].tolist()
    low = {"name": "low door", "at": at, "sill": 100 + 5 * IN}
    door = type(site.doors[0]).model_validate(low, context={"unit": "ft"})
    made = plan(replace(site, doors=(*site.doors, door)))
    assert set(made.groups[0].group.stepped) == {"door"}
    assert [check.where for check in made.area_checks if check.rule == "door-step"]


def test_what_forces_an_edge_out_is_named_with_what_frees_it():
    made = patio(0.06, 8)
    (check,) = [one for one in made.area_checks if one.rule == "lawn-shoulder"]
    assert check.status == "warn"
    assert "a curb or a wall" in check.text
    # Half a per cent steeper over 14 ft is 0.84 in.
    lower = 0.25 + 0.03 * 168
    assert "held there by a comfortable fall of at most 2.5 %: 0.5 % looser it is " in check.text
    assert f"{lower:.0f}" in check.text
    assert "two levels with a step" in check.text


def test_a_lawn_that_falls_to_the_house_leaves_the_edge_sunk_and_says_so():
    made = patio(-0.02, 4)
    (check,) = [one for one in made.area_checks if one.rule == "lawn-sunk"]
    assert check.status == "warn"
    assert "cut the lawn back" in check.text
    assert "swale" in check.text


def test_a_lower_door_never_raises_the_paving():
    heights_by_sill = [np.mean(heights(patio(0.02, sill, door={"steps": 0}))) for sill in
                       (16, 13, 10, 8, 6, 4, 3)]  # fmt: skip
    assert (np.diff(heights_by_sill) <= 1e-3).all()


def test_free_is_what_an_objective_decides():
    on_grade, free = patio(0.0, 6), patio(0.0, 6, grade="free")
    assert on_grade.areas[0].grade == "as it lies"
    assert free.areas[0].grade == "free"
    assert free.areas[0].finish.work <= on_grade.areas[0].finish.work + 1e-6
    named = site_of(
        np.column_stack([free.site.spots.xyz]), [{"name": "patio", "outline": [[0, 0], [4, 0],
        [4, 4], [0, 4]], "base": "panel"}], finish={"objective": "least earth"},
    )  # fmt: skip
    assert plan(named).areas[0].grade == "free"


@pytest.mark.parametrize("enclosed", [False, True])
def test_the_departure_is_the_integral_that_it_says_with_its_slopes(enclosed):
    """Against sums over points and squares, and differences of them."""
    yard = Yard(4, use="patio", waves=0.3)
    group = plan(yard.site()).groups[0]
    fit = group.solved.held
    block, clip = fit.blocks[0], fit.clips[0]
    walls = group.group.walls["paving"]
    profile = next(iter(group.group._profiles.values()))
    if enclosed:
        profile = Profile((), profile.outline, profile.area)
        # The same mean height that the edge would be charged for, over the paving.
        walls = ()
    departure = departure_of([Lying(block, profile, clip, walls)], group.group.limits)

    def summed(plane):
        if not enclosed:
            return yard.departure(plane)
        at, size = yard.squares
        height = (np.column_stack([np.ones(len(at)), at]) @ plane - yard.lawn(at)) / IN
        away = (2 * np.maximum(0.5 - height, 0) + np.maximum(height - 1.5, 0)
                + 2 * np.maximum(height - 4, 0))  # fmt: skip
        around = 2 * (yard.wide + yard.deep)
        return float(away.sum()) * size * IN * around / (yard.wide * yard.deep)

    rng = np.random.default_rng(1)
    for _ in range(5):
        unknowns = group.solved.unknowns + rng.uniform(-1, 1, 3) * [0.1, 0.02, 0.02]
        finish = block.surface(unknowns).main
        plane = np.array([finish.z0 / FOOT, *turned([finish.gradient], -yard.angle)[0]])
        found = departure.moments(unknowns)
        assert found.moved / FOOT**2 == pytest.approx(summed(plane), rel=2e-3, abs=1e-4)
        step = 1e-6
        for number in range(3):
            by = step * np.eye(3)[number]
            up, down = (departure.moments(unknowns + sign * by) for sign in (1, -1))
            slope = (up.moved - down.moved) / (2 * step)
            assert found.gradient[number] == pytest.approx(slope, rel=1e-3, abs=1e-3)


def test_raised_is_what_levels_force_and_never_what_the_fit_chose():
    """Left free on thick stone the finish floats; no level of the house asks for it."""
    free = patio(0.0, 12, grade="free", base="open", topsoil=1.0, door={"step": ["1 in", "11 in"]})
    assert heights(free)[1] > 5.5
    rules = {
        reason.rule for verdict in free.advice.areas[0].base.verdicts for reason in verdict.reasons
    }
    assert not {rule for rule in rules if "raised" in rule}
    # The door's one step forces it.
    forced = patio(0.0, 18, grade="free", base="open", topsoil=1.0, door={"steps": 0})
    rules = {
        reason.rule
        for verdict in forced.advice.areas[0].base.verdicts
        for reason in verdict.reasons
    }
    assert {"panel-raised", "open-raised"} <= rules


def test_every_base_is_dug_to_the_one_finish():
    made = patio(0.01, 6, base=None)
    (area,) = made.areas
    corners = np.array(area.outline.exterior.coords)
    for dig in area.digs.values():
        assert np.array_equal(dig.finish.at(corners), area.finish.surface.at(corners))
    assert area.chosen == "panel"
    assert saved(made) > 0.5


def test_a_sill_beyond_its_step_by_more_than_a_slip_is_not_told_as_one_to_be_shot_again():
    def told(z):
        plane = {"at": [8, 0], "z": z, "fall": "2 %", "bearing": 0}
        checks = patio(0.02, 6, plane=plane).area_checks
        return [check.where for check in checks if check.rule == "sill-read"]

    # The sill is at 100.5 ft: 7 1/2 in over the first, 4 in, and 12 in over the others.
    assert [told(100.5 - step / 12) for step in (7.5, 4.0, 12.0)] == [["back door"], [], []]
