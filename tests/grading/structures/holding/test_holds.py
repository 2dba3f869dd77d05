"""What holds a raised edge: the way given or advised, what it takes, and what is checked of it.

Where no source is named the figures are worked by hand from the sizes in the tables.
"""

import re
from math import ceil, pi

import numpy as np
import pytest
import shapely
from make.plans.raised_yard import DEEP, FREE, FRONT, WIDE, fitted, terraces, yard
from msgspec.structs import replace

from grading.dig.edge_runs import EdgeRun
from grading.errors import NoFinish
from grading.pipeline import plan
from grading.structures.holding.holds import _joined, holding_of
from grading.structures.holding.stretches import Stretch
from grading.units import CUBIC_FOOT, FOOT, INCH, run
from viz.words.paving.structures import structures_in
from viz.words.uncounted import not_counted


def parts(made):
    area = made.areas[0]
    return {part.kind: part.length / FOOT for part in holding_of(made, area, area.chosen).parts}


def lines(made):
    (one,) = made.order.areas
    return {line.title: line for _, line in one.chosen.lines}


def ordered(made):
    return {supply.item for supply in made.order.total.supplies}


def volume_of(solid):
    """Return the volume of a body between two planes: by the middle of each of its triangles."""
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(solid.footprint))
    middles = shapely.get_coordinates(shapely.centroid(parts))
    low, high = solid.between(middles)
    return float(((high - low) * shapely.area(parts)).sum())


def checks(made, rule):
    return [check for check in made.checks if check.rule == rule]


def test_a_wall_of_blocks_takes_what_it_takes_by_hand_and_no_restraint_or_sod():
    """12 in shown round two corners: (12 - 2.25 + 6)/6 is 3 courses of 33 units."""
    made = yard(12)
    assert parts(made) == {"block wall": pytest.approx(FREE, abs=1e-3)}
    told = lines(made)
    pieces = 3 * FREE / (16 / 12) + 3 * 2 + 2 / 2
    assert told["units of wall of patio"].net == pytest.approx(pieces)
    assert told["units of wall of patio"].amount == ceil(1.05 * pieces)
    assert told["caps of wall of patio"].net == pytest.approx(FREE + 2)
    # Its pad reaches 6 in before and behind it and past its ends; the house ends it there.
    assert not {"edging", "spikes", "screws", "sod"} & ordered(made)
    rates = {task.rate: task.amount / FOOT for task in made.order.total.tasks}
    assert rates["wall-base"] == pytest.approx(FREE, abs=1e-3)
    assert rates["wall-course"] == pytest.approx(2 * FREE, abs=1e-3)
    assert rates["wall-cap"] == pytest.approx(FREE, abs=1e-3)
    assert not [words for words in not_counted(made) if "raised edge" in words]


def test_each_side_may_be_held_in_its_own_way():
    made = yard(12, {"kind": "block wall", "at": FRONT}, {"kind": "grass slope"})
    assert parts(made) == {
        "block wall": pytest.approx(WIDE, abs=0.2), "grass slope": pytest.approx(28, abs=0.2),
    }  # fmt: skip
    told = lines(made)
    # Beside the slope the paving is restrained, before the wall it is not.
    assert told["edge restraint"].net / FOOT == pytest.approx(28, abs=0.3)
    kinds = {one.kind for one in made.order.areas[0].takeoffs["dense"].structures}
    assert kinds == {"block wall", "grass slope"}


def test_the_fill_of_a_slope_is_that_of_its_section_and_of_the_cones_at_its_corners():
    """Half an inch below the finish, a foot level, then 3 to 1; at a corner it is turned."""
    made = yard(12, {"kind": "grass slope"})
    area = made.areas[0]
    (part,) = holding_of(made, area, "dense").parts
    (slope,) = part.slopes
    h = 11.5 / 12
    out = 1 + 3 * h
    section = h * 1 + 3 * h * h / 2
    radius = np.linspace(0, out, 100_001)
    height = np.minimum(h, h - (radius - 1) / 3)
    cone = pi / 2 * float(np.trapezoid(height * radius, radius))
    wanted = FREE * section + 2 * cone
    assert slope.fill / CUBIC_FOOT == pytest.approx(wanted, rel=0.02)
    assert slope.widest / FOOT == pytest.approx(out, abs=0.02)
    flat = FREE * out + 2 * pi / 4 * out**2
    assert slope.grass / FOOT**2 == pytest.approx(flat * np.hypot(1, 1 / 3), rel=0.02)


def sloped(made):
    (one,) = (each for each in made.order.areas[0].takeoffs["dense"].structures
              if each.kind == "grass slope")  # fmt: skip
    return one


def by_the_inch(hole):
    """Return stripped, filled, turfed [ft3] and grass [ft2] of the slope 12 in over a level lawn.

    Square by square of 1/4 in beyond a hole so far [ft] from the paving: half an inch below the
    finish, level for a foot, then 3 to 1; 3 in of topsoil under it, 4 in on it. Along straight
    sides a strip is enough; at a corner the hole is square and the slope round.
    """
    cell = 1 / 48
    h, out = 11.5 / 12, 1 + 3 * 11.5 / 12

    def of(away, size):
        high = np.minimum(h, h - (away - 1) / 3)
        keep = high > 0
        filled = high[keep] + 0.25
        return size * np.array([0.25 * keep.sum(), filled.sum(), np.minimum(filled, 1 / 3).sum(),
                                keep.sum()])  # fmt: skip

    along = np.arange(hole + cell / 2, out, cell)
    x, y = np.meshgrid(np.arange(cell / 2, out, cell), np.arange(cell / 2, out, cell))
    beyond = (x > hole) | (y > hole)
    return FREE * of(along, cell) + 2 * of(np.hypot(x, y)[beyond], cell**2)


def test_the_soil_of_a_slope_is_what_lies_beyond_the_hole_on_ground_stripped_for_it():
    made = yard(12, {"kind": "grass slope"})
    dig = made.areas[0].chosen_dig
    hole = dig.polygon.bounds[3] / FOOT - DEEP
    stripped, filled, turfed, flat = by_the_inch(hole)
    one = sloped(made)
    assert one.dug.bank / CUBIC_FOOT == pytest.approx(stripped, rel=0.02)
    assert one.dug.topsoil == one.dug.bank
    assert one.dug.filled / CUBIC_FOOT == pytest.approx(filled, rel=0.02)
    assert one.dug.turfed / CUBIC_FOOT == pytest.approx(turfed, rel=0.02)
    (work,) = [task for task in made.order.total.tasks if task.rate == "place-slope"]
    assert work.amount == pytest.approx(one.dug.filled)
    grass = lines(made)["grass of slope of patio"]
    assert grass.item == "sod"
    assert grass.net / FOOT**2 == pytest.approx(flat * np.hypot(1, 1 / 3), rel=0.02)
    # It is dug and drawn: beyond the hole from the stripped ground, in it from the base's top.
    assert made.order.total.cut == pytest.approx(dig.cut + one.dug.bank)
    drawn = sum(volume_of(each) for each in one.solids) / CUBIC_FOOT
    strip = (3.375 - 0.5) / 12 * (dig.dig_area / FOOT**2 - WIDE * DEEP)
    assert drawn == pytest.approx(filled + strip, rel=0.03)


def test_the_soil_of_a_slope_comes_from_the_dig_first_and_the_rest_is_brought():
    """Topsoil for its grass and clay below from the spoil, what lacks by the ton; none leaves."""
    made = yard(12, {"kind": "grass slope"})
    crew, (area,) = made.crew, made.order.areas
    one, job = sloped(made), area.takeoffs["dense"]
    told = lines(made)
    kept, brought = told["soil of slopes and lawn"], told["soil brought for slopes and lawn"]
    assert kept.item == ""
    assert brought.item == "fill-soil"
    in_place = kept.compacted + brought.net / crew["fill-soil-compacted"]
    assert in_place == pytest.approx(one.dug.filled)
    total = made.order.total
    # All that was dug is put back: no bin, no trip out; the truck's soil comes by the barrow.
    assert total.haul.spoil.bank == pytest.approx(0, abs=1e-9)
    assert total.haul.bins.count == 0
    top = 0.25 * FOOT * job.dig.dig_area + one.dug.topsoil
    assert job.topsoil == pytest.approx(top, rel=1e-3)
    dug = job.dig.cut + one.dug.bank
    clay = (dug - job.topsoil) * crew["fill-shrink"]
    strip = 3.375 * INCH * job.beside
    assert kept.compacted == pytest.approx(job.topsoil + clay - strip, rel=1e-3)
    assert brought.loose == pytest.approx(brought.net / crew["fill-soil-loose"])
    assert total.haul.stone_loose >= brought.loose
    assert not [words for words in not_counted(made) if "soil" in words]
    way = next(each for each in made.hold_ways if each.kind == "grass slope")
    assert way.not_counted == ()


def test_what_the_dig_gives_more_than_a_slope_takes_leaves_as_before():
    """Beside a slope 6 in high along one side alone."""
    made = yard(6.5, {"kind": "grass slope", "at": FRONT}, {"kind": "block wall"})
    one, total = sloped(made), made.order.total
    assert "soil brought for slopes and lawn" not in lines(made)
    assert lines(made)["soil of slopes and lawn"].compacted == pytest.approx(one.dug.filled)
    kept = one.dug.turfed + (one.dug.filled - one.dug.turfed) / made.crew["fill-shrink"]
    others = total.haul.spoil.kept - kept
    assert total.haul.spoil.bank == pytest.approx(total.cut - kept - others)
    assert others >= 0


def test_a_slope_may_be_seeded_and_says_what_holds_the_seed():
    sod, seed = (
        yard(12, {"kind": "grass slope"}),
        yard(12, {"kind": "grass slope", "grass": "seed"}),
    )
    a, b = (lines(each)["grass of slope of patio"] for each in (sod, seed))
    assert (a.item, b.item) == ("sod", "seed")
    assert a.net == b.net
    assert any("blanket" in words for words in sloped(seed).cautions)
    assert not any("blanket" in words for words in sloped(sod).cautions)
    assert seed.order.total.cost.total < sod.order.total.cost.total


def test_steep_ground_under_a_slope_is_cut_into_benches():
    """Cautions name the clause; on a lawn that falls 5 % there is nothing to bench."""
    flat = sloped(yard(12, {"kind": "grass slope", "at": FRONT}, lawn=0.05))
    assert "IBC appendix J107.2" in flat.cautions[0]
    assert not any("benches" in words for words in flat.cautions)
    # So far below the house that its front stands 6 1/2 in above the lawn.
    steep = sloped(yard(6.5 - 0.22 * DEEP * 12, {"kind": "grass slope", "at": FRONT}, lawn=0.22))
    (words,) = [each for each in steep.cautions if "benches" in each]
    assert "falls up to 22 %" in words


@pytest.mark.parametrize(
    ("falls", "longer"),
    [
        (0.12, 1.56),  # Ohio State University Extension bulletin 813: 3 x 43 in x 1.56
        (0.05, 1.176),  # computed: 1 / (1 - 3 x 0.05)
    ],
)
def test_a_slope_comes_down_farther_out_where_the_ground_falls_too(falls, longer):
    made = yard(12, {"kind": "grass slope", "at": FRONT}, lawn=falls)
    parts = holding_of(made, made.areas[0], "dense").parts
    (slope,) = [slope for part in parts for slope in part.slopes]
    # Its top is half an inch below the finish, and a foot of it is level.
    high = 11.5 / 12 + falls * (DEEP + 1)
    assert slope.widest / FOOT == pytest.approx(1 + 3 * high * longer, rel=0.005)


def test_no_restraint_lies_along_a_wall_that_runs_on_to_where_soil_holds_the_edge():
    """A level patio 3 in over the lawn by the house, which falls 4 %: 4 in at 2.1 ft, 6 at 6.25."""
    made = yard(3, {"kind": "block wall"}, lawn=0.04)
    low = (4 - 3) / 12 / 0.04
    assert parts(made) == {"block wall": pytest.approx(FREE - 2 * low, abs=0.01)}
    assert lines(made)["edge restraint"].net / FOOT == pytest.approx(2 * low, abs=0.01)


def test_steps_all_round_are_rows_of_courses():
    """12 in is two risers; 3 and 2 courses, 46 and 50 ft of them round two corners."""
    made = yard(12, {"kind": "steps"})
    told = lines(made)
    assert told["units of steps round patio"].net == pytest.approx((3 * 46 + 2 * 50) * 12 / 16)
    assert told["caps of steps round patio"].net == pytest.approx(46 + 50)
    assert not {"edging", "spikes", "sod"} & ordered(made)
    (one,) = made.order.areas[0].takeoffs["dense"].structures
    tops = sorted({round(float(solid.between(np.zeros((1, 2)))[1][0]), 3) for solid in one.solids
                   if solid.material == "cap"})  # fmt: skip
    assert np.diff(tops).tolist() == pytest.approx([6 * INCH], abs=2e-3)
    assert max(tops) == pytest.approx(101 * FOOT, abs=1e-3)
    (check,) = checks(made, "hold")
    assert check.status == "pass"


def test_steps_over_ground_that_falls_are_told_not_to_be_alike():
    made = yard(8, {"kind": "steps"}, lawn=0.02)
    (check,) = checks(made, "hold")
    assert check.status == "warn"
    assert "the lowest riser is not alike all along it" in check.text


def test_a_low_edge_gets_a_curb_and_a_higher_one_refuses_it():
    made = yard(5)
    assert parts(made) == {}  # its finish is not to lie on grade: soil is brought up to it
    low = yard(5, {"kind": "curb"})
    assert parts(low) == {"curb": pytest.approx(FREE, abs=1e-3)}
    told = lines(low)
    crew = low.crew
    assert told["concrete of curb of patio"].net == pytest.approx(
        FREE * FOOT * crew["curb-section"] * crew["concrete-density"]
    )
    assert "edging" not in ordered(low)
    high = yard(12, {"kind": "curb"})
    (check,) = checks(high, "hold")
    assert check.status == "fail"
    assert 'kind = "curb" is not used' in check.text
    assert "a curb holds 6 in" in check.text
    assert parts(high) == {"block wall": pytest.approx(FREE, abs=1e-3)}


def test_an_edge_that_no_wall_holds_by_its_weight_is_an_engineers_and_not_counted():
    made = yard(80)
    (check,) = checks(made, "hold")
    assert check.status == "warn"
    assert "an engineer's" in check.text
    assert parts(made) == {"": pytest.approx(FREE, abs=1e-3)}
    assert any("for a licensed professional to design" in words for words in not_counted(made))
    assert "wall-units" not in ordered(made)


def test_what_holds_nothing_fails_a_check():
    made = yard(2, {"kind": "block wall"})
    (check,) = checks(made, "not-used")
    assert 'its [[hold]] of kind "block wall" holds nothing' in check.text
    far = yard(12, {"kind": "block wall", "at": [[0, 40], [16, 40]]})
    (check,) = checks(far, "not-used")
    assert "check `at`" in check.text


def test_an_edge_higher_than_its_table_says_fails():
    made = yard(12, {"kind": "block wall", "height": "10 in"})
    (check,) = checks(made, "hold-height")
    assert check.status == "fail"
    assert (
        "the edge that a block wall holds stands up to 12 in above the ground, 10 in at the most"
    ) in check.text
    assert yard(12, {"kind": "block wall", "height": "12 in"}).checks
    (fine,) = checks(yard(12, {"kind": "block wall", "height": "13 in"}), "hold-height")
    assert fine.status == "pass"


def test_a_lower_finish_brings_the_edge_down_or_says_what_is_in_its_way():
    before = max(fitted().areas[0].edge_heights[0], 0)
    limit = before - 1 * INCH
    made = fitted({"kind": "lower finish", "height": f"{limit / INCH} in", "at": FRONT})
    run = made.areas[0].edge_runs[0]
    front = run.points[:, 1] > (DEEP - 0.01) * FOOT
    assert float(run.height[front].max()) <= limit + 1e-6
    (check,) = checks(made, "lower-finish")
    assert check.status == "pass"
    with pytest.raises(NoFinish, match="at most 1 in above the ground along the edge of patio"):
        fitted({"kind": "lower finish", "height": "1 in"})


def test_nothing_of_a_wall_passes_while_no_way_out_for_its_water_is_known():
    made = yard(12, {"kind": "block wall", "behind": "clean stone", "friction": 34}, outlet=False)
    (check,) = checks(made, "wall-safety")
    assert check.status == "unknown"
    assert "water stands behind it" in check.text
    assert checks(made, "wall-toe") == []


def test_a_wall_passes_only_where_the_worst_of_what_is_known_does():
    known = {"kind": "block wall", "behind": "clean stone", "friction": 34, "pad_friction": 0.58}
    for check in checks(yard(12, known), "wall-safety"):
        assert check.status == "pass", check.text
        assert check.value >= 1.5
    slides, turns = checks(yard(12), "wall-safety")
    assert slides.status == "unknown"
    assert "24 to 28 degrees" in slides.text
    assert "have the soil tested and write its `friction`" in slides.text
    assert turns.status == "pass"
    thin = {"kind": "block wall", "unit": {"depth": "8 in"}, "behind": "natural ground"}
    assert {check.status for check in checks(yard(34, thin), "wall-safety")} == {"fail"}


@pytest.mark.parametrize(("gap", "one"), [(1.5, True), (4.0, False)])
def test_two_walls_nearer_than_twice_the_height_of_the_lower_are_one(gap, one):
    """The lower shows 12 in: 2 ft. Common practice, no source."""
    made = terraces(gap)
    lower = [check for check in checks(made, "wall-safety") if check.area == "lower"]
    said = [check for check in lower if "the two are one wall" in check.text]
    assert bool(said) == one
    if one:
        assert [check.status for check in lower] == ["unknown"]


def test_wheels_beside_a_wall_are_not_reckoned():
    (check,) = checks(yard(12, {"kind": "block wall"}, use="driveway"), "wall-safety")
    assert check.status == "unknown"
    assert "wheels stand beside it" in check.text


def test_permit_and_design_are_told_with_clause_and_edition_and_left_to_the_place():
    (permit,) = checks(yard(18), "wall-permit")
    # 18 in shown, buried 8 1/4 in, on a pad of 6 in.
    assert "32 1/4 in from the bottom of its pad to its top, 18 in of it shown" in permit.text
    assert permit.status == "unknown"
    assert "ask the building department before it is sold" in permit.text
    assert "IRC R105.2 item 3 (2009)" in permit.source
    assert checks(yard(18), "wall-permit-surcharged") == []
    (design,) = checks(yard(26), "wall-permit-surcharged")
    assert design.status == "warn"
    assert "R404.4 (2015" in design.source


def test_no_wall_stands_where_the_house_or_other_paving_is():
    made = yard(12)
    house = shapely.box(-40 * FOOT, -40 * FOOT, 60 * FOOT, 0)
    for one in made.order.areas[0].takeoffs["dense"].structures:
        for solid in one.solids:
            if solid.material in ("block", "cap"):
                assert solid.footprint.intersection(house).area < 1e-6


def test_who_pays_is_told_both_walls_of_an_area_in_one_sentence():
    """Two sides 14 ft long are alike: told one by one, one of them would be told for both."""
    sides = [{"at": [[0, 0], [0, DEEP]]}, {"at": [[WIDE, 0], [WIDE, DEEP]]}]
    made = yard(12, *({"kind": "block wall", **each} for each in sides),
                {"kind": "grass slope", "at": FRONT})  # fmt: skip
    walls = [one for one in structures_in(made.order) if one.kind == "block wall"]
    assert len(walls) == 2
    (said,) = {each.plain for each in walls}
    area = made.areas[0]
    long = sum(wall.length for wall in holding_of(made, area, area.chosen).walls)
    # Each ends in the face of the slope before it.
    assert long / FOOT == pytest.approx(2 * DEEP, abs=0.3)
    assert said == (
        f"Low walls of blocks, {run(long, 'ft', 1)} long in all and up to 12 in high, "
        "hold the raised edge of patio"
    )
    # Where each has a price of its own, each is told by itself, with its own length: what the
    # sides of the outline take is shared out, and nothing is told twice.
    told = [re.search(r"A low wall of blocks, (\d+)' (\d+)\" long", each.alone) for each in walls]
    lengths = [int(each[1]) + int(each[2]) / 12 for each in told]
    assert len(lengths) == 2
    assert sum(lengths) == pytest.approx(2 * DEEP, abs=0.4)
    assert max(lengths) < DEEP + 0.1


def test_what_a_code_asks_is_told_with_its_clause_and_edition_and_left_to_the_place():
    """None of them where the site has a limit of its own: that clause says something else."""
    made = yard(26)
    words = {each.rule: each.text for each in made.checks}
    assert "(IRC R105.2 item 3, 2009 edition, and IBC 105.2 item 4)" in words["wall-permit"]
    assert "(IRC R404.4, 2015 edition)" in words["wall-permit-surcharged"]
    assert "(IBC 1807.2.3, 2012 edition)" in words["wall-safety"]
    high = {each.rule: each.text for each in yard(32).checks}
    assert "(IRC R312.1.1, 2018 edition)" in high["guard-height"]
    for rule in ("wall-permit", "wall-permit-surcharged", "guard-height"):
        text = high.get(rule, words.get(rule, ""))
        assert "the building department" in text or "the local building department" in text
    own = plan(replace(made.site, limits={"wall-permit": 2 * FOOT}))
    (permit,) = [each for each in own.checks if each.rule == "wall-permit"]
    assert "R105.2" not in permit.text


@pytest.mark.parametrize("first", [0, 1])
def test_stretches_follow_the_edge_that_came_first_wherever_it_lies_in_memory(first):
    """Walls are numbered in this order, and a plan is known by a number that holds theirs."""
    along = np.array([0.0, 2.0, 5.0])
    runs = [
        EdgeRun(np.column_stack([along, np.full(3, y)]), along, along + 1, along, closed=False)
        for y in (0.0, 3.0)
    ]
    one, other = runs[first], runs[1 - first]
    found = [Stretch(one, 3.0, 4.0), Stretch(one, 0.0, 2.0), Stretch(other, 0.0, 1.0)]
    joined = list(_joined([found, [Stretch(other, 1.0, 2.0)]]))
    assert [each.run for each in joined] == [one, one, other]
    assert [(each.low, each.high) for each in joined] == [(0.0, 2.0), (3.0, 4.0), (0.0, 2.0)]
