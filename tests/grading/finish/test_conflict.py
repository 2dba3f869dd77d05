"""What is offered where wishes conflict: followed on the site itself, each mends it, and none of
them falls to the house, is steeper or steps farther than its rule may give.

The floors are written down here again, from the rules' sources and not from our table.
"""

from __future__ import annotations

import pickle
import re
from copy import deepcopy
from functools import cache

import numpy as np
import pytest
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of

from grading.catalogue.rules import RULES
from grading.errors import NoFinish
from grading.finish import conflict, model
from grading.pipeline import plan
from grading.units import INCH

CORNER = {"walls": [[0.5, 9], [0.5, 0], [11, 0]], "inside": [-3, -3]}
RISER = 7.75 * INCH  # IRC R311.7.5.1
LEAST_FALL = 0.01  # common practice, no source
THRESHOLD = INCH / 2  # 2010 ADA Standards 404.2.5, from memory
STEEPEST = {"patio": 0.05, "walkway": 1 / 12}  # common practice; 2010 ADA Standards 405.2
COUNT = 40


SIDING = {"kind": "siding", "name": "siding", "at": [[1, 0], [9, 0]]}


def tables(seed: int) -> dict:
    """Return a yard that asks for more than it may get, more often than not."""
    rng = np.random.default_rng(seed)
    house = WALL if rng.random() < 0.7 else CORNER
    sills = rng.uniform(29.95, 30.9, rng.integers(1, 3))
    found = {
        "house": house,
        "doors": [
            {"name": f"door {n}", "at": [2.5 + 5 * n, 0], "sill": round(sill, 3)}
            for n, sill in enumerate(sills.tolist(), start=0)
        ],
        "ceilings": [],
        "floors": [],
        "meets": [],
        "use": str(rng.choice(["patio", "walkway"])),
    }
    if rng.random() < 0.6:
        z = round(rng.uniform(30.0, 30.3), 3)
        found["ceilings"].append(
            {"kind": "siding", "name": "siding", "at": [[1, 0], [9, 0]], "z": z}
        )
    if rng.random() < 0.6:
        z = round(rng.uniform(29.9, 30.3), 3)
        found["floors"].append({"kind": "lawn", "name": "far lawn", "at": [[1, 5], [9, 5]], "z": z})
    if rng.random() < 0.4:
        z = round(rng.uniform(29.9, 30.4), 3)
        found["meets"].append({"name": "slab", "at": [9, 4], "z": z})
    return found


def built(tables: dict):
    rest = {key: value for key, value in tables.items() if key != "use"}
    spots = grid_of_spots(lambda x, y: 30 - 0.01 * y + 0.02 * np.sin(x))
    return plan(site_of(spots, [{**PATIO, "use": tables["use"]}], **rest)).areas[0]


@cache
def told(seed: int):
    """Return what is offered for a yard and in which words; None where nothing conflicts."""
    seen = []
    offers_for = conflict.offers_for

    def spied(*given):
        seen.extend(offers_for(*given))
        return seen

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(conflict, "offers_for", spied)
        try:
            built(tables(seed))
        except NoFinish as error:
            return seen, str(error)
    return None


def conflicted(seed: int):
    if told(seed) is None:
        pytest.skip("all that this yard asks for can be had")
    return told(seed)


def followed(tables: dict, offer) -> dict:
    """Return the yard on which an offer was followed, as its words say."""
    each = deepcopy(tables)
    limits = each.setdefault("limits", {})
    for mend, by in offer.parts:
        wish = mend.wish
        by += 1e-6
        match wish.rule:
            case "fall-away":
                # The limit of one wall is that of all.
                limits["fall-away"] = min(limits.get("fall-away", 1.0), wish.limit - by)
            case "greatest-fall-patio" | "greatest-fall-walkway":
                limits[wish.rule] = wish.limit + by
            case "siding-clearance":
                siding = each["ceilings"][0]
                siding["z"] += by
            case "lawn-edge":
                lawn = each["floors"][0]
                lawn["z"] -= by
            case "door-step":
                (door,) = [one for one in each["doors"] if one["name"] == wish.about]
                least, most = door.get("step", (1.5 * INCH, RISER))
                step = (least - by, most) if wish.at_least else (least, most + by)
                door["step"] = step
            case "meeting-gap":
                # Laid anew up to so far from where it is, either way.
                (slab,) = each.pop("meets")
                at = {"kind": "other", "name": "slab", "at": slab["at"]}
                each["floors"].append({**at, "z": slab["z"] - by, "above": 0})
                each["ceilings"].append({**at, "z": slab["z"] + by, "clearance": 0})
                each["meets"] = []
            case other:
                raise AssertionError(other)
    return each


def mended(tables: dict):
    try:
        return built(tables)
    except NoFinish:
        return None


def test_there_are_conflicts_enough_of_many_kinds():
    found = [told(seed) for seed in range(COUNT) if told(seed) is not None]
    assert len(found) >= 20
    offers = [offer for offers, _ in found for offer in offers]
    assert len(offers) > len(found)
    rules = {mend.wish.rule for offer in offers for mend, _ in offer.parts}
    assert {"door-step", "lawn-edge", "siding-clearance", "meeting-gap", "fall-away"} <= rules


@pytest.mark.parametrize("seed", range(COUNT))
def test_an_offer_that_is_followed_mends_it_and_breaks_no_rule_beyond_its_floor(seed):
    yard = tables(seed)
    for offer in conflicted(seed)[0]:
        for mend, by in offer.parts:
            wish = mend.wish
            match wish.rule, wish.at_least:
                case "fall-away", _:
                    assert wish.limit - by >= LEAST_FALL - 1e-9, offer.text
                case (("greatest-fall-patio" | "greatest-fall-walkway"), _):
                    assert wish.limit + by <= STEEPEST[yard["use"]] + 1e-9, offer.text
                case "door-step", True:
                    assert wish.limit - by >= THRESHOLD - 1e-9, offer.text
                case "door-step", False:
                    risers = re.search(r"a step at the door, (\d+) risers", mend.told(by))
                    assert risers, offer.text
                    assert (RISER + by) / int(risers[1]) <= RISER + 1e-9
                    assert (RISER + by) / (int(risers[1]) - 1) > RISER
        area = mended(followed(yard, offer))
        assert area is not None, offer.text
        assert all(wall.fall_away >= LEAST_FALL - 2e-6 for wall in area.walls), offer.text
        assert area.finish.plane.fall <= STEEPEST[yard["use"]] + 2e-6


@pytest.mark.parametrize("seed", range(COUNT))
def test_something_is_said_in_every_case(seed):
    offers, words = conflicted(seed)
    assert bool(offers) == ("would mend it" in words)
    assert bool(offers) != ("Two levels with a step between" in words)
    for offer in offers:
        assert f"  - {offer.text}" in words.splitlines()
    assert "-" not in re.sub(r"^  - |\w-\w", "", "\n".join(re.findall(r"fall away.*", words)))


HIGH = {"name": "back door", "at": [3, 0], "sill": 30.3 + 7.75 * INCH}


def conflicting(**kwargs):
    spots = grid_of_spots(lambda x, y: 30 - 0.01 * y)
    with pytest.raises(NoFinish) as caught:
        plan(site_of(spots, [PATIO], house=WALL, **kwargs))
    return str(caught.value)


def test_a_step_at_the_door_is_offered_where_a_sill_is_too_high():
    siding = [{**SIDING, "z": 30.2}]
    words = conflicting(doors=[HIGH], ceilings=siding)
    # The finish may rise to 2 in below the siding: the sill is that much too high.
    lack = 30.3 - (30.2 - 2 * INCH)
    assert f"sill of back door: {np.ceil(lack * 1000):.0f} mm too high" in words
    each = (7.75 * INCH + np.ceil(lack * 1000) / 1000) / 2
    assert f"a step at the door, 2 risers of {each * 1000:.0f} mm in place of one" in words
    assert "landing" in words


def test_two_doors_that_no_fall_can_join_are_not_joined_by_one():
    doors = [
        {"name": "low", "at": [2, 0], "sill": 30.1},
        {"name": "high", "at": [8, 0], "sill": 30.9},
    ]
    words = conflicting(doors=doors)
    assert "sill of high" in words
    assert "risers of" in words
    assert "total fall: " not in words  # it would take 10 %


def test_walls_that_face_each_other_leave_no_mend_but_another_outline():
    house = {"walls": [[1, 0], [9, 0], [9, 5], [1, 5], [1, 0]], "inside": [5, 20]}
    spots = grid_of_spots(lambda x, y: 30 + 0 * x)
    with pytest.raises(NoFinish) as caught:
        plan(site_of(spots, [PATIO], house=house))
    words = str(caught.value)
    assert "would mend it" not in words
    assert words.splitlines()[-1].startswith("No limit may give enough to end it all. Two levels")


def test_two_that_give_together_are_offered_where_one_does_not_do():
    siding = [{**SIDING, "z": 30.0}]
    floors = [{"kind": "lawn", "name": "lawn", "at": [[1, 5], [9, 5]], "z": 30.2}]
    words = conflicting(ceilings=siding, floors=floors)
    # 0.2 + 0.0127 + 0.1 above 30 - 0.0508: 0.36 m, more than a lawn or a siding gives alone.
    lines = words.partition("would mend it")[2].splitlines()[1:]
    each = "This" if len(lines) == 1 else "Any line of these"
    assert f"Nothing mends it alone. {each} would mend it" in words
    assert re.search(
        r"lawn: \d+ mm too high: cut .*; and siding: \d+ mm too low|siding: .*; and lawn", words
    )


def test_every_floor_says_where_it_comes_from():
    for rule in RULES.values():
        given = rule.floor is not None or rule.move is not None
        assert bool(rule.give) == given
        assert rule.floor is None or rule.move is None
        if isinstance(rule.limit, float) and isinstance(rule.floor, float):
            least = "least" in rule.name or "away" in rule.name or "clearance" in rule.name
            assert rule.floor < rule.limit if least else rule.floor > rule.limit


def test_a_limit_that_the_site_sets_beyond_the_floor_gives_no_more():
    doors = [{"name": "door B", "at": [7, 0], "sill": 30.1}]
    lawn = [{"kind": "lawn", "name": "lawn", "at": [[1, 5], [9, 5]], "z": 30.05}]
    words = conflicting(doors=doors, floors=lawn, limits={"fall-away": 0.008})
    assert "fall away from wall 1: " not in words


LOWER = {**PATIO, "name": "lower", "outline": [[1, 5], [9, 5], [9, 8], [1, 8]]}
# The door holds the patio at 30.2 at most, the lawn the lower area at 30.3 at least, and both fall
# away from the house: the lower area stands some 0.2 m too high.
TORN = {
    "doors": [{"name": "door", "at": [5, 0], "sill": 30.2 + 1.5 * INCH}],
    "floors": [
        {"kind": "other", "name": "tank", "at": [[1, 8], [9, 8]], "z": 30.3, "area": "lower"}
    ],
}


def told_of(areas, **kwargs):
    spots = grid_of_spots(lambda x, y: 30 - 0.01 * y)
    with pytest.raises(NoFinish) as caught:
        plan(site_of(spots, areas, house=WALL, **kwargs))
    return str(caught.value)


def test_areas_that_cannot_be_flush_are_offered_a_step():
    words = told_of([PATIO, LOWER], **TORN)
    assert (
        "edge of patio and lower: a step of 102 mm to 197 mm there, declared as [[step]]" in words
    )


def test_a_step_that_is_too_high_is_offered_more_risers():
    # The patio may fall from 30.4 at the door to 30.2 at the edge, the lower area rise from 29.75
    # to 29.87 there: 0.33 m between them, more than one riser.
    doors = [{"name": "door", "at": [5, 0], "sill": 30.6}]
    siding = [{"kind": "siding", "name": "low siding", "at": [5, 8], "z": 29.8, "area": "lower"}]
    step = [{"down": ["patio", "lower"], "risers": 1, "riser": ["4 in", "7 in"]}]
    told = told_of([PATIO, LOWER], doors=doors, ceilings=siding, steps=step)
    drop = (30.6 - RISER - 5 * 0.04) - (29.8 - 2 * INCH + 3 * 0.04)
    by = np.ceil((drop - 7 * INCH) * 1000)
    each = (by + 7 * INCH * 1000) / 2
    words = f"step from patio down to lower: {by:.0f} mm too high: 2 risers of {each:.0f} mm there"
    assert words in told


def test_a_given_plane_may_be_left_out():
    given = {"at": [1, 5], "z": 30.6, "fall": "2 %", "bearing": 0}
    words = told_of([PATIO, {**LOWER, "plane": given}], doors=TORN["doors"])
    assert "leave out the plane given for lower, and one is fitted" in words


def test_a_conflict_is_explained_to_who_asks_and_to_nobody_else(monkeypatch):
    """Ways that are only tried, and cannot be had, were explained at length and thrown away."""
    seed = next(seed for seed in range(COUNT) if told(seed) is not None)
    searched = []
    smallest, explained = model.smallest_conflict, model.explained
    monkeypatch.setattr(
        model, "smallest_conflict", lambda *a: searched.append("conflict") or smallest(*a)
    )
    monkeypatch.setattr(model, "explained", lambda *a: searched.append("offers") or explained(*a))
    with pytest.raises(NoFinish) as caught:
        built(tables(seed))
    assert not searched
    assert caught.value.asked
    assert searched == ["conflict"]
    again = pickle.loads(pickle.dumps(caught.value))
    assert str(again) == str(caught.value) == told(seed)[1]
    assert (again.asked, again.relaxations) == (caught.value.asked, caught.value.relaxations)
    assert searched == ["conflict", "offers"]
