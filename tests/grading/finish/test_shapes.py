"""Finishes of several planes: hand cases, brute force, and how areas hang together."""

from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
import shapely
from make.plans.folded import folds_within
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from make.sites.site_folder import AREA, HEAD, write_site
from scipy.optimize import minimize

from grading.checks.areas import checks_of
from grading.design.places import places_of
from grading.errors import NoFinish, SiteError
from grading.finish import fold_search
from grading.pipeline import plan
from grading.reading.site_file import read_site
from grading.site.corners import corners_at
from grading.units import FOOT, INCH
from viz.words.paving.finish import corner_lines, finish_lines

SIDE = 14 * FOOT
INNER = {"walls": [[-1, 0], [9, 0], [9, 8]], "inside": [10.5, -1]}
SQUARE = {**PATIO, "outline": [[9 - SIDE, 0], [9, 0], [9, SIDE], [9 - SIDE, SIDE]]}
OUTER = {"walls": [[-1, 3], [4, 3], [4, -5]], "inside": [0, -1]}
WRAP = {**PATIO, "outline": [[0, 3], [4, 3], [4, -0.5], [8, -0.5], [8, 7], [0, 7]]}


def flat(x, y):
    return 30 + 0 * x


def bumpy(x, y):
    return 30 - 0.01 * y + 0.05 * np.sin(x) * np.cos(y / 2)


def planned(areas, house=WALL, height=bumpy, **kwargs):
    kwargs.setdefault("finish", {"objective": "least earth"})
    return plan(site_of(grid_of_spots(height), areas, house=house, **kwargs))


def jumps(surface, within):
    """Greatest step between the planes on the two sides of each fold."""
    worst = 0.0
    for fold in folds_within(surface, within):
        at = fold[0] + np.linspace(0.01, 0.99, 9)[:, None] * (fold[1] - fold[0])
        levels = np.stack([facet.plane.at(at) for facet in surface.facets])
        near = np.stack(
            [shapely.distance(facet.domain, shapely.points(at)) < 1e-9 for facet in surface.facets]
        )
        for number in range(len(at)):
            both = levels[near[:, number], number]
            worst = max(worst, float(np.ptp(both)))
    return worst


def test_an_inside_corner_is_known_from_an_outside_one():
    site = site_of(grid_of_spots(flat), [SQUARE], house=INNER)
    (corner,) = corners_at(site.house, site.areas[0].polygon)
    assert not corner.outside
    assert corner.bisector == pytest.approx(np.array([-1, 1]) / np.sqrt(2))
    site = site_of(grid_of_spots(flat), [WRAP], house=OUTER)
    (corner,) = corners_at(site.house, site.areas[0].polygon)
    assert corner.outside
    assert corner.bisector == pytest.approx(np.array([1, 1]) / np.sqrt(2))


def dished(x, y):
    """Ground that falls away from the inside corner and gathers on the line half-way."""
    return 30 - 0.025 * y + 0.025 * (x - 9) + 0.03 * np.abs((9 - x) - y)


def test_both_planes_of_a_valley_fall_away_from_both_walls():
    # Each plane is as steep as a patio may be, and just falls away from the wall it lies along:
    # 4 % in all and 2 % one way leave 3.46 % the other way.
    area = planned([{**SQUARE, "shape": "valley"}], INNER, dished).areas[0]
    surface = area.finish.surface
    steep = np.sqrt(0.04**2 - 0.02**2)
    planes = sorted((facet.plane.gradient.tolist()) for facet in surface.paved)
    assert planes == [pytest.approx([0.02, -steep]), pytest.approx([steep, -0.02])]
    way = np.array([-1, 1]) / np.sqrt(2)
    corner = surface.at(np.array([[9.0, 0.0]]))
    valley = corner - surface.at((np.array([9.0, 0]) + way)[None])
    assert valley == pytest.approx((steep + 0.02) / np.sqrt(2), rel=1e-6)
    (check,) = [one for one in planned_checks(area) if one.rule == "valley-fall"]
    assert (check.status, check.value) == ("pass", pytest.approx(float(valley[0]), rel=1e-6))


def planned_checks(area):
    """Return the checks of one area alone."""
    group = area.group.group
    return checks_of(area, group.limits, places_of(group.site, [area]))


def test_a_valley_level_along_both_walls_is_refused():
    # Common practice, no source, lays it so: 2 % away from one wall, level along the other. Then
    # the strip along each wall runs beside it and not away from it.
    doors = [{"name": f"sill {n}", "at": at, "sill": 30.1, "step": ["0.1 m", "0.1 m"]}
             for n, at in enumerate(([9 - SIDE, 0], [9, 0], [9, SIDE]))]  # fmt: skip
    with pytest.raises(NoFinish, match=r"a fall of 2\.0 % away from wall"):
        planned([{**SQUARE, "shape": "valley"}], INNER, doors=doors)


def test_one_diagonal_plane_falls_s_times_root_two():
    area = planned([SQUARE], INNER, flat).areas[0]
    plane = area.finish.plane
    assert plane.fall == pytest.approx(0.02 * np.sqrt(2), rel=1e-6)
    corner, low = plane.at(np.array([[9.0, 0.0], [9 - SIDE, SIDE]]))
    assert corner - low == pytest.approx(6.72 * INCH, abs=0.005 * INCH)


def test_an_inside_corner_is_solved_both_ways():
    area = planned([SQUARE], INNER, dished).areas[0]
    valley, plane = area.corner_ways
    assert (valley.shape, plane.shape) == ("valley", "plane")
    # A plane is a valley that does not bend.
    assert valley.moved < plane.moved - 0.01
    area = planned([SQUARE], INNER, flat).areas[0]
    _, plane = area.corner_ways
    assert plane.corner_drop == pytest.approx(6.72 * INCH, abs=0.01 * INCH)
    assert plane.reveals["wall 1"] == pytest.approx(0.02 * SIDE, rel=1e-6)
    assert valley.valley_fall > 0.02 * np.sqrt(2)
    assert plane.valley_fall is None
    assert (valley.one_plane, plane.one_plane) == (False, True)


@pytest.mark.parametrize("shape", ["valley", "ridge", "hinge"])
def test_planes_that_come_out_the_same_are_told_as_one_that_needs_no_fold(shape):
    # The ground falls as the finish may: no bend saves any earth.
    area = {**PATIO, "shape": shape, "fold": [[5, 0], [5, 5]]}
    whole = planned([area], WALL, lambda x, y: 30 - 0.025 * y + 0 * x)
    made = whole.areas[0]
    assert made.finish.surface.folded
    assert made.finish.surface.one_plane
    told = finish_lines(made, whole.places)
    (line,) = [line for line in told if "no fold" in line]
    assert f"was to be a {shape}" in line


def test_a_corner_whose_valley_does_not_bend_has_no_valley_to_lead_away():
    def diagonal(x, y):
        return 30 - 0.025 * y + 0.025 * x

    ways = planned([SQUARE], INNER, diagonal).areas[0].corner_ways
    assert [(way.one_plane, way.valley_fall) for way in ways] == [(True, None), (True, None)]
    said = list(corner_lines(planned([SQUARE], INNER, diagonal).areas[0], "ft"))
    assert "no fold is needed" in said[1]
    assert "must lead to an outlet" not in "".join(said)


@pytest.mark.parametrize("planes", [2, 3, 4])
def test_a_fan_sheds_from_both_walls_and_meets_without_a_step(planes):
    made = planned([{**WRAP, "shape": "fan", "planes": planes}], OUTER, flat).areas[0]
    surface = made.finish.surface
    assert len(surface.paved) == planes
    assert jumps(surface, made.outline) < 1e-9
    for wall in made.walls:
        assert wall.fall_away >= 0.02 - 1e-8
    assert min(facet.plane.fall for facet in surface.paved) >= 0.02 - 1e-8


def test_a_drawn_ridge_sheds_both_ways():
    area = {**PATIO, "shape": "ridge", "fold": [[5, 0], [5, 5]]}
    made = planned([area], None).areas[0]
    left, right = sorted(made.finish.surface.paved, key=lambda facet: facet.domain.centroid.x)
    assert left.plane.fall_along(np.array([-1, 0])) >= 0.02 - 1e-8
    assert right.plane.fall_along(np.array([1, 0])) >= 0.02 - 1e-8
    assert jumps(made.finish.surface, made.outline) < 1e-9


def test_a_ridge_found_by_itself_costs_no_more_than_drawn_ones():
    found = planned([{**PATIO, "shape": "ridge"}], None).areas[0].finish.moved
    for fold in ([[5, 0], [5, 5]], [[1, 2.5], [9, 2.5]], [[1, 0], [9, 5]]):
        drawn = planned([{**PATIO, "shape": "ridge", "fold": fold}], None).areas[0]
        assert found <= drawn.finish.moved + 1e-6


def test_a_warp_is_ruled_between_its_edges():
    corners = (("a", [1, 0], 30.2), ("b", [1, 5], 30.1), ("c", [9, 0], 30.2), ("d", [9, 5], 30.02))
    doors = [{"name": name, "at": at, "sill": z, "step": ["0 m", "0 m"]} for name, at, z in corners]
    area = {**PATIO, "shape": "warp", "between": [[[1, 0], [1, 5]], [[9, 0], [9, 5]]]}
    made = planned([area], doors=doors).areas[0]
    s, t = np.random.default_rng(1).uniform(0, 1, (2, 200))
    exact = (1 - t) * (30.2 - 0.1 * s) + t * (30.2 - 0.18 * s)
    found = made.finish.surface.at(np.column_stack([1 + 8 * t, 5 * s]))
    twist = 0.08
    assert found == pytest.approx(exact, abs=twist / 32)
    assert jumps(made.finish.surface, made.outline) < 1e-9
    assert made.finish.surface.twist == pytest.approx(twist / 40, rel=1e-6)


def test_two_areas_that_share_an_edge_are_flush_along_it():
    walk = {**PATIO, "name": "walk", "use": "walkway", "outline": [[9, 0], [11, 0], [11, 1.5], [9, 1.5]]}  # fmt: skip  # noqa: E501
    patio, walk = planned([PATIO, walk]).areas
    edge = np.column_stack([np.full(20, 9.0), np.linspace(0, 1.5, 20)])
    difference = patio.finish.surface.at(edge) - walk.finish.surface.at(edge)
    assert difference == pytest.approx(np.zeros(20), abs=1e-8)


LOWER = {**PATIO, "name": "lower", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]}


@pytest.mark.parametrize("risers", [1, 2])
def test_a_declared_step_keeps_its_risers(risers):
    step = [{"down": ["patio", "lower"], "risers": risers, "riser": ["6 in", "7 in"]}]
    patio, lower = planned([PATIO, LOWER], steps=step).areas
    edge = np.column_stack([np.linspace(1, 9, 20), np.full(20, 5.0)])
    drop = patio.finish.surface.at(edge) - lower.finish.surface.at(edge)
    assert drop.min() >= risers * 6 * INCH - 1e-8
    assert drop.max() <= risers * 7 * INCH + 1e-8
    assert np.ptp(drop) <= 3 / 8 * INCH * risers + 1e-8


def test_the_check_of_a_step_tells_the_drop_that_is_there():
    step = [{"down": ["patio", "lower"], "risers": 1, "riser": ["6 in", "7 in"]}]
    made = planned([PATIO, LOWER], steps=step)
    patio, lower = made.areas
    edge = np.array([[1.0, 5.0], [9.0, 5.0]])
    drops = patio.finish.surface.at(edge) - lower.finish.surface.at(edge)
    (check,) = [each for each in made.area_checks if each.rule == "riser"]
    assert check.status == "pass"
    assert check.value == pytest.approx(drops.min(), abs=1e-6) or check.value == pytest.approx(
        drops.max(), abs=1e-6
    )


def test_flush_areas_move_at_least_as_much_as_each_would_alone():
    together = sum(area.finish.moved for area in planned([PATIO, LOWER]).areas)
    alone = sum(planned([area]).areas[0].finish.moved for area in (PATIO, LOWER))
    assert together >= alone - 1e-7


def test_the_optimum_of_two_flush_areas_is_that_of_a_general_solver():
    made = planned([PATIO, LOWER])
    group = made.groups[0]
    fit, build_ups = group.solved.held, group.solved.build_ups
    bounds = fit.bounds
    constraints = [
        {"type": "ineq", "fun": lambda x, r=row, u=up: u - r @ x}
        for row, up in zip(bounds.rows, bounds.upper, strict=True) if np.isfinite(up)
    ] + [
        {"type": "ineq", "fun": lambda x, r=row, lo=low: r @ x - lo}
        for row, low in zip(bounds.rows, bounds.lower, strict=True) if np.isfinite(low)
    ] + [
        {"type": "ineq", "fun": lambda x, d=disc: d.radius - np.hypot(*(d.matrix @ x))}
        for disc in bounds.discs
    ]  # fmt: skip
    best = np.inf
    for seed in range(4):
        start = fit.start + np.random.default_rng(seed).normal(size=6) * np.tile(
            [0.05, 0.01, 0.01], 2
        )
        answer = minimize(
            lambda x: fit.moments(x, build_ups).moved, start, constraints=constraints,
            jac=lambda x: fit.moments(x, build_ups).gradient, method="SLSQP",
            options={"ftol": 1e-13, "maxiter": 500},
        )  # fmt: skip
        if all(c["fun"](answer.x) > -1e-7 for c in constraints):
            best = min(best, answer.fun)
    moved = sum(area.finish.moved for area in made.areas)
    assert moved <= best + 1e-6
    assert moved == pytest.approx(best, abs=1e-4)


def test_a_conflict_across_areas_names_both():
    doors = [{"name": "door", "at": [4, 0], "sill": 30.1}]
    lawn = [{"kind": "lawn", "name": "far lawn", "at": [[1, 8], [9, 8]], "z": 30.05, "area": "lower"}]  # fmt: skip  # noqa: E501
    with pytest.raises(NoFinish) as caught:
        planned([PATIO, LOWER], doors=doors, floors=lawn)
    told = str(caught.value)
    assert told.startswith("areas 'patio' and 'lower': no finish plane has all of these together:")
    assert "far lawn" in told


@pytest.mark.parametrize(
    ("area", "said"),
    [
        ({"shape": "fan"}, "outside corner"),
        ({"shape": "warp"}, "two edges"),
    ],
)
def test_a_shape_that_cannot_be_is_told(area, said):
    with pytest.raises(SiteError, match=said):
        planned([{**PATIO, **area}])


def test_cut_and_fill_under_a_folded_finish_are_those_of_its_parts():
    made = planned([{**WRAP, "shape": "fan"}], OUTER).areas[0]
    dig = made.digs["dense"]
    parts = [dig.paved.part(number, dig.paved.centre) for number in range(2)]
    cut = sum(
        part.volumes(*coefficients).cut
        for part, coefficients in zip(parts, dig.formation.coefficients, strict=True)
    )
    assert dig.cut_in_outline == pytest.approx(cut, rel=1e-9)
    assert sum(part.area for part in parts) == pytest.approx(made.outline.area, rel=1e-12)


def test_areas_that_all_but_share_an_edge_are_told_of():
    near = {**LOWER, "outline": [[1, 5.05], [9, 5.05], [9, 8], [1, 8]]}
    (told,) = [each for each in planned([PATIO, near]).warnings if "share no edge" in each]
    assert told.startswith("patio and lower run 50 mm apart over 8")
    assert not any("share no edge" in each for each in planned([PATIO, LOWER]).warnings)


def test_an_edge_shared_in_part_is_flush_along_that_part():
    part = {**LOWER, "outline": [[4, 5], [12, 5], [12, 8], [4, 8]]}
    patio, lower = planned([PATIO, part]).areas
    edge = np.column_stack([np.linspace(4, 9, 20), np.full(20, 5.0)])
    difference = patio.finish.surface.at(edge) - lower.finish.surface.at(edge)
    assert difference == pytest.approx(np.zeros(20), abs=1e-8)


def test_areas_drawn_most_of_an_inch_apart_were_measured_as_one_edge():
    """A tape across a yard tells no less; an inch and a quarter apart it is another edge."""
    for apart, shared in ((0.02, True), (0.032, False)):
        part = {**LOWER, "outline": [[4, 5 + apart], [9, 5 + apart], [9, 8], [4, 8]]}
        made = planned([PATIO, part], height=lambda x, y: 30 - 0.02 * y + 0.03 * np.abs(y - 5))
        rules = {wish.rule for area in made.areas for wish in area.wishes}
        assert ("shared-edge" in rules) == shared
        told = any("and so share no edge" in warning for warning in made.warnings)
        assert told == (not shared)


def test_areas_that_touch_off_their_edge_are_flush_along_it_alone():
    # A corner written to a hundredth of a foot stands off the other's side by 1.5 mm.
    part = {**LOWER, "outline": [[4, 5.0015], [9, 4.9985], [12, 5], [12, 8], [4, 8]]}
    made = planned([PATIO, part], height=lambda x, y: 30 - 0.02 * y + 0.03 * np.abs(y - 5))
    patio, lower = (area.finish.surface for area in made.areas)
    edge = np.column_stack([np.linspace(4, 9, 20), np.full(20, 5.0)])
    assert patio.at(edge) == pytest.approx(lower.at(edge), abs=1e-4)
    assert np.hypot(*(patio.main.gradient - lower.main.gradient)) > 0.01


TOWARDS = {**LOWER, "outline": [[1, 5], [9, 5], [9, 9], [1, 9]]}


def ditch(x, y):
    """Ground that falls to the line y = 5 from both sides, and hardly along it."""
    return 30 + 0.025 * np.abs(y - 5) + 0.001 * x


@pytest.mark.parametrize("areas", ["two areas", "hinge", "valley"])
def test_water_between_two_planes_is_led_along_their_line(areas):
    fold = {**PATIO, "outline": [[1, 0], [9, 0], [9, 9], [1, 9]], "fold": [[0, 5], [10, 5]]}
    tables = [PATIO, TOWARDS] if areas == "two areas" else [{**fold, "shape": areas}]
    made = planned(tables, height=ditch)
    line = np.array([[1.0, 5.0], [9.0, 5.0]])
    levels = made.areas[0].finish.surface.at(line)
    surface = made.areas[-1].finish.surface
    above = surface.at(np.array([[5.0, 9.0]])) - surface.at(np.array([[5.0, 5.0]]))
    assert above > 0  # it does gather water
    assert abs(np.diff(levels)) / 8 >= 0.01 - 1e-6
    (check,) = [one for one in made.area_checks if one.rule == "valley-fall"]
    assert check.status == "pass"
    assert check.value == pytest.approx(float(abs(np.diff(levels)[0])) / 8, rel=1e-6)


def test_of_all_ways_to_lead_the_water_the_one_that_costs_least_is_taken():
    """The ground tips the line one way: led the other way, or on across it, costs more."""
    fold = {**PATIO, "outline": [[1, 0], [9, 0], [9, 9], [1, 9]], "fold": [[0, 5], [10, 5]]}
    made = planned([{**fold, "shape": "hinge"}], height=ditch)
    group = made.groups[0]
    fit, build_ups = group.group.fit(group.shapes), group.solved.build_ups
    (crease,) = fit.creases
    assert crease.gathers(fit.solve(build_ups).unknowns)
    ways = crease.ways()
    assert len(ways) == 4
    tried = [fit.solve(build_ups, [*fit.wishes, way]) for way in ways]
    # Back over the line to the wall it cannot run.
    costs = [each.moved for each in tried if each is not None]
    assert len(costs) == 3
    assert made.areas[0].finish.moved == pytest.approx(min(costs), rel=1e-6)
    levels = made.areas[0].finish.surface.at(np.array([[1.0, 5.0], [9.0, 5.0]]))
    assert levels[0] < levels[1]


def test_water_is_not_led_to_the_house():
    # The fold runs out from the wall, so its one end is closed.
    fold = {**PATIO, "shape": "valley", "fold": [[5, 0], [5, 5]]}
    made = planned([fold], height=lambda x, y: 30 + 0.03 * np.abs(x - 5) + 0.02 * y)
    (crease,) = made.groups[0].solved.held.creases
    assert sorted(crease.open) == [False, True]
    (check,) = [one for one in made.area_checks if one.rule == "valley-fall"]
    assert (check.status, check.value) == ("pass", pytest.approx(0.02, abs=1e-6))


def test_a_line_that_cannot_lead_its_water_away_is_named():
    # Both ends and both sides are held: a door at each end of the line, and lawns above it.
    doors = [{"name": f"sill {x}", "at": [x, 5], "sill": 30.1, "step": ["0.1 m", "0.1 m"]}
             for x in (1, 9)]  # fmt: skip
    lawn = [{"kind": "lawn", "name": "far lawn", "at": [[1, 9], [9, 9]], "z": 30.1}]
    with pytest.raises(NoFinish) as caught:
        planned([PATIO, TOWARDS], height=ditch, doors=doors, floors=lawn)
    assert "the edge between patio and lower" in str(caught.value)


@pytest.mark.parametrize("shape", ["ridge", "valley"])
def test_a_fold_that_no_finish_has_is_refused_without_a_warning_of_a_library(shape):
    """Warnings are errors in the tests: SciPy's simplex took infinity from infinity."""
    house = "[house]\nwalls = [[0, 0], [32, 0]]\ninside = [16, -8]\n"
    door = "[[door]]\nat = [12, 0]\nsill = 99.9\n"
    lawn = '[[floor]]\nkind = "lawn"\nat = [[2, 18], [28, 18]]\nz = 100\n'
    with TemporaryDirectory() as folder:
        text = f'{HEAD}{house}{door}{lawn}{AREA}shape = "{shape}"\n'
        site = read_site(write_site(Path(folder), text))
        with pytest.raises(NoFinish):
            plan(site)


@pytest.mark.parametrize("finish", [{}, {"objective": "least earth"}])
def test_lines_that_are_left_early_would_not_have_been_the_best(finish, monkeypatch):
    """The fold is where it comes to lie when every line is solved for to its end."""
    area = {**PATIO, "shape": "hinge"}
    solved, lines = fold_search.Fit._on_grade, []

    def noted(self, lawn, build_ups, bounds, steeper, start, below=np.inf):
        found = solved(self, lawn, build_ups, bounds, steeper, start, below)
        lines.append(found is None)
        return found

    monkeypatch.setattr(fold_search.Fit, "_on_grade", noted)
    made = planned([area], height=bumpy, finish=finish).areas[0]
    early = lines.count(True)
    monkeypatch.setattr(fold_search.Fit, "_on_grade", lambda *a: solved(*a[:6]))
    cost = fold_search._cost
    monkeypatch.setattr(fold_search, "_cost", lambda group, fit, below: cost(group, fit, np.inf))
    whole = planned([area], height=bumpy, finish=finish).areas[0]
    for one, two in zip(made.finish.surface.facets, whole.finish.surface.facets, strict=True):
        assert one.plane == two.plane
        assert shapely.equals_exact(one.domain, two.domain)
    assert early > 5 or finish


def test_a_fold_is_sought_from_lines_through_the_middle_and_to_both_sides_of_it(monkeypatch):
    """Over each of eight directions: the best of these is where closing in on it begins."""
    sought, folded = [], fold_search.folded_shape

    def noted(outline, centre, fold, bend):
        middle = fold.mean(axis=0) - centre
        along = (fold[1] - fold[0]) / np.hypot(*(fold[1] - fold[0]))
        off = float(along[0] * middle[1] - along[1] * middle[0])
        sought.append((round(float(np.degrees(np.arctan2(*along[::-1]))) % 180, 3), round(off, 6)))
        return folded(outline, centre, fold, bend)

    monkeypatch.setattr(fold_search, "folded_shape", noted)
    planned([{**PATIO, "shape": "hinge"}], height=bumpy)
    begun = sought[:40]
    ways = {way for way, _ in begun}
    assert len(ways) == 8
    for way in ways:
        offs = sorted(off for each, off in begun if each == way)
        assert offs == pytest.approx(np.linspace(offs[0], offs[-1], 5), abs=1e-5)
        assert offs[2] == pytest.approx(0.0, abs=1e-6)
        assert offs[-1] > 1.0


@pytest.mark.parametrize("shape", ["hinge", "valley"])
@pytest.mark.parametrize(
    "ground",
    [lambda x, y: 30 + 0 * x, lambda x, y: 30 - 0.04 * np.maximum(y - 2.5, 0.0)],
    ids=["level", "half of it level"],
)
def test_a_folded_finish_that_no_wall_directs_falls_enough_on_each_of_its_planes(shape, ground):
    """One of them that falls by itself leaves the other no less to fall."""
    area = {**PATIO, "shape": shape, "fold": [[1, 2.5], [9, 2.5]]}
    made = planned([area], house=None, height=ground)
    falls = [facet.plane.fall for facet in made.areas[0].finish.surface.paved]
    assert min(falls) >= 0.02 - 1e-8
    (check,) = [each for each in made.area_checks if each.rule == "least-fall"]
    assert check.status == "pass"
