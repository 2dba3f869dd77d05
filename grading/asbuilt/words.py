"""What was built, in words: worst first, each with what the crew does about it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from grading.asbuilt.likely import Likely
from grading.asbuilt.model import AsBuilt, BuiltShot, PlaneAsBuilt
from grading.asbuilt.straightedge import CLOSE, Straightedge
from grading.asbuilt.walls import WallAsBuilt
from grading.catalogue.rules import RULES
from grading.design.uncertainty import Interval
from grading.geometry.tolerances import TOGETHER
from grading.units import Unit, bearing, counted, noun, percent, run, size, slope, volume
from grading.units.shares import part_words

CALLED = {
    "subgrade": "subgrade",
    "base": "top of the base",
    "bedding": "screeded bedding",
    "surface": "finished surface",
}
"""What a layer is called within a sentence."""

OFF = {"high": "{size} high", "low": "{size} low", "none": "as designed"}
"""How a shot lies to the design, with its size to be put in."""

_WITHIN = "within tolerance"


def _where(found: AsBuilt) -> str:
    """Name the area after what is told of it, where a job has several; else nothing."""
    return f", {found.area.area.name}" if len(found.design.areas) > 1 else ""


def off_words(shot: BuiltShot, unit: Unit) -> str:
    """Say how a shot lies to the design: high by so much, low, or as designed."""
    return _off_words(shot.off, unit)


def _off_words(off: float, unit: Unit) -> str:
    told = size(abs(off), unit)
    if told == size(0.0, unit):
        return OFF["none"]
    return OFF["high" if off > 0 else "low"].format(size=told)


def verdict_words(found: AsBuilt, unit: Unit) -> str:
    """Say in one sentence how a layer came out: how many shots, how many beyond, the worst."""
    beyond = [shot for shot in found.shots if shot.status == "fail"]
    worst = found.shots[0]
    limit = size(found.tolerance, unit)
    count = len(found.shots)
    named = f"{CALLED[found.layer]} of {found.area.area.name}"
    if not beyond:
        return (
            f"The {named}: {counted(count, 'shot')}, all {_WITHIN} ({limit}); the farthest off is "
            f"{worst.name}, {off_words(worst, unit)}"
        )
    return (
        f"The {named}: {len(beyond)} of {counted(count, 'shot')} beyond the {limit} allowed, the "
        f"worst at {worst.name}, {off_words(worst, unit)}{_likely_words(found.likely)}"
    )


_UNITS = {"ft": "feet", "m": "metres"}


def _likely_words(likely: Likely | None, of: str = "shots") -> str:
    """Say after a sentence what shots that lie far off are likely to be; empty where nothing is."""
    if likely is None:
        return ""
    if likely.layer is not None:
        return (
            f". Most {of} lie where the {CALLED[likely.layer]} was to be: likely they are of that"
        )
    assert likely.unit is not None
    return (
        f". Taken as {_UNITS[likely.unit]}, most {of} lie about as high as designed: likely they "
        f"are that; write {likely.unit} after each level"
    )


def tolerance_words(found: AsBuilt, unit: Unit) -> str:
    """Say where the tolerance comes from."""
    return RULES[found.rule].source_in(unit)


BACK = "back to the house"
"""Of a fall away from a wall that is less than none."""


def fall_words(fall: float, told: str) -> str:
    """Say how much something falls away from a wall, told by its size; or that it falls back."""
    return f"{told} {BACK}" if fall < 0 and percent(fall) != percent(0.0) else told


def between_words(low: float, high: float) -> str:
    """Say between which falls one lies, each that is less than none as one back to the house."""
    ends = [fall_words(each, percent(abs(each))) for each in (low, high)]
    if ends[0].endswith(BACK) and ends[1].endswith(BACK):
        ends[0] = ends[0].removesuffix(f" {BACK}")
    elif ends[0].endswith(BACK):
        ends[1] += " away from it"
    return f"{ends[0]} to {ends[1]} in nine cases of ten"


def wall_words(wall: WallAsBuilt, found: AsBuilt, unit: Unit) -> str:
    """Say what the shots show of the fall away from a wall, and what would show it."""
    limit, at = percent(wall.limit), f"{wall.wall}{_where(found)}"
    if wall.fall is None or wall.low is None or wall.high is None:
        have = counted(wall.shots, "shot")
        more, lie = wall.more or 1, noun(wall.shots, "lies", "lie")
        return (
            f"Away from {at}: not shown, {have} {lie} before it. "
            f"Take {more} more, half of them at the wall and half as far out as the paving goes"
        )
    told = (
        f"Away from {at}: {fall_words(wall.fall, slope(abs(wall.fall), unit))}, "
        f"{between_words(wall.low, wall.high)}, by {counted(wall.shots, 'shot')}"
    )
    if wall.odd:
        told += f" ({', '.join(wall.odd)} out of line: read again)"
    if wall.verdict == "shown":
        return f"{told}: shown, {limit} or more"
    if wall.verdict == "shown to fail":
        return (
            f"{told}: shown to fail, less than {limit}. Lift and lay it again, or ask the "
            "local code official before it is signed"
        )
    if wall.more is None and wall.fall > wall.limit:
        return f"{told}: not shown. It lies too near the limit of {limit} for more shots to show it"
    if wall.more is None:
        return (
            f"{told}: not shown. It lies at the limit of {limit} or below, and more shots will not "
            "show it"
        )
    return (
        f"{told}: not shown to be {limit} or more. {wall.more} more {noun(wall.more, 'shot')} would"
    )


def straightedge_words(board: Straightedge, found: AsBuilt, unit: Unit) -> str:
    """Say what the shots show of the gap under a straightedge, and where to lay one."""
    limit, edge = size(board.limit, unit), f"{run(board.long, unit)} straightedge{_where(found)}"
    places = [found.design.places.at(at) for at in board.places]
    lay = f"Lay the board {'; '.join(places)}" if places else ""
    if board.gap is None:
        return f"Under a {edge}: not known, too few shots. {lay}"
    told = f"Under a {edge}: the shots show a gap of {size(board.gap, unit)}"
    if board.verdict == "fail":
        return f"{told}, more than {limit} and what reading it can miss. {lay}"
    if board.verdict == "pass":
        return f"{told}, no more than {limit}"
    if board.apart > CLOSE + TOGETHER:
        far = run(board.apart, unit, 1)
        return f"{told}; not known: they lie up to {far} apart, and dips hide between. {lay}"
    return f"{told}, too near to {limit} to tell. {lay}"


def plane_words(plane: PlaneAsBuilt, unit: Unit) -> str:
    """Say what plane was built beside the one designed."""
    off = _off_words(plane.offset, unit)
    lies = off if off == OFF["none"] else f"{off} in the middle"
    return (
        f"plane as built: falls {slope(plane.fall, unit)} towards {bearing(plane.bearing)}, "
        f"designed {slope(plane.design_fall, unit)} towards {bearing(plane.design_bearing)}; {lies}"
    )


def volume_words(found: AsBuilt, unit: Unit) -> str:
    """Say what is still to dig or to add, over as much of the area as the shots cover."""
    if not found.covered:
        return "what is still to dig or to add: not known, the shots span no area"
    over = part_words(found.covered, "it")
    dig, add = (
        f"{volume(value, unit)}{_within_words(bounds, unit)}"
        for value, bounds in (
            (found.to_dig, found.to_dig_within), (found.to_add, found.to_add_within)
        )
    )  # fmt: skip
    return f"between the shots, {over}: {dig} above the design, {add} below it"


def _within_words(bounds: Interval | None, unit: Unit) -> str:
    if bounds is None:
        return ""
    low, high = (volume(each, unit) for each in (bounds.low, bounds.high))
    return "" if low == high else f" ({low} to {high})"


def foot_words(wall: WallAsBuilt, found: AsBuilt) -> str:
    """Say the least fall of any foot before a wall, which no plane tells; empty where not known."""
    foot = wall.foot
    if foot is None:
        return ""
    place = found.design.places.at(np.array(foot.at), wall.wall)
    return (
        f"away from {wall.wall} the foot that falls least falls "
        f"{fall_words(foot.fall, percent(abs(foot.fall)))} "
        f"({between_words(foot.within.low, foot.within.high)}), {place}"
    )


def thickness_words(found: AsBuilt, unit: Unit) -> str:
    """Say how thick the layer is that was just placed; empty where what is under it is not told."""
    thick = found.thickness
    if thick is None:
        return ""
    told = (
        f"Thickness at {counted(thick.count, 'place')}{_where(found)}: "
        f"{size(thick.least, unit)} to {size(thick.greatest, unit)}, "
        f"designed {size(thick.design, unit)}"
    )
    # What the shots on it are likely to be is said of these already.
    likely = "" if found.likely else _likely_words(found.likely_under, "shots under it")
    if thick.status == "fail":
        source = RULES["base-thinner"].source_in(unit)
        return f"{told}: beyond tolerance ({source}){likely}"
    return f"{told}{f': {_WITHIN}' if thick.status == 'pass' else ''}{likely}"


def lines_of(found: AsBuilt, unit: Unit) -> Iterator[tuple[str, str]]:
    """Give all that is said of a layer, each with its status: pass, fail or unknown, worst first.

    Parameters
    ----------
    found : AsBuilt
    unit : "ft" or "m"
    """
    said: list[tuple[str, str]] = []
    levels = "fail" if any(shot.status == "fail" for shot in found.shots) else "pass"
    said.append((levels, verdict_words(found, unit)))
    status = {"shown": "pass", "shown to fail": "fail", "not shown": "unknown"}
    said += [(status[wall.verdict], wall_words(wall, found, unit)) for wall in found.walls]
    if found.straightedge is not None:
        board = found.straightedge
        said.append((board.verdict, straightedge_words(board, found, unit)))
    if found.thickness is not None:
        said.append((found.thickness.status, thickness_words(found, unit)))
    yield from sorted(said, key=lambda each: ("fail", "unknown", "pass").index(each[0]))


def notes_of(found: AsBuilt, unit: Unit) -> Iterator[str]:
    """Give what is told beside that: planes, volumes, the share that the shots let expect."""
    for plane in found.planes:
        yield plane_words(plane, unit)
    yield volume_words(found, unit)
    share = found.share_within
    if share is not None:
        yield (
            f"by {counted(len(found.shots), 'shot')} {part_words(share, 'the layer')} is to be "
            f"expected {_WITHIN}; the worst shot decides"
        )
    yield from filter(None, (foot_words(wall, found) for wall in found.walls))
    for wall in found.walls:
        if wall.plain is not None:
            plain = fall_words(wall.plain, slope(abs(wall.plain), unit))
            yield f"away from {wall.wall} by plain least squares: {plain}"
