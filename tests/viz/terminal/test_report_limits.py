"""A limit is printed as what it is: a slope, a length or a pressure."""

from __future__ import annotations

import re

import pytest
from make.plans.drawn import planned

from grading.units import POUND_PER_SQUARE_FOOT
from viz.terminal.report import text


@pytest.mark.parametrize(("name", "unit"), [("back-patio", "psf"), ("garden-court", "kPa")])
def test_the_limit_of_a_load_is_a_pressure(name, unit):
    plan = planned(name)
    (check, *_) = [check for check in plan.checks if check.rule == "subgrade-bearing"]
    worth = POUND_PER_SQUARE_FOOT if unit == "psf" else 1000.0
    rows = [row for row in text(plan).splitlines() if "on the subgrade, presumed" in row]
    assert rows
    for row in rows:
        limit = re.search(rf"([\d.,]+) {unit}\s+\[\d+\]", row)
        assert limit, row
        told = float(limit.group(1).replace(",", ""))
        assert told * worth == pytest.approx(check.limit, rel=0.01)


def test_no_limit_is_a_length_longer_than_a_yard_is_wide():
    for name in ("back-patio", "garden-court", "raised-patio"):
        for row in text(planned(name)).splitlines():
            assert not re.search(r"\d{5,}( \d+/\d+)? (in|mm)\b", row), row


def test_a_site_in_feet_without_a_house_is_reported():
    said = text(planned("no house"))
    assert not re.search(r"\binf\b", said)
