"""Soil volumes, densities and take-offs against published tables and examples worked by hand."""

from __future__ import annotations

import math

import pytest
import shapely
from make.plans.jobs import DEPTHS, level_yard, line, patio, supply, worked

from grading.catalogue.bases import swells
from grading.crew.model import default_crew
from grading.order.hauling import loads
from grading.order.joint_lines import joint_sand_mass
from grading.order.laid.panels import lay_panels
from grading.order.model import order_of
from grading.units import CUBIC_FOOT, CUBIC_YARD, FOOT, INCH, POUND, SHORT_TON, SQUARE_FOOT

# Nunnally, Construction Methods and Management, table 2-5 (from memory): pounds in a cubic yard.
NUNNALLY = {"clay": (3000, 2310, 0.30), "loam": (3100, 2480, 0.25), "gravel": (3200, 2860, 0.12)}


@pytest.mark.parametrize("soil", NUNNALLY)
def test_bank_density_and_swell(soil):
    """Nunnally, table 2-5 (from memory): clay, common earth, sand and gravel."""
    bank, loose, swell = NUNNALLY[soil]
    crew = default_crew()
    assert crew[f"{soil}-bank"] * CUBIC_YARD / POUND == pytest.approx(bank)
    assert swells()[soil] == pytest.approx(swell)
    # The table's own loose weight is the bank weight over one and the swell, to its rounding.
    assert bank / (1 + swells()[soil]) == pytest.approx(loose, abs=15)


def test_thousand_yards_of_clay():
    """A textbook of estimating (from memory): 1000 bank cubic yards of dense clay swell by 30 % to
    1300 loose; trucks of 7 cubic yards make 186 trips."""
    loose = 1000 * CUBIC_YARD * (1 + swells()["clay"])
    assert loose / CUBIC_YARD == pytest.approx(1300)
    found = loads(loose, 0.0, 7 * CUBIC_YARD, math.inf)
    assert (found.count, found.governed) == (186, "volume")


def test_five_hundred_yards_of_fill():
    """The same textbook (from memory): 500 compacted at a shrinkage of 0.95 is 526 in the bank,
    605 loose at 15 %, 87 loads of 7."""
    bank = 500 / 0.95
    assert bank == pytest.approx(526, abs=0.5)
    loads_of = loads(bank * 1.15 * CUBIC_YARD, 0.0, 7 * CUBIC_YARD, math.inf)
    assert loads_of.count == 87


def test_loose_to_bank_by_weight():
    """Common practice, no source: 3400 lb/yd3 in the ground and 2700 in the truck swell by 26 %;
    a ton is 0.588 yd3 in the ground and 0.741 in the truck."""
    assert pytest.approx(0.26, abs=0.005) == 3400 / 2700 - 1
    assert pytest.approx(0.588, abs=5e-4) == SHORT_TON / POUND / 3400
    assert pytest.approx(0.741, abs=5e-4) == SHORT_TON / POUND / 2700


@pytest.mark.parametrize(
    ("stone", "loose", "compacted"),
    [("dense-graded", (95, 105), (130, 140)), ("open-graded", (90, 100), (100, 110)),
     ("chips", (85, 97), (95, 105)), ("bedding-sand", (75, 100), (105, 115))],
)  # fmt: skip
def test_densities_lie_in_handbook_ranges(stone, loose, compacted):
    """Bulk densities in lb/ft3, from memory: crushed stone, No. 57, No. 8, concrete sand."""
    crew = default_crew()
    for state, (low, high) in (("loose", loose), ("compacted", compacted)):
        found = crew[f"{stone}-{state}"] * CUBIC_FOOT / POUND
        assert low - 1 <= found <= high + 1, state


def test_pavers_weigh_what_is_published():
    """Common practice, no source: 27 to 31 lb/ft2 at 2 3/8 in (60 mm), 36 to 38 at 80 mm."""
    density = default_crew()["paver-density"] * SQUARE_FOOT / POUND
    assert 27 <= density * 2.375 * INCH <= 31
    assert 36 <= density * 0.080 <= 38


# ft2 for 50 lb at 100 lb/ft3, joints 2 1/4 in deep, before loss: common practice, no source.
JOINT_SAND = {
    (4, 8): {1 / 16: 116, 1 / 8: 59, 3 / 16: 40, 1 / 4: 31, 3 / 8: 21},
    (6, 9): {1 / 16: 156, 1 / 8: 79, 3 / 16: 53, 1 / 4: 40, 3 / 8: 28},
    (8, 8): {1 / 16: 173, 1 / 8: 87, 3 / 16: 59, 1 / 4: 45, 3 / 8: 30},
    (12, 12): {1 / 16: 258, 1 / 8: 130, 3 / 16: 87, 1 / 4: 66, 3 / 8: 45},
    (12, 24): {1 / 16: 343, 1 / 8: 173, 3 / 16: 116, 1 / 4: 87, 3 / 8: 59},
    (24, 24): {1 / 16: 514, 1 / 8: 258, 3 / 16: 173, 1 / 4: 130, 3 / 8: 87},
}


@pytest.mark.parametrize("unit", JOINT_SAND)
def test_joint_sand_table(unit):
    from grading.order.laid.pavers import PaverLayout
    from grading.order.laid.units import Laid
    from grading.site.paver_table import Pavers

    for joint, covered in JOINT_SAND[unit].items():
        pavers = Pavers.model_validate(
            {"length": unit[1] * INCH, "width": unit[0] * INCH, "joint": joint * INCH}
        )
        laid = Laid(0, 0, 0, 0, 0.0, 1.0, 0.0, None)
        share = PaverLayout(pavers, 1.0, laid, 0.0, 0).joint_share
        mass = joint_sand_mass(share, 2.25 * INCH, default_crew()["joint-sand-density"])
        found = 50 * POUND / mass / SQUARE_FOOT
        assert found == pytest.approx(covered, abs=0.51), (unit, joint)


def test_joint_sand_of_the_patio():
    """280 ft2 of 4 x 8 with 1/8 in joints at 59 ft2 a bag, 15 % lost: 4.75 bags, 5.5 and so 6."""
    sand = supply(patio(worked()), "joint-sand")
    assert sand.net / (50 * POUND) == pytest.approx(280 / 59, abs=0.02)
    assert sand.count == 6


# 20 x 14 ft against a house, over-dug 6 in on three sides: 304.5 ft2; level yard at finish level;
# clay of 2700 lb/yd3 in the bank; barrows of 4 ft3. Worked by hand: common practice, no source.
COMPARED = {"dense": (9.375, 8.8, 76, 11.9, 2), "open": (9.875, 9.3, 80, 12.5, 2),
            "panel": (3.625, 3.4, 29, 4.6, 1)}  # fmt: skip


@pytest.mark.parametrize("base", COMPARED)
def test_twenty_by_fourteen(base):
    deep, bank, barrows, tons, bins = COMPARED[base]
    job, crew = patio(worked(), base), worked().crew
    haul, spoil = job.haul, job.haul.spoil
    assert job.jobs[0].dig.dig_area / SQUARE_FOOT == pytest.approx(304.5)
    assert job.jobs[0].dig.build_up / INCH == pytest.approx(deep)
    assert job.cut / CUBIC_YARD == pytest.approx(bank, abs=0.05)
    # Worked with all of it taken away, and a swell of 25 to 30 %: the middle of the two.
    loose, mass = job.cut * (1 + crew["clay-swell"]), job.cut * crew["clay-bank"]
    out = loads(loose, mass, haul.way.soil, haul.way.limit)
    assert out.count == pytest.approx(barrows, abs=1)
    assert mass / SHORT_TON == pytest.approx(tons, abs=0.1)
    assert loads(loose, mass, crew["bin-volume"], crew["bin-mass"]).count == bins
    # What is put back beside the paving is never taken away.
    assert spoil.bank + spoil.kept == pytest.approx(job.cut)
    assert spoil.mass == pytest.approx(spoil.bank * crew["clay-bank"])


def test_a_bin_fails_by_weight_before_volume():
    """9 yd3 of loose clay fit into a bin of 10, and weigh more than the 10 ton it may."""
    crew = default_crew()
    mass = 9 * CUBIC_YARD / 1.3 * crew["clay-bank"]
    found = loads(9 * CUBIC_YARD, mass, crew["bin-volume"], crew["bin-mass"])
    assert (found.count, found.governed) == (2, "weight")


def test_stone_of_the_comparison():
    """5.6 yd3 of dense base are about 10.4 ton, of open base about 7.9: common practice."""
    order = order_of(level_yard(bases=DEPTHS, edge="spiked edge"), default_crew())
    for base, stone, tons in (("dense", "dense-graded", 10.4), ("open", "open-graded", 7.9)):
        found = supply(patio(order, base), stone)
        assert found.net / SHORT_TON == pytest.approx(tons, abs=0.1)
        compacted = sum(part.compacted for _, part in patio(order, base).lines
                        if part.item == stone)  # fmt: skip
        assert compacted / CUBIC_YARD == pytest.approx(5.6, abs=0.05)


def test_boards_of_the_comparison():
    """Boards of 2 x 3 ft over 304.5 ft2: 51 by area, 5 % more for a rectangle and 2 spoilt: common
    practice, no source."""
    found = line(patio(worked(), "panel"), "panels")
    assert math.ceil(found.net) == 51
    assert 54 <= supply(patio(worked(), "panel"), "panels").count <= 57
    hole = shapely.box(0, 0, 21 * FOOT, 14.5 * FOOT)
    assert 51 <= lay_panels(hole, hole, (36 * INCH, 24 * INCH)).units <= 55


def test_digging_loading_and_wheeling_the_comparison():
    """Medium ground at 2.2 + 1.3 + 1.25 h/m3 takes 32, 34 and 12 h: common practice, no source.

    Wheeling is reckoned from the trips here, 50 ft away; likely rates lie below, means nearer.
    """
    from make.plans.jobs import DEPTHS, crew, level_yard

    from grading.order.model import order_of
    from grading.units import HOUR

    own = crew(materials={"loam-bank": "2700 lb/yd3"})
    order = order_of(level_yard(bases=DEPTHS, soil="loam"), own)
    for base, hours in (("dense", 32), ("open", 34), ("panel", 12)):
        job = patio(order, base)
        dug = sum(task.mean for task in job.tasks if task.rate in ("dig-loam", "load-spoil"))
        each = (2 * 50 * FOOT * mean("barrow-speed") + mean("barrow-tip")) * job.haul.out.count
        assert (dug + each) / HOUR == pytest.approx(hours, rel=0.2)


def mean(rate):
    from grading.crew.estimate import mean_of

    return mean_of(default_crew().rates[rate].values)


def test_seven_inches_of_topsoil_take_most_of_the_panel_s_saving():
    """3.4 yd3 become 6.6 in the bank, and about 3.2 yd3, 5.8 ton, of stone come in: the saving in
    spoil falls to about a quarter. Common practice, no source."""
    from make.plans.jobs import DEPTHS, level_yard

    from grading.order.model import order_of

    order = order_of(level_yard(bases=DEPTHS, organics=7 * INCH), default_crew())
    panel, dense = patio(order, "panel"), patio(order, "dense")
    refill = line(panel, "refill below the build-up")
    assert panel.cut / CUBIC_YARD == pytest.approx(6.6, abs=0.05)
    assert refill.compacted / CUBIC_YARD == pytest.approx(3.2, abs=0.05)
    assert refill.net / SHORT_TON == pytest.approx(5.8, abs=0.15)
    saved = 1 - panel.cut / dense.cut
    assert saved == pytest.approx(0.25, abs=0.03)
