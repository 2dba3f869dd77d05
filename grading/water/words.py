"""Where the water goes, in the one sentence that every check, sheet, drawing and page says.

What reaches the foundation is said first, whatever its share; then what stands, then what is lost
or runs onto the neighbour's lot, then what ends where it is meant to. A trace elsewhere comes last.
"""

from __future__ import annotations

from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from grading.design.places import Places
from grading.units import Unit, area, percent, run, size
from grading.units.rates import flow, water_volume
from grading.units.shares import share_words, shares_words
from grading.water.course import EDGE, FOUNDATION, POOL, LowSpot
from grading.water.edges import LEAST_SHARE
from grading.water.falls import REACH
from grading.water.model import LEAST_TOLD, AreaWater, PocketWater, Share, Water
from grading.water.spouts import SpoutWater

ENDS = {
    FOUNDATION: "the foundation of the house",
    POOL: "a low spot",
    EDGE: "past the edge of what was measured",
}
"""What the ends are called that no one named; a named place is called as it was written."""

VERDICTS = {
    "named": "it ends in places named for it",
    "neighbour": "what runs onto the neighbour's lot has to be settled with them first",
    "edge of the survey": "where it goes past the edge of what was measured is not known",
    "low spot": "what runs to the low spot stands there until it spills or dries",
    "foundation": "what reaches the house has to be led away before work begins",
}
TRACE_AT_HOUSE = "some of it reaches the house, less than can be told for sure: look there"
NONE_AT_HOUSE = ", and none of it at the house"
NOT_NAMED = "where it ends is not known: the site names no place for it"

_BY_HOUSE = REACH
"""Water that stands this near to the house is told as beside it: the first 10 ft of IRC R401.3."""

_WORST_FIRST = (FOUNDATION, POOL, EDGE, "neighbour")


class End(Struct, frozen=True):
    """A place where some of the rain on an area ends: what it is called, its kind, its share.

    words : the share in whole per cent; those of one area add up.
    """

    name: str
    kind: str
    share: float
    words: str


def place_words(name: str, kind: str) -> str:
    """Say what a place is called where water ends: an own name as it was written."""
    return ENDS.get(kind, name)


def to_words(name: str, kind: str) -> str:
    """Say that water goes to a place."""
    words = place_words(name, kind)
    return words if kind == EDGE else f"to {words}"


def ends_of(water: AreaWater) -> tuple[End, ...]:
    """Return where the rain on an area ends, the worst first; traces left out but at the house.

    What the site calls by one name is one place.
    """
    places: dict[str, Share] = {}
    for part in water.shares:
        name = place_words(part.destination, part.kind)
        first = places.get(name)
        places[name] = part if first is None else replace(first, share=first.share + part.share)
    told = [
        part for part in places.values() if part.share >= LEAST_TOLD or part.kind == FOUNDATION
    ]  # fmt: skip
    told.sort(key=_badness)
    words = shares_words([part.share for part in told])
    return tuple(
        End(part.destination, part.kind, part.share, share)
        for part, share in zip(told, words, strict=True)
    )


def _badness(part: Share) -> tuple[bool, int, float]:
    kinds = _WORST_FIRST
    trace = part.kind != FOUNDATION and part.share < LEAST_SHARE
    return trace, kinds.index(part.kind) if part.kind in kinds else len(kinds), -part.share


def ends_words(water: AreaWater) -> str:
    """Say where the rain on an area ends and how much of it: 1 % to the foundation, 99 % to ..."""
    return ", ".join(f"{end.words} {to_words(end.name, end.kind)}" for end in ends_of(water))


def edge_shares(water: AreaWater) -> tuple[str, ...]:
    """Write the share of the rain that leaves over each edge, in the order of the edges.

    Where some ends on the paving itself, in a drain, it is counted with them and not told here.
    """
    parts = [edge.share for edge in water.edges]
    rest = 1 - sum(parts)
    return shares_words([*parts, *([rest] if rest >= LEAST_SHARE else [])])[: len(parts)]


def verdict_words(water: Water, one: AreaWater) -> str:
    """Say in a few words what is to be thought of where the rain on an area ends."""
    if one.verdict != "named":
        return astray_words(water, one)
    astray = sum(end.share for end in ends_of(one) if end.kind in _WORST_FIRST)
    but = f"all but {share_words(astray)} of " if astray else ""
    return f"{but}{VERDICTS['named']}{NONE_AT_HOUSE if water.walls else ''}"


def astray_words(water: Water, one: AreaWater) -> str:
    """Say what is to be thought of rain that does not end where it is meant to; else nothing."""
    if one.verdict == EDGE and not water.destinations:
        return NOT_NAMED
    if one.verdict == FOUNDATION and one.share(FOUNDATION) < LEAST_SHARE:
        return TRACE_AT_HOUSE
    return "" if one.verdict == "named" else VERDICTS[one.verdict]


def rain_words(water: Water, one: AreaWater) -> str:
    """Say where the rain on an area goes and what is to be thought of it, without its stop."""
    return f"rain on {one.name} goes: {ends_words(one)}; {verdict_words(water, one)}"


def pocket_words(bed: PocketWater) -> str:
    """Say how much of an area's rain runs over a planting pocket, and what becomes of it."""
    return (
        f"{share_words(bed.share)} runs over a planting pocket: what its soil does not take up "
        "runs on over its lower side"
    )


def run_on_words(one: AreaWater, places: Places) -> str:
    """Say what of the ground around runs onto an area's paving; nothing where none does."""
    found = one.run_on
    if found is None:
        return ""
    with_it = f", {flow(found.flow, places.unit)} in the storm" if found.flow > 0 else ""
    more = (
        "; the ground goes on rising past the edge of what was measured, so more may come"
        if found.beyond
        else ""
    )
    return (
        f"water from {area(found.area, places.unit)} of the ground around runs onto {one.name}"
        f"{with_it}, most of it {places.at(found.at)}{more}"
    )


def ground_words(water: Water, places: Places) -> Iterator[tuple[str, str]]:
    """Yield the name of each wall to which ground sends its water or falls back, and a sentence."""
    for found in water.at_walls:
        assert found.at is not None or not (found.reaches or found.falls_back)
        if found.reaches and found.at is not None:
            yield (
                found.wall,
                f"water from {area(found.area, places.unit)} of the ground runs to the foundation "
                f"at {found.wall}, most of it {places.at(found.at, found.wall)}",
            )
        elif found.falls_back and found.at is not None and found.fall is not None:
            back = percent(-found.fall)
            level = back == percent(0.0)
            way = "lies level" if level else f"falls back {back} towards the house"
            yield (
                found.wall,
                f"the ground in front of {found.wall} {way} over {run(found.length, places.unit)}, "
                f"{places.at(found.at, found.wall)}; its water goes "
                f"{to_words(found.end, found.kind)}",
            )


def spout_words(spout: SpoutWater, unit: Unit) -> str:
    """Say where the water of a downspout runs, how much of it in the storm, and over what."""
    runs = "" if spout.runoff is None else f" with {flow(spout.runoff, unit)}"
    over = f", over {' and '.join(spout.crosses)}" if spout.crosses else ""
    return f"{spout.name} runs {to_words(spout.destination, spout.kind)}{runs}{over}"


def drop_words(end: tuple[str, str] | None, length: float, unit: Unit) -> str:
    """Say where a drop ends that falls at a place, over how long a way, without its stop.

    Parameters
    ----------
    end : (str, str) or None
        Name and kind, as `Water.end` gives them.
    length : float
        Of its way. [m]
    unit : "ft" or "m"
    """
    if end is None:
        return "no drop can be followed from there: it is past what was measured, or a roof"
    name, kind = end
    said = f"a drop that falls there runs {run(length, unit, 1)} {to_words(name, kind)}"
    return f"{said}; {VERDICTS[kind]}" if kind in VERDICTS else said


def spouts_to_house(water: Water) -> tuple[SpoutWater, ...]:
    """Return the downspouts whose water comes back to the foundation."""
    return tuple(spout for spout in water.downspouts if spout.kind == FOUNDATION)


def low_spot_words(spot: LowSpot, places: Places) -> str:
    """Say how deep water stands in a low spot, where, how much, and how near to the house."""
    unit = places.unit
    deep, paved = size(spot.depth, unit), size(spot.on_paving, unit)
    what = f"{deep} deep on {'paving' if spot.on_paving > 0 else 'the ground'}"
    if spot.on_paving > 0 and paved != deep:
        # It is deepest beside the paving: that is not how deep anybody there stands in it.
        what = f"{paved} deep on paving and {deep} deep beside it"
    words = (
        f"water stands {what}, {places.at(spot.at)}, "
        f"{water_volume(spot.volume, unit)} of it, and spills {places.at(spot.spill)}"
    )
    if spot.from_house is not None and spot.from_house <= _BY_HOUSE:
        words += f"; its edge is {run(spot.from_house, unit)} from the house"
    return words


def by_house(water: Water) -> tuple[LowSpot, ...]:
    """Return the low spots that stand so near to the house that they wet its foundation."""
    return tuple(
        spot
        for spot in water.low_spots
        if spot.from_house is not None and spot.from_house <= _BY_HOUSE
    )


def around_sentences(water: Water, one: AreaWater, places: Places) -> tuple[str, ...]:
    """Say what roofs and the ground around do to the house, and what stands on an area's paving.

    Whole sentences, the house first; none where they do nothing.
    """
    said = [f"roof water: {spout_words(each, places.unit)}" for each in spouts_to_house(water)]
    said += [words for _, words in ground_words(water, places)]
    here = (spot for spot in water.low_spots if spot.on_paving > 0 and one.name in spot.touching)
    said += [low_spot_words(spot, places) for spot in dict.fromkeys((*by_house(water), *here))]
    said += [run_on_words(one, places)] if one.told_run_on else []
    said += [
        f"roof water: {spout_words(each, places.unit)}"
        for each in water.downspouts
        if one.name in each.crosses and each.kind != FOUNDATION
    ]
    return tuple(f"{words[:1].upper()}{words[1:]}." for words in said)
