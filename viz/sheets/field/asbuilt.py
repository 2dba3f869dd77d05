"""What was built against the design on paper: verdicts, a map of the shots, and their list.

Its map has every shot with how far it lies from the design, and the board.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely

from grading.asbuilt.model import AsBuilt
from grading.asbuilt.words import CALLED, lines_of, notes_of, off_words, tolerance_words
from grading.design.points import named_points
from grading.pipeline import Plan
from grading.units import METRES, length
from viz.drawings.placing import place_plan
from viz.drawings.plan.view import draw_house, draw_outlines, plan_window
from viz.file_names import area_slugs
from viz.files import write_with
from viz.paper.compose import Sheet, View
from viz.paper.drawing import OUTLINE, Pen
from viz.paper.furniture import caption, plan_axes, scale_bar
from viz.paper.page import Box, Page, page_for
from viz.paper.players import write
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, head_of
from viz.table import DIGITS, Table, csv_text

WIDE, TALLEST = 182.0, 150.0  # mm
_FOOT, _SIDE = 13.0, 4.0  # mm
_SIZE = 2.5
_ARM = 1.7  # mm: half a mark
_BEYOND = Pen(0.5, "#1a1a1a")
_BOARD = Pen(0.7, "#1a1a1a", (2.0, 1.0))
_AROUND = 0.8  # m: of the house and the lawn beside what was built, no more than its letters need
_LONG = 1.5  # m: half a board, as it is drawn


def asbuilt_data(job: Job, sheet: Compiled, found: Sequence[AsBuilt]) -> dict[str, Any]:
    """Return what the template reads.

    Parameters
    ----------
    job : Job
    sheet : Compiled
    found : sequence of AsBuilt
        Of one layer.
    """
    return {
        **head_of(job, sheet),
        "layer": CALLED[found[0].layer],
        "areas": [_area(job, sheet, each) for each in found],
    }


def _area(job: Job, sheet: Compiled, found: AsBuilt) -> dict[str, Any]:
    unit = job.unit
    name = printable(found.area.area.name, 44)
    alt = f"Plan of {found.area.area.name}: each shot with how far it lies from the design"
    return {
        "title": name,
        "lines": [
            {"status": status, "words": printable(words, 600)}
            for status, words in lines_of(found, unit)
        ],
        "notes": [printable(words, 400) for words in notes_of(found, unit)],
        "map": sheet.drawing(built_map(job.plan, found), alt),
        "shots": [
            [
                printable(shot.name, 40), length(shot.z, unit), length(shot.design, unit),
                off_words(shot, unit), shot.status, printable(shot.note, 80),
            ]
            for shot in found.shots
        ],
        "tolerance": tolerance_words(found, unit),
    }  # fmt: skip


def shots_table(found: Sequence[AsBuilt]) -> Table:
    """Return every shot as numbers for a spreadsheet, in the site's unit."""
    unit = found[0].design.site.unit
    per = METRES[unit]
    heads = ("area", "shot", f"x ({unit})", f"y ({unit})", f"as built ({unit})",
             f"design ({unit})", f"off ({unit})", "status", "note", "photo")  # fmt: skip
    rows = [
        (
            each.area.area.name, shot.name,
            *(round(v / per, DIGITS) for v in (*shot.at, shot.z, shot.design, shot.off)),
            shot.status, shot.note, shot.photo,
        )
        for each in found
        for shot in each.shots
    ]  # fmt: skip
    return Table(heads, tuple(rows))


def write_asbuilt(
    plan: Plan, found: Sequence[AsBuilt], folder: Path, say: Callable[[str], None]
) -> list[Path]:
    """Write what was built as PDF and CSV, and its map of each area as SVG; return the files.

    Parameters
    ----------
    plan : Plan
    found : sequence of AsBuilt
        Of one layer.
    folder : Path
    say : callable
        Told what is being done.

    Raises
    ------
    SiteError
        A logo that cannot be used, or a folder that cannot be written.
    """
    name = f"as-built-{found[0].layer}"

    def make(made: Path) -> None:
        say("setting what was built ...")
        job = Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))
        with Compiled("asbuilt") as sheet:
            (made / f"{name}.pdf").write_bytes(sheet.pdf(asbuilt_data(job, sheet, found)))
        text = csv_text(shots_table(found))
        (made / f"{name}.csv").write_text(text, encoding="utf-8-sig")
        files = dict(zip((area.area.name for area in plan.areas), area_slugs(plan), strict=True))
        for each in found:
            write(built_map(plan, each), made / f"{name}-{files[each.area.area.name]}", ("svg",))

    return write_with(folder, make, plan.site)


def built_map(plan: Plan, found: AsBuilt) -> Sheet:
    """Return the plan of an area with its shots: high ones point up, low ones down.

    Parameters
    ----------
    plan : Plan
    found : AsBuilt
        Of one of its areas.
    """
    unit, area = plan.site.unit, found.area
    dig = area.chosen_dig
    window = plan_window(plan, area, dig, around=_AROUND)
    room = Box(_SIDE, _FOOT, WIDE - _SIDE, TALLEST)
    scale = place_plan(window, room, unit, "Plan").scale
    _, low, _, high = window.bounds
    tall = min(scale.mm(high - low) + _FOOT + 3.0, TALLEST)
    sheet = Sheet(Page("figure", WIDE, tall, margin=1.0, title=0.0), "built", "As built")
    view = place_plan(window, Box(_SIDE, _FOOT, WIDE - _SIDE, tall), unit, "Plan")
    sheet.views.append(view)
    draw_house(view, plan, window, sills=False)
    draw_outlines(view, plan, area, dig, window)
    points = named_points(area)
    for name, at, away in zip(points.names, points.xy, points.away, strict=True):
        # Where corners lie a hand apart their letters stand on other sides of them.
        aside = np.array([-away[1], away[0]])
        shift, *others = ((way * 4.2).tolist() for way in (away, aside, -aside, -away))
        view.drawing.text(at, name, size=3.0, bold=True, shift=tuple(shift), ground=True,
                          others=tuple(map(tuple, others)), layer="corner")  # fmt: skip
    for shot in found.shots:
        _mark(view, shot.at, shot.off, shot.status == "fail", off_words(shot, unit))
    board = found.straightedge
    for number, place in enumerate(() if board is None else board.places, start=1):
        half = np.array([_LONG / 2, 0.0])
        line = shapely.LineString([place - half, place + half])
        view.drawing.lines(line, _BOARD, "board")
        view.drawing.text(place, f"board {number}", size=_SIZE, bold=True, shift=(0.0, -2.6),
                          others=((0.0, 2.6), (9.0, -2.6)), ground=True, layer="board")  # fmt: skip
    wide = caption(
        sheet, (_SIDE + 14, 3.0), f"{CALLED[found.layer]} as built", view.scale.words, 3.4
    )
    scale_bar(sheet, (_SIDE + 14 + wide + 8, 4.6), view.scale, unit, 38.0)
    plan_axes(sheet, (_SIDE, 2.4))
    return sheet


def _mark(view: View, at: tuple[float, float], off: float, beyond: bool, words: str) -> None:
    """Record one shot: a triangle that points the way it is off, filled where that is too far."""
    arm = view.scale.metres(_ARM)
    x, y = at
    if words == "as designed":
        view.drawing.symbol("dot", at, size=1.6, layer="shot")
        return
    tip = arm if off > 0 else -arm
    shape = shapely.Polygon([(x - arm, y - tip), (x + arm, y - tip), (x, y + tip)])
    view.drawing.area(shape, fill="#1a1a1a" if beyond else "#ffffff", pen=_BEYOND if beyond
                      else OUTLINE, layer="shot")  # fmt: skip
    view.drawing.text(at, words, size=_SIZE, bold=beyond, shift=(0.0, -3.4), ground=True,
                      others=((0.0, 3.4), (9.5, 0.0), (-9.5, 0.0)), leads=True,
                      layer="shot")  # fmt: skip
