"""How paving falls: all in all, on its planes and along its folds, and away from each wall."""

from __future__ import annotations

from collections.abc import Sequence

from grading.design.area import AreaPlan
from grading.design.folds import Fold, Pane, folds_of, panes_of, span_of, warped
from grading.dig.drainage import WallFall
from grading.units import Unit, percent, slope, slope_in_words
from viz.words.figures import small, stretch


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


def wall_fall_words(fall: WallFall, unit: Unit) -> str:
    """Say how far the finish falls away from a wall, over what length, and how steeply."""
    over = stretch(fall.over, unit)
    if fall.fall_away < 0:
        back = slope(-fall.fall_away, unit)
        return f"falls BACK to it {small(-fall.drop, unit)} over {over}: {back}"
    return f"{small(fall.drop, unit)} over {over}: {slope(fall.fall_away, unit)}"


def fold_words(folds: Sequence[Fold]) -> list[str]:
    """Return the kinds of folds with their number, such as "2 ridges"."""
    words = []
    for kind in ("ridge", "valley", "fold"):
        count = sum(fold.kind == kind for fold in folds)
        many = f"{kind}s" if kind != "valley" else "valleys"
        if count:
            words.append(f"a {kind}" if count == 1 else f"{count} {many}")
    return words
