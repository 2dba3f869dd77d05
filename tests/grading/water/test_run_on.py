"""Water of the ground around: onto the paving, to the house, and how each is mended."""

from __future__ import annotations

import re

import numpy as np
import pytest
from make.plans.water_grid import box
from make.plans.water_yard import LAWN, PATIO, STORM, WALL, checked, shares, water
from make.sites.handmade import PATIO as HANDMADE
from make.sites.handmade import WALL as HOUSE
from make.sites.handmade import grid_of_spots, site_of

from grading.design.places import Places
from grading.geometry.plane import Plane
from grading.pipeline import plan
from grading.site.model import Outfall
from grading.units import GALLON, HOUR, INCH
from grading.water.runoff import coefficients
from grading.water.words import around_sentences, ends_of, ends_words, rain_words, verdict_words

SIDEWAYS = Plane(5.16, -0.03, 0.0)
"""A patio that falls 3 % along the wall, from 5.10 to 4.92 m."""

SIDE = Outfall(name="side swale", kind="swale", at=[[9, 0.5], [9, 9.5]], z=4.0)


def hill(x, y):
    """Ground that falls back to the paving from behind, and off to the side beside it."""
    behind = 5.2 + 0.05 * (y - 4)
    return np.where(x > 8.2, 4.9 - 0.05 * (x - 8), np.where(y > 3.9, behind, 4.95 + 0 * x))


def test_a_hill_behind_the_patio_runs_onto_it_from_as_much_ground_as_lies_above_it():
    """Closed form: a plane hill runs straight down, so it is the strip as wide as the patio."""
    made = water(height=hill, finish=SIDEWAYS, outfalls=[SIDE], storm=STORM)
    (area,) = made.areas
    assert area.paved == pytest.approx(PATIO.area)
    assert area.run_on.area == pytest.approx(6 * 6, rel=0.05)
    assert area.run_on.at == pytest.approx([5.0, 4.0], abs=0.15)
    assert area.run_on.beyond
    per_area = coefficients()["loam"].value * 4 * INCH / HOUR
    assert area.run_on.flow == pytest.approx(per_area * area.run_on.area)
    check = checked(made)["run-on", ""]
    assert (check.status, check.limit) == ("warn", 0.5)
    assert check.value == pytest.approx(1.5, rel=0.05)
    assert "the ground goes on rising past the edge of what was measured" in check.text
    assert "To mend it: cut a swale, or set a drain, along the edge of the paving" in check.text
    assert "23' 1\" from the left end of wall 1" in check.text
    assert "led round the paving to side swale" in check.text


def test_what_runs_on_is_no_flow_where_no_storm_is_known():
    """How much ground it comes off hangs on the ground alone."""
    dry, wet = (
        water(height=hill, finish=SIDEWAYS, outfalls=[SIDE], storm=storm).areas[0].run_on
        for storm in (None, STORM)
    )
    assert dry.area == wet.area
    assert (dry.flow, wet.flow > 0) == (0.0, True)


def test_a_lawn_that_falls_away_runs_onto_nothing_and_says_so():
    found = checked(water())
    assert (found["run-on", ""].status, found["run-on", ""].value) == ("pass", 0.0)
    assert found["ground-water", "wall 1"].status == "pass"
    assert water().areas[0].run_on is None


def to_the_house(x, y):
    return 5.0 + 0.03 * y + 0 * x


def test_a_lawn_that_falls_to_the_house_fails_though_the_patio_does_not():
    """All of it ends at the wall: 120 m2 less the patio, from which it runs on as well."""
    made = water(height=to_the_house, finish=Plane(5.7, -0.03, 0.0), outline=box(2, 6, 8, 10))
    (wall,) = made.at_walls
    assert wall.area == pytest.approx(120 - 24, rel=0.05)
    assert wall.reaches
    assert wall.falls_back
    assert made.areas[0].verdict == "foundation"
    check = checked(made)["ground-water", "wall 1"]
    assert check.status == "fail"
    assert "of the ground runs to the foundation at wall 1" in check.text
    assert "To mend it: raise the ground along wall 1" in check.text
    assert "falls 5.0 % away over 10' 0\"" in check.text
    assert "R401.3" in check.source


def test_ground_that_falls_back_by_nothing_that_is_told_lies_level():
    made = water(
        height=lambda x, y: 5.3 + 0.0002 * (y - 2) + 0 * x, finish=SIDEWAYS, outfalls=[SIDE],
        outline=box(0, 0, 12, 2),
    )  # fmt: skip
    assert made.at_walls[0].falls_back
    text = checked(made)["ground-water", "wall 1"].text
    assert "the ground in front of wall 1 lies level over " in text
    assert "0.0 %" not in text


def test_ground_beyond_the_paving_that_falls_back_but_reaches_no_wall_is_looked_at():
    def height(x, y):
        return 5.3 + 0.05 * (y - 2) + 0 * x

    made = water(height=height, finish=SIDEWAYS, outfalls=[SIDE], outline=box(0, 0, 12, 2))
    (wall,) = made.at_walls
    assert wall.falls_back
    assert not wall.reaches
    check = checked(made)["ground-water", "wall 1"]
    assert check.status == "warn"
    assert (
        "the ground in front of wall 1 falls back 5.0 % towards the house over 3' 5" in check.text
    )
    assert "; its water goes to side swale" in check.text


def test_what_reaches_the_foundation_is_said_first_whatever_its_share():
    """A channel drain along the wall takes nearly all that a patio sends back to the house."""
    drain = Outfall(name="channel drain", kind="drain", at=[[2, 0.35], [8, 0.35]], z=4.9)
    made = water(finish=Plane(5.0, 0.0, 0.02), outfalls=[LAWN, drain])
    part = shares(made)
    assert 0 < part["foundation"] < 0.1 < part["channel drain"]
    (area,) = made.areas
    assert area.verdict == "foundation"
    words = ends_words(area)
    assert words.startswith(f"{100 * part['foundation']:.0f} % to the foundation of the house, ")
    assert "none of it at the house" not in rain_words(made, area)
    found = checked(made)
    assert found["low-edge", ""].status == "fail"
    assert found["low-edge", ""].text.startswith(rain_words(made, area))
    assert "To mend it: raise the paving at the wall" in found["foundation-water", ""].text


def test_a_trace_at_the_foundation_is_never_none():
    from msgspec.structs import replace

    from grading.water.model import Share

    made = water()
    (area,) = made.areas
    trace = replace(
        area,
        shares=(Share("lawn", "lawn", 0.997), Share("foundation", "foundation", 0.003)),
    )
    wet = replace(made, areas=(trace,))
    assert trace.verdict == "foundation"
    assert ends_words(trace) == "less than 1 % to the foundation of the house, 99 % to lawn"
    assert "reaches the house" in verdict_words(wet, trace)
    found = checked(wet)
    assert found["low-edge", ""].status == "warn"
    assert found["foundation-water", ""].status == "warn"
    assert "less than 1 % of the rain on patio reaches" in found["foundation-water", ""].text


def test_a_trace_leads_only_where_it_reaches_the_house():
    """A low spot that takes less than one part in a hundred is told after the rest."""
    from msgspec.structs import replace

    from grading.water.model import Share

    (area,) = water().areas
    shares = (
        Share("low spot", "low spot", 0.007), Share("lawn", "lawn", 0.99),
        Share("foundation", "foundation", 0.003),
    )  # fmt: skip
    told = [end.kind for end in ends_of(replace(area, shares=shares))]
    assert told == ["foundation", "lawn", "low spot"]
    more = (Share("low spot", "low spot", 0.02), Share("lawn", "lawn", 0.98))
    assert [end.kind for end in ends_of(replace(area, shares=more))] == ["low spot", "lawn"]


class Dented:
    """A plane with a square dent in it."""

    def __init__(self, depth: float, half: float) -> None:
        self.plane, self.depth, self.half = Plane(5.1, 0.0, -0.005), depth, half

    def at(self, xy):
        dent = np.abs(np.asarray(xy) - [5.0, 2.0]).max(axis=-1) < self.half
        return self.plane.at(xy) - self.depth * dent


def test_a_puddle_of_no_gallons_is_no_failure_and_a_pond_is():
    puddle = water(finish=Dented(0.007, 0.15))
    assert puddle.low_spots == ()
    assert shares(puddle) == {"lawn": 1.0}
    assert not [rule for rule, _ in checked(puddle) if rule == "low-spot-paving"]
    pond = water(finish=Dented(0.012, 0.6))
    (spot,) = pond.low_spots
    assert spot.volume > GALLON
    (check,) = [c for (rule, _), c in checked(pond).items() if rule == "low-spot-paving"]
    assert check.status == "fail"
    assert "To mend it: raise the paving there by " in check.text


def test_the_words_of_the_ground_are_those_of_its_checks():
    made = water(height=to_the_house, finish=Plane(5.3, -0.03, -0.02))
    places = Places("ft", (WALL,))
    said = around_sentences(made, made.areas[0], places)
    found = checked(made)
    for words in said:
        assert any(words[1:-1] in check.text for check in found.values())
    assert said[0].startswith("Water from ")
    assert not around_sentences(water(), water().areas[0], places)


@pytest.mark.parametrize("unit", ["ft", "m"])
def test_every_check_of_water_that_fails_says_how_to_mend_it(unit):
    low = Outfall(name="lawn", kind="lawn", at=LAWN.at, z=5.05)
    east = Outfall(name="east line", kind="neighbour", at=[[11.5, 0], [11.5, 10]])
    trials = [
        water(finish=Plane(5.0, 0.0, 0.02)),
        water(height=to_the_house, finish=Plane(5.3, -0.03, -0.02)),
        water(height=hill, finish=SIDEWAYS, outfalls=[SIDE]),
        water(outfalls=[low]),
        water(outfalls=[Outfall(name="drain", kind="drain", at=[11, 9])]),
        water(finish=Dented(0.012, 0.6)),
        water(height=lambda x, y: 5 - 0.03 * y - 0.08 * x, outfalls=[LAWN, east],
              finish=Plane(5.1, -0.03, -0.02)),
    ]  # fmt: skip
    seen = set()
    for made in trials:
        for check in checked(made, unit=unit).values():
            if check.status in ("fail", "warn"):
                seen.add(check.rule)
                assert ". To mend it: " in check.text, check
                assert not check.text.endswith(".")
                mend = check.text.split("To mend it: ")[1]
                assert bool(re.search(r"\d (in|ft)\b|\d' ", mend)) <= (unit == "ft"), mend
    assert {"low-edge", "foundation-water", "ground-water", "run-on", "low-spot-paving",
            "every-foot-fall", "settled-fall"} <= seen  # fmt: skip


def test_the_ground_under_a_yard_without_a_house_is_followed_all_the_same():
    made = water(height=hill, finish=SIDEWAYS, outfalls=[SIDE], house=box(0, 0, 0, 0), walls=())
    assert made.at_walls == ()
    assert made.areas[0].run_on.area > 20


def test_paving_that_falls_away_is_not_told_to_fall_away():
    """What leaves it by its side is carried back by the ground there: that is what is mended."""
    channel = Outfall(name="channel", kind="drain", at=[[2, 4], [8, 4]])
    made = water(
        height=lambda x, y: 5.0 + 0.04 * y + 0 * x, finish=Plane(5.3, 0.0, -0.02),
        outfalls=(channel,),
    )  # fmt: skip
    assert 0 < made.areas[0].share("foundation") < 0.01
    assert made.areas[0].at_house[0] < 2 or made.areas[0].at_house[0] > 8
    check = checked(made)["foundation-water", ""]
    assert "To mend it: raise the ground beside the paving, " in check.text
    assert "raise the paving" not in check.text


def test_no_water_runs_to_a_wall_from_what_lies_behind_it():
    """Triangles span a house whose sides nobody drew; they fall to the back of its wall."""
    spots = grid_of_spots(lambda x, y: 30 - 0.02 * y, ((-1.0, -8.0), (11.0, 9.0)))
    made = plan(site_of(spots, [HANDMADE], house=HOUSE)).water
    (wall,) = made.at_walls
    assert wall.area == pytest.approx(0.0, abs=0.2)
    assert checked(made)["ground-water", "wall 1"].status == "pass"


def test_a_puddle_amid_the_paving_is_told_where_and_how_deep_to_whoever_mends_it():
    """It leaves over no edge, and the check of the low edge knows the low spot all the same."""
    dish = [
        (box(2, 0, 5, 4), Plane(5.1, -0.03, 0.0)),
        (box(5, 0, 8, 4), Plane(5.1 - 0.3, 0.03, 0.0)),
    ]
    made = water(height=lambda x, y: 5.3 + 0 * x, finish=dish)
    check = checked(made)["low-edge", ""]
    assert check.status == "fail"
    assert "To mend it: give the low spot, " in check.text
    assert "fill it, or drain it" not in check.text
    (itself,) = [one for (rule, _), one in checked(made).items() if rule == "low-spot-paving"]
    assert "raise the paving there by" in itself.text
