"""What must hold of paving in an inside corner of the house, however it is turned and folded.

IRC R401.3: impervious surfaces within 10 ft of the foundation fall at least 2 % away from it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from make.plans.folded import folds_within
from make.sites.handmade import site_of

from grading.design.area import AreaPlan
from grading.errors import NoFinish
from grading.pipeline import Plan, plan
from grading.units import FOOT

REACH, LEAST = 10.0, 0.02  # ft and ratio
RUN = 0.5  # ft: shorter paving is laid to no fall
many = settings(
    max_examples=15,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


@dataclass(frozen=True)
class Corner:
    """A patio in an inside corner, as a person would tape it: in feet, to so many decimals.

    at is the corner, turn the bearing of the first wall and opening the angle from it to the
    second; walls and sides are lengths along each; mid and heading place a fold that is drawn.
    """

    at: tuple[float, float]
    turn: float
    opening: float
    walls: tuple[float, float]
    sides: tuple[float, float]
    shape: str
    fold: tuple[float, float, float] | None
    ground: tuple[float, float, float]
    rough: int
    decimals: int

    @property
    def axes(self) -> np.ndarray:
        """Unit vectors along the two walls, as rows."""
        angles = np.array([self.turn, self.turn + self.opening])
        return np.column_stack([np.cos(angles), np.sin(angles)])

    def place(self, along: float, across: float) -> np.ndarray:
        return np.array(self.at) + np.array([along, across]) @ self.axes

    @property
    def house(self) -> np.ndarray:
        """The ends of the walls and the corner between them. [ft]"""
        ends = [self.place(self.walls[0], 0), self.place(0, 0), self.place(0, self.walls[1])]
        return np.round(ends, self.decimals)

    def normals(self) -> list[np.ndarray]:
        """Unit vectors from the walls as taped into the yard."""
        into = self.place(1, 1) - np.array(self.at)
        found = []
        for start, end in ((self.house[1], self.house[0]), (self.house[1], self.house[2])):
            along = (end - start) / np.hypot(*(end - start))
            across = np.array([-along[1], along[0]])
            found.append(across if across @ into > 0 else -across)
        return found

    def plan(self) -> Plan:
        long, wide = self.sides
        outline = [self.place(*at) for at in ((0, 0), (long, 0), (long, wide), (0, wide))]
        rng = np.random.default_rng(self.rough)
        off = np.array([[i, j] for i in range(-4, 5) for j in range(-4, 5)]) * 9.0
        xy = self.place(long / 2, wide / 2) + off + rng.uniform(-1, 1, off.shape)
        st_ = (xy - self.at) @ np.linalg.inv(self.axes)
        fall, tilt, gather = self.ground
        z = 100 - fall * st_.sum(axis=1) + tilt * (st_[:, 0] - st_[:, 1])
        z += gather * np.abs(st_[:, 0] - st_[:, 1]) + rng.normal(0, 0.05, len(z))
        area = {
            "name": "patio",
            "outline": np.round(outline, self.decimals).tolist(),
            "base": "dense",
            "shape": self.shape,
        }
        if self.fold is not None and self.shape != "plane":
            along, across, heading = self.fold
            middle = self.place(along * long, across * wide)
            way = 3 * np.array([np.cos(heading), np.sin(heading)])
            area["fold"] = np.round([middle - way, middle + way], self.decimals).tolist()
        return plan(
            site_of(
                np.column_stack([xy, z]) * FOOT,
                [area],
                unit="ft",
                house={"walls": self.house.tolist(), "inside": self.place(-3, -3).tolist()},
                finish={"objective": "least earth"},
            )
        )


@st.composite
def corners(draw: st.DrawFn, shapes: tuple[str, ...]) -> Corner:
    walls = draw(st.tuples(st.floats(10, 26), st.floats(10, 26)))
    share = draw(st.tuples(st.floats(0.4, 1.2), st.floats(0.4, 1.2)))
    square = draw(st.booleans())
    return Corner(
        at=draw(st.tuples(st.floats(-500, 500), st.floats(-500, 500))),
        turn=draw(st.floats(0, 2 * np.pi)),
        opening=np.pi / 2 if square else draw(st.floats(np.radians(70), np.radians(140))),
        walls=walls,
        sides=(walls[0] * share[0], walls[1] * share[1]),
        shape=draw(st.sampled_from(shapes)),
        fold=draw(
            st.none() | st.tuples(st.floats(0.3, 0.7), st.floats(0.3, 0.7), st.floats(0, np.pi))
        ),
        ground=draw(st.tuples(st.floats(-0.03, 0.04), st.floats(-0.02, 0.02), st.floats(0, 0.04))),
        rough=draw(st.integers(0, 2**32 - 1)),
        decimals=draw(st.sampled_from([2, 3, 9])),
    )


def planned(corner: Corner) -> tuple[Plan, AreaPlan]:
    """Return the plan; a corner whose wishes conflict is passed over."""
    try:
        made = corner.plan()
    except NoFinish:
        assume(False)
        raise
    return made, made.areas[0]


def runs_before(corner: Corner, region: shapely.Geometry, number: int) -> bool:
    """Say whether rays from a wall, an inch apart, pass half a foot of a region within reach."""
    start, end = corner.house[1], corner.house[2 * number]
    normal = corner.normals()[number]
    length = float(np.hypot(*(end - start)))
    for along in np.arange(1 / 12, length - 1 / 12, 1 / 12):
        foot = start + along / length * (end - start)
        ray = shapely.LineString([foot, foot + REACH * normal])
        parts = shapely.get_parts(shapely.intersection(ray, region))
        if shapely.length(parts).max(initial=0.0) > RUN + 1e-3:
            return True
    return False


@many
@given(corners(("valley", "hinge", "plane", "ridge")))
def test_every_plane_falls_away_from_every_wall_that_it_lies_before(corner):
    _, area = planned(corner)
    paving = shapely.transform(area.outline, lambda xy: xy / FOOT)
    for facet in area.finish.surface.paved:
        region = shapely.transform(facet.domain, lambda xy: xy / FOOT).intersection(paving)
        for number, normal in enumerate(corner.normals()):
            if runs_before(corner, region, number):
                assert facet.plane.fall_along(normal) >= LEAST - 1e-6


@many
@given(corners(("valley", "hinge")))
def test_water_that_two_planes_gather_runs_away_along_their_line(corner):
    _, area = planned(corner)
    surface, house = area.finish.surface, shapely.LineString(corner.house)
    if not surface.folded:
        return
    for line in folds_within(surface, area.outline):
        way = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
        across = np.array([-way[1], way[0]])
        sides = [
            facet.plane.fall_along(
                -across if facet.domain.covers(shapely.Point(beside)) else across
            )
            for facet in surface.paved
            for beside in [line.mean(axis=0) + 0.02 * across]
        ]
        if len(sides) == 2 and min(sides) > 1e-4:
            # One of its ends is lower by 1 % or more, and that end is not at the house.
            levels = surface.at(line)
            low = line[int(levels.argmin())] / FOOT
            assert np.ptp(levels) / np.hypot(*(line[1] - line[0])) >= 0.01 - 1e-5
            assert house.distance(shapely.Point(low)) > 1 / 12


@many
@given(corners(("valley", "hinge", "plane", "ridge")))
def test_no_two_checks_disagree_about_a_wall(corner):
    made, _ = planned(corner)
    said: dict[str, dict[str, tuple[str, float | None]]] = {}
    for check in made.checks:
        if check.rule in ("fall-away", "every-foot-fall"):
            said.setdefault(check.where, {})[check.rule] = check.status, check.value
    assert said
    for rules in said.values():
        assert rules.keys() == {"fall-away", "every-foot-fall"}
        (one, value), (other, foot) = rules["fall-away"], rules["every-foot-fall"]
        assert one == other == "pass"
        assert abs(value - foot) < 1e-6


@many
@given(corners(("valley", "plane")))
def test_both_ways_to_drain_a_corner_are_priced_by_the_same_rules(corner):
    made, area = planned(corner)
    ways = {way.shape: way for way in area.corner_ways}
    assume(len(ways) == 2)
    # A plane is a valley that does not bend, so it can be no cheaper.
    assert ways["valley"].moved <= ways["plane"].moved + 1e-5
    group = made.groups[0]
    for shape, way in ways.items():
        if way.valley_fall is not None:
            # Away from both walls by 2 % each, it falls by the sum of both along the middle.
            first, second = corner.normals()
            assert way.valley_fall >= 2 * LEAST / np.hypot(*(first + second)) - 1e-5, shape
        assert way.greatest_fall <= group.group.limits["greatest-fall-patio"] + 1e-6
