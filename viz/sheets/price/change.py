"""The paper that a change to the job is signed on: what was found, what it changes, what stays."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from grading.comparison.figures import JOB, PRICE, Figure
from grading.comparison.model import Comparison
from grading.comparison.words import (
    below_headline,
    headline,
    more_words,
    of_area,
    seen_words,
    telling_both,
    value_words,
)
from grading.crew.model import Crew
from grading.dig.hole import Dig
from grading.order.telling import money
from grading.price.change import ChangePrice, change_price
from grading.records.seal import DIGITS, seal_of
from grading.units import Unit, noun
from viz.files import write_with
from viz.paper.page import page_for
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, against_told, head_of
from viz.sheets.price.change_drawing import change_sheet
from viz.words.plain import opened
from viz.words.price import BUILT_IN, more_money, plan_band

_INSIDE = ("build_up", "max_dig", "trips", "time", "edge_above", "edge_below")
"""Figures of an area that a homeowner is not told one by one."""

_OF_THE_JOB = ("trips", "bins", "days", PRICE)
"""Figures of the whole job that a homeowner is told: a price where one is made, never the cost."""

_ALWAYS = ("step", "fall_away")
"""Figures that are told also where they stay: what was agreed at doors and walls."""

_DRAWN = 2
"""Areas that are drawn; the table tells of all."""

NO_MORE = "No payment changes: what the ground costs more is in the price that was agreed."

_MOVED = 3e-3  # m: a build-up or a depth that changes by less is drawn alike


def change_data(found: Comparison, job: Job, sheet: Compiled, number: int) -> dict[str, Any]:
    """Return what the template reads.

    Parameters
    ----------
    found : Comparison
    job : Job
        Of the later plan.
    sheet : Compiled
    number : int
        Of the change.
    """
    unit, priced = job.unit, change_price(found.before, found.after)
    band = plan_band(found.after)
    if not band and priced is not None and priced.agreed.built_in:
        band = BUILT_IN
    return {
        **head_of(job, sheet),
        "band": band,
        "against": against_told(found.after),
        "number": number,
        "headline": printable(opened(headline(found, unit)), 400),
        "below": [printable(opened(said), 600) for said in below_headline(found, unit, plain=True)],
        "seen": seen_words(found, unit),
        "boxes": list(_boxes(found, unit, priced)),
        "drawings": list(_drawings(found, sheet, unit)),
        "tables": list(_tables(found, unit)),
        "paid": "" if priced is None else _paid_words(priced),
        "currency": _sign(job.plan.crew),
    }


def _sign(crew: Crew) -> str:
    """Return the sign before a price to be filled in: that of the crew, where it gave any."""
    return crew.currency if crew.priced or crew.pricing is not None else ""


def _paid_words(priced: ChangePrice) -> str:
    """Say what the change does to the payments."""
    if not priced.more:
        return NO_MORE if priced.in_reserve else "No payment changes."
    if priced.last_payment is None:
        return "What is taken off is taken off the payments that are still to come, the last first."
    way = "added to" if priced.more > 0 else "taken off"
    last = money(priced.last_payment, priced.agreed.currency)
    number = seal_of(priced.agreed.plan)[:DIGITS]
    return (
        f"The difference is {way} the last payment, which becomes {last}; no other payment "
        f"changes. It is worked out by the prices that were agreed for plan {number}"
        f"{', and what the ground costs more is in them' if priced.in_reserve else ''}."
    )


def _boxes(found: Comparison, unit: Unit, priced: ChangePrice | None) -> Iterator[dict[str, str]]:
    currency = found.after.crew.currency
    days = next(one for one in of_area(found.figures, JOB) if one.key == "days")
    telling = telling_both(found)
    more = more_words(days, unit, telling)
    now = value_words(days, days.after, unit, telling)
    worked = noun(0.0 if days.numbers is None else days.numbers[1], "day")
    yield {
        "figure": "the same" if more == "none" else f"{more} {noun(days.more or 0.0, 'day')}",
        "words": f"{now} {worked} of work in all, rain days not counted",
    }
    alike = found.looks_alike
    yield {
        "figure": "the same" if alike else "changes",
        "words": "heights, steps, fall and pavers" if alike else "what you see, as told above",
    }
    if priced is not None:
        told = money(priced.after, currency)
        figure = more_money(priced.more, currency) if priced.more else "the same"
        yield {"figure": figure, "words": f"the price; it becomes {told}, tax and all"}
    else:
        yield {"figure": "", "words": "to the price, filled in by the crew"}


def _drawings(found: Comparison, sheet: Compiled, unit: Unit) -> Iterator[dict[str, Any]]:
    drawn = list(_changed(found))[:_DRAWN]
    for name, old, new in drawn:
        alt = f"{name} cut through, as agreed and now, to one scale"
        picture = sheet.drawing(change_sheet(old, new, unit, len(drawn) > 1), alt)
        yield {"title": printable(f"{name}, cut through", 60), "picture": picture}


def _changed(found: Comparison) -> Iterator[tuple[str, Dig, Dig]]:
    """Yield the areas that are built otherwise than agreed, with their dig before and after."""
    then = {area.area.name: area for area in found.before.areas}
    for area in found.after.areas:
        old = then.get(area.area.name)
        if old is None:
            continue
        before, after = old.chosen_dig, area.chosen_dig
        moved = (abs(before.build_up - after.build_up), abs(before.mean_dig - after.mean_dig))
        if max(moved) >= _MOVED or old.chosen != area.chosen:
            yield area.area.name, before, after


def _tables(found: Comparison, unit: Unit) -> Iterator[dict[str, Any]]:
    """Give a table for each area, and one for the whole job, with rows that a homeowner reads."""
    for area in (*(each.area.name for each in found.after.areas), JOB):
        told = [
            figure
            for figure in of_area(found.figures, area)
            if (figure.key in _OF_THE_JOB if area == JOB else figure.key not in _INSIDE)
        ]
        rows = [_row(found, figure, unit) for figure in told if _is_told(found, figure, unit)]
        if rows:
            yield {"title": printable(area or "the whole job", 60), "rows": rows}


def _is_told(found: Comparison, figure: Figure, unit: Unit) -> bool:
    if figure.area == JOB or figure.key.split(" ")[0] in _ALWAYS:
        return True
    return more_words(figure, unit, telling_both(found)) != "none"


def _row(found: Comparison, figure: Figure, unit: Unit) -> list[str]:
    telling = telling_both(found)
    values = (
        value_words(figure, each, unit, telling, plain=True)
        for each in (figure.before, figure.after)
    )
    title = printable(figure.title, 80)
    return [title[:1].upper() + title[1:], *map(printable, values),
            more_words(figure, unit, telling, plain=True)]  # fmt: skip


def write_change(
    found: Comparison, folder: Path, say: Callable[[str], None], paper: str | None = None
) -> list[Path]:
    """Write the paper of a change into a folder and return it.

    Its number is the next; that of the last where the paper is the same to the byte.

    Parameters
    ----------
    found : Comparison
    folder : Path
        Papers of earlier changes stay as they are.
    say : callable
        Told what is being done.
    paper : "letter" or "a4", optional

    Raises
    ------
    SiteError
        A crew.toml or a logo that cannot be used, or a folder that cannot be written.
    """
    plan = found.after

    def make(made: Path) -> None:
        say("setting the paper of the change ...")
        job = Job(plan, plan.order, page_for(plan.site.unit, paper, portrait=True))
        number = max(_numbers(folder), default=0)
        with Compiled("change") as sheet:
            # Asked for once more, such as after a run that was cut off, it is the same change.
            pdf = sheet.pdf(change_data(found, job, sheet, number)) if number else b""
            if not number or _path(folder, number).read_bytes() != pdf:
                number += 1
                pdf = sheet.pdf(change_data(found, job, sheet, number))
        _path(made, number).write_bytes(pdf)

    return write_with(folder, make, plan.site)


def _path(folder: Path, number: int) -> Path:
    return folder / f"change-{number}.pdf"


def _numbers(folder: Path) -> Iterator[int]:
    for path in folder.glob("change-*.pdf"):
        match = re.fullmatch(r"change-(\d{1,6})", path.stem)
        if match:
            yield int(match[1])
