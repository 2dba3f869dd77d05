"""What stands, lies and is built in a yard, with its place and form; what of that changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from typing import NamedTuple

import numpy as np
import shapely
from msgspec import Struct
from shapely.affinity import translate

from grading.design.area import AreaPlan
from grading.geometry.tolerances import SAME_PLACE
from grading.pipeline import Plan
from grading.site.model import Site
from grading.structures.model import Structure


class Kind(NamedTuple):
    """A kind that is told in everyday words, and known by its name."""

    name: str
    plain: str


Trait = float | int | str | Kind | None
"""What a thing is told by: a length [m], a count, words; None where it is left open."""

_FOLLOWS = ("membrane", "wedge of bedding", "base of its own", "backfill treatment",
            "regraded lawn", "downspout extension")  # fmt: skip
"""Structures that are where another thing is, and are told with it."""

_BURIED = ("underdrain", "dry well")
"""Structures of which nothing is seen but where they end."""

_SHOWN = ("block", "cap", "concrete", "grate", "step unit")
"""Materials of which a structure is seen."""

EDGE, OF_BASE = "edge", "edge of its base"
"""How the edge of paving is called: as it is asked for, and as it comes with the base."""

LEVEL = "level of the sill"
"""The trait that is an elevation; other numbers are lengths."""

_UNSEEN = (OF_BASE, "what it stands on", "bedding under it", "thickness of its own base", "pipe",
           "depth")  # fmt: skip
"""Traits that nobody sees once the work is done."""

_BUILT_OUTFALLS = ("drain", "dry well")
"""Kinds of outfall that are things; the others are places that water runs to."""


class Thing(Struct, frozen=True, eq=False):
    """One thing that stands, lies or is built.

    Attributes
    ----------
    called : str
        As who lives there would call it.
    place : shapely geometry
        In plan. [m]
    traits : mapping
        What else it is told by, each by what it is called: "height", "base of its own".
    seen : bool
        Whether any of it is seen once the work is done.
    """

    called: str
    place: shapely.Geometry
    traits: Mapping[str, Trait]
    seen: bool = True


class Displaced(Struct, frozen=True, eq=False):
    """A thing that is otherwise in the later of two plans; None where a plan has it not.

    Attributes
    ----------
    before, after : Thing or None
    moved : float
        How far it is moved as it is; 0 where its outline is another. [m]
    reshaped : float
        How far its outline lies from where it lay, at the most, where it is another. [m]
    """

    before: Thing | None
    after: Thing | None
    moved: float = 0.0
    reshaped: float = 0.0

    @property
    def thing(self) -> Thing:
        """The thing as it is now, or as it was where it is left out."""
        found = self.after or self.before
        assert found is not None
        return found

    @property
    def otherwise(self) -> tuple[str, ...]:
        """The traits that differ, where both plans have it."""
        if self.before is None or self.after is None:
            return ()
        then, now = self.before.traits, self.after.traits
        return tuple(key for key in now if _apart(then.get(key), now[key]))

    @property
    def seen(self) -> bool:
        """Whether anybody sees it once the work is done."""
        if not self.thing.seen:
            return False
        if self.before is None or self.after is None or self.moved or self.reshaped:
            return True
        return any(key not in _UNSEEN for key in self.otherwise)


def _apart(then: Trait, now: Trait) -> bool:
    if isinstance(then, float) and isinstance(now, float):
        return abs(then - now) >= SAME_PLACE
    return then != now


Key = tuple[str, str, int]


def things_of(plan: Plan) -> dict[Key, Thing]:
    """Return all that stands, lies and is built in a yard, each by its kind, name and number.

    Parameters
    ----------
    plan : Plan
    """
    found: dict[Key, Thing] = {}
    count: Counter[tuple[str, str]] = Counter()
    for kind, name, thing in (*asked_for(plan), *_worked_out(plan)):
        count[kind, name] += 1
        found[kind, name, count[kind, name]] = thing
    return found


def asked_for(plan: Plan) -> Iterator[tuple[str, str, Thing]]:
    """Yield the kind and the name of each thing that a site asks for or has, and the thing.

    Parameters
    ----------
    plan : Plan
    """
    site = plan.site
    for area in plan.areas:
        yield "area", area.name, _paving(plan, area)
    for door in site.doors:
        place = shapely.Point(door.at)
        yield "door", door.name, Thing(door.name or "the door", place, {LEVEL: door.sill})
    for one in site.features:
        traits: dict[str, Trait] = {
            "kind": one.kind,
            "height": one.height,
            "height of a course": one.course,
            "what it stands on": one.stands,
            "bedding under it": one.bedding,
            "thickness of its own base": one.base,
        }
        yield "feature", one.name, Thing(one.name or f"the {one.kind}", one.polygon, traits)
    for step in site.steps:
        if step.down is not None:
            traits = {"number of risers": step.count, "depth of a tread": step.tread}
            called = f"the step from {' to '.join(step.down)}"
            yield "step", " ".join(step.down), Thing(called, shapely.Point(), traits)
    yield from _drains(site)


def _drains(site: Site) -> Iterator[tuple[str, str, Thing]]:
    for outfall in site.outfalls:
        if outfall.kind not in _BUILT_OUTFALLS:
            continue
        traits: dict[str, Trait] = {
            "inner width": outfall.width,
            "pipe": outfall.pipe,
            "depth": outfall.depth,
            "where its pipe leads": outfall.outlet,
        }
        called = outfall.name or f"the {outfall.kind}"
        yield outfall.kind, outfall.name, Thing(called, outfall.geometry, traits)
        if outfall.via is not None:
            turns = shapely.MultiPoint(outfall.via)
            yield "pipe", outfall.name, Thing(f"pipe of {called}", turns, {}, False)
    for spout in site.downspouts:
        way = [spout.at, *(spout.via or ()), *(() if spout.to is None else (spout.to,))]
        place = shapely.Point(spout.at) if len(way) == 1 else shapely.LineString(way)
        yield (
            "downspout",
            spout.name,
            Thing(spout.name or "the downspout", place, {"pipe": spout.pipe}),
        )


def _worked_out(plan: Plan) -> Iterator[tuple[str, str, Thing]]:
    """Yield what is built beside and below the paving and is no place that the site has drawn."""
    known = {outfall.name for outfall in plan.site.outfalls}
    for each in (each for job in plan.order.total.jobs for each in job.structures):
        if each.kind not in _FOLLOWS and each.name not in known and each.solids:
            yield each.kind, each.name, _built(each)


def _paving(plan: Plan, area: AreaPlan) -> Thing:
    advice = plan.advice.area(area.name)
    pavers = area.area.pavers or plan.crew.pavers
    soldier = pavers.soldier
    rows = "all round" if soldier == "all" else f"along edges {', '.join(map(str, soldier))}"
    traits: dict[str, Trait] = {
        "length of a paver": pavers.length,
        "width of a paver": pavers.width,
        "width of a joint": pavers.joint,
        "pattern": pavers.pattern,
        "border row": rows if soldier else None,
        "joints": Kind(advice.joint_laid, advice.joint_plain),
        EDGE if area.area.edge else OF_BASE: Kind(
            advice.edge_laid, advice.edge.of(advice.edge_laid).option.in_plain_words
        ),
    }
    return Thing(area.name, area.outline, traits)


def _built(each: Structure) -> Thing:
    shown = [solid for solid in each.solids if solid.material in _SHOWN]
    place = shapely.union_all([solid.footprint for solid in shown or each.solids])
    count = Counter(solid.material for solid in shown)
    traits: dict[str, Trait] = {f"number of {kind}s": number for kind, number in count.items()}
    return Thing(each.name, place, traits, each.kind not in _BURIED)


def displaced(before: Plan, after: Plan) -> tuple[Displaced, ...]:
    """Return what stands, lies or is built otherwise in the later of two plans.

    Parameters
    ----------
    before, after : Plan

    Notes
    -----
    Areas that one plan alone has are not among them: they are told as areas.
    """
    then, now = things_of(before), things_of(after)
    found = []
    for key in dict.fromkeys([*now, *then]):
        old, new = then.get(key), now.get(key)
        if old is None or new is None:
            if key[0] != "area":
                found.append(Displaced(old, new))
            continue
        one = Displaced(old, new, *_apart_in_plan(old.place, new.place))
        if max(one.moved, one.reshaped) >= SAME_PLACE or one.otherwise:
            found.append(one)
    return tuple(found)


def _apart_in_plan(old: shapely.Geometry, new: shapely.Geometry) -> tuple[float, float]:
    """Return how far a thing is set as it is, and how far its outline is another, one of them."""
    if shapely.is_empty(old) or shapely.is_empty(new):
        return 0.0, 0.0
    start, end = shapely.get_coordinates(shapely.centroid([old, new]))
    x, y = end - start
    reshaped = float(shapely.hausdorff_distance(translate(old, x, y), new))
    if reshaped < SAME_PLACE:
        return float(np.hypot(x, y)), 0.0
    return 0.0, float(shapely.hausdorff_distance(old, new))
