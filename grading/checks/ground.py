"""Checks that hang on the ground as it was measured, and so on how well it is known.

Where a limit lies within the plus-or-minus of what was measured, no check says that it is held: it
is not known, and the shots that would tell are named. What was measured to fall back to the house
fails, whatever its plus-or-minus.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from grading.checks.maker import Check, Maker, Status
from grading.design.area import AreaPlan
from grading.design.places import Places
from grading.design.uncertainty import Uncertainty
from grading.geometry.arrays import Floats
from grading.units import run, size
from grading.worded import Said

_PARTS = 8  # of an inch: earth is told no finer


def ground_beyond(plan: AreaPlan, make: Maker, known: Uncertainty | None) -> Iterator[Check]:
    """Check how the open ground in front of each wall of an area falls.

    Parameters
    ----------
    plan : AreaPlan
    make : Maker
        Of the area.
    known : Uncertainty or None
        How well the ground is known.
    """
    rule = "ground-fall-away"
    limit, places = make.limits[rule], make.places
    for wall in plan.walls:
        name = wall.wall.name
        if wall.beyond is None:
            if wall.unsurveyed:
                text = (
                    f"the ground beyond the paving in front of {name} was not surveyed: shoot it "
                    f"out to {run(make.limits['foundation-reach'], places.unit)} from the wall"
                )
                yield make.check(rule, "unknown", None, text, limit=limit, where=name)
            continue
        fall = wall.beyond.fall
        way = "falls back to the house" if fall < 0 else "falls away"
        said = f"{wall.beyond_words} {way} " + make.rate(abs(fall))
        said += f" over {run(wall.beyond.length, places.unit)}"
        status: Status = "fail" if fall < 0 else "pass" if make.reaches(rule, fall) else "warn"
        within = None if known is None else known.fall(wall)
        doubt: Said = ""
        if known is not None and within is not None and fall >= 0 and within.straddles(limit):
            shots = known.settling(wall, limit)
            reach = shots[-1].after if shots else within.either_way
            at = [shot.at for shot in shots]
            doubt = _unsure(within.either_way, limit, at, reach, make.rate, places)
        mend = "regrade it to at least " + make.rate(limit) + ", or drain it"
        status, told = judged(status, said, doubt, mend)
        yield make.check(rule, status, fall, told, limit=limit, where=name)


def judged(status: Status, text: Said, doubt: Said, mend: Said) -> tuple[Status, Said]:
    """Return the status of what was measured and its sentence, with the doubt and how to mend it.

    Parameters
    ----------
    status : "pass", "warn" or "fail"
        As measured.
    text, doubt : str or Worded
        The sentence, and what `unsure_of_level` or its like says; empty where it is known.
    mend : str or Worded
        What is told where the status is no pass.
    """
    if not doubt:
        return status, text if status == "pass" else text + ": " + mend
    text = text + doubt
    return "unknown", text if status == "pass" else text + ". As it was measured: " + mend


def unsure_of_level(
    value: float, limit: float, at: Floats | None, places: Places, known: Uncertainty | None
) -> Said:
    """Return what is said of a height above or below the ground whose limit is not told from it.

    Parameters
    ----------
    value, limit : float
        [m]
    at : (2,) float or None
        Where it was found. [m]
    places : Places
    known : Uncertainty or None

    Returns
    -------
    str or Worded
        What goes on a sentence that tells the value; empty where it is known well enough.
    """
    if known is None or at is None:
        return ""
    reach = float(known.level(at[None])[0])
    if not value - reach < limit < value + reach:
        return ""

    def write(metres: float) -> str:
        return size(metres, places.unit, _PARTS)

    # where the readings scatter, one more tells less than the mean of those around
    left = known.level_with_shot(at)
    return _unsure(reach, limit, [at] if left < reach else [], left, write, places)


def _unsure(
    reach: float, limit: float, shots: Sequence[Floats], left: float,
    write: Callable[[float], Said], places: Places,
) -> Said:  # fmt: skip
    """Say that a limit lies within a plus-or-minus, and which shots would tell."""
    said = ", \N{PLUS-MINUS SIGN}" + write(reach) + ": on which side of " + write(limit)
    said += " it lies is not known"
    if not shots:
        return said
    told = [places.at(at) for at in shots]
    if len(told) > 1:
        told = [f"({k}) {place}" for k, place in enumerate(told, start=1)]
    said += f"; shoot {'; '.join(told)}: it would be known to \N{PLUS-MINUS SIGN}"
    return said + write(left)
