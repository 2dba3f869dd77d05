"""How paving falls: all in all, on its planes and along its folds, and away from each wall."""

from __future__ import annotations

from collections.abc import Sequence

from grading.design.area import AreaPlan
from grading.design.folds import Fold, Pane, folds_of, panes_of, span_of, warped
from grading.dig.drainage import WallFall
from grading.geometry.tolerances import FLAT
from grading.pipeline import Plan
from grading.site.walls import wall_name
from grading.units import Unit, least_rate, percent, slope, slope_in_words, taped_rate
from grading.water.plain import called
from viz.words.figures import small, stretch


def wall_called(plan: Plan, name: str) -> str:
    """Return a wall's name, with the door in it by which a homeowner knows it."""
    house = plan.site.house
    doors = [
        door.name
        for door in plan.site.doors
        if house is not None and wall_name(house.wall_of(door.at).number) == name
    ]
    return f"{name} ({doors[0]})" if doors else name


def from_the_house(plan: Plan, areas: Sequence[AreaPlan]) -> tuple[list[str], bool]:
    """Say to who lives there how paving falls from the house, and whether it has to be mended.

    Parameters
    ----------
    plan : Plan
    areas : sequence of AreaPlan
        The paving that is told of.

    Returns
    -------
    (list of str, bool)
        What falls back to the house, wall by wall; else the least that falls away from it.
    """
    falls = [(area, fall) for area in areas for fall in area.walls]
    if not falls:
        return ["No foundation wall is within reach of the paving."], True
    said = []
    for area, fall in falls:
        found = next((each for each in plan.water.walls if each.wall == fall.wall.name), None)
        back = found is not None and found.paved is not None and found.paved.fall < -FLAT
        if fall.fall_away < -FLAT or back:
            said.append(
                f"As planned some of {called(area.area.name)} falls back towards "
                f"{wall_called(plan, fall.wall.name)}: that has to be mended first."
            )
    if said:
        return list(dict.fromkeys(said)), True
    _, least = min(falls, key=lambda pair: pair[1].fall_away)
    unit = plan.site.unit
    if least.fall_away < plan.limits["fall-away"] - FLAT:
        where, told = wall_called(plan, least.wall.name), taped_rate(least.fall_away, unit)
        return [
            f"Look: in front of {where} the paving falls away from the house only {told}, less "
            "than is asked for."
        ], True
    return [f"It falls away from the house, at least {least_rate(least.fall_away, unit)}."], False


def fall_words(area: AreaPlan, unit: Unit) -> str:
    """Say how the paving falls, and how much of it is away from each wall."""
    panes = panes_of(area)
    if len(panes) > 1:
        return _folded_words(area, panes)
    plane = area.finish.plane
    if plane.fall == 0:
        return "The paving is level."
    words = f"The paving falls {slope_in_words(plane.fall, unit)}"
    ways = _away(area, unit)
    if not ways:
        return words + "."
    if len(ways) == 1:
        share, names = next(iter(ways.items()))
        whom = "the house" if len(names) == 1 else "each wall of the house"
        same = share.startswith(slope_in_words(plane.fall, unit))
        return f"{words}, {share.rpartition(') ')[2] if same else share} {whom}."
    return f"{words}: {_told(ways)}."


def _away(area: AreaPlan, unit: Unit) -> dict[str, list[str]]:
    ways: dict[str, list[str]] = {}
    for each in area.walls:
        way = "away from" if each.fall_away >= 0 else "TOWARDS"
        share = f"{slope_in_words(abs(each.fall_away), unit)} {way}"
        ways.setdefault(share, []).append(each.wall.name)
    return ways


def _told(ways: dict[str, list[str]]) -> str:
    return "; ".join(f"{share} {' and '.join(names)}" for share, names in ways.items())


def _folded_words(area: AreaPlan, panes: Sequence[Pane]) -> str:
    least, most = (percent(fall) for fall in span_of(panes))
    falls = least if least == most else f"{least} to {most}"
    how = "warped: it falls" if warped(panes) else "folded: it falls"
    words = f"The paving is {how} {falls}"
    if not warped(panes):
        words += f" on {len(panes)} planes, with {' and '.join(fold_words(folds_of(area)))}"
    for each in area.walls:
        way = "away from" if each.fall_away >= 0 else "TOWARDS"
        words += f"; {percent(abs(each.fall_away))} {way} {each.wall.name}"
    return words + "."


def wall_fall_parts(fall: WallFall, unit: Unit) -> tuple[str, str]:
    """Say how far the finish falls away from a wall, and over what length and how steeply."""
    over = f"over {stretch(fall.over, unit)}: {slope(abs(fall.fall_away), unit)}"
    if fall.fall_away < 0:
        return f"falls BACK to it {small(-fall.drop, unit)}", over
    return small(fall.drop, unit), over


def fold_words(folds: Sequence[Fold]) -> list[str]:
    """Return the kinds of folds with their number, such as "2 ridges"."""
    words = []
    for kind in ("ridge", "valley", "fold"):
        count = sum(fold.kind == kind for fold in folds)
        many = f"{kind}s" if kind != "valley" else "valleys"
        if count:
            words.append(f"a {kind}" if count == 1 else f"{count} {many}")
    return words
