"""The checks of the survey: whether spots, ties and level books agree, what must be read again."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from grading.catalogue.rules import Limits
from grading.checks.maker import Check, Maker, Status
from grading.design.places import Places
from grading.ground.blunders import SLIP
from grading.ground.cross_check import MOST_NAMED, CrossCheck
from grading.ground.model import Ground
from grading.ground.next_shots import BESIDE, Shape, next_shots
from grading.ground.whole_book import beyond_rod, setups_off, tenths_read_as_inches
from grading.site.model import Site
from grading.survey.closure import LIMIT
from grading.survey.levels import Levels, levels_of
from grading.survey.taped import taped_of
from grading.units import Unit, counted, run, size
from grading.units.shares import each_words
from grading.worded import Said, Worded

TIES = "ties"


def level_checks(site: Site, make: Maker) -> tuple[Check, ...]:
    """Return the checks of the level books of a site; none where it has none.

    Parameters
    ----------
    site : Site
    make : Maker
    """
    levels = levels_of(site)
    if levels is None:
        return ()
    return (*_closure(levels, make), *_ties(site, make))


def _closure(levels: Levels, make: Maker) -> Iterator[Check]:
    worst = levels.worst
    value, limit = (None, None) if worst is None else (abs(worst.off), worst.limit)
    said: tuple[tuple[Status, tuple[str, ...]], ...] = (
        ("fail", levels.faults), ("unknown", levels.unchecked), ("warn", levels.close),
    )  # fmt: skip
    status, texts = next((each for each in said if each[1]), ("pass", ()))
    for text in texts:
        yield make.check(LIMIT, status, value, text, limit=limit)
    if worst is not None and not texts:
        over = counted(worst.setups, "set-up")
        within = f"within {size(abs(worst.off), make.unit)}" if worst.off else "exactly"
        text = f"the levels close {within} over {over}"
        yield make.check(LIMIT, "pass", value, text, limit=limit)


def _ties(site: Site, make: Maker) -> Iterator[Check]:
    tied = taped_of(site).tied
    faults = [text for text in (each.fault(site.unit) for each in tied) if text]
    for text in faults:
        yield make.check(TIES, "fail", None, text)
    checked = [each for each in tied if len(each.lengths) > 2]
    if checked and not faults:
        what = "the ties of 1 point agree" if len(checked) == 1 else (
            f"the ties of {len(checked)} points agree"
        )  # fmt: skip
        yield make.check(TIES, "pass", None, what)


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
    failed += _of_book(site, shots, make)
    if failed and settled:
        told = settled.removeprefix("; ")
        failed.append(make.check(RULE, "pass", None, told, unit=""))
    if any(each.status == "fail" for each in failed):
        return tuple(failed)
    told = agreeing(shots, site.unit)
    if shots.power is None:
        return (*failed, make.check(RULE, "pass", None, f"{told}{settled}", unit=""))
    if too_few(shots):
        text = f"{told}{_next(site, ground, places)}{settled}"
        return (
            *failed, make.check(RULE, "unknown", shots.power, text, limit=ENOUGH, unit="ratio")
        )  # fmt: skip
    text = f"{told}{settled}"
    return (*failed, make.check(RULE, "pass", shots.power, text, limit=ENOUGH, unit="ratio"))


def too_few(shots: CrossCheck) -> bool:
    """Return whether a survey in which nothing stands out says nothing of itself by that."""
    return shots.power is not None and shots.power < ENOUGH


def agreeing(shots: CrossCheck, unit: Unit) -> str:
    """Say of a survey in which nothing stands out how far its spots check one another.

    Parameters
    ----------
    shots : CrossCheck
    unit : "ft" or "m"
        What the sentence is written in.
    """
    if shots.power is None:
        return f"none of {shots.spots} spots stands out from the ground around it"
    foot = "a foot" if unit == "ft" else run(SLIP, unit)
    tried = f"{foot} up or down would have been found at {each_words(shots.power, 'spot')}"
    if too_few(shots):
        return f"too few shots to check one another: {tried}"
    return f"the {shots.spots} spots agree with one another: {tried}"


def _suspects(shots: CrossCheck) -> Iterator[tuple[float, Said, str]]:
    for each in shots.suspects[:MOST_NAMED]:
        yield each.off, Worded(each.text, each.yard) + " " + settling(each.key), each.name
    rest = len(shots.suspects) - MOST_NAMED
    if rest > 0:
        least = abs(shots.suspects[-1].off)
        yield least, f"{rest} more spots stand out like these", ""


def _of_book(site: Site, shots: CrossCheck, make: Maker) -> Iterator[Check]:
    """Tell what only the whole of a level book shows: its rod, and set-ups that disagree."""
    spots = site.spots
    read = [(k, each) for k, each in enumerate(spots.readings) if each is not None]
    if not read:
        return
    for file in dict.fromkeys(spots.sources[k] for k, _ in read):
        own = [(k, each) for k, each in read if spots.sources[k] == file]
        figures, marks = [each.rod for _, each in own], own[0][1].unit
        if tenths_read_as_inches(figures, marks):
            text = (
                f"{file}: none of {len(own)} readings has 10 or 11 inches: is the rod marked in "
                "tenths of a foot, and its tenths booked as inches?"
            )
            yield make.check(RULE, "warn", None, text, unit="", where=file)
        longest = make.limits["rod-length"]
        for place in beyond_rod(figures, longest):
            row = own[place][0]
            text = (
                f"{file}, line {spots.lines[row]}: a reading of {run(figures[place], site.unit)} "
                f"is longer than any rod, {run(longest, site.unit)}: read it again"
            )
            yield make.check(
                RULE, "warn", figures[place], text, limit=longest, unit="m", where=file
            )
    suspect = {each.spot for each in shots.suspects}
    rows = [k for k, _ in read if k not in suspect]
    names = [(spots.sources[k], spots.readings[k].setup) for k in rows]  # type: ignore[union-attr]
    known = list(dict.fromkeys(names))
    number = np.array([known.index(name) for name in names], dtype=np.int64)
    for each in setups_off(spots.xyz[rows], number):
        file, setup = known[each.setup]
        text = (
            f"{file}: the {int((number == each.setup).sum())} shots from set-up {setup} all lie "
            f"{size(abs(each.off), site.unit)} {'above' if each.off > 0 else 'below'} those of the "
            "others: was its backsight misread, or the instrument moved?"
        )
        yield make.check(RULE, "warn", each.off, text, unit="m", where=f"{file}, set-up {setup}")


def settling(key: str) -> Worded:
    """Return what settles a spot, as a sentence that follows another."""
    word, shot = quoted(key), quoted(f"{key}=LEVEL")
    return "Read it again" + Worded(
        f", then plan with --keep {word} (it is right), --shot {shot} (it is another) or "
        f"--without {word}",
        "",
    )


def quoted(word: str) -> str:
    """Return a word as it is typed into a terminal."""
    if re.fullmatch(r"[\w.=-]+", word):
        return word
    return shlex.quote(word) if set(word) & set('"`$\\!') else f'"{word}"'


def _next(site: Site, ground: Ground, places: Places) -> str:
    """Say which three shots would tell the most."""
    house = site.body(BESIDE)
    paving = shapely.union_all([area.polygon for area in site.areas])
    where = shapely.difference(shapely.buffer(paving, BESIDE), house)
    if not isinstance(where, Shape):
        return ""
    found = next_shots(ground.surveyed_points[:, :2], where)
    if not len(found):
        return ""
    told: Sequence[str] = [places.at(at) for at in found]
    return f"; shoot next: {'; '.join(f'({k}) {at}' for k, at in enumerate(told, start=1))}"
