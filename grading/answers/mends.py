"""What would mend a plan: each change of the site file with a name, tried, and what it takes.

A mend is offered only where the plan that it makes was made, the check that it is for holds in it,
and none that held fails.
"""

from __future__ import annotations

import datetime
import math
import re
import unicodedata
from collections.abc import Iterable, Iterator
from pathlib import Path

import numpy as np
from msgspec import Struct

from grading.answers.led import Led, Told
from grading.answers.led import failing as things_failing
from grading.checks.maker import Check
from grading.design.area import AreaPlan
from grading.errors import GradingError, Problem, SiteError
from grading.files.toml_text import nearest, shown_value
from grading.geometry.tolerances import READ, SAME, TOGETHER, whole_up
from grading.pipeline import Plan, plan
from grading.reading.site_edit import Edit, SiteText, edited
from grading.reading.survey_edit import Settling, settled
from grading.site.model import Site
from grading.site.step_tables import Door
from grading.units import METRES, Unit, size, taped_rate

Key = tuple[str, str, str]
"""A check by its rule, its area and where it is."""

MOST = 3
"""So many mends of one failure are told."""

_MOST_RISERS = 8  # more is a stair, which is drawn and not offered: common practice, no source
"""What a height is raised or lowered in whole numbers of: a tape's. [m]"""


class Mend(Struct, frozen=True):
    """A change of the site file that may mend what fails.

    Attributes
    ----------
    name : str
        By which a person asks for it: "raise-back-door".
    words : str
        What is changed.
    edits : tuple of Edit
    """

    name: str
    words: str
    edits: tuple[Edit, ...]


class Tried(Struct, frozen=True, eq=False):
    """A mend with the plan that it makes.

    Attributes
    ----------
    mend : Mend
    plan : Plan
    file : Path
        The site file that it changes.
    cut, stone, time, cost : float
        What it takes more: dug in the bank [m3], stone and sand brought in [kg], of one person
        [s], and all counted [money].
    failing : int
        How many things still fail.
    """

    mend: Mend
    plan: Plan
    file: Path
    cut: float
    stone: float
    time: float
    cost: float
    failing: int


def mends_of(led: Led) -> dict[Told, tuple[Tried, ...]]:
    """Return what would mend each thing that fails, the cheapest first, at most three of each.

    Parameters
    ----------
    led : Led
        A site that stands in no folder has no file to mend.
    """
    site = led.plan.site
    if site.folder is None or not led.fails:
        return {}
    tries = _Tries(led.plan, SiteText.of(site.folder))
    # What one failure asks for may mend another too.
    every = {mend.name: mend for told in led.fails for mend in _mends(led.plan, told)}
    return {
        told: tuple(
            sorted(tries.that_mend(told, every.values()), key=lambda tried: tried.cost)[:MOST]
        )
        for told in led.fails
    }


def mend_named(led: Led, name: str) -> Tried:
    """Return a mend by its name.

    Parameters
    ----------
    led : Led
    name : str

    Raises
    ------
    SiteError
        Nothing that fails is mended by one of that name; says which there are.
    """
    found = {tried.mend.name: tried for each in mends_of(led).values() for tried in each}
    if name in found:
        return found[name]
    if not found:
        expected = "a mend: nothing here fails" if not led.fails else "a mend: there is none"
        mend = "Look at the checks with --full."
        raise SiteError([Problem("--mend", shown_value(name), expected, mend)])
    names = tuple(found)
    raise SiteError(
        [Problem("--mend", shown_value(name), f"one of {', '.join(names)}", nearest(name, names))]
    )


def write_mend(tried: Tried) -> None:
    """Write a mend into the site file that it was tried on.

    Parameters
    ----------
    tried : Tried

    Raises
    ------
    SiteError
        The file cannot be written, or was changed meanwhile in a way that leaves no room for it.
    """
    old = SiteText.of(tried.file)
    made = edited(old.text, tried.mend.edits)
    old.site(made)
    old.write(made)


def left_out_plan(led: Led) -> Plan | None:
    """Return the plan with every shot left out that does not fit, and nothing written.

    Parameters
    ----------
    led : Led

    Returns
    -------
    Plan or None
        None where the site stands in no folder, or no plan can be made without them.
    """
    site = led.plan.site
    if site.folder is None:
        return None
    wishes = [Settling("--without", each.key) for each in led.astray]
    try:
        _, made = settled(SiteText.of(site.folder), wishes, datetime.date.today())
        return plan(made, led.plan.kept.aside())
    except GradingError:
        return None


class _Tries:
    """Mends of one plan, each tried once."""

    def __init__(self, plan: Plan, text: SiteText) -> None:
        self.plan, self.text, self._kept = plan, text, plan.kept.aside()
        self._made: dict[str, Plan | None] = {}  # by the edits, which may hold lists
        self._failed = _failing(plan.checks)

    def that_mend(self, told: Told, mends: Iterable[Mend]) -> Iterator[Tried]:
        """Yield the mends after which none of some checks fails, and none that held."""
        wanted = {_key(check) for check in told.checks}
        for mend in mends:
            made = self._with(mend.edits)
            if made is None:
                continue
            # Those of the areas are at hand before the water is run and the order counted.
            if self._no_better(_failing(made.area_checks), wanted):
                continue
            failing = _failing(made.checks)
            if self._no_better(failing, wanted):
                continue
            now, then = self.plan.order.total, made.order.total
            yield Tried(
                mend=mend,
                plan=made,
                file=self.text.file,
                cut=then.cut - now.cut,
                stone=then.haul.stone_mass - now.haul.stone_mass,
                time=then.time.mean - now.time.mean,
                cost=then.cost.total - now.cost.total,
                failing=len(things_failing(made.checks)),
            )

    def _no_better(self, failing: set[Key], wanted: set[Key]) -> bool:
        """Say whether what fails is still what was to be mended, or something that held."""
        return bool(failing & wanted or failing - self._failed)

    def _with(self, edits: tuple[Edit, ...]) -> Plan | None:
        key = repr(edits)
        if key not in self._made:
            try:
                made = self.text.site(edited(self.text.text, edits))
                self._made[key] = plan(made, self._kept)
            except GradingError:
                self._made[key] = None
        return self._made[key]


def _key(check: Check) -> Key:
    return check.rule, check.area, check.where


def _failing(checks: Iterable[Check]) -> set[Key]:
    return {_key(check) for check in checks if check.status == "fail"}


def _mends(made: Plan, told: Told) -> Iterator[Mend]:
    """Yield what may mend some checks, whether or not it does."""
    area = next((each for each in made.areas if each.name == told.area), None)
    site = made.site
    for door in site.doors:
        if any(check.where == door.name for check in told.checks):
            yield from _of_door(made, door, told)
    # What is told of the site, as a fall at a wall, may come of any plane that is given.
    for each in made.areas if area is None else (area,):
        if each.area.plane is not None:
            yield from _of_plane(made, each, told)
    if area is not None:
        yield from _of_choice(site, area, told)
    yield from _of_things(site, told)


_NO_PLANE = frozenset(
    {"not-used", "door-in-wall", "survey", "level-misclosure", "ties", "organics"}
)
"""Rules that no plane of an area mends."""


def _of_door(made: Plan, door: Door, told: Told) -> Iterator[Mend]:
    site, check = made.site, told.worst
    way = ("door", site.doors.index(door))
    if told.rule == "door-in-wall":
        yield Mend(
            f"swap-{slug_of(door.name)}", f"{door.name}: x and y of its place changed over",
            (Edit((*way, "at"), [number_of(each, site.unit) for each in reversed(door.at)]),),
        )  # fmt: skip
        return
    most = made.limits.pair("riser")[1]
    if told.rule != "door-step" or check.value is None or check.value <= most + SAME:
        return
    risers = whole_up(check.value / most)
    if risers <= _MOST_RISERS and risers != door.risers:
        each = size(check.value / risers, site.unit)
        yield Mend(
            f"steps-at-{slug_of(door.name)}", f"{risers} steps of {each} at {door.name}",
            (Edit((*way, "steps"), risers),),
        )  # fmt: skip


_HEIGHTS = frozenset(
    {"door-step", "siding-clearance", "weep-hole-clearance", "window-well-clearance",
     "vent-clearance", "other-clearance", "lawn-edge", "swale-edge", "outlet-edge", "other-edge",
     "meeting-gap"}
)  # fmt: skip
"""Rules that a plane raised or lowered as it lies may mend."""

_FALLS = frozenset({"fall-away", "every-foot-fall", "foundation-water", "low-edge", "cross-slope"})
"""Rules that a plane turned to fall away from the wall may mend."""


def _of_plane(made: Plan, area: AreaPlan, told: Told) -> Iterator[Mend]:
    """Yield what may be done with a plane that is given."""
    site, check, plane = made.site, told.worst, area.area.plane
    assert plane is not None
    way = ("area", site.areas.index(area.area), "plane")
    unit = site.unit
    if told.rule in _HEIGHTS and check.value is not None and check.limit is not None:
        # What stands too little over the paving, a ceiling or a sill, asks for it to be lower.
        step = READ[unit]
        by = whole_up(abs(check.value - check.limit) / step, SAME) * step
        for sign, verb, word in ((1, "raise", "higher"), (-1, "lower", "lower")):
            yield Mend(
                f"{verb}-{slug_of(area.name)}", f"{area.name} {size(by, unit)} {word}",
                (Edit((*way, "z"), number_of(plane.z + sign * by, unit)),),
            )  # fmt: skip
    if told.rule in _FALLS and area.walls:
        outward = np.sum([wall.wall.outward for wall in area.walls], axis=0)
        if float(np.hypot(*outward)) > TOGETHER:
            bearing = round(math.degrees(math.atan2(*outward)) % 360, 1)
            # Away from two walls at a corner it takes more, for each to have its share.
            shares = [float(wall.wall.outward @ outward / np.hypot(*outward))
                      for wall in area.walls]  # fmt: skip
            least = made.limits["fall-away"] / max(min(shares), TOGETHER)
            fall = max(plane.fall, least)
            percent = math.ceil(fall * 1e4 - SAME) / 100
            yield Mend(
                f"turn-{slug_of(area.name)}",
                f"{area.name} turned to fall {taped_rate(percent / 100, unit)} away from the house",
                (Edit((*way, "bearing"), bearing), Edit((*way, "fall"), f"{percent:g} %")),
            )  # fmt: skip
    if told.rule not in _NO_PLANE:
        yield _fitted(site, area)


def _fitted(site: Site, area: AreaPlan) -> Mend:
    return Mend(
        f"fit-{slug_of(area.name)}", f"{area.name} fitted, its given plane left out",
        (Edit(("area", site.areas.index(area.area), "plane")),),
    )  # fmt: skip


_CHOSEN = {
    "panel-use": "base", "base-thickness-foot": "base", "base-thickness-vehicle": "base",
    "edge": "edge", "joint": "joint",
}  # fmt: skip
"""The key of an area that a rule judges, which may be left out for what is advised."""


def _of_choice(site: Site, area: AreaPlan, told: Told) -> Iterator[Mend]:
    key = _CHOSEN.get(told.rule)
    if key is None or getattr(area.area, key) is None:
        return
    what = {"base": "base", "edge": "edge", "joint": "joints"}[key]
    yield Mend(
        f"advised-{what}-{slug_of(area.name)}", f"{area.name}: the {what} that {_is(what)} advised",
        (Edit(("area", site.areas.index(area.area), key)),),
    )  # fmt: skip


def _is(what: str) -> str:
    return "are" if what == "joints" else "is"


_ON_OWN = frozenset({"panel-fire", "panel-feature", "panel-feature-height"})

_TABLES = ("door", "ceiling", "floor", "meet", "outfall", "downspout", "feature")
"""Lists of named tables of a site file, by the key that the site has them under with an s."""


def _of_things(site: Site, told: Told) -> Iterator[Mend]:
    """Yield what may be done with a thing that does not stand well, or is of no use."""
    for check in told.checks:
        for key in _TABLES:
            for place, thing in enumerate(getattr(site, f"{key}s")):
                if thing.name != check.where:
                    continue
                if key == "feature" and told.rule in _ON_OWN:
                    yield Mend(
                        f"own-base-{slug_of(thing.name)}", f"{thing.name} on a base of its own",
                        (Edit(("feature", place, "stands"), "own base"),),
                    )  # fmt: skip
                if told.rule == "not-used":
                    yield Mend(
                        f"leave-out-{slug_of(thing.name)}", f"{thing.name} left out",
                        (Edit((key, place)),),
                    )  # fmt: skip


def slug_of(name: str) -> str:
    """Return a name as a word of a command: lower-case letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:40] or "it"


def number_of(metres: float, unit: Unit) -> float:
    """Return a length [m] as the bare number that a site file in `unit` has for it."""
    return round(metres / METRES[unit], 4) + 0.0
