"""Tables of a job in its own unit alone."""

from __future__ import annotations

import re

import pytest
from make.plans.sampled import sampled
from scipy import constants

from viz.table import Table
from viz.tables.in_unit import in_unit
from viz.tables.plan import plan_tables

OTHER = {
    "ft": r"\((m|mm|m2|m3|m³|L/s|kPa|kg)\)$",
    "m": r"\((ft|in|ft-in|ft2|yd3|yd³|lb|gpm|psf)\)$",
}


@pytest.fixture(scope="module", params=["back-patio", "raised-patio", "garden-court"])
def tables(request):
    plan = sampled(request.param)
    return plan, plan_tables(plan)


def test_no_column_is_in_the_other_unit_and_none_is_lost(tables):
    plan, found = tables
    for name, table in found.items():
        told = in_unit(table, plan.site.unit)
        assert not [header for header in told.headers if re.search(OTHER[plan.site.unit], header)]
        titles = [re.sub(r" \([^()]*\)$", "", header) for header in table.headers]
        assert {re.sub(r" \([^()]*\)$", "", each) for each in told.headers} == set(titles), name
        assert len(set(told.headers)) == len(told.headers), name
        assert len(told.rows) == len(table.rows)


def test_no_figure_has_more_decimals_than_anyone_measures_or_is_a_zero_below_none(tables):
    plan, found = tables
    for name, table in found.items():
        for row in in_unit(table, plan.site.unit).rows:
            cells = [each for each in row if isinstance(each, float)]
            assert not [each for each in cells if len(f"{each!r}".partition(".")[2]) > 6], name
            assert not [each for each in cells if repr(each) == "-0.0"], name


# By scipy.constants, whose factors are those of NIST SP 811.
FACTORS = {
    ("m", "ft"): 1 / constants.foot,
    ("mm", "in"): constants.milli / constants.inch,
    ("m2", "ft2"): 1 / constants.foot**2,
    ("m3", "yd3"): 1 / constants.yard**3,
    ("L/s", "gpm"): constants.liter * constants.minute / constants.gallon_US,
    ("kPa", "psf"): constants.kilo / (constants.psi / 144),
}


@pytest.mark.parametrize(("of", "to"), FACTORS)
def test_a_figure_is_the_same_amount_in_feet(of, to):
    told = in_unit(Table((f"size ({of})",), ((123.4,), ("",), ("none",))), "ft")
    assert told.headers == (f"size ({to})",)
    (value,), *others = told.rows
    wanted = 123.4 * FACTORS[of, to]
    assert value == pytest.approx(wanted, abs=0.5 if to == "psf" else 0.051)
    assert others == [("",), ("none",)]


@pytest.mark.parametrize(("unit", "written"), [("ft", (7.75, "in")), ("m", (196.8, "mm"))])
def test_a_limit_is_told_in_the_unit_beside_it(unit, written):
    table = Table(("value", "limit", "unit"), ((0.19685, 0.19685, "m"), (0.02, 0.02, "ratio")))
    told = in_unit(table, unit)
    assert told.rows == ((written[0], written[0], written[1]), (0.02, 0.02, "ratio"))


def test_metres_are_written_to_a_tenth_of_a_millimetre():
    told = in_unit(Table(("z0 (m)", "z0 (ft-in)"), ((30.279847999999994, "99'"),)), "m")
    assert (told.headers, told.rows) == (("z0 (m)",), ((30.2798,),))
