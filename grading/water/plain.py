"""Where the rain on paving ends, for who lives there: no shares in per cent, the worst first."""

from __future__ import annotations

from collections.abc import Sequence

from grading.signs import listed
from grading.water.course import EDGE, FOUNDATION, POOL
from grading.water.model import AreaWater, Water
from grading.water.words import End, astray_words, ends_of, to_words

_AMOUNTS = ((0.995, "all of it"), (0.85, "nearly all of it"), (0.55, "most of it"),
            (0.45, "half of it"), (0.15, "some of it"), (0.0, "a little of it"))  # fmt: skip
"""From which share on [ratio] a part of the rain is called so."""

_SAID_OF = {FOUNDATION: "foundation", POOL: "low spot", EDGE: "edge of the survey",
            "neighbour": "neighbour"}  # fmt: skip


def amount(share: float) -> str:
    """Say in everyday words how much a share [ratio] is."""
    return next(words for least, words in _AMOUNTS if share >= least)


def called(name: str, first: bool = False) -> str:
    """Return what a thing is called in a sentence: the patio; one with a name of its own as it is.

    Parameters
    ----------
    name : str
        As it was written, and as it stays.
    first : bool
        Whether it begins the sentence.
    """
    own = not name[:1].islower() or name.lower().startswith(("the ", "our ", "my "))
    return name if own else f"{'The' if first else 'the'} {name}"


def plain_rain(water: Water, areas: Sequence[AreaWater]) -> tuple[str, ...]:
    """Say where the rain on every area ends, whole sentences, the worst first.

    Areas whose rain ends alike are told in one sentence.

    Parameters
    ----------
    water : Water
    areas : sequence of AreaWater
        Of it.
    """
    alike: dict[tuple[str, str], list[AreaWater]] = {}
    for one in sorted(areas, key=_badness):
        alike.setdefault((_ends(one), astray_words(water, one)), []).append(one)
    said = []
    for (ends, verdict), some in alike.items():
        names = listed([called(one.name) for one in some])
        said.append(f"Rain off {names}{ends}.")
        if verdict:
            said.append(f"{verdict[:1].upper()}{verdict[1:]}.")
    for one in areas:
        if one.pockets:
            said.append(
                f"Some of it runs over a planting pocket of {called(one.name)}: what its soil does "
                "not take up runs on over its lower side."
            )
    return tuple(dict.fromkeys(said))


def _badness(one: AreaWater) -> tuple[int, float]:
    order = list(_SAID_OF.values())
    verdict = one.verdict
    return (order.index(verdict) if verdict in order else len(order)), -one.share(FOUNDATION)


def _ends(one: AreaWater) -> str:
    ends = ends_of(one)
    if len(ends) == 1:
        return f" runs {_to(ends[0])}"
    if one.verdict == "named":
        ends = tuple(sorted(ends, key=lambda end: -end.share))
    runs = ("runs ", *[""] * (len(ends) - 1))
    told = (f"{_part(end)} {how}{_to(end)}" for end, how in zip(ends, runs, strict=True))
    return f": {', '.join(told)}"


def _part(end: End) -> str:
    """Say how much ends at one of several places: never all of it, for some ends elsewhere."""
    return amount(min(end.share, _AMOUNTS[1][0]))


def _to(end: End) -> str:
    words = to_words(end.name, end.kind)
    own = end.kind in _SAID_OF
    return words if own else f"to {called(end.name)}"
