"""The first screen of a survey in which a shot does not fit: the shot, and what settles it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from grading.answers.led import Led
from grading.answers.mends import left_out_plan
from grading.checks.survey import quoted
from grading.ground.cross_check import Suspect
from grading.order.model import Job
from grading.survey.levels import levels_of
from grading.units import counted, length, number, size
from viz.words.screen.lines import labelled
from viz.words.screen.mends import more_words

MOST_SHOTS = 3
"""Of more shots the worst are told, and how many more there are."""


def stop_lines(led: Led) -> Iterator[str]:
    """Yield what does not fit, what it would do to the plan, and how it is settled."""
    for suspect in led.astray[:MOST_SHOTS]:
        yield from _shot_lines(led, suspect)
    more = len(led.astray) - MOST_SHOTS
    if more > 0:
        yield from labelled("", f"and {more} more: --full")
    yield from labelled("else", _others(led))
    costs = _costs(led)
    if costs:
        yield from labelled("costs", costs)
    yield from _mend_lines(led)


def _shot_lines(led: Led, suspect: Suspect) -> Iterator[str]:
    site, row = led.plan.site, suspect.spot
    spots, unit = site.spots, site.unit
    z = float(spots.xyz[row, 2])
    code = f' "{spots.codes[row]}"' if spots.codes and spots.codes[row] else ""
    place = led.plan.places.at(spots.xyz[row, :2])
    yield from labelled(
        "shot", f"{suspect.name.removeprefix('spot ')}{code}, {place}: {length(z, unit)}"
    )
    way = "above" if suspect.off > 0 else "below"
    said = (
        f"the shots around it say {length(z - suspect.off, unit)}: it lies "
        f"{size(abs(suspect.off), unit)} {way} them."
    )
    if suspect.slips:
        first = suspect.slips[0]
        said += f" Was it {first.cause.written}, {first.cause.kind}?"
    yield from labelled("", said)


def _others(led: Led) -> str:
    shots = led.plan.ground.shots
    assert shots is not None  # what is astray was found by it
    count = shots.spots - len(led.astray)
    words = f"the other {count} shots agree with one another"
    levels = levels_of(led.plan.site)
    if levels is not None and levels.worst is not None:
        words += f"; the levels close to {size(abs(levels.worst.off), led.plan.site.unit)}"
    return words


def _costs(led: Led) -> str:
    """Say what the shots do to the plan as they are, against the plan without them."""
    without = left_out_plan(led)
    if without is None:
        return ""
    kept, left = led.plan.order.total, without.order.total
    what = "it is" if len(led.astray) == 1 else "they are"
    return f"kept as {what}: {_difference(kept, left, led)}"


def _difference(kept: Job, left: Job, led: Led) -> str:
    unit = led.plan.site.unit
    bins = kept.haul.bins.count - left.haul.bins.count
    cut = kept.cut - left.cut
    found: Sequence[str] = [
        *more_words(cut, kept.haul.stone_mass - left.haul.stone_mass,
                    kept.time.mean - left.time.mean, unit),
        *([f"{'+' if bins > 0 else '-'} {counted(abs(bins), 'bin')}"] if bins else []),
    ]  # fmt: skip
    return ", ".join(found) or "nothing that would show in dig, stone or hours"


def _mend_lines(led: Led) -> Iterator[str]:
    suspect = led.astray[0]
    key = suspect.key
    level = number(suspect.slips[0].z, led.plan.site.unit) if suspect.slips else "LEVEL"
    it = "it" if len(led.astray) == 1 else "each"
    yield from labelled(
        "mend",
        f"shoot {it} again, then plan with --shot {quoted(f'{key}={level}')} (what it reads), "
        f"or --without {quoted(key)}, or --keep {quoted(key)} if the ground is so",
    )
    yield from labelled(
        "",
        "each is written into site.toml, dated; papers made before that say NOT FOR SIGNATURE",
    )
