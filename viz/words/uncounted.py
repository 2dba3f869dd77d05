"""What an order list leaves out, told beside it, so that nobody takes it for the whole.

What is built beside the paving is counted where it is drawn: only what no structure stands along
is told here, and what structures and things themselves still need.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely

from grading.catalogue.edge_kinds import WALL
from grading.crew.stone import STONES
from grading.design.area import AreaPlan
from grading.design.edge_holding import PARTS, WALLED, kerbed
from grading.geometry.free_edges import BESIDE
from grading.pipeline import Plan
from viz.words.figures import stretch
from viz.words.structures import still_needed, structures_in

_NEAR = 0.01  # own: m: what is built within this of an edge stands along it


def not_counted(plan: Plan) -> tuple[str, ...]:
    """Return what a plan needs that neither its order list nor its hours hold, in sentences.

    Parameters
    ----------
    plan : Plan
    """
    still = dict.fromkeys(still_needed(plan))
    return (*_things(plan), *_edges(plan), *_lawn(plan), *still)


def may_need(plan: Plan) -> tuple[str, ...]:
    """Return what a job may need beyond its plan, that nothing on the site tells of, in sentences.

    Parameters
    ----------
    plan : Plan
    """
    return tuple(_may_need(plan))


def _may_need(plan: Plan) -> Iterator[str]:
    yield "permits, inspections and their fees, where the place asks for them"
    yield (
        "what the dig finds: rock, roots, an old slab, fill, water or soil softer than was reckoned"
    )
    yield (
        "pipes and wires in the ground, and sprinkler heads in the way: found before the dig, "
        "moved by who is licensed for them"
    )
    yield "a fence panel, a gate or a plant moved for the way in, and put back"
    if any(area.area.pavers is None for area in plan.areas):
        yield "pavers dearer, thicker or of another size than those reckoned with"
    yield "lighting, planting and furniture"


def _things(plan: Plan) -> Iterator[str]:
    """Bases of their own whose depth nobody gave."""
    for seat in plan.advice.features:
        if seat.stands == "own base" and seat.own_base is None:
            yield (
                f"a base of its own under {seat.name}: how deep its footing goes is given by "
                "neither the site nor its frost"
            )


def _edges(plan: Plan) -> Iterator[str]:
    """Edges that a wall, a slope or a kerb has to hold, along which none of those is counted."""
    unit = plan.site.unit
    for each in plan.areas:
        built = _built(plan, each)
        long = _bare(each.raised_edges, built)
        raised = "" if each.chosen_dig.system.edge == WALL else "raised "
        if long:
            yield (
                f"the wall or slope that holds {stretch(long, unit, PARTS)} of {raised}edge of "
                f"{each.name}"
            )
        if not kerbed(each, plan.limits):
            continue
        shoulder = plan.limits["lawn-shoulder"]
        high = [line for edge in each.edge_runs for line in edge.raised(shoulder)]
        kerb = shapely.difference(shapely.union_all(high), shapely.union_all(each.raised_edges))
        long = _bare([kerb], built)
        if long >= WALLED:
            yield f"the kerb along {stretch(long, unit, PARTS)} of edge of {each.name}"


def _lawn(plan: Plan) -> Iterator[str]:
    """Lawn that the work wears, where it is somebody else's or its size is not known."""
    access = plan.site.access
    if access.repair == "owner":
        yield "lawn worn by the way in and by heaps of soil: the owner puts it right"
    elif access.over == "lawn" and access.path is None:
        yield "lawn worn by the way in: how far it is to the dig is not given ([access] path)"


def _built(plan: Plan, area: AreaPlan) -> shapely.Geometry:
    """Return what stands or lies beside an area and is counted, in plan, less its bed. [m]"""
    return shapely.union_all([
        solid.footprint
        for one in structures_in(plan.order)
        if one.area == area.name
        for solid in one.solids
        if solid.material not in STONES
    ])  # fmt: skip


def _bare(lines: Sequence[shapely.Geometry], built: shapely.Geometry) -> float:
    """Return the length of lines along which nothing is built, 0 where that is rounding. [m]"""
    along = shapely.buffer(built, _NEAR)
    long = sum(float(shapely.length(shapely.difference(line, along))) for line in lines)
    return long if long > BESIDE else 0.0
