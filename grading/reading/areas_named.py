"""What a site file says of one table by the name of another: areas, bases, steps between areas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import combinations

from grading.catalogue.bases import catalogue_names
from grading.files.toml_file import shown_value
from grading.geometry.outline import shared_edge
from grading.reading.written import Written
from grading.site.base_tables import BaseSystemSpec
from grading.site.tables import Area, Step
from grading.units import area as area_text

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
    for key in ("ceiling", "floor", "meet", "feature"):
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
