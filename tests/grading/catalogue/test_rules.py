import re

import pytest

from grading.catalogue.rules import CLEARANCE_RULES, EDGE_RULES, RULES, Limits, greatest_fall_rule
from grading.units import INCH


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.name)
def test_every_rule_has_a_source_and_says_of_what_kind(rule):
    assert rule.title
    assert rule.source
    assert rule.kind in ("published", "common practice")
    assert (rule.kind == "common practice") == (
        rule.source.startswith("common practice, no source") or "as given" in rule.source
    )


def test_limits_are_in_si():
    limits = Limits({})
    assert limits["fall-away"] == 0.02
    assert limits["foundation-reach"] == pytest.approx(3.048)
    assert limits.pair("door-step") == pytest.approx((1.5 * INCH, 7.75 * INCH))


def test_a_site_replaces_a_limit_and_is_its_source():
    limits = Limits({"fall-away": 0.015})
    assert limits["fall-away"] == 0.015
    assert limits.source("fall-away") == "the site's own limit"
    assert "R401.3" in limits.source("ground-fall-away")


def test_what_is_not_one_number_is_not_read_as_one():
    with pytest.raises(KeyError):
        Limits({})["door-step"]
    with pytest.raises(KeyError):
        Limits({}).pair("fall-away")


def test_every_use_and_kind_has_its_rule():
    for use in ("patio", "walkway", "front walkway", "driveway"):
        assert greatest_fall_rule(use) in RULES
    assert set(CLEARANCE_RULES.values()) | set(EDGE_RULES.values()) <= set(RULES)


def test_a_source_tells_its_sizes_in_the_unit_of_the_site():
    feet, metres = Limits({}, "ft"), Limits({}, "m")
    assert "at least 2 in above patio slabs" in feet.source("siding-clearance")
    # What is published in inches stands beside what it is in millimetres.
    assert "at least 51 mm (2 in) above patio slabs" in metres.source("siding-clearance")
    assert metres.source("backfill-zone").endswith(
        "0.9 to 1.2 m, sometimes 1.8 to 2.4 m; it settles for years"
    )


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.name)
def test_no_size_is_left_in_the_braces_of_a_source_or_outside_them(rule):
    for unit in ("ft", "m"):
        assert not set("{}") & set(rule.source_in(unit) + rule.title)
    if rule.kind == "common practice":
        assert not re.search(r"[0-9] (in|ft)\b", rule.source_in("m") + rule.title)
