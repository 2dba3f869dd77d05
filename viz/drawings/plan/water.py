"""The sheet of a site's water: where it runs, where it stands, and where it ends."""

from __future__ import annotations

import numpy as np
import shapely

from grading.design.folds import Pane, folds_of, panes_of, warped
from grading.geometry.tolerances import TOLD_LEVEL
from grading.pipeline import Plan
from grading.site.walls import HAIR
from grading.units import Unit, slope
from grading.units.rates import flow, water_volume
from grading.units.shares import share_words
from grading.water.course import FOUNDATION
from grading.water.model import Water
from grading.water.words import (
    ends_of,
    ground_words,
    place_words,
    run_on_words,
    to_words,
    verdict_words,
)
from viz.drawings.placing import end_plan, plan_sheet
from viz.drawings.plan.column import Column
from viz.drawings.plan.folds import draw_folds
from viz.drawings.plan.site_marks import draw_features
from viz.drawings.plan.view import draw_house, name_area
from viz.drawings.plan.water_marks import (
    built_runs,
    draw_water,
    key_rows,
    least_falls,
    shown_places,
)
from viz.paper.compose import Sheet, View
from viz.paper.drawing import FINE, OUTLINE, THIN
from viz.paper.page import Box, Page
from viz.words.figures import level, small, stretch

SIDE = 84.0  # mm: the tables
AROUND = 1.0  # m


def water_sheet(plan: Plan, page: Page) -> Sheet:
    """Return the sheet of the water of a whole site."""
    water, unit = plan.water, plan.site.unit
    window, title = _window(plan, water), "Where the water goes"
    sheet, view, side = plan_sheet(page, "water", title, window, SIDE, 3, unit)
    draw_house(view, plan, window, sills=False)
    for area in plan.areas:
        view.drawing.area(area.outline, fill="#f1eee9", layer="paving")
    for area in plan.areas:
        panes = panes_of(area)
        draw_folds(view, folds_of(area), unit, many=warped(panes), named=False)
        view.drawing.lines(area.outline.boundary, OUTLINE, "outline of paving")
        if not warped(panes):
            for pane in panes:
                _fall(view, pane)
        name_area(view, area.area.name, area.outline)
    draw_features(view, plan, window, named=False)
    draw_water(view, plan, water, window)
    _side(sheet, side, plan, water)
    return end_plan(
        sheet, plan, plan.areas,
        "Ways are true to a grid of "
        f"{small(water.relief.spacing, unit)} over the finish and the existing ground. "
        "They say where rain on the paving goes, not how much soaks into lawn.",
    )  # fmt: skip


def _window(plan: Plan, water: Water) -> shapely.Polygon:
    """Return what is shown: paving, ways, places and low spots, as far as they were surveyed."""
    kept: list[shapely.Geometry] = [area.outline for area in plan.areas]
    kept += [shapely.MultiPoint(e.path) for a in water.areas for e in a.edges if len(e.path)]
    kept += [shapely.MultiPoint(s.path) for s in water.downspouts if len(s.path)]
    kept += [shapely.LineString(run.line) for run in built_runs(plan)]
    kept += [place.shape for place in shown_places(water)]
    kept += [shapely.Point(spot.at) for spot in water.low_spots]
    kept += [shapely.Point(spout.at) for spout in plan.site.downspouts]
    kept += [shapely.Point(worst.at) for _, _, _, worst in least_falls(water)]
    x0, y0, x1, y1 = plan.ground.surveyed.union(shapely.union_all(kept[: len(plan.areas)])).bounds
    around = shapely.union_all(kept).envelope.buffer(AROUND, join_style="mitre")
    left, bottom, right, top = around.intersection(
        shapely.box(x0 - AROUND, y0 - AROUND, x1 + AROUND, y1 + AROUND)
    ).bounds
    return shapely.box(left, bottom, right, top)


def _fall(view: View, pane: Pane) -> None:
    if pane.plane.fall < TOLD_LEVEL:
        return
    middle, way = pane.place, np.asarray(pane.plane.downhill, float)
    half = view.scale.metres(4.5)
    view.drawing.arrow(middle - way * half, middle + way * half, pen=FINE, head=2.4,
                       layer="finish fall")  # fmt: skip


def _side(sheet: Sheet, box: Box, plan: Plan, water: Water) -> None:
    unit = plan.site.unit
    key = _key(plan, water)
    foot = 4.1 * len(key) + 2.0
    column = Column(sheet, Box(box.x0, box.y0 + foot, box.x1, box.y1))
    lines = _lines(plan, water, unit)
    for number, (head, left, right, bold, quiet) in enumerate(lines):
        if column.left() < 9.0 and number < len(lines) - 1:
            column.row("more in the report", quiet=True)
            break
        if head:
            column.head(left)
        else:
            column.row(left, right, bold=bold, quiet=quiet)
    sheet.paper.line([(box.x0, box.y0 + foot), (box.x1, box.y0 + foot)], THIN, "table")
    key_rows(sheet.paper, box.x0 + 1, box.y0 + foot - 2.0, key)


Line = tuple[bool, str, str, bool, bool]  # head?, left, right, bold, quiet


def _lines(plan: Plan, water: Water, unit: Unit) -> list[Line]:
    found: list[Line] = []

    def head(words: str) -> None:
        found.append((True, words, "", True, False))

    def row(left: str, right: str = "", bold: bool = False, quiet: bool = False) -> None:
        found.append((False, left, right, bold, quiet))

    head("Where the rain on each area ends")
    for area in water.areas:
        row(area.name, "" if area.runoff is None else flow(area.runoff, unit), bold=True)
        for end in ends_of(area):
            bad = end.kind == FOUNDATION
            row(f"    {place_words(end.name, end.kind)}", end.words, bold=bad)
        for bed in area.pockets:
            row("    over a planting pocket on its way", share_words(bed.share))
        row(verdict_words(water, area), quiet=area.verdict == "named")
    around = [
        *(words for _, words in ground_words(water, plan.places)),
        *(run_on_words(area, plan.places) for area in water.areas if area.told_run_on),
    ]
    if around:
        head("Water of the ground around")
        for words in around:
            row(words)
    places = shown_places(water)
    if places:
        head("Places named for water, and their level")
        for place in places:
            none = "" if water.reaches(place) else ": no rain from here ends in it"
            row(f"{place.name} ({place.kind}){none}",
                "no level given" if place.z is None else level(place.z, unit))  # fmt: skip
    if water.low_spots:
        head("Low spots: deepest water, and how much")
        for number, spot in enumerate(water.low_spots, start=1):
            words = f"{small(spot.depth, unit)}, {water_volume(spot.volume, unit)}"
            row(f"low spot {number}", words)
    if water.downspouts:
        head("Downspouts")
        for spout in water.downspouts:
            row(f"{spout.name} {to_words(spout.destination, spout.kind)}",
                "" if spout.runoff is None else flow(spout.runoff, unit))  # fmt: skip
    falls = list(least_falls(water))
    if falls:
        head("Least fall away from each wall")
        for mark, wall, kind, worst in falls:
            back = "" if worst.fall >= 0 else "BACK "
            row(f"{mark}  {wall}, {kind}", back + slope(abs(worst.fall), unit))
            away = (
                f"from {stretch(worst.distance, unit)} out" if worst.distance > HAIR else "from it"
            )
            row(f"     {away}, over {stretch(worst.length, unit)}", quiet=True)
    return found


def _key(plan: Plan, water: Water) -> list[str]:
    kinds = ["arrow", "edge", "way"]
    kinds += ["spout", "spout way"] if plan.site.downspouts else []
    built = {run.kind for run in built_runs(plan)}
    kinds += ["channel"] if "channel" in built else []
    kinds += ["pipe"] if built - {"channel"} else []
    kinds += ["pond", "spill"] if water.low_spots else []
    points = [isinstance(place.shape, shapely.Point) for place in shown_places(water)]
    kinds += ["place"] if any(points) else []
    kinds += ["place line"] if not all(points) else []
    kinds += ["least"] if any(wall.paved or wall.ground for wall in water.walls) else []
    return kinds
