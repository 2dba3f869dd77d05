"""What will I see at the edge? The free edge unrolled: the finish above the ground beside it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import affinity

from grading.design.area import AreaPlan
from grading.design.edge_holding import free_length
from grading.design.points import area_corners, letters
from grading.dig.edge_runs import EdgeRun
from grading.geometry.arrays import Floats, unit_vector
from grading.geometry.tolerances import SLIVER, TOUCH
from grading.pipeline import Plan
from grading.section.built import Built
from grading.section.unrolled import built_along
from grading.units import Unit, percent
from viz.drawings.answers.page import BODY, answer_sheet, column, foot
from viz.drawings.details.cuts import LAWN
from viz.drawings.placing import place_plan
from viz.drawings.plan.view import draw_house
from viz.paper.compose import Sheet, View
from viz.paper.drawing import CUT, FINE, GROUND, OUTLINE, THIN, Drawing, Pen
from viz.paper.hatch import OTHER, TONES
from viz.paper.lettering import block, extent
from viz.paper.page import Box, fitting_scale
from viz.words.figures import small, stretch
from viz.words.paving.holding import held_by
from viz.words.paving.materials import material_words
from viz.words.plain import opened

Names = Sequence[tuple[str, Floats]]  # of corners, and where they are [m]

QUESTION = "What will I see at the edge?"
KEY = 46.0  # mm: small plan beside the strip
NEAR = 0.15  # m: an edge ends this far from the wall or the paving that closes it
GAP = 7.0  # mm between two runs
STRETCHES = (1.0, 2.0, 5.0, 10.0, 20.0)
_ABOVE, _BELOW = 13.0, 9.0  # mm kept for words over the strip and under it
_REST = 0.03  # m of ground shown below
_SIZE = 2.1
_KEYED = 12.5  # mm: a sample in the key, with what is free about it
_FACE = "#8f8d88"


def edge_answer(plan: Plan, area: AreaPlan) -> tuple[str, str, str, Sheet]:
    """Return key, question, words and sheet: the free edge unrolled."""
    sheet = answer_sheet("edge", QUESTION)
    unit, runs = plan.site.unit, list(area.edge_runs)[:4]
    words = words_of(plan, area)
    if not runs:
        column(sheet, BODY, [(words, "", 0.0)], 3.0)
        foot(sheet, unit, None, "")
        return "edge", QUESTION, words, sheet
    found = area_corners(area)
    names = [(name, at) for name, (at, _) in zip(letters(len(found)), found, strict=True)]
    _key(sheet, Box(BODY.x1 - KEY, BODY.y0 + 2.0, BODY.x1, BODY.y1), plan, area, names)
    view, starts = _place(runs, unit)
    sheet.views.append(view)
    structures = plan.order.of(area).takeoffs[area.chosen].structures
    materials: dict[str, None] = {}
    for one, start in zip(runs, starts, strict=True):
        built = built_along(structures, one)
        _strip(view, one, start)
        materials |= dict.fromkeys(_built(view, one, start, built))
        _lines(view, one, start)
        _corner_names(view, one, start, names)
        _raised(view, one, start, plan.limits["raised-edge"], held_by(plan, area))
        if area.lawn_lip is not None:
            lawn = np.column_stack([one.along + start, one.finish - area.lawn_lip])
            view.drawing.line(lawn, LAWN, "lawn tied in")
    _heights(view, area, runs, starts, unit)
    _legend(sheet, area, tuple(materials))
    stretch = f"{view.exaggeration:g}"
    foot(
        sheet, unit, view.scale,
        f"along the edge; heights {stretch} times as large. Letters as in the plan beside it."
        if view.exaggeration > 1 else "true scale. Letters as in the plan beside it.",
    )  # fmt: skip
    return "edge", QUESTION, words, sheet


def _place(runs: Sequence[EdgeRun], unit: Unit) -> tuple[View, list[float]]:
    """Return the view of the strip, and where each run starts in it. [m]"""
    wide = BODY.width - KEY - 6.0
    total = sum(one.length for one in runs)
    levels = np.concatenate([np.concatenate([one.finish, one.ground]) for one in runs])
    levels = levels[np.isfinite(levels)]
    low, high = float(levels.min()) - _REST, float(levels.max())
    tall = BODY.height - _ABOVE - _BELOW
    # A high edge on a short strip makes the scale small as well as a long one.
    scale = fitting_scale(unit, total, high - low, (wide - GAP * (len(runs) - 1), tall), at_most=10)
    starts, s = [], 0.0
    for one in runs:
        starts.append(s)
        s += one.length + scale.metres(GAP)
    stretch = max((k for k in STRETCHES if scale.mm(high - low) * k <= tall), default=1.0)
    spare = tall - scale.mm(high - low) * stretch
    y = BODY.y0 + _BELOW + spare / 2 - scale.mm(low) * stretch
    x = BODY.x0 + 2.0 + (wide - scale.mm(s) + GAP) / 2
    return View(Drawing(QUESTION), scale, (x, y), stretch), starts


def _known(one: EdgeRun) -> Iterator[NDArray[np.intp]]:
    """Yield stretches of numbers of points at which the ground was surveyed."""
    good = np.flatnonzero(np.isfinite(one.ground))
    for part in np.split(good, np.flatnonzero(np.diff(good) > 1) + 1):
        if len(part) > 1:
            yield part


def _strip(view: View, one: EdgeRun, start: float) -> None:
    draw = view.drawing
    s = one.along + start
    for part in _known(one):
        x, top, lawn = s[part], one.finish[part], one.ground[part]
        floor = float(np.nanmin(np.concatenate([one.finish, one.ground]))) - _REST
        below = np.column_stack([x, lawn])
        draw.area(shapely.Polygon([(x[0], floor), *below, (x[-1], floor)]), fill="#e9ddc8",
                  layer="ground")  # fmt: skip
        face = shapely.Polygon([*np.column_stack([x, np.minimum(top, lawn)]),
                                *np.column_stack([x, top])[::-1]])  # fmt: skip
        if face.area > SLIVER:
            draw.area(shapely.make_valid(face), fill=_FACE, layer="face seen")


def _lines(view: View, one: EdgeRun, start: float) -> None:
    """Draw the finish and the ground over all that stands between them."""
    s = one.along + start
    for part in _known(one):
        below = np.column_stack([s[part], one.ground[part]])
        view.drawing.line(below, GROUND, "existing ground")
        view.drawing.turf(below)
    view.drawing.line(np.column_stack([s, one.finish]), CUT, "finish line")


def _built(view: View, one: EdgeRun, start: float, built: Sequence[Built]) -> Iterator[str]:
    """Draw what holds the edge, as far as it stands out of the ground; yield what it is made of."""
    tops = float(one.finish.max()) + 1.0
    for part in _known(one):
        s = one.along[part]
        over = shapely.Polygon(
            [*np.column_stack([s, one.ground[part]]), (s[-1], tops), (s[0], tops)]
        )
        for each in built:
            seen = shapely.intersection(each.shape, over)
            if shapely.area(seen) < SLIVER:
                continue
            tone = TONES.get(each.material, TONES[OTHER]).ground
            shape = affinity.translate(seen, start)
            view.drawing.area(shape, fill=tone, pen=THIN, layer=each.structure.kind)
            yield each.material


def _corner_names(view: View, one: EdgeRun, start: float, names: Names) -> None:
    """Letters of the corners under the strip, with a thin line up to the finish."""
    low = float(np.nanmin(np.concatenate([one.finish, one.ground]))) - _REST
    line = shapely.LineString(one.points)
    for name, at in names:
        if line.distance(shapely.Point(at)) > NEAR:
            continue
        places = [float(line.project(shapely.Point(at)))]
        if one.closed and places[0] < TOUCH:
            places.append(one.length)
        for s in places:
            z = float(np.interp(s, one.along, one.finish))
            view.drawing.line([(s + start, low), (s + start, z)], FINE, "corner")
            view.drawing.text((s + start, low), name, size=2.4, bold=True, shift=(0.0, -2.2),
                              others=((1.8, -2.2), (-1.8, -2.2), (0.0, -5.0)),
                              layer="corner")  # fmt: skip


def _raised(view: View, one: EdgeRun, start: float, limit: float, held: str) -> None:
    """Mark where the edge stands so high that something has to hold it, and what does."""
    for low, high in one.above(limit):
        a, b = low + start, high + start
        inner = one.finish[(one.along >= low) & (one.along <= high)]
        top = float(max([*inner, *np.interp([low, high], one.along, one.finish)]))
        up = view.scale.metres(3.0) / view.exaggeration
        draw = view.drawing
        draw.line([(a, top + up / 2), (a, top + up), (b, top + up), (b, top + up / 2)], OUTLINE,
                  "retained")  # fmt: skip
        words = f"held by {held} here" if held else "held by a wall or a slope here, not planned"
        if not held and extent(words, _SIZE)[0] > view.scale.mm(b - a):
            words = "held by a wall\nor a slope here"
        # The words stay within the strip, whose ends are those of the picture.
        half = view.scale.metres(block(words, _SIZE)[0] / 2 + 1.0)
        home_s = (low + high) / 2
        if one.length > 2 * half:
            home_s = float(np.clip(home_s, half, one.length - half))
        face = float(np.interp(home_s, one.along, (one.finish + one.ground) / 2))
        home = view.paper((home_s + start, face))
        above = view.paper(((a + b) / 2, top + up))
        over = (above[0] - home[0], above[1] - home[1] + 3.0)
        draw.text((home_s + start, face), words, size=_SIZE, ground=True,
                  others=((0.0, 2.5), (0.0, -2.5), over), layer="retained")  # fmt: skip


def _heights(
    view: View, area: AreaPlan, runs: Sequence[EdgeRun], starts: Sequence[float], unit: Unit
) -> None:
    """Dimension the height above the ground where it is greatest and where it is least."""
    found = area.edge_extremes
    if found is None:
        return
    for (one, k), which in zip(found, ("lowest", "highest"), strict=True):
        if one not in runs:
            continue
        s = float(one.along[k]) + starts[runs.index(one)]
        finish, height = float(one.finish[k]), float(one.height[k])
        words = f"{which}: {_height_words(height, unit)}"
        up = max(finish, float(one.ground[k]))
        draw = view.drawing
        draw.symbol("level", (s, up), size=2.2, layer="height")
        half = extent(words.split("\n")[0], _SIZE, True)[0] / 2
        draw.text((s, up), words, size=_SIZE, bold=True, up="bottom", shift=(0.0, 4.4), leads=True,
                  others=((half, 4.4), (-half, 4.4), (half, 7.0), (-half, 7.0), (0.0, 9.0),
                          (half + 6.0, 4.0), (-half - 6.0, 4.0), (half, 10.0),
                          (-half, 10.0)), layer="height")  # fmt: skip


def _height_words(height: float, unit: Unit) -> str:
    told = small(abs(height), unit)
    if told == small(0.0, unit):
        return "level\nwith the ground"
    return f"{told}\n{'above' if height > 0 else 'BELOW'} ground"


def _key(sheet: Sheet, box: Box, plan: Plan, area: AreaPlan, names: Names) -> None:
    """A small plan: the free edge heavy, its corners lettered."""
    x0, y0, x1, y1 = area.outline.bounds
    window = shapely.box(x0 - 0.3, y0 - 0.3, x1 + 0.3, y1 + 0.3)
    room = Box(box.x0 + 5, box.y0 + 4, box.x1 - 5, box.y1 - 4)
    view = place_plan(window, room, plan.site.unit, "key plan")
    sheet.views.append(view)
    draw = view.drawing
    draw_house(view, plan, window, sills=False)
    draw.area(area.outline, fill="#f1eee9", pen=THIN, layer="paving")
    for one in area.edge_runs:
        draw.line(one.points, Pen(0.8), "free edge")
    inside = area.outline.representative_point()
    for name, at in names:
        away = unit_vector(np.asarray(at) - np.asarray(inside.coords[0])) * 3.2
        draw.text(
            at, name, size=2.2, bold=True, shift=(float(away[0]), float(away[1])), layer="corner",
            others=((3.0, 0.0), (-3.0, 0.0), (0.0, 3.2), (0.0, -3.2), (3.0, 3.0), (-3.0, 3.0)),
        )  # fmt: skip
    sheet.paper.text((box.x0, box.y0 - 1.0), f"plan, {view.scale.words}; free edge heavy",
                     size=1.9, across="left", up="bottom")  # fmt: skip


def _legend(sheet: Sheet, area: AreaPlan, materials: Sequence[str]) -> None:
    lines = [(CUT, "finish"), (GROUND, "ground today")]
    if area.lawn_lip is not None:
        lines.append((LAWN, "lawn brought to it"))
    tones = [(TONES.get(each, TONES[OTHER]).ground, material_words(each)) for each in materials]
    tones.append((_FACE, "edge above the ground"))
    wide = sum(_KEYED + extent(words, _SIZE)[0] for _, words in (*lines, *tones))
    x0, y = BODY.x0 + 1.0, BODY.y0 + 1.0
    # Where there is no room beside the small plan the tones stand under the lines.
    two = wide > BODY.width - KEY
    x, high = x0, y + (3.3 if two else 0.0)
    for pen, words in lines:
        sheet.paper.line([(x, high), (x + 7.0, high)], pen, "key")
        sheet.paper.text((x + 8.5, high), words, size=_SIZE, across="left")
        x += _KEYED + extent(words, _SIZE)[0]
    x = x0 if two else x
    for fill, words in tones:
        ring = shapely.box(x, y - 1.1, x + 7.0, y + 1.1)
        sheet.paper.area(ring, fill=fill, pen=THIN, layer="key")
        sheet.paper.text((x + 8.5, y), words, size=_SIZE, across="left")
        x += _KEYED + extent(words, _SIZE)[0]


def words_of(plan: Plan, area: AreaPlan) -> str:
    """Say how the edge stands over the ground, and how the lawn comes to it."""
    unit = plan.site.unit
    if not area.edge_runs:
        return "No edge of it is free: the house, other paving or what it meets closes every side."
    high, low = area.edge_heights
    along = f"Along {stretch(free_length(area), unit)} of free edge the paving"
    today = "the ground as it is today"
    if small(high, unit) == small(-low, unit):
        said = [f"{along} stands {small(high, unit)} above {today}."]
    elif low <= 0 or small(low, unit) == small(0.0, unit):
        said = [f"{along} stands {small(abs(low), unit)} to {small(high, unit)} above {today}."]
    elif high <= 0:
        said = [f"{along} lies {small(-high, unit)} to {small(low, unit)} below {today}."]
    else:
        said = [
            f"{along} stands up to {small(high, unit)} above {today}, and up to "
            f"{small(low, unit)} below it elsewhere."
        ]
    tie, lip = area.tie_in, area.lawn_lip
    if tie is not None and lip is None:
        said.append("The lawn stays as it lies.")
    elif tie is not None and lip is not None:
        said.append(
            f"The lawn is brought to {small(lip, unit)} below it and leaves at "
            f"{percent(tie.slope, 0)}, over at most {stretch(tie.widest, unit)}."
        )
    if high > plan.limits["raised-edge"]:
        held = held_by(plan, area)
        said.append(
            f"{opened(held)} that holds it where it stands high is drawn as it is planned."
            if held else "What is to hold it where it stands that high is not planned yet."
        )  # fmt: skip
    return " ".join(said)
