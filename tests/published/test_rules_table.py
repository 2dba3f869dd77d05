"""The limits that the checks hold to, against the codes and guides that they name."""

from __future__ import annotations

import re
from math import sqrt

import pytest

from grading.catalogue.rules import CLEARANCE_RULES, EDGE_RULES, RULES, greatest_fall_rule
from grading.units import FOOT, INCH

# Limit as printed; for a length in inches or feet, and its last digit is exact.
PUBLISHED = {
    "fall-away": (0.02, "IRC R401.3"),  # impervious surfaces within 10 ft: at least 2 per cent
    "ground-fall-away": (6 * INCH / (10 * FOOT), "IRC R401.3"),  # 6 in within the first 10 ft
    "foundation-reach": (10 * FOOT, "IRC R401.3"),
    "door-step": ((1.5 * INCH, 7.75 * INCH), "IRC R311.3"),
    "siding-clearance": (2 * INCH, "IRC R317.1"),  # siding over a patio slab in the weather
    "greatest-fall-walkway": (1 / 20, "403.3"),  # 2010 ADA Standards: running slope
    "cross-slope": (1 / 48, "403.3"),  # 2010 ADA Standards
    "meeting-gap": (INCH / 4, "303.2"),  # 2010 ADA Standards: vertical change
    "built-base": (3 / 8 * INCH, "tolerances guide"),
    "straightedge": (3 / 8 * INCH, "tolerances guide"),
    "base-thicker": (3 / 4 * INCH, "tolerances guide"),
    "base-thinner": (INCH / 2, "tolerances guide"),
    "least-fall": (0.02, "construction tolerances"),
    "over-dig": (6 * INCH, "construction tolerances"),
    "open-by-foundation": (10 * FOOT, "tolerances guide"),  # of permeable pavement
    "base-thickness-foot": (4 * INCH, "construction tolerances"),
    "foundation-water": (None, "R401.3"),  # surface drainage diverted from the foundation
    "shared-edge": (None, "303.2"),  # 2010 ADA Standards: vertical change
    "riser": ((4 * INCH, 7.75 * INCH), "R311.7.5.1"),  # IRC: at most; the least is custom
    "riser-alike": (None, "R311.7.5.1"),  # IRC: alike within 3/8 in
    "door-steps": (3 / 8 * INCH, "R311.7.5.1"),  # IRC: the greatest over the smallest riser
    "base-thickness-vehicle": (6 * INCH, "construction tolerances"),
    "ground-water": (None, "IRC R401.3"),  # lots graded to drain away from foundation walls
    "guard-height": (30 * INCH, "R312.1.1"),  # IRC, from memory: open sides over 30 in up
    "third-order": (0.012, "1984"),  # from memory
    "ties": (None, "1968"),  # from memory
    "level-misclosure": (0.02 * FOOT, "root of the number of set-ups"),  # from memory
    "drain-slope": (1 / 96, "18-29-704.1"),  # a city's plumbing code: 1/8 in per foot, 3 to 6 in
    "dry-well-distance": (10 * FOOT, "10 ft"),  # a state's brief, docslib.org/doc/631348
    "dry-well-storm": (2 * INCH, "2 in"),  # a town's fact sheet, issuu.com/fando1
    "dry-well-size": (None, "voids"),  # the same: 420 ft2 want 175 ft3 of stone
    "dry-well-soil": (None, ".27 inches"),  # the brief: .27 in/h, empty in 48 hours
    "other-water": (4.0, "Liner"),  # wiki.sustainabletechnologies.ca/wiki/Liner: 4 m
    "step-risers": ((4 * INCH, 7.75 * INCH), "R311.7.5.1"),  # IRC: at most; the least is custom
    "step-alike": (3 / 8 * INCH, "R311.7.5.1"),  # the greatest over the smallest riser
    "step-tread": (10 * INCH, "R311.7.5.2"),
    "step-width": (36 * INCH, "R311.7.1"),
    "step-landing": (36 * INCH, "R311.7.6"),  # in the way that people go
    "step-handrail": (None, "R311.7.8"),  # flights of four risers or more
    "wall-safety": (1.5, "IBC 1807.2.3"),  # against sliding and overturning
    "wall-permit": (4 * FOOT, "R105.2 item 3"),  # bottom of footing to top of wall, 2009
    "wall-permit-surcharged": (24 * INCH, "R404.4"),  # 2015, from a second-hand copy
    "wall-toe": (None, "table 1806.2"),
    "step-edge-riser": (7.75 * INCH, "R311.7.5.1"),
    "slope-steepest": (1 / 3, "bulletin 813"),  # Ohio State University Extension
    "guard-reach": (36 * INCH, "R312.1.1"),  # IRC, from memory: within 36 in of the edge
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_limit(name):
    limit, clause = PUBLISHED[name]
    rule = RULES[name]
    assert rule.limit == (None if limit is None else pytest.approx(limit, rel=1e-12))
    assert rule.kind == "published"
    assert clause in rule.source


@pytest.mark.parametrize("rule", RULES.values(), ids=lambda rule: rule.name)
def test_every_rule_says_where_its_limit_comes_from(rule):
    assert rule.kind in ("published", "common practice")
    assert rule.title
    if rule.kind == "published":
        assert rule.name in PUBLISHED, "say here what the published limit is"
        assert re.search(r"\d|guide", rule.source)
    else:
        assert "no source" in rule.source or "as given for the site" in rule.source
    if rule.limit is None:  # a yes or a no
        assert rule.unit == ""
        return
    low, high = rule.limit if isinstance(rule.limit, tuple) else (rule.limit, rule.limit)
    assert 0 <= low <= high
    ratios = ("fall", "slope", "share", "run-on", "safety", "terrace")
    assert rule.unit == ("ratio" if any(word in rule.name for word in ratios) else "m")


@pytest.mark.parametrize(
    ("name", "floor", "clause"),
    [
        ("greatest-fall-walkway", 1 / 12, "405.2"),  # 2010 ADA Standards: a ramp
        ("door-step", (INCH / 2, 7.75 * INCH), "404.2.5"),  # 2010 ADA Standards: thresholds
    ],
)
def test_a_limit_is_offered_to_give_no_farther_than_another_standard_allows(name, floor, clause):
    """Both clauses from memory."""
    assert RULES[name].floor == pytest.approx(floor, rel=1e-12)
    assert clause in RULES[name].give


def test_every_kind_of_ceiling_floor_and_use_has_a_rule():
    uses = ("patio", "walkway", "front walkway", "driveway")
    named = {*CLEARANCE_RULES.values(), *EDGE_RULES.values(), *map(greatest_fall_rule, uses)}
    assert named <= set(RULES)


def test_two_per_cent_passes_both_ways_and_the_window_is_narrow():
    """A fall of exactly 2 % drains (IRC R401.3) and is a lawful cross slope (2010 ADA Standards
    403.3, 1:48); 2.09 % is not: the window is 0.083 of a point wide."""
    least, most = RULES["fall-away"].limit, RULES["cross-slope"].limit
    assert least <= 0.02 <= most
    assert least <= 0.25 * INCH / FOOT <= most  # 1/4 in per foot is 1:48
    assert not most >= 0.0209
    assert most - least == pytest.approx(0.00083, abs=5e-6)


def test_a_patio_may_fall_two_per_cent_from_two_walls_at_once():
    """Common practice, no source: 2 and 2 per cent make 2.83 on the diagonal."""
    both = sqrt(2) * RULES["fall-away"].limit
    assert both == pytest.approx(0.0283, abs=5e-5)
    assert both < RULES["greatest-fall-patio"].limit
