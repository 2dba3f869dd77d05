"""The rows that the advice adds to the table of checks."""

from __future__ import annotations

from collections.abc import Iterator

from grading.catalogue.rules import RULES, Limits
from grading.checks.check import Check, Status
from grading.checks.edges import edge_checks
from grading.choice.advice import Advice, AreaAdvice
from grading.conditions.backfill import BackfillZone
from grading.conditions.features import FIRES, Seat
from grading.conditions.joins import Join
from grading.conditions.level_things import LevelThing
from grading.conditions.level_words import risers_words
from grading.conditions.load import LoadStress, bearing_source, loads, pressure
from grading.conditions.seat_words import stands_words, why_words
from grading.design.model import Design
from grading.geometry.tolerances import ROUNDING
from grading.units import Unit, bearing, percent, run, size


def _check(
    rule: str, area: str, status: Status, text: str, limits: Limits, *,
    value: float | None = None, limit: float | None = None, where: str = "", unit: str = "",
) -> Check:  # fmt: skip
    unit = unit or RULES[rule].unit
    return Check(rule, area, status, value, limit, unit, limits.source(rule), text, where)


def _overruled(advice: AreaAdvice, limits: Limits) -> Iterator[Check]:
    if advice.chosen is None or not advice.overruled:
        return
    chosen, best = advice.base.of(advice.chosen), advice.base.advised
    said = chosen.against
    instead = "no base" if best is None else best.option.name
    text = f"{advice.chosen} chosen where {instead} is advised"
    if said:
        text += f": {said[0].text}"
    if advice.base.caveat:
        text += f"; {advice.base.caveat}"
    if advice.reason:
        text += f". Kept for a reason: {advice.reason}"
    serious = chosen.level in ("rules out", "against") and not advice.reason
    yield _check("base-advised", advice.area, "warn" if serious else "pass", text, limits)


_OWN = 'leave `stands = "bedding"` out, or write "own base"'
"""How to mend what stands on bedding because the site says so."""


def _wedge(seat: Seat, limits: Limits, unit: Unit) -> Iterator[Check]:
    if seat.stands != "bedding":
        if not seat.given:
            text = f"{seat.name} stands {stands_words(seat)}; {why_words(seat, unit)}"
            yield _check("feature-wedge", seat.area, "pass", text, limits, where=seat.name)
        return
    thick = seat.wedge.greatest
    text = (
        f"{seat.name} stands level on a finish that falls {size(seat.fall, unit)} under it: "
        f"bedding up to {size(thick, unit)} thick"
    )
    if seat.too_thick:
        text += f": give it a level base of its own: {_OWN}"
    status: Status = "warn" if seat.too_thick else "pass"
    yield _check(
        "feature-wedge", seat.area, status, text, limits,
        value=thick, limit=seat.limit, where=seat.name,
    )  # fmt: skip


def _overhang(seat: Seat, limits: Limits, unit: Unit) -> Iterator[Check]:
    rule, feature = "feature-overhang", seat.feature
    over = seat.overhang > limits[rule]
    text = f"{seat.name} lies on the paving of {seat.area}"
    if over:
        mend = "move it in, or lay the paving out to it"
        if seat.turned and feature.size is not None:
            mend = (
                f"its length runs along bearing {bearing(feature.bearing)}: with bearing = "
                f"{(feature.bearing + 90) % 360:.0f} it fits; or move it in"
            )
        text = (
            f"{seat.name} reaches {size(seat.overhang, unit)} past the edge of the paving of "
            f"{seat.area}: {mend}"
        )
    status: Status = "warn" if over else "pass"
    if over and seat.off_paving > limits["feature-off-share"] + ROUNDING:
        status = "fail"
        text += (
            f"; {percent(seat.off_paving, 0)} of it lies off the paving: check its size and `at`"
        )
    yield _check(
        rule, seat.area, status, text, limits,
        value=seat.overhang, limit=limits[rule], where=seat.name,
    )  # fmt: skip


def _height(seat: Seat, limits: Limits, unit: Unit) -> Iterator[Check]:
    if seat.height_limit is None or seat.stands == "own base":
        return
    height, rule = seat.feature.height, "panel-feature-height"
    status: Status
    if height is None:
        status, text = "unknown", f"how high {seat.name} is, on panels, is not given"
    else:
        status = "fail" if seat.too_high else "pass"
        text = f"{seat.name} on panels, {size(height, unit)} high"
        if seat.too_high:
            text += f": give it a level base of its own, cut out of them: {_OWN}"
    yield _check(
        rule, seat.area, status, text, limits,
        value=height, limit=seat.height_limit, where=seat.name,
    )  # fmt: skip


def _on_panels(seat: Seat, limits: Limits) -> Iterator[Check]:
    kind, alone = seat.feature.kind, seat.stands == "own base"
    if not seat.on_panels:
        return
    if kind in FIRES:
        status: Status = "pass" if kind == "gas fire feature" else "warn" if alone else "fail"
        text = {
            "pass": f"{seat.name} on panels burns gas",
            "warn": f"{seat.name} burns wood beside panels: keep them and its heat apart",
            "fail": f"{seat.name} burns wood on panels, which are plastic: gas only, or a base "
            f"of its own cut out of them: {_OWN}",
        }[status]
        yield _check("panel-fire", seat.area, status, text, limits, where=seat.name)
    elif kind in ("pergola post", "kitchen", "hot tub"):
        text = f"{seat.name} stands on a base of its own, the panels cut round it"
        if not alone:
            text = (
                f"{seat.name} on panels: give it a base of its own, and cut the panels round it: "
                f"{_OWN}"
            )
        status = "pass" if alone else "fail"
        yield _check("panel-feature", seat.area, status, text, limits, where=seat.name)


def _at_door(thing: LevelThing, limits: Limits, unit: Unit) -> Iterator[Check]:
    """Check the risers of steps at a door: counted from its sill, not from the lawn."""
    risers = thing.risers
    if risers is None:
        return
    status: Status = {True: "pass", False: "warn", None: "unknown"}[risers.fits]  # type: ignore[assignment]
    text = f"{thing.seat.name}: {risers_words(risers, unit)}"
    if risers.last is None:
        text += "; how high they are is not given: [[feature]] height"
    yield _check(
        "door-steps", thing.seat.area, status, text, limits,
        value=None if risers.last is None else abs(risers.last - risers.each),
        limit=risers.alike, where=thing.seat.name,
    )  # fmt: skip


def _from_house(seat: Seat, limits: Limits, unit: Unit) -> Iterator[Check]:
    if seat.feature.kind not in FIRES or seat.to_house is None:
        return
    rule = "fire-distance"
    near = seat.to_house < limits[rule]
    text = f"{seat.name} is {run(seat.to_house, unit)} from the house"
    if near:
        text += (
            f", nearer than the usual {run(limits[rule], unit)}: move it out, or let the local "
            "code and its maker's sheet say how near it may be"
        )
    status: Status = "warn" if near else "pass"
    yield _check(
        rule, seat.area, status, text, limits,
        value=seat.to_house, limit=limits[rule], where=seat.name,
    )  # fmt: skip


def _backfill(zone: BackfillZone, limits: Limits, unit: Unit) -> Check:
    treated = zone.chosen != "none"
    said = zone.treatment
    status: Status = {
        "suits": "pass", "with care": "pass", "not enough": "warn",
        "ask an engineer": "warn", "unknown": "unknown",
    }[said.judgement]  # type: ignore[assignment]  # fmt: skip
    text = f"paving on the backfill of the foundation, {run(zone.width, unit)} wide"
    text += f", {zone.chosen}: {said.text}" if treated else f", not treated: {said.text}"
    if not treated and status != "pass" and zone.uses_up is not None:
        text += f"; {size(zone.uses_up, unit)} of settlement at the wall levels it"
    return _check("backfill-zone", zone.area, status, text, limits, value=zone.width, limit=None)


def _join(join: Join, limits: Limits, unit: Unit) -> Check:
    other, base = join.areas[1], join.bases
    text = f"{base[0]} meets {base[1]} over {run(join.length, unit)} beside {other}: {join.detail}"
    return _check("base-join", join.areas[0], "warn", text, limits, where=other)


def _load(stresses: list[LoadStress], area: str, limits: Limits, unit: Unit) -> Iterator[Check]:
    if not stresses:
        return
    worst = max(stresses, key=lambda one: one.share)
    text = (
        f"{worst.load} through {worst.base}: {pressure(worst.greatest, unit)} on the subgrade, "
        f"presumed to bear {pressure(worst.bearing, unit)}"
    )
    status: Status = "warn" if worst.share > 1 else "pass"
    check = _check(
        "subgrade-bearing", area, status, text, limits,
        value=worst.greatest, limit=worst.bearing, where=worst.load, unit="Pa",
    )  # fmt: skip
    yield Check(**{**check.__dict__, "source": bearing_source()})


def advice_checks(plan: Design, advice: Advice) -> tuple[Check, ...]:
    """Return the checks that the advice adds, in the order that a person reads them.

    Parameters
    ----------
    plan : Design
    advice : Advice
        Of that plan.
    """
    limits, unit = Limits(plan.site.limits, plan.site.unit), plan.site.unit
    driven = {load.name for load in loads() if load.wheels}
    checks: list[Check] = []
    for area_plan in plan.areas:
        name, drive = area_plan.name, area_plan.use == "driveway"
        checks += _overruled(advice.area(name), limits)
        checks += edge_checks(plan, area_plan, advice.area(name))
        for thing in advice.levels:
            seat = thing.seat
            if seat.area == name:
                checks += _at_door(thing, limits, unit)
                checks += _overhang(seat, limits, unit)
                checks += _wedge(seat, limits, unit)
                checks += _height(seat, limits, unit)
                checks += _on_panels(seat, limits)
                checks += _from_house(seat, limits, unit)
        checks += [_backfill(zone, limits, unit) for zone in advice.backfill if zone.area == name]
        checks += [_join(join, limits, unit) for join in advice.joins if join.areas[0] == name]
        met = [
            one
            for one in advice.loads
            if (one.area, one.base) == (name, area_plan.chosen)
            and (drive or one.load not in driven)
        ]
        checks += _load(met, name, limits, unit)
    return tuple(checks)
