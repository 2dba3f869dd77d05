"""What a site file says of one table by the name of another: areas, bases, steps between areas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations
from math import inf

from grading.catalogue.bases import catalogue_names
from grading.catalogue.edge_kinds import WALL
from grading.catalogue.rules import Limits
from grading.files.toml_text import shown_value
from grading.geometry.outline import shared_edge
from grading.geometry.tolerances import SAME
from grading.reading.written import Written
from grading.site.base_tables import BaseSystemSpec
from grading.site.hold_table import Hold
from grading.site.step_tables import Step
from grading.site.tables import Area
from grading.units import area as area_text
from grading.units import size

LEAST_OVERLAP = 0.01
"""Areas that share less than this share an edge. [m2]"""


def check_names(site: Written, catalogue: Sequence[BaseSystemSpec] | None) -> None:
    """Note names that two tables share, and names of what there is not.

    Parameters
    ----------
    site : Written
        Told what is wrong.
    catalogue : sequence of BaseSystemSpec or None
        Base systems of the crew; None where they could not be read.
    """
    areas, bases = site.named("area", "name"), site.named("base", "name")
    for names in (areas, bases):
        first: dict[str, str] = {}
        for key, name in names.items():
            if name in first:
                found = f'"{name}", which is {first[name]} too'
                site.wrong(key, found, "a name of its own", "Rename one of them.")
            first.setdefault(name, key)
    if catalogue is not None:
        listed = (system.name for system in catalogue)
        known = (*catalogue_names(), *listed, *bases.values())
        for key in ("area", "meet"):
            site.check_known(site.named(key, "base"), "a base system", known)
    for key in ("ceiling", "floor", "meet", "feature", "hold"):
        site.check_known(site.named(key, "area"), "the name of an area", areas.values())


def check_overlaps(site: Written, areas: Mapping[str, Area]) -> None:
    """Note areas that lie over each other, by their keys in the file."""
    for (_, one), (key, other) in combinations(areas.items(), 2):
        shared = one.polygon.intersection(other.polygon).area
        if shared > LEAST_OVERLAP:
            site.wrong(
                f"{key}.outline",
                f'{area_text(shared, site.unit)} of "{other.name}" on "{one.name}"',
                "areas that do not overlap",
                "Let them share an edge, or cut the one out of the other.",
            )


def check_steps(site: Written, steps: Mapping[str, Step], areas: Mapping[str, Area]) -> None:
    """Note steps between areas that are not there, are one, or share no edge."""
    known = site.named("area", "name").values()
    outlines = {area.name: area.polygon for area in areas.values()}
    first: dict[frozenset[str], str] = {}
    for key, step in steps.items():
        if step.down is None:
            site.check_known({f"{key}.area": step.area or ""}, "the name of an area", known)
            continue
        key, names = f"{key}.down", f"{shown_value(list(step.down))}"
        ends = {f"{key}[{place}]": name for place, name in enumerate(step.down, start=1)}
        site.check_known(ends, "the name of an area", known)
        pair = frozenset(step.down)
        if len(pair) == 1:
            mend = "A step goes down from one area to another."
            site.wrong(key, names, "the names of two areas", mend)
        elif pair in first:
            mend = "Leave one of them out."
            site.wrong(key, f"{names}, as {first[pair]} has", "one step for an edge", mend)
        elif pair <= outlines.keys() and not shared_edge(*(outlines[one] for one in step.down)):
            found = f"{names}, which share no edge"
            mend = "Draw both to the same corners, or leave the step out."
            site.wrong(key, found, "two areas that share an edge", mend)
        first.setdefault(pair, key)


def check_holds(
    site: Written, holds: Mapping[str, Hold], areas: Mapping[str, Area], limits: Limits
) -> None:
    """Note edges that two tables hold, heights that nothing of their kind has, and idle ones.

    Parameters
    ----------
    site : Written
    holds, areas : mapping
        The tables by their keys.
    limits : Limits
        Of the site, or those built in.
    """
    first: dict[str, str] = {}
    known = {area.name: area for area in areas.values()}
    for key, hold in holds.items():
        if hold.at is None:
            if hold.area in first:
                found = f'"{hold.area}" without `at`, as {first[hold.area]} has'
                mend = "Leave one of them out, or say with `at` which side it holds."
                site.wrong(f"{key}.area", found, "one such table for an area", mend)
            first.setdefault(hold.area, key)
        area = known.get(hold.area)
        if area is not None:
            _check_beside(site, key, hold, area)
        _check_height(site, key, hold, limits)


def _check_beside(site: Written, key: str, hold: Hold, area: Area) -> None:
    if area.edge == WALL and hold.kind != "block wall":
        site.wrong(
            f"{key}.kind",
            f'"{hold.kind}" beside edge = "{WALL}" of "{hold.area}"',
            'kind = "block wall", or an area without that `edge`',
            "Leave one of the two out.",
        )
    if hold.kind == "lower finish" and area.plane is not None:
        site.wrong(
            f"{key}.kind",
            f'"{hold.kind}" of "{hold.area}", whose `plane` is given',
            "a finish that is fitted, or a lower plane",
            "Leave one of the two out.",
        )


def _check_height(site: Written, key: str, hold: Hold, limits: Limits) -> None:
    if hold.height is None:
        return
    least, most = {
        "block wall": ("wall-least", "wall-most"),
        "curb": (None, "curb-most"),
        "dense shoulder": (None, "lawn-shoulder"),
        "steps": (None, "step-edge-most"),
    }.get(hold.kind, (None, None))
    low = 0.0 if least is None else limits[least]
    high = inf if most is None else limits[most]
    if low - SAME <= hold.height <= high + SAME:
        return
    span = f"{size(high, site.unit)} or less"
    if least is not None:
        span = f"{size(low, site.unit)} to {size(high, site.unit)}"
    mend = "A higher edge is held otherwise: by steps, by a wall, or by what an engineer draws."
    if hold.kind == "block wall":
        mend = (
            "What is lower is a curb's or a shoulder's; a higher wall is an engineer's, or the "
            "finish is lowered."
        )
    site.wrong(f"{key}.height", size(hold.height, site.unit), f"{span} of a {hold.kind}", mend)
