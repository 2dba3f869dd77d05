"""The rows that the advice adds to the table of checks."""

from __future__ import annotations

from collections.abc import Iterator

from grading import units
from grading.checks.edges import edge_checks
from grading.checks.maker import Check, Maker, Status, maker_of
from grading.choice.advice import Advice, AreaAdvice
from grading.conditions.backfill import BackfillZone
from grading.conditions.joins import Join
from grading.conditions.level_things import LevelThing
from grading.conditions.level_words import risers_words
from grading.conditions.load import LoadStress, bearing_source, loads, pressure
from grading.conditions.seats import FIRES, Seat, stands_words, why_words
from grading.design.model import Design
from grading.geometry.tolerances import ROUNDING
from grading.units import bearing, percent, run, size
from grading.worded import Said, Worded, in_plan


def _overruled(advice: AreaAdvice, make: Maker) -> Iterator[Check]:
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
    yield make.check("base-advised", "warn" if serious else "pass", None, text)


_OWN = in_plan('leave `stands = "bedding"` out, or write "own base"', "give it a base of its own")
"""How to mend what stands on bedding because the site says so."""


def _wedge(seat: Seat, make: Maker) -> Iterator[Check]:
    if seat.stands != "bedding":
        if not seat.given:
            why = f"{seat.name} stands {stands_words(seat)}; {why_words(seat, make.unit)}"
            yield make.check("feature-wedge", "pass", None, why, where=seat.name)
        return
    thick = seat.wedge.greatest
    text: Said = (
        f"{seat.name} stands level on a finish that falls {size(seat.fall, make.unit)} under it: "
        f"bedding up to {size(thick, make.unit)} thick"
    )
    if seat.too_thick:
        text += ": give it a level base of its own: " + _OWN
    status: Status = "warn" if seat.too_thick else "pass"
    yield make.check("feature-wedge", status, thick, text, limit=seat.limit, where=seat.name)


def _overhang(seat: Seat, make: Maker) -> Iterator[Check]:
    rule, feature = "feature-overhang", seat.feature
    over = seat.overhang > make.limits[rule]
    text: Said = f"{seat.name} lies on the paving of {seat.area}"
    if over:
        mend: Said = "move it in, or lay the paving out to it"
        if seat.turned and feature.size is not None:
            along, other = feature.bearing, (feature.bearing + 90) % 360
            mend = f"its length runs along bearing {bearing(along)}: " + Worded(
                f"with bearing = {other:.0f} it fits; or move it in",
                f"along {bearing(other)} it fits; or move it in",
            )
        text = (
            f"{seat.name} reaches {size(seat.overhang, make.unit)} past the edge of the paving of "
            f"{seat.area}: " + mend
        )
    status: Status = "warn" if over else "pass"
    if over and seat.off_paving > make.limits["feature-off-share"] + ROUNDING:
        status = "fail"
        text += f"; {percent(seat.off_paving, 0)} of it lies off the paving: "
        text += Worded("check its size and `at`", "check its size and where it stands")
    yield make.check(rule, status, seat.overhang, text, limit=make.limits[rule], where=seat.name)


def _height(seat: Seat, make: Maker) -> Iterator[Check]:
    if seat.height_limit is None or seat.stands == "own base":
        return
    height, rule = seat.feature.height, "panel-feature-height"
    status: Status
    text: Said
    if height is None:
        status, text = "unknown", f"how high {seat.name} is, on panels, is not given"
    else:
        status = "fail" if seat.too_high else "pass"
        text = f"{seat.name} on panels, {size(height, make.unit)} high"
        if seat.too_high:
            text += ": give it a level base of its own, cut out of them: " + _OWN
    yield make.check(rule, status, height, text, limit=seat.height_limit, where=seat.name)


def _on_panels(seat: Seat, make: Maker) -> Iterator[Check]:
    kind, alone = seat.feature.kind, seat.stands == "own base"
    if not seat.on_panels:
        return
    if kind in FIRES:
        status: Status = "pass" if kind == "gas fire feature" else "warn" if alone else "fail"
        texts: dict[Status, Said] = {
            "pass": f"{seat.name} on panels burns gas",
            "warn": f"{seat.name} burns wood beside panels: keep them and its heat apart",
            "fail": f"{seat.name} burns wood on panels, which are plastic: gas only, or a base "
            "of its own cut out of them: " + _OWN,
        }
        text = texts[status]
        yield make.check("panel-fire", status, None, text, where=seat.name)
    elif kind in ("pergola post", "kitchen", "hot tub"):
        text = f"{seat.name} stands on a base of its own, the panels cut round it"
        if not alone:
            text = (
                f"{seat.name} on panels: give it a base of its own, and cut the panels round it: "
                + _OWN
            )
        status = "pass" if alone else "fail"
        yield make.check("panel-feature", status, None, text, where=seat.name)


def _at_door(thing: LevelThing, make: Maker) -> Iterator[Check]:
    """Check the risers of steps at a door: counted from its sill, not from the lawn."""
    risers = thing.risers
    if risers is None:
        return
    status: Status = {True: "pass", False: "warn", None: "unknown"}[risers.fits]  # type: ignore[assignment]
    text: Said = f"{thing.seat.name}: {risers_words(risers, make.unit)}"
    if risers.last is None:
        text += "; how high they are is not given" + Worded(": [[feature]] height", "")
    off = None if risers.last is None else abs(risers.last - risers.each)
    yield make.check("door-steps", status, off, text, limit=risers.alike, where=thing.seat.name)


def _from_house(seat: Seat, make: Maker) -> Iterator[Check]:
    if seat.feature.kind not in FIRES or seat.to_house is None:
        return
    rule = "fire-distance"
    text = f"{seat.name} is {run(seat.to_house, make.unit)} from the house"
    more = (
        f", nearer than the usual {run(make.limits[rule], make.unit)}: move it out, or let the "
        "local code and its maker's sheet say how near it may be"
    )
    far = seat.to_house >= make.limits[rule]
    yield make.judged(rule, far, "warn", seat.to_house, text, more, where=seat.name)


def _backfill(zone: BackfillZone, make: Maker) -> Check:
    if zone.chosen == "strip":
        # What lies there is paving, whatever was chosen for it.
        return make.check(
            "backfill-zone", "fail", zone.width,
            f"a strip of planting or river stone is chosen for the {run(zone.width, make.unit)} by "
            f"the foundation, and {units.area(zone.paving, make.unit)} of paving lies on it",
            mend=in_plan(
                f"draw the paving from {run(zone.width, make.unit)} out, or choose another "
                "`treatment`",
                f"draw the paving from {run(zone.width, make.unit)} out, or choose otherwise what "
                "is done about the backfill",
            ),
        )  # fmt: skip
    treated = zone.chosen != "none"
    said = zone.treatment
    status: Status = {
        "suits": "pass", "with care": "pass", "not enough": "warn",
        "ask an engineer": "warn", "unknown": "unknown",
    }[said.judgement]  # type: ignore[assignment]  # fmt: skip
    text: Said = f"paving on the backfill of the foundation, {run(zone.width, make.unit)} wide"
    text += (f", {zone.chosen}: " if treated else ", not treated: ") + said.text
    if not treated and status != "pass" and zone.uses_up is not None:
        text += f"; {size(zone.uses_up, make.unit)} of settlement at the wall levels it"
    return make.check("backfill-zone", status, zone.width, text)


def _join(join: Join, make: Maker) -> Check:
    other, base = join.areas[1], join.bases
    text = f"{base[0]} meets {base[1]} over {run(join.length, make.unit)} beside {other}"
    text += f": {join.detail}"
    return make.check("base-join", "warn", None, text, where=other)


def _load(stresses: list[LoadStress], make: Maker) -> Iterator[Check]:
    if not stresses:
        return
    worst = max(stresses, key=lambda one: one.share)
    text = (
        f"{worst.load} through {worst.base}: {pressure(worst.greatest, make.unit)} on the "
        f"subgrade, presumed to bear {pressure(worst.bearing, make.unit)}"
    )
    status: Status = "warn" if worst.share > 1 else "pass"
    yield make.check(
        "subgrade-bearing", status, worst.greatest, text, limit=worst.bearing, where=worst.load,
        unit="Pa", source=bearing_source(),
    )  # fmt: skip


def advice_checks(plan: Design, advice: Advice) -> tuple[Check, ...]:
    """Return the checks that the advice adds, in the order that a person reads them.

    Parameters
    ----------
    plan : Design
    advice : Advice
        Of that plan.
    """
    driven = {load.name for load in loads() if load.wheels}
    whole = maker_of(plan)
    checks: list[Check] = []
    for area_plan in plan.areas:
        name, drive = area_plan.name, area_plan.use == "driveway"
        make = whole.of(name)
        checks += _overruled(advice.area(name), make)
        checks += edge_checks(plan, area_plan, advice.area(name), make)
        for thing in advice.levels:
            seat = thing.seat
            if seat.area == name:
                checks += _at_door(thing, make)
                checks += _overhang(seat, make)
                checks += _wedge(seat, make)
                checks += _height(seat, make)
                checks += _on_panels(seat, make)
                checks += _from_house(seat, make)
        checks += [_backfill(zone, make) for zone in advice.backfill if zone.area == name]
        checks += [_join(join, make) for join in advice.joins if join.areas[0] == name]
        met = [
            one
            for one in advice.loads
            if (one.area, one.base) == (name, area_plan.chosen)
            and (drive or one.load not in driven)
        ]
        checks += _load(met, make)
    return tuple(checks)
