"""Will it heave? What movement leaves of the fall, and how deep frost goes, bare and built."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from grading.catalogue.bases import heave_words
from grading.conditions.frost import FrostDepth, bare_frost, reached_words
from grading.design.area import AreaPlan
from grading.pipeline import Plan
from grading.site.settling import rests
from grading.units import Unit, percent, size
from grading.water.margins import HEAVE, SETTLEMENT, Margin
from grading.water.model import least_margin
from viz.drawings.answers.page import BODY, Row, answer_sheet, column, foot, heading_over
from viz.paper.compose import Sheet, View
from viz.paper.drawing import CUT, FINE, GROUND, HIDDEN, OUTLINE, Drawing, Pen
from viz.paper.lettering import block, fitting_size, fold
from viz.paper.page import Box, fitting_scale
from viz.words.cautions import FROST
from viz.words.figures import small, stretch

QUESTION = "Will it heave?"
SIDE = 76.0  # mm: the section with the frost, or what is known of the soil
STRETCHES = (30.0, 20.0, 10.0, 5.0)  # of the heights where the fall is told, as it fits
_SIZE = 2.2
_FROST = Pen(0.5, "#08519c", (2.0, 0.8))
_MOVED = Pen(0.4, "#1a1a1a", (3.0, 1.0))


def heave_answer(plan: Plan, area: AreaPlan) -> tuple[str, str, str, Sheet]:
    """Return key, question, words and sheet: what frost and settlement would leave of the fall."""
    sheet = answer_sheet("heave", QUESTION)
    unit = plan.site.unit
    left = Box(BODY.x0, BODY.y0, BODY.x1 - SIDE - 4.0, BODY.y1)
    right = Box(BODY.x1 - SIDE, BODY.y0, BODY.x1, BODY.y1)
    found = least_margin(plan.water, area.walls)
    view, about = None, ""
    if found is not None:
        view = _movement(sheet, left, *found, unit, rests(plan.site))
        about = f"the line of the finish, its heights {view.exaggeration:g} times as large."
    frost = plan.advice.frost_under(area)
    rows = list(_known(plan, area, unit))
    if frost is not None:
        frost_scale = _frost(sheet, right, plan, area, frost, unit)
        about += f" Frost: {frost_scale}, true scale. {FROST}"
        if view is None:
            column(sheet, left, rows, 2.6)
    else:
        column(sheet, BODY if view is None else right, rows, 2.4)
    foot(sheet, unit, None if view is None else view.scale, about.strip())
    return "heave", QUESTION, words_of(plan, area), sheet


def _movement(sheet: Sheet, box: Box, name: str, left: Margin, unit: Unit, why: str) -> View:
    """The finish from the wall out: as laid, and after movement at either end.

    `why` says why it need not bear settlement, and is empty where it must.
    """
    length, zone = left.run, left.zone
    heading = f"What {size(HEAVE, unit)} of movement leaves of the fall from {name}"
    heading_over(sheet, (box.x0, box.y1), heading, box.width)
    drop = left.fall * length
    low, high = -drop - 0.01, max(0.0, HEAVE - drop) + 0.01
    scale = fitting_scale(unit, length, 0.0, (box.width - 34.0, 0.0), at_most=12)
    inch = small(HEAVE, unit)
    rows = [
        (CUT, f"as laid: {percent(left.fall)} away from the wall"),
        (_MOVED, f"outer edge heaved by {inch}: {_left(left.heaved)} over {stretch(length, unit)}"),
        (HIDDEN, f"wall end settled by {small(SETTLEMENT, unit)}: {_left(left.settled)} over "
                 f"{stretch(zone, unit)}"),
    ]  # fmt: skip
    said = "\n".join(words for _, words in rows)
    letter = fitting_size(said, 2.3, box.width - 12.0, 1.7, 0.05, bold=False)
    told = fold(f"Not held to settlement: {why}.", letter, box.width - 12.0) if why else ""
    room = box.height - 30.0 - max(block(told, letter)[1] - letter, 0.0)
    fits = (k for k in STRETCHES if scale.mm(max(high - low, 0.03)) * k <= room)
    tall = next(fits, STRETCHES[-1])
    x = box.x0 + 10.0
    top = box.y1 - 13.0 - scale.mm(high) * tall
    view = View(Drawing("movement"), scale, (x, top), tall)
    sheet.views.append(view)
    draw = view.drawing
    wall = view.scale.metres(4.0)
    draw.area(shapely.box(-wall, low, 0.0, high + 0.005), fill="#dcdcda", pen=OUTLINE, layer="wall")
    draw.line([(0.0, 0.0), (length, -drop)], CUT, "finish line")
    draw.line([(0.0, 0.0), (length, HEAVE - drop)], _MOVED, "heaved")
    draw.line([(0.0, -SETTLEMENT), (zone, -left.fall * zone), (length, -drop)], HIDDEN, "settled")
    draw.arrow((length, -drop), (length, HEAVE - drop), pen=FINE, head=1.6, layer="movement")
    draw.arrow((0.0, 0.0), (0.0, -SETTLEMENT), pen=FINE, head=1.6, layer="movement")
    draw.text((length, HEAVE / 2 - drop), f"{inch}\nup", size=_SIZE, across="left",
              shift=(1.2, 0.0), ground=True, layer="movement")  # fmt: skip
    draw.text((0.0, high + 0.005), "house wall", size=_SIZE, shift=(-1.0, 2.2), layer="wall")
    y = view.paper((0.0, low))[1] - 3.0
    for pen, words in rows:
        sheet.paper.line([(box.x0, y), (box.x0 + 9.0, y)], pen, "key")
        sheet.paper.text((box.x0 + 11.0, y), words, size=letter, across="left", layer="movement")
        y -= 4.0
    if told:
        sheet.paper.paragraph((box.x0 + 11.0, y), told, size=letter, layer="movement",
                              shift=(0.0, letter / 2))  # fmt: skip
    return view


def _left(fall: float) -> str:
    return f"{percent(fall)} left" if fall >= 0 else f"{percent(-fall)} BACK to the wall"


def _frost(
    sheet: Sheet, box: Box, plan: Plan, area: AreaPlan, frost: FrostDepth, unit: Unit
) -> str:
    """Bare soil and the build-up side by side, each with its frost line; return their scale."""
    bare = bare_frost(plan)
    assert bare is not None
    heading_over(sheet, (box.x0, box.y1), "How deep that winter freezes, estimated", box.width)
    deep = max(bare, frost.depth) * 1.12
    scale = fitting_scale(unit, 0.0, deep, (0.0, box.height - 14.0), at_most=8)
    top = box.y1 - 9.5
    wide = scale.metres(17.0)
    soil = plan.site.ground.soil
    for k, (name, depth, layers) in enumerate(
        (
            (f"bare {soil}", bare, ()),
            ("under it", frost.depth, area.chosen_dig.system.layers),
        )
    ):
        view = View(Drawing(name), scale, (box.x0 + 1.0 + k * 37.0, top))
        sheet.views.append(view)
        draw, z = view.drawing, 0.0
        for layer in layers:
            bottom = z - layer.thickness
            draw.area(shapely.box(0.0, bottom, wide, z), layer.material, layer=layer.name)
            z = bottom
        draw.area(shapely.box(0.0, -deep, wide, z), "soil", layer="soil")
        draw.line([(0.0, 0.0), (wide, 0.0)], CUT if layers else GROUND, "surface")
        draw.line([(0.0, -depth), (wide + scale.metres(3.0), -depth)], _FROST, "frost line")
        draw.text((0.0, 0.0), name, size=2.3, bold=True, across="left", shift=(0.0, 2.4))
        words = small(depth, unit, 1).replace(" (", "\n(")
        draw.text((wide, -depth), f"frost\n{words}", size=_SIZE, bold=True, across="left",
                  shift=(3.6, 0.0), colour="#08519c", layer="frost depth")  # fmt: skip
        if layers:
            below = small(frost.in_subgrade, unit, 1).replace(" (", "\n(")
            draw.paragraph((wide, 0.0), f"below the\nbuild-up\n{below}", size=_SIZE,
                           shift=(3.6, 0.0), layer="frost depth")  # fmt: skip
    words = f"from its open edges the cold reaches {reached_words(frost.inner)} of it"
    sheet.paper.text((box.x0, box.y0 + 0.2), words, size=1.9, across="left", up="bottom")
    return scale.words


def _known(plan: Plan, area: AreaPlan, unit: Unit) -> Iterator[Row]:
    """What is known of soil, build-up and water, and whether the winter is."""
    soil, dig = plan.site.ground.soil, area.chosen_dig
    yield "What is known", "bold", 0.0
    yield f"Soil: {soil}. Wet and frozen it heaves {heave_words(soil)}.", "", 0.0
    stone = dig.system.base_thickness
    under = plan.water.of(area).under
    base = f"{dig.system.title}, {small(dig.build_up, unit)} from finish to soil"
    base += f", {small(stone, unit)} of it stone" if stone else ", no stone below the panels" \
        if dig.system.on_panels else ""  # fmt: skip
    yield f"{base}.", "", 0.0
    if under is not None and under.falls_away is not None:
        way = "falls away from the house" if under.falls_away >= 0 else "falls BACK to the house"
        yield (
            f"Water below the pavers runs on a surface that {way} "
            f"{percent(abs(under.falls_away))}.", "", 0.0,
        )  # fmt: skip
    if plan.site.frost is None:
        yield (
            "Not entered: how cold the winters are here. Once it is, the depth of frost is told.",
            "", 0.0,
        )  # fmt: skip
    yield (
        "Frost lifts only where soil that holds water freezes: water led away and the fall kept "
        "are what helps.", "", 0.0,
    )  # fmt: skip


def words_of(plan: Plan, area: AreaPlan) -> str:
    """Say honestly what is to be expected; nothing is promised."""
    unit = plan.site.unit
    said = [
        "It may move a little with the seasons: it is built to shed and drain water, and small "
        "seasonal movement is normal and reversible."
    ]
    found = least_margin(plan.water, area.walls)
    if found is not None:
        _, left = found
        said.append(
            f"If {small(HEAVE, unit)} of frost lifted its outer edge, {_of(left.heaved)} of its "
            f"{percent(left.fall)} fall over {stretch(left.run, unit)}; "
            f"{small(left.used_up, unit)} of settlement at the wall would use all of it up."
        )
        why = rests(plan.site)
        if why:
            said.append(f"That is not looked for: {why}.")
        elif left.settled < 0:
            said.append(
                f"{small(SETTLEMENT, unit)} of it would leave {percent(-left.settled)} BACK to the "
                "house: treat the backfill, or give it more fall."
            )
    frost = plan.advice.frost_under(area)
    if frost is not None:
        bare = bare_frost(plan)
        assert bare is not None
        said.append(
            f"Frost is estimated at {small(frost.depth, unit, 1)} below the finish, "
            f"{small(bare, unit, 1)} in bare {plan.site.ground.soil}."
        )
    else:
        soil = plan.site.ground.soil
        said.append(
            f"Its {soil} heaves {heave_words(soil)}; how cold the winters are is not entered."
        )
    return " ".join(said)


def _of(fall: float) -> str:
    return f"{percent(fall)} would be left" if fall >= 0 else f"{percent(-fall)} BACK would be left"
