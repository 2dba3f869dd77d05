"""Edge and joint are choices that act: on the hole, the order, the hours, and the rain."""

import datetime
from pathlib import Path

import numpy as np
import pytest
import shapely
from make.plans.jobs import DEPTHS, level_yard, line, patio
from make.sites.handmade import PATIO, grid_of_spots, site_of
from msgspec.structs import replace

from grading.catalogue.edge_kinds import WALL, EdgeName, JointName, edge_kinds, passing_rules
from grading.catalogue.rules import Limits
from grading.catalogue.suitability import options
from grading.conditions.season import is_cold
from grading.crew.model import default_crew
from grading.dig.edge_sections import edging_of
from grading.order.model import order_of
from grading.pipeline import plan
from grading.reading.site_file import read_site
from grading.site.feature_tables import Frost, Laying
from grading.site.model import Storm
from grading.units import CUBIC_FOOT, FOOT, HOUR, INCH, POUND, SQUARE_FOOT
from grading.water.joints import shares_of
from grading.water.spouts import sheds_on

SITES = ("back-patio", "flush-walk", "front-walk", "garden-court", "raised-patio", "side-walkway")


@pytest.fixture(scope="module")
def ordered():
    """Return the order of the 20 x 14 ft yard with an edge and a joint, each made once."""
    made = {}

    def of(edge=None, joint="polymeric sand"):
        if (edge, joint) not in made:
            yard = level_yard(bases=DEPTHS, edge=edge, joint=joint)
            made[edge, joint] = order_of(yard, default_crew())
        return made[edge, joint]

    return of


def takeoff(order, base):
    return order.areas[0].takeoffs[base]


# The patio is 20 x 14 ft with the house along one of its long sides: a hole that reaches w ft
# beyond it is (20 + 2 w) (14 + w) ft2 large. By hand, from what the edge takes beyond the paving.
BEYOND = [
    ("panel", "panel edge", 6), ("panel", "spiked edge", 6), ("panel", "concrete edge", 4),
    ("panel", "border", 8), ("panel", "wall", 0),
    ("dense", "spiked edge", 6), ("dense", "concrete edge", 6), ("dense", "border", 8),
    ("dense", "wall", 0),
    ("open", "dense shoulder", 6), ("open", "spiked edge", 6), ("open", "concrete edge", 6),
    ("open", "border", 8), ("open", "wall", 0),
]  # fmt: skip


@pytest.mark.parametrize(("base", "edge", "beyond"), BEYOND)
def test_the_hole_reaches_as_far_as_the_edge_asks(ordered, base, edge, beyond):
    job = takeoff(ordered(edge), base)
    wide = beyond / 12
    assert job.dig.system.edge == edge
    assert job.dig.dig_area / SQUARE_FOOT == pytest.approx((20 + 2 * wide) * (14 + wide))
    # Cut flush, panels and their bedding end with the pavers; else they go on under the edge.
    flush = base == "panel" and edge in ("concrete edge", "border", "wall")
    for part in job.layers:
        goes_on = part.layer.role != "paver" and base == "panel" and not flush
        goes_on |= part.layer.role == "base"
        laid = job.dig.dig_area if goes_on else 280 * SQUARE_FOOT
        laid -= job.shoulder_area if part.layer.material == "open-graded" else 0.0
        assert part.area == pytest.approx(laid)


def test_a_wider_edge_or_a_thicker_base_reaches_farther():
    """A toe of 10 in is wider than what stone asks; a base of 12 in reaches as far as it is."""
    thick = [{"name": "dense", "layers": [
        {"name": "paver", "thickness": "2 3/8 in"}, {"name": "bedding", "thickness": "1 in"},
        {"name": "base", "thickness": "12 in"}]}]  # fmt: skip
    for bases, width, beyond in (((), 10 * INCH, 10), (thick, 10 * INCH, 12), (thick, 0.1, 12)):
        yard = level_yard(bases=bases, edge="concrete edge")
        limits = {"concrete-edge-width": width}
        made = plan(replace(yard.site, limits=limits))
        wide = beyond / 12
        area = made.areas[0].digs["dense"].dig_area
        assert area / SQUARE_FOOT == pytest.approx((20 + 2 * wide) * (14 + wide))


@pytest.mark.parametrize(
    ("base", "edge", "across"),
    [
        # A toe 4 in wide up to 1 in below the finish: on panels in the ground, 3 5/8 in deep; on
        # stone on the base, under 2 3/8 in of paver and 1 in or 1 1/2 in of bedding.
        ("panel", "concrete edge", 4 * (3.625 - 1)),
        ("dense", "concrete edge", 4 * (3.375 - 1)),
        ("open", "concrete edge", 4 * (3.875 - 1)),
        # A unit 4 in wide and as high as the paver on concrete, and 4 in of haunch behind it.
        ("panel", "border", 4 * (3.625 - 2.375) + 4 * (3.625 - 1)),
        ("dense", "border", 4 * (3.375 - 2.375) + 4 * (3.375 - 1)),
    ],
)
def test_concrete_of_an_edge_in_closed_form(ordered, base, edge, across):
    job = patio(ordered(edge), base)
    long = takeoff(ordered(edge), base).free_edge
    concrete = line(job, "concrete of the edge")
    assert long / FOOT == pytest.approx(48, abs=0.4)
    wanted = long * across * INCH**2 * 145 * POUND / CUBIC_FOOT
    assert concrete.net == pytest.approx(wanted, rel=1e-9)
    assert concrete.amount == pytest.approx(1.1 * wanted, rel=1e-9)
    assert all(each.item not in ("edging", "spikes", "screws") for _, each in job.lines)
    borders = [each for _, each in job.lines if each.item == "border"]
    assert [each.net for each in borders] == ([long] if edge == "border" else [])
    # Where concrete stands no soil is put back.
    soil = line(job, "backfill of the edge").compacted
    beside = job.jobs[0].dig.backfill
    assert beside - soil == pytest.approx(long * across * INCH**2, rel=1e-9)


def test_a_shoulder_takes_the_place_of_the_open_stone(ordered):
    """The ring beside the paving is 24 1/2 ft2; the base is 6 in thick."""
    job = patio(ordered(), "open")
    assert job.jobs[0].dig.system.edge == "dense shoulder"
    shoulder = line(job, "shoulder of the edge")
    assert shoulder.item == "dense-graded"
    assert shoulder.compacted / CUBIC_FOOT == pytest.approx(24.5 / 2)
    stone = sum(each.compacted for _, each in job.lines if each.item == "open-graded")
    assert stone / CUBIC_FOOT == pytest.approx(280 / 2)
    without = patio(ordered("spiked edge"), "open")
    stone = sum(each.compacted for _, each in without.lines if each.item == "open-graded")
    assert stone / CUBIC_FOOT == pytest.approx(304.5 / 2)
    assert all(each.item != "dense-graded" for _, each in without.lines)
    assert job.time.mean > without.time.mean


def test_a_wall_takes_no_edge_and_where_it_would_be_too_low_a_curb_is_counted(ordered):
    job = patio(ordered("wall"), "panel")
    assert takeoff(ordered("wall"), "panel").free_edge == 0
    assert takeoff(ordered("wall"), "panel").held_edge / FOOT == pytest.approx(48, abs=0.4)
    assert all(each.item not in ("edging", "screws") for _, each in job.lines)
    assert [each.kind for each in takeoff(ordered("wall"), "panel").structures] == ["curb"]


# The joints of 4 x 8 in units 1/8 in apart are 1 - 32 / (8.125 * 4.125) of the paving, filled
# 2 1/4 in deep: 280 ft2 of it hold 2.37 ft3. Pounds in a cubic foot as the tables have them.
FILLED = {
    "polymeric sand": ("polymeric sand", 100, 1.15, "joint"),
    "jointing sand": ("plain jointing sand", 100, 1.15, "joint-loose"),
    "wet-laid compound": ("jointing compound", 110, 1.10, "joint-wet-laid"),
    "chips": ("chips for the joints", 95, 1.15, "joint-loose"),
}


@pytest.mark.parametrize("joint", FILLED)
def test_joints_in_closed_form(ordered, joint):
    title, density, more, rate = FILLED[joint]
    job = patio(ordered(joint=joint), "open")
    held = 280 * (1 - 32 / (8.125 * 4.125)) * 2.25 / 12
    filled = line(job, title)
    assert filled.net / POUND == pytest.approx(held * density, rel=1e-9)
    assert filled.amount == pytest.approx(filled.net * more)
    (task,) = [each for each in job.tasks if each.rate.startswith("joint")]
    assert (task.rate, task.amount / SQUARE_FOOT) == (rate, pytest.approx(280))


def test_what_fills_the_joints_costs_and_takes_time_as_the_trade_has_it(ordered):
    """Common practice, no source: a compound laid wet is the dearest and slowest, plain sand the
    cheapest and quickest."""
    jobs = {joint: patio(ordered(joint=joint), "dense")
            for joint in ("jointing sand", "polymeric sand", "wet-laid compound")}  # fmt: skip
    costs = [job.cost.total for job in jobs.values()]
    hours = [job.time.mean for job in jobs.values()]
    assert costs == sorted(costs)
    assert hours == sorted(hours)
    assert costs[0] < costs[-1]


# ---------------------------------------------------------------- what its base cannot take


def sloped(area=None, slope=0.02, **tables):
    spots = grid_of_spots(lambda x, y: 29.95 - slope * y)
    whole = {
        "name": "patio", "outline": [[0, 0], [8, 0], [8, 5], [0, 5]],
        "plane": {"at": [0, 0], "z": 30, "fall": "2 %", "bearing": 0}, **(area or {}),
    }  # fmt: skip
    house = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3]}
    laying = tables.pop("laying", {})
    frost = tables.pop("frost", None)
    storm = tables.pop("storm", None)
    site = site_of(spots, [whole], house=house, **tables)
    site = replace(site, laying=Laying.model_validate(laying), storm=storm)
    if frost:
        site = replace(site, frost=Frost.model_validate(frost, context={"unit": "m"}))
    return plan(site)


def checks_of(made, rule):
    return [check for check in made.checks if check.rule == rule]


@pytest.mark.parametrize(
    ("base", "edge", "instead", "said"),
    [
        ("open", "plastic fixed into the panel", "dense shoulder", "there is no panel to screw to"),
        ("dense", "panel edge", "spiked edge", "there is no panel to screw to"),
        ("panel", "dense shoulder", "panel edge", "there is no open stone to stop with it"),
        ("dense", "dense shoulder", "spiked edge", "there is no open stone to stop with it"),
    ],
)
def test_an_edge_that_the_base_cannot_take_fails_with_the_mend(base, edge, instead, said):
    made = sloped({"base": base, "edge": edge})
    (check,) = checks_of(made, "edge")
    assert check.status == "fail"
    assert made.failed
    assert said in check.text
    assert "is not used on" in check.text
    assert f'To mend it: write edge = "{instead}", or leave `edge` out' in check.text
    assert made.areas[0].chosen_dig.system.edge == instead


@pytest.mark.parametrize(
    ("base", "edge", "status", "said"),
    [
        ("open", "spiked", "warn", "ordinary spikes do not hold in clean stone"),
        ("panel", "spiked", "warn", "spikes through a panel hold in the soil below it alone"),
        ("panel", "wall", "warn", "there is nothing for a wall to hold"),
        ("panel", "panel cut flush with a concrete toe", "pass", "as it is given"),
        ("dense", "bordered", "pass", "as it is given"),
    ],
)
def test_an_edge_that_is_given_is_laid_and_what_speaks_against_it_is_said(base, edge, status, said):
    made = sloped({"base": base, "edge": edge})
    (check,) = checks_of(made, "edge")
    assert (check.status, said in check.text) == (status, True)
    one = made.advice.area("patio")
    advised = one.edge.advised
    other = advised is not None and advised.option.name != edge
    assert ("is advised. It would take" in check.text) == (status == "warn" and other)
    assert one.edge_given
    assert made.areas[0].chosen_dig.system.edge == one.edge_laid
    assert one.held[0].name == one.edge_laid


def test_joints_that_the_base_cannot_take_fail_with_the_mend():
    made = sloped({"base": "dense", "joint": "chips"})
    (check,) = checks_of(made, "joint")
    assert check.status == "fail"
    assert "open joints let water down into a base that does not drain" in check.text
    assert 'write joint = "polymeric sand", or leave `joint` out' in check.text
    made = sloped({"base": "panel", "joint": "plain sand"})
    (check,) = checks_of(made, "joint")
    assert check.status == "warn"
    assert "water runs along the panel and takes loose sand with it" in check.text
    assert made.order.areas[0].takeoffs["panel"].joint == "jointing sand"


def test_an_edge_of_paving_that_has_no_free_edge_is_not_used():
    ring = {"name": "court", "outline": [[0, 0], [8, 0], [8, 5], [0, 5]], "edge": "border",
            "plane": {"at": [0, 0], "z": 30, "fall": "2 %", "bearing": 0}}  # fmt: skip
    walls = [[0, 5], [0, 0], [8, 0], [8, 5]]
    spots = grid_of_spots(lambda x, y: 29.95 - 0.02 * y)
    far = {"name": "slab", "at": [[0, 5], [8, 5]], "z": 29.9}
    made = plan(site_of(spots, [ring], house={"walls": walls, "inside": [4, -2]}, meets=[far]))
    (check,) = [one for one in checks_of(made, "not-used") if "edge" in one.text]
    assert 'its edge = "border" has no open edge to hold' in check.text


def test_a_driveway_gets_an_edge_that_wheels_do_not_push_out():
    """Its spikes stand closer together. Common practice, no source."""
    drive, walked = sloped({"use": "driveway", "base": "dense"}), sloped({"base": "dense"})
    counts = []
    for made, spacing in ((drive, "203 mm"), (walked, "305 mm")):
        assert made.advice.area("patio").edge_laid == "spiked edge"
        (area,) = made.order.areas
        (spikes,) = [line for _, line in area.chosen.lines if line.item == "spikes"]
        assert f"one in {spacing}" in spikes.how
        counts.append(spikes.amount)
    assert counts[0] > 1.3 * counts[1]


def test_what_is_met_is_said_to_hold_the_edge():
    slab = {"name": "old slab", "kind": "slab", "at": [[8, 1], [8, 4]], "z": [29.98, 29.92]}
    made = sloped({"base": "dense"}, meets=[slab])
    said = [reason.text for reason in made.advice.area("patio").edge_shown.reasons]
    assert "none is laid along old slab: what is met there holds the paving" in said


@pytest.mark.parametrize("name", SITES)
def test_what_is_advised_is_what_is_laid(name):
    """The edge is chosen before the finish, and the advice is on the finish: both agree."""
    made = plan(read_site(Path(__file__).parents[3] / "sample_sites" / name))
    for area in made.areas:
        one = made.advice.area(area.area.name)
        if area.area.edge is None:
            first = next(each for each in one.edge.verdicts if each.option.name != WALL)
            assert first.option.name == one.edge_laid == area.chosen_dig.system.edge
        if area.area.joint is None:
            assert one.joint.advised.option.name == one.joint_laid


def test_every_edge_and_joint_of_the_table_may_be_written():
    from typing import get_args

    assert get_args(EdgeName) == tuple(each.name for each in options("edge", "ft"))
    assert get_args(JointName) == tuple(each.name for each in options("joint", "ft"))
    assert set(edge_kinds()) == set(get_args(EdgeName))
    assert set(passing_rules()) == set(get_args(JointName))


# ---------------------------------------------------------------- rain


# By hand from the table of rules: what passes, times what the base takes of it; what is left of
# the 95 % that closed paving sheds.
RAIN = {
    ("polymeric sand", "panel"): (0.03, 0.0075, 0.9425),
    ("polymeric sand", "dense"): (0.03, 0.015, 0.935),
    ("polymeric sand", "open"): (0.03, 0.03, 0.92),
    ("wet-laid compound", "panel"): (0.06, 0.015, 0.935),
    ("jointing sand", "dense"): (0.10, 0.05, 0.90),
    ("jointing sand", "open"): (0.10, 0.10, 0.85),
    ("chips", "open"): (0.80, 0.80, 0.15),
    ("jointing sand", "concrete"): (0.10, 0.0, 0.95),
}


@pytest.mark.parametrize(("joint", "below"), RAIN)
def test_shares_of_the_rain_by_hand(joint, below):
    assert shares_of(joint, below, Limits({})) == pytest.approx(RAIN[joint, below])


def test_a_tighter_joint_and_a_tighter_base_shed_no_less():
    limits = Limits({})
    shed = [[shares_of(joint, below, limits)[2] for below in ("panel", "dense", "open")]
            for joint in ("polymeric sand", "wet-laid compound", "jointing sand")]  # fmt: skip
    assert all(row == sorted(row, reverse=True) for row in shed)
    assert all(list(column) == sorted(column, reverse=True) for column in zip(*shed, strict=True))


@pytest.mark.parametrize(("joint", "base"), [key for key in RAIN if key[1] != "concrete"])
def test_the_runoff_of_an_area_is_that_of_its_joints_and_base(joint, base):
    """Rational method: 40 m2 in a storm of 4 in/h."""
    rain = 4 * INCH / HOUR
    made = sloped({"base": base, "joint": joint}, storm=Storm(intensity="4 in/h"))
    (water,) = made.water.areas
    assert water.joints.joint == joint
    assert water.runoff == pytest.approx(RAIN[joint, base][2] * rain * 40)
    # All of it lies within 10 ft of the foundation but for the last 2 m of its depth of 5.
    assert water.joints.beside == pytest.approx(8 * 10 * FOOT, rel=1e-6)
    soaked = RAIN[joint, base][1] * 8 * 10 * FOOT * INCH
    assert water.joints.soaked_beside == pytest.approx(soaked, rel=1e-6)


def test_each_piece_of_paving_sheds_by_its_own_joints():
    halves = [
        {"name": name, "outline": [[x, 0], [x + 4, 0], [x + 4, 5], [x, 5]], "joint": joint,
         "base": "open", "plane": {"at": [0, 0], "z": 30, "fall": "2 %", "bearing": 0}}
        for name, x, joint in (("left", 0, "polymeric sand"), ("right", 4, "chips"))
    ]  # fmt: skip
    spots = grid_of_spots(lambda x, y: 29.95 - 0.02 * y)
    made = plan(site_of(spots, halves))
    made = plan(replace(made.site, storm=Storm(intensity="4 in/h")))
    shed = [area.joints.runs_off for area in made.water.areas]
    assert shed == pytest.approx([0.92, 0.15])
    grid = made.water.relief
    fell, off = sheds_on(grid, (), "loam", shed)
    flow = off * made.site.storm.intensity
    xy = grid.centres(np.arange(len(fell)))
    for x, share in ((0, 0.92), (4, 0.15)):
        inside = shapely.contains_xy(shapely.box(x + 0.2, 0.2, x + 3.8, 4.8), xy)
        assert flow[inside] == pytest.approx(share * fell[inside] * 4 * INCH / HOUR)


def test_what_soaks_in_beside_the_foundation_is_told_and_checked():
    (check,) = checks_of(sloped({"base": "panel"}), "foundation-soak-share")
    assert (check.status, check.value) == ("pass", pytest.approx(0.0075))
    assert "0.8 % soaks in through the joints and the drain holes of the panels" in check.text
    assert ", of 25 mm of rain 5 L within 3.05 m of the foundation; 94 % runs off" in check.text
    (check,) = checks_of(sloped({"base": "open", "joint": "chips"}), "foundation-soak-share")
    assert (check.status, check.value) == ("warn", pytest.approx(0.8))
    assert "To mend it: fill its joints with polymeric sand" in check.text
    # Where the site says what its joints let through, that is what counts.
    own = sloped({"base": "panel"}).site
    made = plan(replace(own, limits={"joint-share-polymeric": 0.2, "soak-share-panels": 0.9}))
    (check,) = checks_of(made, "foundation-soak-share")
    assert (check.status, check.value) == ("warn", pytest.approx(0.18))


# ---------------------------------------------------------------- season


@pytest.mark.parametrize(
    ("laying", "frost", "cold"),
    [
        ({}, None, None),
        ({"season": "winter"}, None, True),
        ({"season": "fall"}, None, False),
        ({"season": "summer"}, None, False),
        # 61 days before the coldest of 20 January: within half of 150 days, not of 90.
        ({"date": datetime.date(2026, 11, 20)}, None, True),
        ({"date": datetime.date(2026, 11, 20)}, {"index": 500, "mean": 8, "season": 90}, False),
        ({"date": datetime.date(2026, 12, 10)}, {"index": 500, "mean": 8, "season": 90}, True),
        ({"date": datetime.date(2027, 4, 4)}, None, True),
        ({"date": datetime.date(2027, 4, 6)}, None, False),
        ({"date": datetime.date(2027, 7, 1)}, None, False),
    ],
)
def test_a_day_is_cold_within_half_the_season_of_the_coldest(laying, frost, cold):
    winter = None if frost is None else Frost.model_validate(frost, context={"unit": "m"})
    assert is_cold(Laying.model_validate(laying), winter) is cold


def test_the_weather_that_a_joint_needs_is_asked_and_held_against_the_day():
    (check,) = checks_of(sloped({"base": "panel"}), "joint-weather")
    assert check.status == "unknown"
    assert "a dry day and night above freezing" in check.text
    assert "when it is laid is not given: [laying] date or season" in check.text
    may = {"date": datetime.date(2027, 5, 20)}
    (check,) = checks_of(sloped({"base": "panel"}, laying=may), "joint-weather")
    assert (check.status, "on 20 May 2027" in check.text) == ("pass", True)
    given = {"base": "panel", "joint": "polymeric sand"}
    (check,) = checks_of(sloped(given, laying={"season": "winter"}), "joint-weather")
    assert check.status == "warn"
    assert "it is laid in winter, in the cold season. To mend it:" in check.text


@pytest.mark.parametrize(
    ("base", "joint"),
    [("panel", "wet-laid compound"), ("dense", "jointing sand"), ("open", "wet-laid compound")],
)
def test_in_winter_another_joint_is_advised(base, joint):
    """Common practice, no source: polymeric sand waits for dry weather above freezing."""
    one = sloped({"base": base}, laying={"season": "winter"}).advice.area("patio")
    assert one.joint_laid == one.joint.advised.option.name == joint
    said = [reason.text for reason in one.joint.of("polymeric sand").reasons]
    assert any(text.startswith("laid in winter, in the cold season") for text in said)
    summer = sloped({"base": base}, laying={"season": "summer"}).advice.area("patio")
    assert summer.joint_laid == "polymeric sand"


@pytest.mark.parametrize(
    ("edge", "width"), [("concrete edge", "concrete-edge-width"), ("border", "border-width")]
)
def test_the_concrete_of_an_edge_is_a_rectangle_behind_what_it_holds(edge, width):
    """Units of a border stand before it, as high as the pavers, on concrete as deep as the rest."""
    paved = {**PATIO, "plane": {"at": [1, 0], "z": 30.1, "fall": "2 %", "bearing": 0}}
    made = plan(site_of(grid_of_spots(lambda x, y: 30 - 0.02 * y), [{**paved, "edge": edge}]))
    system = made.areas[0].digs["dense"].system
    paver, bedding = (layer.thickness for layer in system.layers[:2])
    assert system.above_edge == pytest.approx(paver + bedding)
    unit = 0.1 if edge == "border" else 0.0
    for top in (0.02, 0.3):  # the second ends below what carries it: no concrete behind
        limits = Limits({width: 0.25, "edge-top": top, "border-unit": 0.1})
        behind = (0.25 - unit) * max(paver + bedding - top, 0)
        assert edging_of(system, limits).concrete == pytest.approx(behind + unit * bedding)
