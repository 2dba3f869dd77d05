"""Every rule that a plan is held to, with its value, limit, status and source, in one table."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence

import numpy as np

from grading.catalogue.rules import Limits
from grading.checks.ground import ground_beyond, judged, unsure_of_level
from grading.checks.maker import Check, Maker, Status
from grading.conditions.deep_topsoil import deep_topsoil
from grading.design.area import AreaPlan
from grading.design.door_steps import DoorStep, door_steps
from grading.design.on_grade import on_grade, sill_words, sunk, sunk_words, too_high, too_high_words
from grading.design.places import Places
from grading.design.uncertainty import Uncertainty
from grading.dig.hole import LEAST_REFILL
from grading.finish.creases import RULE as VALLEY
from grading.finish.wishes.mends import LANDING
from grading.finish.wishes.model import Wish
from grading.geometry.tolerances import SOLVED, TOGETHER
from grading.ground.test_holes import belonging, holes_of
from grading.units import INCH, millimetres, run, size
from grading.units.shares import part_words
from grading.worded import Said, Worded

WORTH_TELLING = 0.05
"""Share of a hole below which a thing that happens in places is not worth a warning."""

UNIT = (9 * INCH, 6 * INCH)
"""The paver that a warp is judged by, unless the site says other. [m]"""

_INCHES = Worded(
    'were inches meant, write "4 in"; else ask what the ground bears', "ask what the ground bears"
)

_RAISED = "a raised edge, which a wall or a slope has to hold"
_SUNKEN = "cut the lawn back, or give it a wall and a drain, so that no water is held"
_LEVEL = 8e-4  # own: m, a height below this would be written as none


def _held(
    wishes: Sequence[Wish], unknowns: np.ndarray, make: Maker, stepped: Collection[str]
) -> Iterator[Check]:
    """Check each wish against the finish; of a door's two, the nearer to its limit."""
    closest: dict[tuple[str, str], Wish] = {}
    for wish in wishes:
        key = wish.rule, wish.about
        if key not in closest or wish.margin(unknowns) < closest[key].margin(unknowns):
            closest[key] = wish
    for (rule, about), wish in closest.items():
        if rule == "door-step" and about in stepped:
            continue  # told with its steps
        value = wish.quantity(unknowns)
        allowed = make.limits["meeting-gap"] if rule in ("meeting-gap", "shared-edge") else 0.0
        limit = wish.limit + allowed
        held = wish.margin(unknowns) >= -allowed - SOLVED
        text = f"{wish.text}: {make.say(rule, value)}"
        yield make.check(rule, "pass" if held else "fail", value, text, limit=limit, where=about)


def _stairs(steps: Iterable[DoorStep], make: Maker) -> Iterator[Check]:
    """Check the steps at doors that have several."""
    for step in steps:
        least, most = step.limit
        held = least - SOLVED <= step.step <= most + SOLVED
        words = step.words(lambda metres: size(metres, make.unit))
        low = step.step < least - SOLVED
        lowest = f"at least {size(least / step.risers, make.unit)} and " if low else ""
        text = (
            f"{words} from the sill of {step.door.name} down to the paving, each {lowest}at most "
            f"{size(most / step.risers, make.unit)}, {LANDING}"
        )
        yield make.check(
            "door-step", "pass" if held else "fail", step.step, text,
            limit=least if low else most, where=step.door.name,
        )  # fmt: skip


def _near_limits(steps: Iterable[DoorStep], make: Maker) -> Iterator[Check]:
    """Tell sills so near to a limit that a slip in reading them would break it."""
    for step in steps:
        words = sill_words(step, make.limits["sill-read"], make.unit)
        if words is not None:
            yield make.check("sill-read", "warn", step.step, words, where=step.door.name, unit="m")


def _valleys(plan: AreaPlan, make: Maker) -> Iterator[Check]:
    """Check that each line that water comes to from both sides leads it to an open end."""
    for crease in plan.group.solved.held.creases:
        if crease.area != plan.name or not crease.gathers(plan.unknowns):
            continue
        fall = crease.fall(plan.unknowns)
        way = "to its open end" if fall >= 0 else "back from its open end"
        text = f"{crease.name} is a valley and falls " + make.rate(abs(fall), 2) + f" {way}"
        more = ": give it at least " + make.rate(make.limits[VALLEY]) + ", or a drain along it"
        held = make.reaches(VALLEY, fall)
        yield make.judged(VALLEY, held, "fail", fall, text, more, where=crease.name)


def _fall(plan: AreaPlan, make: Maker) -> Iterator[Check]:
    rule, fall = "least-fall", min(facet.plane.fall for facet in plan.finish.surface.paved)
    text = "the paving falls " + make.rate(fall, 2)
    yield make.judged(rule, make.reaches(rule, fall), "fail", fall, text)


def _twist(plan: AreaPlan, make: Maker) -> Iterator[Check]:
    rule, twist = "twist", plan.finish.surface.twist
    if not twist:
        return
    # The fourth corner of a unit stands off the plane of the other three by twist x its sides.
    off = twist * UNIT[0] * UNIT[1]
    text = f"the warp lifts a corner of a {size(UNIT[0], make.unit)} by {size(UNIT[1], make.unit)}"
    text += f" unit by {millimetres(off)}"
    yield make.judged(rule, not make.passes(rule, off), "warn", off, text)


def _base(plan: AreaPlan, make: Maker) -> Iterator[Check]:
    system, use = plan.chosen_dig.system, plan.use
    if system.on_panels:
        driven = use == "driveway"
        status: Status = "fail" if driven and not system.wheels else "pass"
        text = f"panels under a {use}: foot traffic only"
        if driven:
            text = "panels carry foot traffic only: a driveway needs a stone base"
        if driven and system.wheels:
            text = f"panels under a {use}: {system.called} is rated for wheels, by {system.source}"
        yield make.check("panel-use", status, None, text)
        return
    rule = "base-thickness-vehicle" if use == "driveway" else "base-thickness-foot"
    thickness = system.base_thickness
    text = f"{system.called}, {make.say(rule, thickness)} under a {use}"
    yield make.judged(rule, make.reaches(rule, thickness), "fail", thickness, text)


def _raised(plan: AreaPlan, make: Maker, known: Uncertainty | None) -> Iterator[Check]:
    dig, rule = plan.chosen_dig, "raised-fill"
    raised = plan.max_fill
    if dig.system.on_panels or any(layer.material == "dense-graded" for layer in dig.system.layers):
        text = f"the underside of the build-up lies up to {make.say(rule, raised)} above the ground"
        if raised <= SOLVED:
            text = "the underside of the build-up lies nowhere above the ground"
        highest, at = plan.highest_raise
        limit = make.limits[rule]
        doubt = unsure_of_level(highest - dig.build_up, limit, at, make.places, known)
        status: Status = "warn" if make.passes(rule, raised) else "pass"
        mend = "hold the raised edge and build it up on open-graded stone"
        status, told = judged(status, text, doubt, mend)
        yield make.check(rule, status, raised, told, limit=limit)


def _edges(plan: AreaPlan, make: Maker, known: Uncertainty | None, freed: bool) -> Iterator[Check]:
    """Check how far the finish stands above the ground along the edges, or lies below it."""
    if on_grade(plan):
        yield from _edges_on_grade(plan, make, freed)
        return
    above, below = plan.edge_heights
    found = plan.edge_extremes
    lowest, highest = (None, None) if found is None else (run.points[k] for run, k in found)
    for rule, height, way, at, mend in (
        ("raised-edge", above, ("stands", "above"), highest, _RAISED),
        ("sunken-edge", below, ("lies", "below"), lowest, _SUNKEN),
    ):
        text = f"the finish {way[0]} {_up_to(make, rule, height)} {way[1]} the ground at its edge"
        limit = make.limits[rule]
        status: Status = "warn" if make.passes(rule, height) else "pass"
        doubt = unsure_of_level(height, limit, at, make.places, known)
        status, told = judged(status, text, doubt, mend)
        yield make.check(rule, status, max(height, 0.0), told, limit=limit)


def _edges_on_grade(plan: AreaPlan, make: Maker, freed: bool) -> Iterator[Check]:
    """Check that the free edge of an area on grade lies no higher than soil holds, nor sunk."""
    above, below = plan.edge_heights
    for rule, off, words, height, way in (
        ("lawn-shoulder", too_high, too_high_words, above, ("stands", "above")),
        ("lawn-sunk", sunk, sunk_words, below, ("lies", "below")),
    ):
        found = off(plan, make.limits[rule] + SOLVED)
        text: Said = f"the free edge {way[0]} {_up_to(make, rule, height)} {way[1]} the lawn"
        if found is not None:
            text = words(plan, found, make.places, freed=freed)
        yield make.judged(rule, found is None, "warn", max(height, 0.0), text)


def _up_to(make: Maker, rule: str, height: float) -> str:
    return f"up to {make.say(rule, height)}" if height > _LEVEL else "nowhere"


def _organics(plan: AreaPlan, make: Maker) -> Iterator[Check]:
    dig = plan.chosen_dig
    deepest = float(dig.clip.organics.max())
    if deepest == 0:
        return
    text: Said = f"organics up to {size(deepest, make.unit)} deep"
    share = dig.refill_share
    deep = deep_topsoil(plan, make.limits, make.places)
    refill = deep.refill(plan, dig) if deep.local else 0.0
    below = share >= WORTH_TELLING and dig.fill_for_organics - refill > LEAST_REFILL
    if deep.local:
        text = f"organics deeper than {size(make.limits['deep-organics'], make.unit)} {deep.where}"
        text += f": {deep.refill_words(plan, dig, make.unit)}"
        if deep.extent == "one hole":
            reach = run(make.limits["lone-hole-reach"], make.unit)
            text += f"; taken to go {reach} round it: a second hole beside it tells"
    if below:
        text += "; all in all they go" if deep.local else ","
        text += (
            f" below the subgrade over {part_words(share, 'the hole')}: it is dug to their "
            "bottom and refilled"
        )
    elif not deep.local and dig.fill_for_organics <= LEAST_REFILL:
        text += ", within the dig that the build-up needs"
    elif not deep.local:
        text += (
            f", below the subgrade over {part_words(share, 'the hole')} alone: dug to their "
            "bottom there and refilled"
        )
    status: Status = "warn" if below or refill > LEAST_REFILL else "pass"
    most = make.limits["deepest-organics"]
    if deepest > most + SOLVED:
        status, text = "fail", text + "; deeper than a yard has: " + _INCHES
    yield make.check("organics", status, deepest, text, unit="m")


def _test_holes(plan: AreaPlan, make: Maker) -> Iterator[Check]:
    """Tell which holes the topsoil of an area is taken from, where there are any."""
    site, name, unit = plan.group.group.site, plan.name, make.unit
    probes, named = site.ground.probes, site.ground.hole_areas
    if probes is None or not len(probes):
        return
    reach = make.limits["hole-reach"]
    holes = holes_of(probes, named, site.areas, reach)[name]
    depth = probes[holes.used, 2]
    depths = " to ".join(
        dict.fromkeys(size(float(end), unit) for end in (depth.min(), depth.max()))
    )
    if len(holes.own):
        count = f"{len(holes.own)} test hole{'s' if len(holes.own) > 1 else ''}"
        text = f"topsoil as {count} of its own found it: {depths}"
        yield make.check("test-holes", "pass", None, text)
        return
    owners = belonging(probes, named, site.areas, reach)
    others = dict.fromkeys(other for k in holes.used for other in owners[k])
    whose = f"those of {' and '.join(others)}" if others else "those of the yard"
    text = f"no test hole is its own: its topsoil is guessed from {whose}, {depths}"
    yield make.check("test-holes", "unknown", None, text, mend=f"dig one or two in {name}")


def _survey(plan: AreaPlan, make: Maker) -> Check:
    rule = "survey-margin"
    limit = make.limits[rule]
    what, (beyond, at) = "the paving", plan.paving_beyond_survey
    if beyond <= TOGETHER:
        what, (beyond, at) = "the dig beside the paving", plan.beyond_survey
    if beyond <= TOGETHER:
        return make.check(rule, "pass", 0.0, "the whole dig was surveyed", limit=limit)
    text = (
        f"{what} reaches {size(beyond, make.unit)} beyond the surveyed ground, "
        f"{make.places.at(at)}; "
        "the ground was carried on at its slope there, so the volumes are estimates"
    )
    return make.check(rule, "unknown", beyond, text, limit=limit)


def checks_of(
    plan: AreaPlan, limits: Limits, places: Places, known: Uncertainty | None = None,
    *, freed: bool = True,
) -> tuple[Check, ...]:  # fmt: skip
    """Return every check of one area, in the order that a person reads them.

    Parameters
    ----------
    plan : AreaPlan
    limits : Limits
        Those of the site.
    places : Places
        Says where things are, in the unit that the sentences are written in.
    known : Uncertainty, optional
        How well the ground is known. A limit that lies within its plus-or-minus is not said to be
        held; what was measured to fail still fails.
    freed : bool
        Whether it is told what would let an edge off the lawn lie elsewhere, which takes several
        finishes more to solve: see `freed_of`.
    """
    make = Maker(limits, places, plan.name)
    steps = door_steps(plan)
    stairs = [step for step in steps if step.risers > 1]
    return (
        *_held(plan.wishes, plan.unknowns, make, {step.door.name for step in stairs}),
        *_stairs(stairs, make),
        *_near_limits(steps, make),
        *ground_beyond(plan, make, known),
        *_valleys(plan, make),
        *_fall(plan, make),
        *_twist(plan, make),
        *_base(plan, make),
        *_raised(plan, make, known),
        *_edges(plan, make, known, freed),
        *_organics(plan, make),
        *_test_holes(plan, make),
        _survey(plan, make),
    )


def freed_of(plan: AreaPlan, limits: Limits, places: Places) -> Mapping[str, Check]:
    """Return the checks of edges off the lawn, by their rules, with what would free them.

    None where no edge is off it: there is no more to tell of it then.

    Parameters
    ----------
    plan, limits, places : as for `checks_of`
    """
    if not on_grade(plan):
        return {}
    made = _edges_on_grade(plan, Maker(limits, places, plan.name), freed=True)
    return {check.rule: check for check in made if check.status != "pass"}
