"""How full bins come out, and how long the whole crew takes."""

from __future__ import annotations

import pytest
from make.plans.jobs import level_yard

from grading.units import HOUR


@pytest.mark.parametrize("base", ["dense", "panel"])
def test_bins_hold_the_spoil_and_no_more_than_they_may_weigh(base):
    made = level_yard(base=base)
    order = made.order
    job = order.of(made.areas[0]).chosen
    filled, limit = order.bin_filled(job)
    bins, spoil = job.haul.bins, job.haul.spoil
    assert filled * bins.count * order.crew["bin-volume"] == pytest.approx(spoil.loose)
    assert filled <= limit + 1e-9
    if bins.governed == "weight":
        dense = spoil.mass / spoil.loose
        assert limit * order.crew["bin-volume"] * dense == pytest.approx(order.crew["bin-mass"])
    else:
        assert limit == 1.0


def test_a_crew_s_day_is_that_of_all_of_it():
    made = level_yard()
    order = made.order
    people, hours = order.crew["crew-size"], order.crew["crew-day"] / HOUR
    job = order.total
    assert order.mean_days(job) == pytest.approx(job.time.mean / HOUR / (people * hours))
