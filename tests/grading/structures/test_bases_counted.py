"""What stands on the paving and what is done about the backfill: dug, ordered, timed, in a union.

Expected volumes are closed forms of flat ground; sizes of pads are common practice, no source.
"""

from __future__ import annotations

import pytest
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.crew.model import default_crew
from grading.order.model import order_of
from grading.pipeline import plan
from grading.site.feature_tables import Backfill, Feature
from grading.units import FOOT, INCH

WIDE, DEEP = 6.0, 5.0
TOP = 10.0


def yard(*features, base="dense", ground=TOP, backfill=None, fall="0 %"):
    spots = grid_of_spots(lambda x, y: ground + 0.0 * x, ((-4, -3), (11, 13)))
    area = {"name": "patio", "outline": [(0, 0), (WIDE, 0), (WIDE, DEEP), (0, DEEP)], "base": base,
            "plane": {"at": [0, 0], "z": TOP, "fall": fall, "bearing": 0}}  # fmt: skip
    site = site_of(spots, [area], house={"walls": [(-2, 0), (9, 0)], "inside": (3, -4)})
    site = replace(site, features=tuple(
        Feature.model_validate(each, context={"unit": "m"}) for each in features),
        backfill=Backfill.model_validate(backfill or {}, context={"unit": "ft"}))  # fmt: skip
    return order_of(plan(site), default_crew())


def job(order):
    return order.total


def line(found, title):
    return next((one for _, one in found.lines if one.title == title), None)


KITCHEN = {"kind": "kitchen", "name": "grill", "at": [3, 3], "size": [2.0, 1.0], "base": "9 in"}


def test_a_base_of_its_own_is_dug_ordered_and_timed():
    """Pad 6 in wider all round, its top at the finish, 9 in thick; the dense build-up on flat
    ground at the finish is dug to 9 3/8 in already, so nothing is dug for it: what is left below
    it is filled."""
    bare, with_it = job(yard()), job(yard(KITCHEN))
    pad = (2.0 + FOOT) * (1.0 + FOOT)
    assert line(with_it, "base of grill").compacted == pytest.approx(pad * 9 * INCH)
    build_up = with_it.jobs[0].dig.build_up
    assert line(with_it, "fill round the base of grill").compacted == pytest.approx(
        pad * (build_up - 9 * INCH)
    )
    assert with_it.cut == pytest.approx(bare.cut)


def test_a_deeper_base_is_dug_beyond_the_hole_only():
    deep = {**KITCHEN, "base": "24 in"}
    bare, with_it = job(yard()), job(yard(deep))
    pad = (2.0 + FOOT) * (1.0 + FOOT)
    more = pad * (24 * INCH - bare.jobs[0].dig.build_up)
    assert with_it.cut - bare.cut == pytest.approx(more)
    assert with_it.haul.spoil.bank > bare.haul.spoil.bank
    assert with_it.time.mean > bare.time.mean

    def spread(found):
        return next(task for task in found.tasks if task.title == "spread and compact stone").amount

    stone = pad * (24 - 6) * INCH  # the area's own base, 6 in of it, is left out there
    assert spread(with_it) - spread(bare) == pytest.approx(
        stone * default_crew()["dense-graded-compacted"]
    )


def test_two_bases_that_overlap_are_dug_once():
    """Two pads, the second wholly on the first and less deep: nothing more is dug."""
    first = {**KITCHEN, "base": "24 in"}
    second = {**KITCHEN, "name": "shelf", "size": [0.6, 0.6], "base": "18 in"}
    assert job(yard(first, second)).cut == pytest.approx(job(yard(first)).cut)


def test_a_base_in_refill_takes_its_place():
    """Ground a metre down: the hole is refilled up to the formation, and the lower part of the
    pad stands where refill would: stone of both is the volume of neither twice."""
    low = TOP - 1.0
    deep = {**KITCHEN, "base": "24 in"}
    bare, with_it = job(yard(ground=low)), job(yard(deep, ground=low))
    build_up = bare.jobs[0].dig.build_up
    pad = (2.0 + FOOT) * (1.0 + FOOT)
    assert with_it.fill == pytest.approx(bare.fill)
    assert line(with_it, "base of grill").compacted == pytest.approx(pad * build_up)
    assert with_it.cut == pytest.approx(bare.cut)


def test_a_footing_is_concrete_by_the_bag():
    post = {"kind": "pergola post", "name": "post", "at": [3, 3], "size": [0.3], "base": "42 in"}
    found = job(yard(post))
    footing = line(found, "footing of post")
    volume = 0.3**2 * 3.14159265 / 4 * 42 * INCH
    assert footing.item == "concrete"
    assert footing.net / default_crew()["concrete-density"] == pytest.approx(volume, rel=2e-3)
    assert any(task.title == "form and place concrete" for task in found.tasks)
    assert any("permit" in each for one in found.jobs[0].structures for each in one.cautions)


@pytest.mark.parametrize("depth", [None, "24 in"])
def test_backfill_dug_out_is_in_the_dig_the_order_and_the_hours(depth):
    """4 ft along 6 m of wall, 18 in (or as written) below the build-up."""
    treated = {"treatment": "stone", "width": "4 ft", **({"depth": depth} if depth else {})}
    bare, with_it = job(yard()), job(yard(backfill=treated))
    zone = WIDE * 4 * FOOT
    deep = (24 if depth else 18) * INCH
    assert with_it.cut - bare.cut == pytest.approx(zone * deep)
    assert line(with_it, "stone in the backfill").compacted == pytest.approx(zone * deep)
    assert line(with_it, "geogrid under the backfill").net > zone
    assert any(task.title == "lay geogrid" for task in with_it.tasks)
    assert job(yard(backfill={"treatment": "firm", "width": "4 ft"})).cut == pytest.approx(bare.cut)


def test_a_base_on_backfill_that_is_dug_out_is_dug_from_there():
    """Backfill dug out to 18 in below the build-up; a pad over it that ends above is not dug."""
    treated = {"treatment": "stone", "width": "4 ft"}
    near = {**KITCHEN, "at": [3, 0.75], "size": [0.6, 0.6], "base": "24 in"}
    without, with_it = job(yard(backfill=treated)), job(yard(near, backfill=treated))
    assert with_it.cut == pytest.approx(without.cut)


def test_on_a_fall_the_wedge_under_a_thing_is_ordered():
    """A metre square on 2 %: sand from 0 to 20 mm, 0.01 m3."""
    fire = {"kind": "gas fire feature", "name": "fire", "at": [3, 3], "size": [1.0, 1.0],
            "stands": "bedding"}  # fmt: skip
    found = job(yard(fire, fall="2 %"))
    wedge = line(found, "wedge under fire")
    assert wedge.item == "bedding-sand"
    assert wedge.compacted == pytest.approx(0.01)
    cuts = next(task for task in found.tasks if task.title == "cut pavers to a line along fire")
    assert cuts.amount == pytest.approx(4.0)
