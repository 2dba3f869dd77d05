"""Soil balanced in the bank: dug, put back, taken away, brought.

Worked figure (computed): of 10 yd3 dug, 3 compacted fill at 90 % and 1.2 of topsoil kept leave
10 - 3.33 - 1.2 = 5.47 in the bank, 6.83 loose at a swell of 25 %. That topsoil is balanced apart
from subsoil: issuhub.com/view/index/4050, p. 100, where 100 bank yards at 15 % are 115 loose.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from make.plans.jobs import level_yard, patio, supply
from make.plans.raised_yard import raised

from grading.crew.model import default_crew
from grading.dig.hole import loose_spoil
from grading.order.model import order_of
from grading.order.soil import Wanted, balance, soil_lines
from grading.units import CUBIC_YARD, INCH, SQUARE_FOOT

CREW = default_crew()
TOP, SHRINK = CREW["lawn-topsoil"], CREW["fill-shrink"]


def test_the_worked_balance():
    found = balance(Wanted(2.0, 8.0, place=4.2, over=1.2 / TOP), CREW)
    assert found.topsoil == pytest.approx(1.2)
    assert found.subsoil == pytest.approx(3 / 0.9)
    assert found.out == pytest.approx(5.47, abs=5e-3)
    assert loose_spoil(found.out, found.topsoil_out, 0.25, 0.25) == pytest.approx(6.83, abs=6e-3)
    assert found.brought == 0


def test_a_hundred_yards_are_a_hundred_and_fifteen_loose():
    assert loose_spoil(100.0, 0.0, 0.15, 0.15) == pytest.approx(115)


amounts = st.floats(0, 40)


@given(amounts, amounts, amounts, amounts, amounts, amounts, st.floats(0, 1))
def test_nothing_is_lost_made_or_put_back_twice(
    topsoil, subsoil, place, over, elsewhere, filled, share
):
    slope = {"filled": filled, "turfed": filled * share}
    found = balance(Wanted(topsoil, subsoil, place, over, elsewhere, **slope), CREW)
    parts = (
        found.topsoil, found.subsoil, found.topsoil_out, found.subsoil_out, found.brought,
        found.sloped_topsoil, found.sloped_subsoil, found.turf_brought, found.fill_brought,
    )  # fmt: skip
    assert min(parts) >= -1e-9
    assert found.topsoil + found.topsoil_out == pytest.approx(topsoil)
    assert found.subsoil + found.subsoil_out == pytest.approx(subsoil)
    # What fills the strip: topsoil as it lay, subsoil compacted, and what is brought.
    top = found.topsoil - found.sloped_topsoil
    below = found.subsoil - found.elsewhere - found.sloped_subsoil
    assert top + below * SHRINK + found.brought == pytest.approx(place, abs=1e-9)
    # So are slopes filled.
    sloped = found.sloped_topsoil + found.sloped_subsoil * SHRINK
    assert sloped == pytest.approx(found.sloped_place, abs=1e-9)
    brought = found.turf_brought + found.fill_brought
    assert sloped + brought == pytest.approx(filled, abs=1e-9)
    # Nothing is brought while anything that may be used is taken away.
    assert found.brought + brought == pytest.approx(0, abs=1e-9) or found.topsoil_out == (
        pytest.approx(0, abs=1e-9)
    )
    assert found.fill_brought == pytest.approx(0, abs=1e-9) or found.subsoil_out == (
        pytest.approx(0, abs=1e-9)
    )


def test_a_slope_gets_its_topsoil_first_and_clay_or_topsoil_below_it():
    """5 of topsoil and 9 of clay; a slope of 12 in place, 3 of it topsoil: 9 below take 10 of clay.

    One is lacking in the bank, .9 in place: topsoil fills that, and 1.1 of it leaves.
    """
    found = balance(Wanted(5.0, 9.0, 0.0, 0.0, filled=12.0, turfed=3.0), CREW)
    assert found.sloped_subsoil == pytest.approx(9.0)
    assert found.sloped_topsoil == pytest.approx(3.0 + 0.9)
    assert found.out == pytest.approx(1.1)
    assert found.fill_brought == found.turf_brought == 0


def test_grass_on_a_slope_gets_topsoil_that_is_brought_where_the_dig_gives_none():
    wanted = Wanted(0.0, 20.0, 0.0, 0.0, filled=12.0, turfed=3.0)
    (kept, brought) = soil_lines(wanted, "clay", "ft", CREW)
    assert kept.compacted == pytest.approx(9.0)
    assert brought.item == "topsoil"
    assert brought.net == pytest.approx(3.0 * CREW["organics-bank"])


def test_what_is_put_back_comes_off_spoil_bins_and_shovelling_but_is_dug():
    """The strip beside a patio of 20 x 14 ft: 24.5 ft2, 3 3/8 in deep, no topsoil."""
    job = patio(order_of(level_yard(), CREW))
    strip = 24.5 * 3.375 / 12 / 27 * CUBIC_YARD
    spoil = job.haul.spoil
    assert spoil.kept == pytest.approx(strip / SHRINK)
    assert spoil.bank == pytest.approx(job.cut - strip / SHRINK)
    assert spoil.mass == pytest.approx(spoil.bank * CREW["clay-bank"])
    tasks = {task.rate: task.amount for task in job.tasks}
    assert tasks["dig-clay"] == pytest.approx(job.cut)
    assert tasks["load-spoil"] == pytest.approx(spoil.bank)


def test_a_machine_digs_what_is_put_back_too():
    driven = patio(order_of(level_yard(path=120, gate="38 in", machine="mini loader"), CREW))
    tasks = {task.rate: task.amount for task in driven.tasks}
    assert tasks["dig-by-loader"] == pytest.approx(driven.cut)


def test_topsoil_lies_on_top_of_what_is_put_back():
    job = patio(order_of(level_yard(organics=4 * INCH), CREW))
    wanted = job.jobs[0].soil_wanted
    found = balance(wanted, CREW)
    # 3 3/8 in beside the paving: less than the 4 in of topsoil under grass, so all of it topsoil.
    assert found.topsoil == pytest.approx(wanted.place)
    assert found.subsoil == 0


def test_topsoil_that_the_dig_does_not_give_is_ordered_and_settles():
    (_, brought) = soil_lines(Wanted(0.0, 0.0, place=2.0, over=10.0), "clay", "ft", CREW)
    assert brought.item == "topsoil"
    assert brought.net == pytest.approx(2.0 * CREW["organics-bank"])
    assert brought.amount == pytest.approx(1.15 * brought.net)
    assert brought.loose == pytest.approx(2.0 * 1.25 * 1.15)
    # It is brought as stone is, and never compacted as a base is.
    assert brought.compacted == 0


def test_nothing_is_brought_where_the_dig_gives_enough():
    total = order_of(raised(ground=9.85), CREW).total
    assert not any(one.item == "topsoil" for one in total.supplies)
    assert supply(total, "sod").net > 0


def yard_by(**access):
    return order_of(level_yard(**access), CREW)


def test_lawn_worn_by_the_way_in_and_by_heaps_is_seeded():
    """A way of 80 ft, 4 ft wide; 0.255 yd3 in place from 0.284 of clay, 1.3 times that in a heap 2
    ft high."""
    job = yard_by(path=80).site["dense"]
    (line,) = [line for area, line in job.lines if area == "site"]
    heap = 24.5 * 3.375 / 12 / 0.9 * 1.3 / 2
    assert line.net / SQUARE_FOOT == pytest.approx(320 + heap)
    seed = supply(job, "seed")
    assert seed.count == np.ceil(line.net * 1.1 / (150 * SQUARE_FOOT))
    task = next(task for task in job.tasks if task.rate == "seed-lawn")
    assert task.amount == pytest.approx(line.net)
    # The areas alone take none of it, so that it is no reason for a base.
    assert all(one.item != "seed" for one in patio(yard_by(path=80)).supplies)


def test_over_hard_ground_only_heaps_wear_the_lawn():
    (hard,) = [line for area, line in yard_by(path=80, over="hard").total.lines if area == "site"]
    (not_known,) = [line for area, line in yard_by().total.lines if area == "site"]
    assert hard.net == pytest.approx(not_known.net)
    assert hard.net < 2


def test_it_is_sodded_or_left_to_the_owner_where_the_site_says_so():
    seeded, sodded, owner = (
        yard_by(path=80, **keys).total for keys in ({}, {"repair": "sod"}, {"repair": "owner"})
    )
    more = supply(sodded, "sod").net - supply(seeded, "sod").net
    assert more == pytest.approx(supply(seeded, "seed").net)
    assert not any(area == "site" for area, _ in owner.lines)
    assert owner.cost.total < seeded.cost.total < sodded.cost.total
