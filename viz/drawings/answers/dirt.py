"""Where does the dirt go? The spoil in bins drawn to scale, and the trips to fill them."""

from __future__ import annotations

import shapely

from grading.design.area import AreaPlan
from grading.order.days import days_of
from grading.order.model import Job, Order
from grading.pipeline import Plan
from grading.units import Unit, counted
from viz.drawings.answers.page import BODY, answer_sheet, foot
from viz.drawings.answers.under import shown_of
from viz.drawings.placing import chosen_tag
from viz.paper.compose import Sheet
from viz.paper.drawing import FINE, HIDDEN, OUTLINE, THIN
from viz.paper.lettering import block, fold
from viz.paper.page import Box
from viz.words.figures import earth, mass

QUESTION = "Where does the dirt go?"
NAME = 38.0  # mm: name of the base system, and what it digs
FIGURES = 50.0  # mm: trips and days
MOST_BINS = 8  # drawn in a row; more are told as a number
_ASPECT = 0.38  # height over length of a bin
_SIZE = 2.2


def dirt_answer(plan: Plan, area: AreaPlan) -> tuple[str, str, str, Sheet]:
    """Return key, question, words and sheet: bins, trips and days on each base system."""
    sheet = answer_sheet("dirt", QUESTION)
    unit, order = plan.site.unit, plan.order
    jobs = order.alone(order.of(area))
    names = [name for name in shown_of(area) if name in jobs]
    room = BODY.height / max(len(names), 2)
    most = max(min(jobs[name].haul.bins.count, MOST_BINS) for name in names)
    long = min(
        (BODY.width - NAME - FIGURES - 4.0) / max(most, 1) - 2.0, (room - 5.5) / _ASPECT, 34.0
    )
    for k, name in enumerate(names):
        top = BODY.y1 - k * room
        if k:
            sheet.paper.line([(BODY.x0, top), (BODY.x1, top)], FINE, "table")
        box, job = Box(BODY.x0, top - room, BODY.x1, top), jobs[name]
        _name(sheet, box, job, area, name, unit)
        _bins(sheet, box, order, job, long)
        _figures(sheet, box, order, job)
    foot(
        sheet, unit, None,
        f"Bins and earth to one scale; a bin holds {earth(order.crew['bin-volume'], unit)} to its "
        "brim, and may weigh no more than is reached at the dashed line.",
    )  # fmt: skip
    return "dirt", QUESTION, words_of(plan, area), sheet


def _name(sheet: Sheet, box: Box, job: Job, area: AreaPlan, name: str, unit: Unit) -> None:
    draw, x = sheet.paper, box.x0 + 0.5
    title, size = area.digs[name].system.title, 2.6
    while block(fold(title, size, NAME - 2, True), size, True)[1] > 6.5 and size > 1.9:
        size -= 0.1
    words = fold(title, size, NAME - 2, True)
    y = box.y1 - 1.6
    draw.paragraph((x, y), words, size=size, bold=True)
    y -= block(words, size, True)[1] + 1.0
    spoil = job.haul.spoil
    for said in (f"{earth(spoil.loose, unit)} loose", mass(spoil.mass, unit)):
        draw.paragraph((x, y), said, size=_SIZE)
        y -= 3.2
    if name == area.chosen:
        chosen_tag(draw, (x, y - 2.3), 2.2, 3.4, 2.6)


def _bins(sheet: Sheet, box: Box, order: Order, job: Job, long: float) -> None:
    """Each bin a box whose face is its volume; what is in it brown, to the same scale."""
    draw, bins = sheet.paper, job.haul.bins
    high = long * _ASPECT
    filled, limit = order.bin_filled(job)
    x, low = box.x0 + NAME, box.y0 + (box.height - high) / 2
    top, level, line = low + high, high * filled, low + high * limit
    for _ in range(min(bins.count, MOST_BINS)):
        if level > 0.05:
            draw.area(shapely.box(x, low, x + long, low + level), "soil", layer="spoil")
        if limit < 0.98:
            draw.line([(x, line), (x + long, line)], HIDDEN, "weight limit")
        draw.line([(x, top), (x, low), (x + long, low), (x + long, top)], OUTLINE, "bin")
        draw.line([(x, top), (x + long, top)], THIN, "brim")
        x += long + 2.0
    if bins.count > MOST_BINS:
        draw.text((x + 1.0, low + high / 2), f"and {bins.count - MOST_BINS} more", size=_SIZE,
                  across="left")  # fmt: skip


def _figures(sheet: Sheet, box: Box, order: Order, job: Job) -> None:
    rows = [(_count(job), 3.0, True), (f"{_trips(job)} {_by(job)}", 2.6, True),
            (f"whole area: {_days(order, job)}", 2.2, False)]  # fmt: skip
    folded = [(fold(words, size, FIGURES - 3, bold), size, bold) for words, size, bold in rows]
    need = [block(*row)[1] + 0.9 for row in folded]
    y = (box.y0 + box.y1 + sum(need)) / 2
    for (words, size, bold), high in zip(folded, need, strict=True):
        sheet.paper.paragraph((box.x1 - FIGURES + 2.0, y), words, size=size, bold=bold,
                              layer="figures")  # fmt: skip
        y -= high


def _count(job: Job) -> str:
    return counted(job.haul.bins.count, "bin")


def _trips(job: Job) -> str:
    return counted(job.haul.out.count, "trip")


def _by(job: Job) -> str:
    return f"by {job.haul.way.carrier}"


def _days(order: Order, job: Job) -> str:
    days = days_of(order, job)
    return f"about {days.counted} for {days.crew}"


def words_of(plan: Plan, area: AreaPlan) -> str:
    """Say how much spoil there is, in how many bins, with how many trips and days."""
    order, jobs = plan.order, plan.order.alone(plan.order.of(area))
    job = jobs[area.chosen]
    said = [f"No earth leaves the yard; {_days(order, job)}, the whole area."]
    if job.haul.bins.count:
        said = [
            f"Out through the yard in {_trips(job)} {_by(job)} into {_count(job)}: "
            f"{earth(job.haul.spoil.loose, plan.site.unit)} of loose earth; {_days(order, job)}, "
            "the whole area."
        ]
    others = [
        f"{area.digs[name].system.called} {_trips(jobs[name])} and {_count(jobs[name])}"
        for name in shown_of(area)[1:]
        if name in jobs
    ]
    if others:
        said.append(f"The others: {'; '.join(others)}.")
    return " ".join(said)
