"""Nothing of the paving is ordered under what stands on a base of its own; nor laid there."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.conditions.seats import seats_of
from grading.conditions.underdrain import _low_side, underdrain_of
from grading.crew.model import default_crew
from grading.geometry.plane import Plane
from grading.order.model import order_of
from grading.order.takeoff import takeoffs_of
from grading.pipeline import plan
from grading.site.model import Feature
from grading.units import FOOT, INCH

WIDE, DEEP = 6.0, 5.0
HOUSE = {"walls": [(-2, 0), (9, 0)], "inside": (3, -4)}


def yard(*features, base="dense", floors=(), away=0.0, house=HOUSE):
    spots = grid_of_spots(lambda x, y: 10.0 + 0.0 * x, ((-4, -3), (11, 13)))
    ring = [(0, away), (WIDE, away), (WIDE, away + DEEP), (0, away + DEEP)]
    area = {"name": "patio", "outline": ring, "base": base,
            "plane": {"at": [0, away], "z": 10.0, "fall": "2 %", "bearing": 0}}  # fmt: skip
    site = site_of(spots, [area], house=house, floors=list(floors))
    site = replace(site, features=tuple(
        Feature.model_validate(each, context={"unit": "m"}) for each in features))  # fmt: skip
    return plan(site)


TUB = {"kind": "hot tub", "name": "tub", "at": [3, 3], "size": [2.0, 1.5], "height": 0.9}


def job_of(made, base="dense"):
    return order_of(made, default_crew()).areas[0].bases[base]


def net(job, title):
    return sum(line.net for _, line in job.lines if line.title == title)


@pytest.mark.parametrize("base", ["dense", "open", "panel"])
def test_less_is_ordered_by_just_what_lies_under_it(base):
    """Closed form: its own 2.0 x 1.5 m for pavers and joints; with the base's spread of 12 in all
    round, 2.6096 x 2.1096 m, for what lies below them."""
    bare, with_tub = job_of(yard(base=base), base), job_of(yard(TUB, base=base), base)
    foot = 2.0 * 1.5
    pad = (2.0 + 24 * INCH) * (1.5 + 24 * INCH)
    assert net(bare, "pavers, field") - net(with_tub, "pavers, field") == pytest.approx(foot)
    sand = net(with_tub, "polymeric sand") / net(bare, "polymeric sand")
    assert sand == pytest.approx(1 - foot / (WIDE * DEEP))
    for whole, less in zip(bare.jobs[0].layers, with_tub.jobs[0].layers, strict=True):
        out = foot if whole.layer.role == "paver" else pad
        assert whole.area - less.area == pytest.approx(out)
        assert less.volume == pytest.approx(less.area * whole.layer.thickness)
    if base == "panel":
        spared = bare.jobs[0].panels.covered - with_tub.jobs[0].panels.covered
        assert spared == pytest.approx(pad, abs=1e-3)
        assert with_tub.jobs[0].panels.units < bare.jobs[0].panels.units
    for task in ("lay pavers", "lay pavers on panels", "screed bedding", "lay panels"):
        before, after = (sum(t.amount for t in job.tasks if t.title == task)
                         for job in (bare, with_tub))  # fmt: skip
        assert after < before or before == after == 0


def test_what_stands_on_bedding_has_pavers_under_it():
    fire = {"kind": "gas fire feature", "name": "fire", "at": [3, 3], "size": [1.0]}
    bare, with_fire = job_of(yard()), job_of(yard(fire))
    assert net(with_fire, "pavers, field") == pytest.approx(net(bare, "pavers, field"))
    own = job_of(yard({**fire, "stands": "own base"}))
    assert net(own, "pavers, field") < net(bare, "pavers, field")


def test_no_paver_is_laid_under_it():
    made = yard(TUB)
    layout = takeoffs_of(made, made.areas[0], made.crew)["dense"].pavers
    (seat,) = seats_of(made)
    inner = seat.feature.polygon.buffer(-layout.pavers.length)
    assert not shapely.intersects(layout.field.rectangles, inner).any()
    assert layout.area == pytest.approx(WIDE * DEEP - seat.feature.polygon.area)


def test_a_wall_along_the_edge_holds_it():
    """A seat wall on its own base along the outer edge: no restraint over its 3 m."""
    wall = {"kind": "seat wall", "name": "wall", "at": [3, DEEP - 0.2], "size": [3.0, 0.4],
            "bearing": 90, "height": 0.45, "stands": "own base"}  # fmt: skip
    bare, held = (takeoffs_of(made, made.areas[0], made.crew)["dense"] for made in
                  (yard(), yard(wall)))  # fmt: skip
    assert bare.free_edge - held.free_edge == pytest.approx(3.0)
    assert held.held_edge == pytest.approx(bare.held_edge + 3.0)
    edging = net(job_of(yard(wall)), "edge restraint")
    assert edging == pytest.approx(held.free_edge)


OUTLET = {"kind": "outlet", "name": "daylight", "at": [[3.0, 9.0]], "z": 9.0}


def test_clean_stone_by_a_foundation_orders_its_underdrain_and_membrane():
    """The low side is the outer one: the pipe lies half a foot inside the hole, which is dug half a
    foot past the paving, so it is as long as the paving is wide; solid pipe from its corner to the
    outlet; the membrane from 6 in above the stone, 7 in with its bedding, to 6 in under it."""
    job = job_of(yard(base="open", floors=[OUTLET]), "open")
    along, out, wall = WIDE, float(np.hypot(3.0, 4.0)), WIDE + 12 * INCH
    assert net(job, "underdrain") == pytest.approx(along, abs=1e-6)
    assert net(job, "solid pipe of underdrain of patio") == pytest.approx(out, abs=1e-6)
    high = (7 + 12) * INCH
    assert net(job, "membrane by the wall") == pytest.approx(wall * high, abs=1e-6)
    floor = wall * min(DEEP + 6 * INCH, 10 * FOOT)
    assert net(job, "membrane under the stone") == pytest.approx(floor, rel=2e-3)
    assert net(job, "cushion of the membrane") == pytest.approx(2 * (wall * high + floor), rel=2e-3)
    ordered = {supply.item: supply for supply in job.supplies}
    assert ordered["underdrain"].count == np.ceil(along * 1.1 / (50 * FOOT))
    assert ordered["drain-pipe"].count == np.ceil(out * 1.05 / (10 * FOOT))
    assert ordered["waterproofing"].cost > 0
    tasks = {task.title for task in job.tasks}
    assert {"lay underdrain", "lay drain pipe", "waterproof the wall"} <= tasks
    (drain,) = (one for one in job.jobs[0].structures if one.kind == "underdrain")
    assert "to daylight" in drain.said


@pytest.mark.parametrize(
    ("base", "away", "house"),
    [("dense", 0.0, HOUSE), ("panel", 0.0, HOUSE), ("open", 10.1 * FOOT, HOUSE), ("open", 0, None)],
)
def test_no_other_base_and_no_far_one_does(base, away, house):
    """10 ft: permeable pavement construction tolerances guide of the paver industry."""
    made = yard(base=base, away=away, house=house, floors=[OUTLET])
    area = made.areas[0]
    assert underdrain_of(made, area, area.chosen_dig) is None


def test_an_underdrain_without_an_outlet_says_so():
    job = job_of(yard(base="open"), "open")
    (drain,) = (one for one in job.jobs[0].structures if one.kind == "underdrain")
    assert "no place yet" in drain.said
    assert any("the pipe of the underdrain" in each for each in drain.not_counted)
    assert net(job, "underdrain") == pytest.approx(WIDE)
    assert not any(line.title.startswith("solid pipe") for _, line in job.lines)


def test_the_condition_of_the_advice_is_on_the_order():
    """Where the advice makes the underdrain a condition, the order has it."""
    made = yard(base="open", floors=[OUTLET])
    verdict = next(one for one in made.advice.area("patio").base.verdicts
                   if one.option.name == "open")  # fmt: skip
    assert "open-underdrain" in {reason.rule for reason in verdict.reasons}
    assert {"underdrain", "waterproofing"} <= {s.item for s in job_of(made, "open").supplies}


@pytest.mark.parametrize("first", range(6))
def test_the_low_side_does_not_hang_on_where_an_outline_was_begun(first):
    """An L, whose corners are not spread evenly round its middle."""
    ring = [(0, 0), (6, 0), (6, 3), (2, 3), (2, 5), (0, 5)]
    plane = Plane(30.0, -0.013, -0.02)

    def low(corners):
        return _low_side(SimpleNamespace(polygon=shapely.Polygon(corners), formation=plane))

    line = low(ring)
    for turned in (ring[first:] + ring[:first], (ring[first:] + ring[:first])[::-1]):
        found = low(turned)
        one, other = (shapely.LineString(each).normalize() for each in (found, line))
        assert one.equals_exact(other, 1e-9)
    # Of a fold the levels are no plane's, and the corners' own weights tell.
    valley = SimpleNamespace(at=lambda xy: 30 + 0.02 * np.abs(xy[:, 0] - xy[:, 1]))
    lengths = [
        shapely.LineString(
            _low_side(SimpleNamespace(polygon=shapely.Polygon(each), formation=valley))
        ).length
        for each in (ring, ring[first:] + ring[:first])
    ]
    assert lengths[0] == pytest.approx(lengths[1], rel=1e-12)
