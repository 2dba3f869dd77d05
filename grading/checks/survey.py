"""The check `survey`: whether the spots agree with one another, and which must be read again."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Sequence

import shapely

from grading.catalogue.rules import Limits
from grading.checks.check import Check, Maker
from grading.design.places import Places
from grading.ground.blunders import SLIP
from grading.ground.cross_check import MOST_NAMED, CrossCheck
from grading.ground.model import Ground
from grading.ground.next_shots import BESIDE, Shape, next_shots
from grading.site.model import Site
from grading.units import percent, run

RULE = "survey"
ENOUGH = 0.5
"""A survey in which fewer of the slips of a foot would be found says nothing of itself."""


def survey_checks(site: Site, ground: Ground, limits: Limits, places: Places) -> tuple[Check, ...]:
    """Return the checks of the survey itself: one for each spot that stands out, or a verdict.

    Parameters
    ----------
    site : Site
    ground : Ground
    limits : Limits
        Those of the site.
    places : Places
        Says where to shoot next.
    """
    shots = ground.shots
    if shots is None:
        return ()
    make = Maker(limits, places)
    failed = [
        make.check(RULE, "fail", off, text, where=where, unit="m")
        for off, text, where in _suspects(shots)
    ]
    settled = "".join(f"; {each}" for each in site.settled)
    if failed and settled:
        told = settled.removeprefix("; ")
        failed.append(make.check(RULE, "pass", None, told, unit=""))
    if failed:
        return tuple(failed)
    power = shots.power
    foot = "a foot" if site.unit == "ft" else run(SLIP, site.unit)
    if power is None:
        text = f"none of {shots.spots} spots stands out from the ground around it{settled}"
        return (make.check(RULE, "pass", None, text, unit=""),)
    tried = f"{foot} up or down would have been found at {percent(power, 0)} of the spots"
    if power < ENOUGH:
        text = f"too few shots to check one another: {tried}{_next(site, ground, places)}{settled}"
        return (make.check(RULE, "unknown", power, text, limit=ENOUGH, unit="ratio"),)
    text = f"the {shots.spots} spots agree with one another: {tried}{settled}"
    return (make.check(RULE, "pass", power, text, limit=ENOUGH, unit="ratio"),)


def _suspects(shots: CrossCheck) -> Iterator[tuple[float, str, str]]:
    for each in shots.suspects[:MOST_NAMED]:
        yield each.off, f"{each.text} {settling(each.key)}", each.name
    rest = len(shots.suspects) - MOST_NAMED
    if rest > 0:
        least = abs(shots.suspects[-1].off)
        yield least, f"{rest} more spots stand out like these", ""


def settling(key: str) -> str:
    """Return what settles a spot, as a sentence that follows another."""
    word, shot = _quoted(key), _quoted(f"{key}=LEVEL")
    return (
        f"Read it again, then plan with --keep {word} (it is right), --shot {shot} (it is "
        f"another) or --without {word}"
    )


def _quoted(word: str) -> str:
    """Return a word as it is typed into a terminal."""
    if re.fullmatch(r"[\w.=-]+", word):
        return word
    return shlex.quote(word) if set(word) & set('"`$\\!') else f'"{word}"'


def _next(site: Site, ground: Ground, places: Places) -> str:
    """Say which three shots would tell the most."""
    house = shapely.Polygon() if site.house is None else site.house.polygon(BESIDE)
    paving = shapely.union_all([area.polygon for area in site.areas])
    where = shapely.difference(shapely.buffer(paving, BESIDE), house)
    if not isinstance(where, Shape):
        return ""
    found = next_shots(ground.surveyed_points[:, :2], where)
    if not len(found):
        return ""
    told: Sequence[str] = [places.at(at) for at in found]
    return f"; shoot next: {'; '.join(f'({k}) {at}' for k, at in enumerate(told, start=1))}"
