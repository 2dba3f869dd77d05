"""Half-way: what is left of a hole that is dug in part, and what finishes cheapest from here."""

import re

import numpy as np
import pytest
from make.plans.jobs import DEPTHS, level_yard
from make.plans.sampled import sampled
from make.sites.on_a_plane import written
from msgspec.structs import asdict, replace

from grading.answers.halfway_words import done_words, finish_words, left_words
from grading.errors import GradingError, SiteError
from grading.halfway.dug import Part, PartDug
from grading.halfway.left import from_here
from grading.halfway.limits import refuse_done
from grading.pipeline import plan
from grading.records.plan import record
from grading.site.done_tables import Done
from grading.units import CUBIC_YARD, FOOT, INCH
from viz.tables.account import account_of
from viz.terminal import order

DUG = (Part(0.5, 5 * INCH),)


def halfway(unit="ft", organics=2 * INCH, base="panel", **done):
    made = level_yard(bases=DEPTHS, organics=organics, base=base)
    table = Done.model_validate(done, context={"unit": unit})
    made = replace(made, site=replace(made.site, done=table))
    refuse_done(made, made.order)
    return made, from_here(made.order, made.advice)


def of(found, base):
    return next(one for one in found.bases if one.base == base)


def part_dug(dig, parts):
    return PartDug(**asdict(dig), common=dig.clip, parts=parts)


@pytest.mark.parametrize("topsoil", [0.0, 2, 4, 7, 12])
@pytest.mark.parametrize("depth", [1, 3, 5, 9, 14])
def test_on_a_flat_yard_what_is_left_is_the_closed_form(topsoil, depth):
    made = level_yard(bases=DEPTHS, organics=topsoil * INCH)
    for dig in made.areas[0].digs.values():
        left = part_dug(dig, (Part(0.4, depth * INCH),))
        hole, needed = dig.dig_area, max(dig.build_up, topsoil * INCH)
        more = max(needed - depth * INCH, 0.0)
        over = max(depth * INCH - needed, 0.0)
        refill = needed - dig.build_up
        assert left.cut == pytest.approx(hole * (0.6 * needed + 0.4 * more), abs=1e-9)
        assert left.over_dug == pytest.approx(hole * 0.4 * over, abs=1e-9)
        assert left.fill == pytest.approx(hole * (refill + 0.4 * over), abs=1e-9)
        top = 0.6 * topsoil + 0.4 * max(topsoil - depth, 0)
        assert left.organics_volume == pytest.approx(hole * top * INCH, abs=1e-9)


def test_on_rough_ground_what_is_left_is_what_a_fine_grid_counts():
    """Topsoil and ground that cross the subgrade: held against sums over small triangles."""
    made = sampled("raised-patio")
    for dig in made.areas[0].digs.values():
        depth = 6 * INCH
        left = part_dug(dig, (Part(1.0, depth),))
        steps = 40
        i, j = np.meshgrid(np.arange(steps), np.arange(steps))
        inside = i + j < steps
        # Middles of the small triangles that point up and down.
        up = np.stack([i + 1 / 3, j + 1 / 3], -1)[inside]
        low = np.stack([i + 2 / 3, j + 2 / 3], -1)[i + j < steps - 1]
        at = np.concatenate([up, low]) / steps
        weights = np.column_stack([1 - at.sum(axis=1), at])
        share = dig.clip.areas[:, None] / len(weights)
        above = dig.above_formation @ weights.T
        topsoil = dig.clip.organics @ weights.T
        needed = np.maximum(above, topsoil)
        cut = (share * np.maximum(needed - depth, 0)).sum()
        fill = (share * (np.maximum(needed, depth) - above)).sum()
        assert left.cut == pytest.approx(cut, rel=2e-3, abs=1e-4)
        assert left.fill == pytest.approx(fill, rel=2e-3, abs=1e-4)


def test_with_nothing_dug_all_is_left():
    made = level_yard(bases=DEPTHS, organics=8 * INCH)
    for dig in made.areas[0].digs.values():
        left = part_dug(dig, ())
        assert left.cut == pytest.approx(dig.cut)
        assert left.fill == pytest.approx(dig.fill, abs=1e-9)
        assert left.fill_for_organics == pytest.approx(dig.fill_for_organics, abs=1e-9)
        assert left.over_dug == 0


def test_what_is_left_to_dig_holds_walls_and_drains_and_all_else_that_is_dug():
    """An inch of 30 % of the hole: the whole dig less 0.3 of its size times an inch."""
    made = sampled("raised-patio")
    (area,) = made.areas
    done = Done.model_validate(
        {"dug": [{"share": "30 %", "depth": "1 in"}]}, context={"unit": "ft"}
    )
    made = replace(made, site=replace(made.site, done=done))
    found = of(from_here(made.order, made.advice), area.chosen)
    takeoff = made.order.of(area).takeoffs[area.chosen]
    structures = sum(each.dug.bank for each in takeoff.structures)
    assert structures > 0.1 * takeoff.dig.cut
    hole = area.chosen_dig.dig_area
    assert found.cut == pytest.approx(
        area.chosen_dig.cut + structures - 0.3 * hole * INCH, abs=1e-9
    )


def test_what_is_not_touched_costs_what_the_order_says():
    made, found = halfway(bought=[{"item": "panels", "count": 1}])
    for one in found.bases:
        paid = made.crew.price("panels") if one.base == "panel" else 0.0
        assert one.cost.total == pytest.approx(made.order.site[one.base].cost.total - paid)
        assert one.haul.trips == made.order.site[one.base].haul.trips


def test_all_panels_bought_are_sunk_for_panels_and_lost_for_the_rest():
    needed = next(
        each.count
        for each in level_yard(bases=DEPTHS, organics=2 * INCH).order.site["panel"].supplies
        if each.item == "panels"
    )
    made, found = halfway(bought=[{"item": "panels", "count": needed}])
    worth = needed * made.crew.price("panels")
    whole = made.order.site["panel"].cost.total
    assert of(found, "panel").cost.total == pytest.approx(whole - worth)
    assert of(found, "panel").unused == ()
    (lost,) = of(found, "dense").unused
    assert (lost.title, lost.count, lost.cost) == ("panels", needed, pytest.approx(worth))
    assert of(found, "dense").cost.total == pytest.approx(made.order.site["dense"].cost.total)


def test_a_hole_dug_for_stone_speaks_for_stone():
    """Dug to the subgrade of stone: panels would be laid on as much refill as is over-dug."""
    deep = level_yard(bases=DEPTHS, organics=0.0).areas[0].digs["dense"].build_up
    made, found = halfway(organics=0.0, base="dense", dug=[{"depth": f"{deep / INCH} in"}])
    dense, panel = of(found, "dense"), of(found, "panel")
    assert dense.cut == pytest.approx(0, abs=1e-9)
    assert dense.fill == 0
    hole = made.areas[0].digs["panel"]
    assert panel.over_dug == pytest.approx(hole.dig_area * (deep - hole.build_up))
    before = made.order.site["panel"].cost.total - made.order.site["dense"].cost.total
    assert panel.cost.total - dense.cost.total > before


def test_a_bin_that_stands_there_is_paid_and_holds_what_is_dug():
    made, found = halfway(base="dense", bins=1)
    whole = made.order.site["dense"].haul.bins.count
    assert of(found, "dense").haul.bins.count == whole - 1
    paid = made.order.site["dense"].cost.total - of(found, "dense").cost.total
    assert paid == pytest.approx(made.crew.price("bin"))


def test_a_volume_and_its_depth_tell_the_share():
    made, found = halfway(dug=[{"volume": "2 yd3", "depth": "4 in"}])
    assert found.dug["patio"] == pytest.approx(2 * CUBIC_YARD)
    _, by_share = halfway(
        dug=[
            {
                "share": 2 * CUBIC_YARD / (4 * INCH * made.areas[0].chosen_dig.dig_area),
                "depth": "4 in",
            }
        ]
    )
    assert of(found, "dense").cut == pytest.approx(of(by_share, "dense").cut)


@pytest.mark.parametrize("more", [0.3, 0.6, 0.9])
def test_digging_on_never_leaves_more_to_dig(more):
    _, less = halfway(dug=[{"share": 0.3, "depth": "3 in"}])
    _, found = halfway(dug=[{"share": more, "depth": "3 in"}])
    for one, other in zip(less.bases, found.bases, strict=True):
        assert other.cut <= one.cut + 1e-9


def test_what_cannot_be_built_is_never_what_finishes_cheapest():
    made, found = halfway(dug=[{"share": "50 %", "depth": "5 in"}])
    found = replace(
        found, bases=tuple(replace(one, level="rules out", because="why") for one in found.bases)
    )
    assert found.cheapest is None
    assert next(finish_words(made, found)) == "No base that there is can finish it."


YARD = """
name = "Medlar Row"
unit = "ft"
spots = "spots.csv"
house = {walls = [[-8, 0], [28, 0]], inside = [10, -5]}
door = [{name = "back door", at = [10, 0], sill = 100.5}]
[[area]]
name = "patio"
outline = [[0, 0], [20, 0], [20, 14], [0, 14]]
plane = {at = [0, 0], z = 100, fall = "2 %", bearing = 0}
base = "panel"
[ground]
organics = "2 in"
"""
SPOTS = "x,y,z\n-6,-3,100.06\n26,-3,100.06\n26.5,20,99.6\n-6,20,99.6\n"


def yard(tmp_path, done):
    return written(tmp_path, f"{YARD}\n{done}", SPOTS)


def test_the_finish_stays_and_so_do_the_doors(tmp_path):
    done = '[done]\n[[done.dug]]\nshare = "50 %"\ndepth = "4 in"'
    made = plan(yard(tmp_path, done))
    found = from_here(made.order, made.advice)
    (step,) = found.steps
    assert step.step == pytest.approx(0.5 * FOOT)
    lifted = {each.base: each for each in found.lifted}
    rise = made.areas[0].digs["dense"].build_up - made.areas[0].digs["panel"].build_up
    assert lifted["dense"].left == pytest.approx(0.5 * FOOT - rise)
    assert not lifted["dense"].allowed
    said = " ".join(finish_words(made, found))
    assert "Nothing changes at the doors on any base, for the finish stays: back door 6 in" in said
    assert "laid into a hole dug for panel base it lifts the finish by 5 1/4 in" in said
    assert "3/4 in below its sill, not the 1 1/2 in to 7 3/4 in asked" in said
    assert done_words(made, found).startswith(
        "Half-way: dug of the hole of patio, spread over it: 50 % to 4 in"
    )
    data = record(made)["done"]
    assert data["cheapest"] == "panel"
    assert data["doors"] == [
        {"door": "back door", "area": "patio", "step": step.step, "changes": 0.0}
    ]


def test_a_site_with_nothing_done_says_nothing_of_it():
    made = level_yard()
    assert from_here(made.order, made.advice) is None
    assert record(made)["done"] is None


@pytest.mark.parametrize(
    ("done", "said"),
    [
        ('dug = [{share = "50 %", depth = "20 in"}]', "20 in dug in patio, expected at most"),
        ('dug = [{volume = "20 yd3", depth = "5 in"}]', "of the hole of patio, expected at most"),
        ('dug = [{share = 0.6, depth = 0.3}, {share = 0.6, depth = 0.2}]', "120 % of the hole"),
        ('dug = [{area = "terrace", depth = "5 in"}]', '"terrace", expected the name of an area'),
        ('dug = [{share = "160 %", depth = "5 in"}]', 'a share of the area such as "60 %"'),
        ('dug = [{share = 0.5, volume = "1 yd3", depth = "5 in"}]', "either a `share` or a"),
        ('dug = [{share = 0.5}]', "Add `depth`"),
        ('dug = [{volume = "3 ft", depth = "5 in"}]', "key done.dug[1].volume"),
        ('dug = [{depth = "0 in"}]', "key done.dug[1].depth"),
        ('bought = [{item = "panels", count = 900}]', "900 panels, expected at most"),
        ('bought = [{item = "panel", count = 9}]', "Did you mean `panels`?"),
        ('bought = [{item = "underdrain", count = 1}, {item = "underdrain", count = 40}]',
         "41 rolls of underdrain, expected at most"),
        ('bought = [{item = "panels", count = 0}]', "more than none"),
        ("bins = 9", "key done.bins: found 9, expected at most"),
        ("bins = 1.5", "a whole number of bins"),
        ("", "nothing done"),
        ("dig = 3", "the key `dig`"),
    ],
)  # fmt: skip
def test_what_is_done_beyond_what_is_planned_is_refused(tmp_path, done, said):
    with pytest.raises(GradingError) as caught:
        plan(yard(tmp_path, f"[done]\n{done}"))
    assert said in str(caught.value)
    assert isinstance(caught.value, SiteError)


def test_with_several_areas_a_hole_is_one_areas(tmp_path):
    walk = '[[area]]\nname = "walk"\noutline = [[20, 0], [24, 0], [24, 14], [20, 14]]'
    with pytest.raises(SiteError, match='the name of an area: "patio", "walk"'):
        plan(yard(tmp_path, f'{walk}\n[done]\ndug = [{{depth = "4 in"}}]'))


def test_a_list_of_the_whole_job_says_what_is_done_already_and_what_is_to_come():
    dug = {"area": "patio", "share": "50 %", "depth": "5 in"}
    bought = {"item": "panels", "count": 10}
    made, found = halfway(dug=[dug], bought=[bought], bins=1)
    whole, left = left_words(made)
    assert whole == f"The whole job, as if nothing were done. {done_words(made, found)}"
    panel = of(found, "panel")
    # Of what is done nothing is told: neither "0.0 yd³ to refill" nor "0 bins".
    assert panel.haul.bins.count == 0
    assert f"refill, {panel.haul.trips} trips, " in left
    assert not re.search(r"\b0(\.0+)? ", left)
    (more,) = [one.count for one in panel.to_buy if one.item == "panels"]
    assert left.endswith(f"of what is bought in part {more:g} × panels more.")
    lines = order.text(account_of(made))
    assert whole in lines
    assert left in lines
    assert not list(left_words(level_yard(bases=DEPTHS, base="panel")))
