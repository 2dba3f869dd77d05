"""A mixed site as one, on printed sheets: what stands on what and why, and where bases meet."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from grading.answers.site import TOTAL, Takes, join_plain, joins_words, site_answer, standing_words
from grading.units import HOUR, volume
from viz.drawings.details.bases import TITLE, bases_figure, joins_sheets
from viz.paper.page import page_for
from viz.sheets.blocks import MARGIN, Cell, Section, drawing, listed, page, table, words
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job
from viz.words.plain import stopped

_ALT = "Plan of the site: every area with the base that it stands on, joins numbered"
_PLAN = 180.0  # mm: the plan on the homeowner's sheet


def as_one(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield what stands on what, why, and where two bases meet: on sites of several."""

    plan, unit, priced = job.plan, job.unit, job.plan.crew.card.show_prices
    answer = site_answer(plan)
    if not answer.mixed:
        return

    def figures(takes: Takes) -> list[Cell]:
        found: list[Cell] = [
            volume(takes.cut, unit), f"{takes.trips}", f"{takes.bins}", f"{takes.time / HOUR:.0f}"
        ]  # fmt: skip
        return [*found, f"{answer.currency}{takes.cost:,.0f}"] if priced else found

    rows: list[list[Cell]] = [
        [one.area, one.title, f"{one.why}.", *figures(one.takes)] for one in answer.areas
    ]
    rows.append([TOTAL, "", "", *figures(answer.takes)])
    heads = ["Area", "Stands on", "Why", "Dig, bank", "Trips", "Bins", "Hours"]
    shares = [26.0, 28, 58, 22, 15, 13, 15]
    standing = [f"On {one.area}: {told}." for one in answer.areas if (told := standing_words(one))]
    joins = [f"{said}." for said in joins_words(answer, unit)]
    figure = bases_figure(plan, answer, job.page.width - 2 * MARGIN)
    yield Section(
        TITLE,
        (
            table(
                [*heads, "Cost"] if priced else heads, rows,
                [*shares, 18] if priced else shares, left=3, last_bold=True,
            ),
            words(
                "Each area alone, hauling and hours counted; the whole job with setting out and "
                "cleaning up, its loads rounded up once."
            ),
            *([listed(standing)] if standing else []),
            drawing(sheet.drawing(figure, _ALT)),
            *([words("Where two bases meet:", bold=True), listed(joins)] if joins else []),
        ),
        fresh=True,
    )  # fmt: skip


def joins_drawn(job: Job, sheet: Compiled) -> Iterator[Section]:
    """Yield the sections across the joins, on pages of their own."""

    across = page_for(job.unit, job.page.paper)
    for made in joins_sheets(job.plan, site_answer(job.plan), across):
        alt = f"{made.title}: the layers of both sides, cut square to each join"
        yield Section("", (page(sheet.drawing(made, alt), made.title),))


def whole(job: Job, sheet: Compiled) -> dict[str, Any] | None:
    """Return what the homeowner's sheet reads of the site as one; None where it is one area.

    Parameters
    ----------
    job : Job
    sheet : Compiled
    """

    answer = site_answer(job.plan)
    if len(answer.areas) < 2:
        return None
    rows = []
    for one in answer.areas:
        dig = job.plan.area(one.area).chosen_dig
        said = [stopped(one.why_plain)]
        standing = standing_words(one)
        if standing:
            said.append(stopped(f"On it: {standing}"))
        rows.append(
            {
                "area": printable(one.area, 44),
                "base": printable(dig.system.title, 40),
                "why": " ".join(printable(each, len(each)) for each in said),
            }
        )
    joins = [stopped(join_plain(join)) for join in answer.joins]
    figure = bases_figure(job.plan, answer, _PLAN)
    return {
        "rows": rows,
        "plan": sheet.drawing(figure, _ALT),
        "joins": [printable(each, len(each)) for each in joins],
    }
