"""Where does the dirt go? The spoil in bins drawn to scale, and the trips to fill them."""

from __future__ import annotations

from typing import Any

import shapely

from grading.order.model import AreaOrder, Order
from grading.units import SHORT_TON, TONNE
from viz.drawings.answers.page import BODY, answer_sheet, foot
from viz.drawings.answers.under import shown_of
from viz.paper.compose import Sheet
from viz.paper.drawing import FINE, HIDDEN, OUTLINE, THIN
from viz.paper.lettering import block, fold
from viz.paper.page import Box
from viz.words.figures import beside, earth

QUESTION = "Where does the dirt go?"
NAME = 38.0  # mm: name of the base system, and what it digs
FIGURES = 50.0  # mm: trips and days
MOST_BINS = 8  # drawn in a row; more are told as a number
_ASPECT = 0.38  # height over length of a bin
_SIZE = 2.2


def dirt_answer(plan: Any, area: Any) -> tuple[str, str, str, Sheet]:
    """Return key, question, words and sheet: bins, trips and days on each base system."""
    sheet = answer_sheet("dirt", QUESTION)
    unit = plan.site.unit
    order = plan.order
    jobs = _jobs(order, area)
    names = [name for name in shown_of(area) if name in jobs.bases]
    room = BODY.height / max(len(names), 2)
    full = order.crew["bin-volume"]
    most = max(min(jobs.bases[name].haul.bins.count, MOST_BINS) for name in names)
    long = min(
        (BODY.width - NAME - FIGURES - 4.0) / max(most, 1) - 2.0, (room - 5.5) / _ASPECT, 34.0
    )
    for k, name in enumerate(names):
        top = BODY.y1 - k * room
        if k:
            sheet.paper.line([(BODY.x0, top), (BODY.x1, top)], FINE, "table")
        box = Box(BODY.x0, top - room, BODY.x1, top)
        _row(sheet, box, order, jobs.bases[name], area, name, long, unit)
    foot(
        sheet, unit, None,
        f"Bins and earth to one scale; a bin holds {earth(full, unit)} to its brim, and may weigh "
        "no more than is reached at the dashed line.",
    )  # fmt: skip
    return "dirt", QUESTION, words_of(plan, area), sheet


def _jobs(order: Order, area: Any) -> AreaOrder:
    return order.of(area)


def _row(
    sheet: Sheet, box: Box, order: Order, job: Any, area: Any, name: str, long: float, unit: str
) -> None:
    draw, chosen = sheet.paper, name == area.chosen
    title, size = area.digs[name].system.title, 2.6
    while block(fold(title, size, NAME - 2, True), size, True)[1] > 6.5 and size > 1.9:
        size -= 0.1
    words = fold(title, size, NAME - 2, True)
    y = box.y1 - 1.6
    draw.text((box.x0 + 0.5, y), words, size=size, bold=True, across="left", up="top")
    y -= block(words, size, True)[1] + 1.0
    spoil = job.haul.spoil
    said = f"{earth(spoil.loose, unit)} loose"
    draw.text((box.x0 + 0.5, y), said, size=_SIZE, across="left", up="top")
    y -= 3.2
    weight = beside((f"{spoil.mass / SHORT_TON:.1f} ton", f"{spoil.mass / TONNE:.1f} tonne"), unit)
    draw.text((box.x0 + 0.5, y), weight, size=_SIZE, across="left", up="top")
    if chosen:
        wide = block("chosen", 2.2, True)[0] + 2.6
        ring = shapely.box(box.x0 + 0.5, y - 7.2, box.x0 + 0.5 + wide, y - 3.8)
        draw.area(ring, fill="#ffffff", pen=OUTLINE, layer="chosen")
        draw.text((box.x0 + 0.5 + wide / 2, y - 5.5), "chosen", size=2.2, bold=True)
    _bins(sheet, box, order, job, long)
    _figures(sheet, box, order, job)


def _bins(sheet: Sheet, box: Box, order: Order, job: Any, long: float) -> None:
    """Each bin a box whose face is its volume; what is in it brown, to the same scale."""
    draw, haul = sheet.paper, job.haul
    high = long * _ASPECT
    full = order.crew["bin-volume"]
    each = haul.spoil.loose / haul.bins.count if haul.bins.count else 0.0
    x, low = box.x0 + NAME, box.y0 + (box.height - high) / 2
    for _ in range(min(haul.bins.count, MOST_BINS)):
        level = high * min(each / full, 1.0)
        if level > 0.05:
            draw.area(shapely.box(x, low, x + long, low + level), "soil", layer="spoil")
        if haul.bins.governed == "weight":
            limit = haul.spoil.loose / haul.spoil.mass * order.crew["bin-mass"] / full
            if limit < 0.98:
                line = low + high * limit
                draw.line([(x, line), (x + long, line)], HIDDEN, "weight limit")
        body = [(x, low + high), (x, low), (x + long, low), (x + long, low + high)]
        draw.line(body, OUTLINE, "bin")
        draw.line([(x, low + high), (x + long, low + high)], THIN, "brim")
        x += long + 2.0
    if haul.bins.count > MOST_BINS:
        draw.text((x + 1.0, low + high / 2), f"and {haul.bins.count - MOST_BINS} more", size=_SIZE,
                  across="left")  # fmt: skip


def _figures(sheet: Sheet, box: Box, order: Order, job: Any) -> None:
    rows = [(_count(job), 3.0, True), (f"{_trips(job)} {_by(job)}", 2.6, True)]
    days = days_of(order, job)
    people = f"{order.crew['crew-size']:.0f}"
    rows.append((f"whole area: about {days:.1f} days for {people} people", 2.2, False))
    x = box.x1 - FIGURES + 2.0
    total = sum(block(fold(words, size, FIGURES - 3, bold), size, bold)[1] + 0.9
                for words, size, bold in rows)  # fmt: skip
    y = (box.y0 + box.y1 + total) / 2
    for words, size, bold in rows:
        text = fold(words, size, FIGURES - 3, bold)
        sheet.paper.text((x, y), text, size=size, bold=bold, across="left", up="top",
                         layer="figures")  # fmt: skip
        y -= block(text, size, bold)[1] + 0.9


def _count(job: Any) -> str:
    count = job.haul.bins.count
    return f"{count} bin{'' if count == 1 else 's'}"


def _trips(job: Any) -> str:
    count = job.haul.out.count
    return f"{count} trip{'' if count == 1 else 's'}"


def _by(job: Any) -> str:
    return f"by {job.haul.way.carrier}"


def days_of(order: Order, job: Any) -> float:
    """Return the days that the whole crew takes for a job, the mean."""
    return float(job.time.mean / (order.crew["crew-day"] * order.crew["crew-size"]))


def words_of(plan: Any, area: Any) -> str:
    """Say how much spoil there is, in how many bins, with how many trips and days."""
    order, unit = plan.order, plan.site.unit
    jobs = _jobs(order, area)
    job = jobs.bases[area.chosen]
    people = f"{order.crew['crew-size']:.0f}"
    said = [
        f"Out through the yard in {_trips(job)} {_by(job)} into {_count(job)}: "
        f"{earth(job.haul.spoil.loose, unit)} of loose earth; about {days_of(order, job):.1f} days "
        f"for {people} people, the whole area."
    ]
    if not job.haul.bins.count:
        said = [
            f"No earth leaves the yard; about {days_of(order, job):.1f} days for {people} people, "
            "the whole area."
        ]
    others = [
        f"{area.digs[name].system.called} {_trips(jobs.bases[name])} and {_count(jobs.bases[name])}"
        for name in shown_of(area)[1:]
        if name in jobs.bases
    ]
    if others:
        said.append(f"The others: {'; '.join(others)}.")
    return " ".join(said)
