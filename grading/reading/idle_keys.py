"""Keys that are written and could change nothing: one beside another that rules it out, say.

A key left out is no wish; one that is written is one, and whoever wrote it counts on it. What can
be told from the file alone is refused here; what shows only in the plan fails a check of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from grading.errors import Problem

_BESIDE_A_PLANE = ("grade", "toward", "fold", "corner", "planes", "between")
"""Keys of an area that say what a fitted finish should be."""


_PAST_THE_LAWN = ("least spoil", "gentlest fall", "elevation")
"""Objectives for which nothing is left where the lawn decides how high a finish lies."""


def idle_keys(written: Mapping[str, Any], file: str) -> Iterator[Problem]:
    """Give a problem for each key of a site file that could change nothing.

    Parameters
    ----------
    written : mapping
        The site file as it was read; what is wrong in it otherwise is passed over.
    file : str
        Its name in messages.
    """
    areas = list(_tables(written, "area"))
    for key, found, expected, mend in (
        *(each for area in areas for each in _of_area(*area)),
        *(each for thing in _tables(written, "feature") for each in _of_feature(*thing)),
        *_of_finish(written, [table for _, table in areas]),
        *_of_backfill(written),
        *_of_frost(written),
    ):
        yield Problem(f"{file}, key {key}", found, expected, mend)


_Told = tuple[str, str, str, str]  # key, found, expected, mend


def _tables(written: Mapping[str, Any], key: str) -> Iterator[tuple[str, Mapping[str, Any]]]:
    listed = written.get(key)
    for place, table in enumerate(listed if isinstance(listed, list) else [], start=1):
        if isinstance(table, Mapping):
            yield f"{key}[{place}]", table


def _of_area(key: str, area: Mapping[str, Any]) -> Iterator[_Told]:
    shape = area.get("shape", "plane")
    if "plane" in area:
        both = "either a `plane` that is given, or what a fitted one should be"
        if shape != "plane":
            yield f"{key}.shape", "a `shape` beside a `plane`", both, "Leave one of the two out."
        for name in _BESIDE_A_PLANE:
            if name in area:
                found = f"`{name}` beside a `plane`"
                yield f"{key}.{name}", found, both, "Leave one of the two out."
    lawn = area.get("lawn")
    if isinstance(lawn, Mapping) and lawn.get("edge") == "stepped":
        for name in ("lip", "slope"):
            if name in lawn:
                found = f"`{name}` of a stepped lawn, which stays as it lies"
                mend = f"Leave `{name}` out, or have the lawn regraded."
                yield f"{key}.lawn.{name}", found, "a flush or bevelled edge", mend


def _of_feature(key: str, thing: Mapping[str, Any]) -> Iterator[_Told]:
    size = thing.get("size")
    if "bearing" in thing:
        about = ""
        if "outline" in thing:
            about = "which its `outline` tells already"
        elif size is not None and (not isinstance(size, list) or len(size) == 1):
            about = "of a thing that is round"
        if about:
            mend = "Leave `bearing` out, or give a length and a width."
            yield f"{key}.bearing", f"a bearing {about}", "a length that runs some way", mend
    if "course" in thing:
        if thing.get("kind") != "seat wall":
            mend = "Leave `course` out."
            yield f"{key}.course", "a course of what is no wall", "a seat wall", mend
        elif "height" not in thing:
            mend = "Add `height`, or leave `course` out."
            yield f"{key}.course", "courses of no height", "a `height` that they make up", mend
    for name, other in (("bedding", "own base"), ("base", "bedding")):
        if name in thing and thing.get("stands") == other:
            found = f'`{name}` of a thing that stands on "{other}"'
            yield f"{key}.{name}", found, "what it stands on", f"Leave `{name}` or `stands` out."


def _of_finish(written: Mapping[str, Any], areas: list[Mapping[str, Any]]) -> Iterator[_Told]:
    finish = written.get("finish")
    if not isinstance(finish, Mapping):
        return
    objective = finish.get("objective")
    if objective == "elevation" and "elevation" not in finish:
        mend = "Add `elevation`, the level wished for."
        yield "finish.elevation", "nothing", "the level that the objective is about", mend
    if objective != "elevation" and "elevation" in finish:
        found = "an elevation that no objective is about"
        mend = 'Write objective = "elevation", or leave `elevation` out.'
        yield "finish.elevation", found, "an objective of that name", mend
    lying = any(area.get("grade") == "as it lies" for area in areas)
    if lying and objective in _PAST_THE_LAWN:
        found = f'objective = "{objective}" beside an area with grade = "as it lies"'
        expected = "one thing that decides where the finish lies"
        yield "finish.objective", found, expected, "Leave `objective` or `grade` out."
    if areas and all("plane" in area for area in areas):
        found = "what a finish should be best at, where every area has a `plane`"
        yield "finish", found, "an area that is fitted", "Leave [finish] or a `plane` out."


def _of_backfill(written: Mapping[str, Any]) -> Iterator[_Told]:
    if "backfill" in written and "house" not in written:
        mend = "Add [house], or leave [backfill] out."
        yield "backfill", "the backfill of no house", "a foundation that it lies by", mend


def _of_frost(written: Mapping[str, Any]) -> Iterator[_Told]:
    frost = written.get("frost")
    if not isinstance(frost, Mapping):
        return
    for name, other in (("mean", "season"), ("season", "mean")):
        if name in frost and other not in frost:
            found = f"`{name}` without `{other}`"
            mend = f"Add `{other}`, or leave `{name}` out: the depth is reckoned from both."
            yield f"frost.{name}", found, "both or neither", mend
