"""What is met laid anew: to which levels, where a finish meets it within what it may be moved.

A slab that is met along a line need not rise or sink evenly: it is laid to the finish that meets
every other wish and stays, at every point of its line, within what was offered.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
import shapely

from grading.answers.mends import number_of
from grading.errors import Eased
from grading.pipeline import Plan
from grading.reading.site_edit import Edit, put
from grading.site.model import Meet, Site


def laid_anew(
    site: Site, document: Mapping[str, Any], parts: Sequence[Eased], edits: Sequence[Edit],
    plan: Callable[[dict[str, Any]], Plan | None],
) -> tuple[Edit, ...]:  # fmt: skip
    """Return edits with the levels of what is met as a finish has them that it may be laid to.

    Parameters
    ----------
    site : Site
    document : mapping
        The site file as TOML has it.
    parts : sequence of Eased
        What gives.
    edits : sequence of Edit
        As they are where what is met rises or sinks evenly.
    plan : callable
        Plans a document; None where there is no plan.

    Returns
    -------
    tuple of Edit
        Empty where nothing that is met gives, or no finish has it so.
    """
    given = {
        place: part
        for part in parts
        if part.rule == "meeting-gap"
        for place, meet in enumerate(site.meets)
        if meet.name == part.about
    }
    if not given:
        return ()
    levels = {("meet", place, "z") for place in given}
    others = tuple(edit for edit in edits if edit.way not in levels)
    made = plan(_between(site, document, given, others))
    if made is None:
        return ()
    found = [(place, _levels(made, site.meets[place], part)) for place, part in given.items()]
    return (*others, *(Edit(("meet", place, "z"), to) for place, to in found))


def _between(
    site: Site, document: Mapping[str, Any], given: Mapping[int, Eased], others: Sequence[Edit]
) -> dict[str, Any]:
    """Return the document with what is met a floor and a ceiling, as far apart as it may move."""
    written = copy.deepcopy(dict(document))
    for edit in others:
        put(written, edit)
    for place in sorted(given, reverse=True):
        meet, by = site.meets[place], given[place].by
        old = written["meet"].pop(place)
        alike = {key: old[key] for key in ("at", "area") if key in old}
        for key, kept, sign in (("floor", "above", -1.0), ("ceiling", "clearance", 1.0)):
            z = [number_of(float(each) + sign * by, site.unit) for each in meet.z]
            name = f"{meet.name}, {key}"
            bound = {**alike, "name": name, "kind": "other", "z": z, kept: 0}
            written.setdefault(key, []).append(bound)
    if not written["meet"]:
        del written["meet"]
    return written


def _levels(made: Plan, meet: Meet, part: Eased) -> float | list[float]:
    """Return the finish where an area is nearest to the points of what it meets, as written."""
    area = next(each for each in made.areas if each.name == part.area)
    points = shapely.points(np.array(meet.at, dtype=float).reshape(-1, 2))
    nearest = shapely.get_coordinates(shapely.shortest_line(area.outline, points))[::2]
    levels = [number_of(float(z), made.site.unit) for z in area.finish.surface.at(nearest)]
    return levels[0] if len(levels) == 1 else levels
