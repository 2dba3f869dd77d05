"""On a site in metres what nobody wrote is round there; what is published keeps its value."""

import pytest

import grading
from grading.catalogue.rules import RULES, Limits
from grading.conditions.features import footings
from grading.crew.model import default_crew
from grading.crew.reading import crew_of
from grading.units import INCH

FINE = 15e-3  # m: smaller sizes are round to the millimetre


def is_round(metres):
    step = 5e-3 if metres >= FINE else 1e-3
    return abs(metres / step - round(metres / step)) < 1e-6


def test_every_size_of_a_crew_is_round_in_the_unit_of_the_site():
    """By the dimension alone, whatever its name: lengths of things bought, dug and laid."""
    metric, imperial = default_crew("m"), default_crew()
    lengths = [name for name, entry in imperial.materials.items() if entry.dimension == "m"]
    assert len(lengths) > 40
    assert all(is_round(metric[name]) for name in lengths)
    # None is moved by more than half a step or two in a hundred.
    for name in lengths:
        assert metric[name] == pytest.approx(imperial[name], rel=0.02, abs=2.6e-3), name
    assert not all(is_round(imperial[name]) for name in lengths)
    pavers = metric.pavers
    assert (pavers.length, pavers.width, pavers.joint) == pytest.approx((0.2, 0.1, 0.003))
    assert (metric.currency, imperial.currency) == ("US$", "$")


def test_what_a_crew_writes_is_as_it_writes_it():
    own = crew_of({"materials": {"pipe-bed": "2 in"}, "pavers": {"length": "9 in"}}, "m",
                  nominal="m")  # fmt: skip
    assert own["pipe-bed"] == pytest.approx(2 * INCH)
    assert (own.pavers.length, own.pavers.width) == pytest.approx((9 * INCH, 0.1))
    priced = crew_of({"prices": {"labour": "70 /h"}, "currency": "CHF"}, "m", nominal="m")
    assert priced.currency == "CHF"


def test_limits_of_common_practice_are_round_and_published_ones_as_published():
    metric, imperial = Limits({}, "m", "m"), Limits({}, "m")
    for name, rule in RULES.items():
        if rule.unit != "m" or rule.limit is None:
            continue
        both = [(limits.pair if isinstance(rule.limit, tuple) else limits.__getitem__)(name)
                for limits in (metric, imperial)]  # fmt: skip
        new, old = (each if isinstance(each, tuple) else (each,) for each in both)
        if rule.kind != "published":
            assert all(map(is_round, new)), name
        elif rule.metric is None:
            assert new == old, name
    assert metric.pair("door-step") == imperial.pair("door-step")
    assert Limits({"over-dig": 0.2}, "m", "m")["over-dig"] == 0.2


def test_bases_of_things_are_round_too():
    assert all(is_round(each.base or 0.0) and is_round(each.spread)
               for each in footings("m").values())  # fmt: skip


def test_a_site_file_in_metres_is_planned_with_them(tmp_path):
    (tmp_path / "spots.csv").write_text(
        "x,y,z\n-2,-1,10\n8,-1,10\n8,8,9.8\n-2,8,9.8\n", encoding="utf-8"
    )
    (tmp_path / "site.toml").write_text(
        'name = "Yard"\nunit = "m"\nspots = "spots.csv"\n[[area]]\nname = "patio"\n'
        "outline = [[0, 0], [4, 0], [4, 3], [0, 3]]\n",
        encoding="utf-8",
    )
    made = grading.plan(grading.read_site(tmp_path))
    assert made.limits["over-dig"] == 0.15
    assert made.crew["dense-graded-lift"] == 0.1
    (area,) = made.order.areas
    how = " ".join(line.how for _, line in area.bases["dense"].lines)
    assert "200 mm x 100 mm" in how
    assert "102 mm" not in how
    assert "152 mm" not in how
