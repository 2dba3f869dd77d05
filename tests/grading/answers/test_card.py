"""The decision card: every base over every depth of topsoil, and where the advice turns."""

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from make.by_lot import by_lot
from make.plans.jobs import DEPTHS, crew, level_yard
from make.plans.sampled import sampled
from msgspec.structs import replace

from grading.answers.card import card_of, deeper_of
from grading.answers.card_words import (
    advice_turned,
    advised_words,
    cheapest_words,
    crew_deeper_words,
    turned_words,
)
from grading.design.over_topsoil import over_deeper, over_topsoil, topsoil_steps
from grading.order.margins.break_even import Turn, organics_break_even, turns_along
from grading.order.model import CHOSEN
from grading.pipeline import plan
from grading.records.answers import card_record
from grading.records.plan import record
from grading.units import FOOT, INCH

SITES = ("back-patio", "raised-patio", "garden-court", "flush-walk")


@cache
def card(name):
    return card_of(sampled(name))


def test_on_a_flat_yard_the_card_is_the_closed_form():
    """Finish flush with a level lawn: the hole is A wide, and as deep as build-up or topsoil."""
    made = level_yard(bases=DEPTHS, organics=4 * INCH, base="panel")
    area = made.areas[0]
    for row in card_of(made).rows:
        for name, job in row.jobs.items():
            hole, build_up = area.digs[name].dig_area, area.digs[name].build_up
            whole = hole * max(build_up, row.depth)
            if made.order.of(area).takeoffs[name].structures:
                # The pipe that open stone wants by a house has a trench below the hole.
                assert whole * (1 - 1e-9) <= job.cut < 1.02 * whole
                continue
            assert job.cut == pytest.approx(whole, rel=1e-9)
            assert job.fill == pytest.approx(hole * max(row.depth - build_up, 0.0), abs=1e-9)
    panel = area.digs["panel"]
    # 20 x 14 ft with 6 in more on three sides; the fourth is the house.
    assert panel.dig_area == pytest.approx(21 * 14.5 * FOOT**2, rel=1e-9)


def test_depths_are_whole_inches_to_a_foot_or_steps_of_25_mm():
    depths = [row.depth for row in card_of(level_yard(organics=4 * INCH)).rows]
    assert np.array(depths) / INCH == pytest.approx(np.arange(13))
    assert np.array(topsoil_steps("m")) == pytest.approx(np.arange(13) * 0.025)


@pytest.mark.parametrize("name", by_lot(SITES))
def test_the_row_of_the_sites_own_topsoil_is_the_plan_itself(name):
    made, row = sampled(name), card(name).reckoned
    for base, job in row.jobs.items():
        own = made.order.site[base]
        assert (job.cut, job.fill) == (own.cut, own.fill)
        assert (job.haul.trips, job.haul.bins) == (own.haul.trips, own.haul.bins)
        assert (job.time.mean, job.cost.total) == (own.time.mean, own.cost.total)
    advised = [made.advice.area(area.area.name).base.advised for area in made.areas]
    assert row.advised == tuple(each.option.name for each in advised)


@pytest.mark.parametrize("name", ["back-patio", "garden-court"])
def test_the_plan_over_its_own_topsoil_again_is_the_same_to_the_last_digit(name):
    made = sampled(name)
    again = over_topsoil(made, made.site.ground.organics)
    for base, job in made.order.site.items():
        assert again.order.site[base].cost.total == job.cost.total
        assert again.order.site[base].cut == job.cut
    assert [check.text for check in again.area_checks] == [check.text for check in made.area_checks]


@pytest.mark.parametrize("depth", [1 * INCH, 7 * INCH])
def test_a_row_is_what_the_site_plans_with_that_topsoil_and_that_finish(depth):
    """A plane that is given stays, so the whole pipeline can be asked again."""
    row = next(
        row
        for row in card_of(level_yard(bases=DEPTHS, organics=4 * INCH)).rows
        if row.depth == pytest.approx(depth)
    )
    asked = level_yard(bases=DEPTHS, organics=depth)
    for base, job in row.jobs.items():
        assert job.cost.total == pytest.approx(asked.order.site[base].cost.total, abs=1e-6)
        assert job.haul.trips == asked.order.site[base].haul.trips
    assert row.advised == (asked.advice.area("patio").base.advised.option.name,)


@pytest.mark.parametrize("name", by_lot(SITES))
def test_deeper_topsoil_never_digs_less_nor_favours_panels_more(name):
    rows = [row for row in card(name).rows if row.depth is not None]
    for base in rows[0].jobs:
        for shallow, deep in pairwise(rows):
            # Trenches of what is built are taken off a hole in the ground that is cut in steps.
            assert deep.jobs[base].cut >= shallow.jobs[base].cut * (1 - 1e-3)
            assert deep.jobs[base].fill >= shallow.jobs[base].fill - 1e-9
            # Topsoil is lighter than what lies under it: by weight a bin may do for more of it.
            bins = deep.jobs[base].haul.bins, shallow.jobs[base].haul.bins
            assert bins[0].count >= bins[1].count or bins[1].governed == "weight"
    for place in range(len(rows[0].advised)):
        panels = [row.advised[place] == "panel" for row in rows]
        assert panels == sorted(panels, reverse=True)


@pytest.mark.parametrize("name", by_lot(SITES))
def test_where_the_cheapest_turns_is_the_break_even_told_elsewhere(name):
    made, found = card(name), organics_break_even(sampled(name).order)
    panel = [turn for turn in made.cheapest_turns if "panel" in (turn.before, turn.after)]
    if found.value is None or found.value > 12 * INCH:
        assert not panel
    else:
        assert panel[0].value == found.value
        assert {panel[0].before, panel[0].after} == {"panel", found.against}
    for row in made.rows:
        if row.depth is None:
            continue
        below = [turn for turn in made.cheapest_turns if turn.value < row.depth]
        first = made.cheapest_turns[0].before if made.cheapest_turns else row.cheapest
        assert row.cheapest == (below[-1].after if below else first)


def test_advice_turns_where_the_rule_says():
    """More than 5 in of topsoil all over, the trade's line, is what speaks against panels."""
    (turn,) = card("back-patio").advised_turns
    assert turn.value == pytest.approx(5 * INCH, abs=1e-4)
    assert (turn.before, turn.after) == (("panel",), ("dense",))
    own = sampled("back-patio")
    stricter = replace(own.site, limits={"deep-organics": 4 * INCH})
    (turn,) = card_of(plan(stricter)).advised_turns
    assert turn.value == pytest.approx(4 * INCH, abs=1e-4)


def test_every_turn_between_two_steps_is_found():
    ends = {0.2: "a", 0.5: "b", 0.8: "c", 2.0: "d"}

    def found(value):
        return next(name for end, name in ends.items() if value < end)

    turns = list(turns_along(found, (0.0, 1.0), 1e-9))
    assert [turn.value for turn in turns] == pytest.approx([0.2, 0.5, 0.8])
    assert [turn.before + turn.after for turn in turns] == ["ab", "bc", "cd"]
    assert list(turns_along(lambda value: 1, (0.0, 1.0, 2.0), 1e-9)) == []
    (one,) = turns_along(lambda value: value > 1.25, (0.0, 1.0, 2.0), 1e-9)
    assert one == Turn(pytest.approx(1.25), False, True)


def test_where_it_was_probed_the_probes_are_a_row_of_their_own():
    made = card("raised-patio")
    assert made.rows[0].depth is None
    assert made.rows[0].reckoned
    assert len(made.rows) == 14
    assert sum(row.reckoned for row in made.rows) == 1


def test_topsoil_between_two_steps_has_its_row_in_order():
    depths = [row.depth for row in card_of(level_yard(organics=4.5 * INCH)).rows]
    assert depths == sorted(depths)
    assert len(depths) == 14
    assert 4.5 * INCH in depths


@pytest.mark.parametrize("name", ["back-patio", "raised-patio"])
def test_deeper_is_the_difference_of_two_plans(name):
    made = sampled(name)
    for one in deeper_of(made):
        deep = over_deeper(made, one.more)
        for was, now in zip(made.areas, deep.areas, strict=True):
            more = now.chosen_dig.clip.organics - was.chosen_dig.clip.organics
            assert more == pytest.approx(one.more)
        before, after = made.order.site[CHOSEN], deep.order.site[CHOSEN]
        assert one.cost == after.cost.total - before.cost.total
        assert one.cut == after.cut - before.cut


def test_an_inch_more_below_the_build_up_costs_what_its_volume_costs():
    """Topsoil deeper than the build-up: every inch is dug, carried, and refilled with stone."""
    made = level_yard(bases=DEPTHS, organics=8 * INCH, base="panel")
    hole = made.areas[0].chosen_dig.dig_area
    for one in deeper_of(made):
        assert one.cut == pytest.approx(hole * one.more)
        assert one.fill == pytest.approx(hole * one.more)
        assert one.cost > 0
        assert one.trips > 0


def test_another_base_that_would_be_advised_is_told_to_the_homeowner():
    made = level_yard(organics=4 * INCH, base="panel")
    said = advice_turned(made, deeper_of(made))
    assert said.startswith("With 2 in more we would advise patio on")


def test_a_base_that_is_planned_already_is_not_told_as_another():
    made = sampled("flush-walk")  # both areas are given dense; panels are advised as it lies
    for one in deeper_of(made):
        turned = [base for base in one.advised if base != "panel"]
        told = advice_turned(made, (one,))
        assert "on dense-graded base" not in told
        assert ("we would advise" in told) == any(base != "dense" for base in turned)


def test_the_sentences_tell_the_turns():
    made = card("back-patio")
    assert list(advised_words(made)) == [
        "Advised for patio: panel base to 5 in of topsoil, dense-graded base from there to 12 in."
    ]
    assert cheapest_words(made).startswith("Cheapest under the whole site: panel base to 6 3/4 in")
    assert crew_deeper_words(sampled("back-patio"), deeper_of(sampled("back-patio"))).startswith(
        "Topsoil deeper than the 2 in reckoned with: 1 in deeper"
    )


@pytest.mark.parametrize(
    ("inches", "said"),
    [(3.97, "just under 4 in"), (4.0, "4 in"), (4.03, "4 in"), (2.35, "2 3/8 in"), (0.0, "0 in")],
)
def test_what_turns_below_a_depth_of_the_card_is_not_told_as_turning_at_it(inches, said):
    """The row of that depth has what comes after, and the words must not say otherwise."""
    assert turned_words(inches * INCH, "ft") == said


def test_topsoil_within_the_dig_of_the_base_takes_nothing_more():
    made = level_yard(organics=2 * INCH, base="dense")
    said = crew_deeper_words(made, deeper_of(made))
    assert said.endswith("reckoned with: up to 3 in deeper takes nothing more")
    made = level_yard(organics=5 * INCH)
    panels = crew_deeper_words(made, deeper_of(made))
    assert " 0.0 " not in panels
    assert "-0" not in panels


def test_the_json_of_a_card_is_its_rows_in_si():
    made = sampled("back-patio")
    data = card_record(card_of(made), deeper_of(made))
    assert data["schema"] == "fallaway/card/1"
    assert [row["topsoil"] for row in data["rows"]] == pytest.approx(list(topsoil_steps("ft")))
    own = next(row for row in data["rows"] if row["reckoned"])
    assert own["bases"]["panel"]["cost"] == made.order.site["panel"].cost.total
    assert own["advised"] == {"patio": "panel"}
    topsoil = record(made)["topsoil"]
    assert topsoil["reckoned"] == pytest.approx(2 * INCH)
    assert [one["more"] for one in topsoil["deeper"]] == pytest.approx([INCH, 2 * INCH, 3 * INCH])


def test_a_crews_own_prices_move_the_card():
    made = level_yard(bases=DEPTHS, organics=2 * INCH)
    dear = replace(made, crew=crew(prices={"panels": 190}))
    assert card_of(made).reckoned.cheapest == "panel"
    assert all(row.cheapest != "panel" for row in card_of(dear).rows)
