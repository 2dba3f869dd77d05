"""Two papers of a price: the quote, for who pays it, and how it was made, for the crew alone."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.crew.price_table import paragraphs
from grading.errors import Problem, SiteError
from grading.files.toml_text import shown_value
from grading.logbook.chain import records_of
from grading.order.days import counted_days, factor_words, halves, hours_words
from grading.order.telling import money
from grading.pipeline import Plan
from grading.price.blanks import checklist_of, typed
from grading.price.change import has_reserve
from grading.price.model import Price
from grading.price.sums import steps_of
from grading.records.seal import DIGITS, seal_of
from grading.signs import is_visible
from grading.units import HOUR, Unit, area, counted, least_rate, size
from viz.files import write_with
from viz.paper.page import page_for
from viz.sheets.compile import Compiled, printable
from viz.sheets.head import Job, head_of
from viz.sheets.price.quote_plan import quote_plan
from viz.words.plain import opened, stopped, table
from viz.words.price import (
    against_signing,
    allowance_words,
    band_words,
    before_tax_words,
    bin_words,
    blank_of,
    built_in_words,
    cancel_words,
    days_words,
    each_words,
    excluded,
    extra_words,
    found_words,
    ground_rows,
    line_title,
    line_words,
    more_money,
    option_words,
    taxed_words,
)

QUOTE, PRICING = "quote.pdf", "pricing.pdf"

_LONG = 900  # letters of a sentence that is made of what a person wrote
_DEEPER = 8  # steps of deeper topsoil that the crew's page has
_NUMBER = 24  # letters of a number
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
           "October", "November", "December")  # fmt: skip


class Issue(Struct, frozen=True):
    """The number and the date of a paper.

    Attributes
    ----------
    number : str
    date : date or None
        None where it is written in by hand.
    """

    number: str
    date: datetime.date | None

    @property
    def iso(self) -> str:
        """The date as 2027-05-20; empty where it is written in by hand."""
        return "" if self.date is None else self.date.isoformat()


def issue_of(made: Plan, number: str | None, date: str | None) -> Issue:
    """Return number and date of a paper, as told; else those of the plan and of its last record.

    Parameters
    ----------
    made : Plan
    number, date : str, optional

    Raises
    ------
    SiteError
        No number that can be printed, or no date.
    """
    problems = []
    told = None if number is None else " ".join(number.split())
    if told is not None and not (0 < len(told) <= _NUMBER and is_visible(told)):
        most = f"a number or a word of at most {_NUMBER} letters"
        problems.append(Problem("--number", shown_value(number), most))
    day = None
    if date is not None:
        try:
            day = datetime.date.fromisoformat(date)
        except ValueError:
            problems.append(Problem("--date", shown_value(date), "a day such as 2027-05-20"))
    elif made.site.folder is not None:
        records = records_of(made.site.folder)
        day = datetime.date.fromisoformat(records[-1].date) if records else None
    if problems:
        raise SiteError(problems)
    return Issue(told or seal_of(made)[:DIGITS], day)


def day_words(day: datetime.date) -> str:
    """Write a day as it is read everywhere: 20 May 2027."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def quote_data(price: Price, job: Job, sheet: Compiled, issue: Issue) -> dict[str, Any]:
    """Return what the template of the quote reads: prices, no cost and no margin.

    Parameters
    ----------
    price : Price
    job : Job
    sheet : Compiled
    issue : Issue
    """
    made, unit, sign = price.plan, job.unit, price.currency
    ground, terms = price.ground, price.terms
    return {
        **head_of(job, sheet),
        **_issued(price, issue),
        "band": band_words(price),
        "against": _long(against_signing(price)),
        "typed": {key: _filled(job, key) for key in ("address", "licence", "insurance", "care")},
        "days": opened(days_words(price)),
        "plan_drawn": sheet.drawing(
            quote_plan(made),
            f"What the price is of, seen from above: {', '.join(a.area.name for a in made.areas)}",
        ),
        "lines": [
            {
                "title": printable(line_title(line), 60),
                "words": printable(line_words(line, made), _LONG),
                "amount": "" if line.amount is None else area(line.amount, unit),
                "price": money(line.price, sign),
            }
            for line in price.lines
        ],
        "price": money(price.price, sign),
        "taxed": taxed_words(price),
        "tax": money(price.tax, sign) if price.tax else "",
        "before_tax": before_tax_words(price),
        "total": money(price.total, sign),
        "options": [
            {
                "words": printable(option_words(each), _LONG),
                "more": more_money(each.more, sign),
                "days": f"{counted_days(each.option.days)} in all",
            }
            for each in price.options
        ],
        "currency": sign,
        "allowances": [list(allowance_words(each, unit, sign)) for each in price.allowances],
        "found": printable(found_words(made), _LONG),
        "ground": None
        if ground is None
        else {
            "rows": [list(row) for row in ground_rows(ground, unit, sign)],
            "bin": bin_words(ground, unit),
        },
        "reserve": has_reserve(terms),
        "extra": [
            [printable(what, 80), printable(each, 60)]
            for what, each in (extra_words(found, sign) for found in price.extras)
        ],
        "excluded": _long(excluded(made)),
        "payments": [
            {
                "when": printable(due.when, 120),
                "share": f"{100 * due.share:.0f} %",
                "amount": money(due.amount, sign),
            }
            for due in price.payments
        ],
        "deposit": money(price.payments[0].amount, sign) if len(price.payments) > 1 else "",
        "titles": dict(table("title", "quote")),
        "said": {key: str(words) for key, words in table("said", "quote").items()},
        "hold": _long(_hold(price, unit)),
        "cancel": cancel_words(price),
        "texts": {key: _text(job, key) for key in ("terms", "notice", "disputes")},
        "blanks": {key: blank_of(key) for key in table("blank", "quote")},
    }


def _issued(price: Price, issue: Issue) -> dict[str, Any]:
    until = None if issue.date is None else issue.date + datetime.timedelta(price.terms.valid)
    return {
        "number": printable(issue.number, _NUMBER),
        "date": "" if issue.date is None else day_words(issue.date),
        "until": "" if until is None else day_words(until),
        "valid": counted(price.terms.valid, "day"),
        "plan": seal_of(price.plan)[:DIGITS],
        "seal": seal_of(price.plan),
    }


def _long(sentences: Iterable[str]) -> list[str]:
    return [printable(said, _LONG) for said in sentences]


def _filled(job: Job, key: str) -> dict[str, str]:
    """Return what was typed under a key, or what goes into its blank."""
    found = typed(job.plan.crew, key)
    return {
        "words": printable(found or "", 120),
        "blank": blank_of(key) if found is None else "",
    }


def _text(job: Job, key: str) -> dict[str, Any]:
    found = typed(job.plan.crew, key)
    return {
        "paragraphs": [printable(each, len(each)) for each in paragraphs(found or "")],
        "blank": blank_of(key) if found is None else "",
    }


def _hold(price: Price, unit: Unit) -> Iterator[str]:
    """Yield what is held to of the finished surface, by the limits that the checks hold to."""
    made, limits = price.plan, price.plan.limits
    falls = [wall.fall_away for each in made.areas for wall in each.walls]
    if falls and min(falls) > 0:
        least = least_rate(min(falls), unit)
        yield f"Paving falls away from the house by {least} at the least, as it is drawn."
    height = size(limits["built-surface"], unit)
    board = size(limits["straightedge"], unit)
    yield (
        f"Its surface lies within {height} of the heights that are agreed, and no more than "
        f"{board} under a straightedge of {'10 ft' if unit == 'ft' else '3 m'}. Measured with you "
        "on the last day, written down and signed."
    )


def pricing_data(price: Price, job: Job, sheet: Compiled, issue: Issue) -> dict[str, Any]:
    """Return what the template of the crew's own page reads: how the price was made.

    Parameters
    ----------
    price, job, sheet, issue : as for `quote_data`
    """
    made, sign, unit, terms = price.plan, price.currency, job.unit, price.terms
    order = made.order
    held, status = table("held", "quote"), table("status", "quote")
    return {
        **head_of(job, sheet),
        **_issued(price, issue),
        "band": "FOR THE CREW ALONE: cost and margin, not to be handed over",
        "against": _long(against_signing(price)),
        "steps": [
            [each.title, each.how, money(each.amount, sign),
             each.title in ("direct cost", "all that it costs", "price")]
            for each in steps_of(price.sums)
        ],
        "told": f"Told as {money(price.price, sign)}, to ten; {taxed_words(price).lower()}; "
                f"{money(price.total, sign)} in all. {before_tax_words(price)}".rstrip(),
        "hours": _long([f"{opened(hours_words(order, order.total))}.",
                        stopped(factor_words(made.crew).yard)]),
        "cost": _cost_words(price),
        "options": [
            [printable(opened(each.option.title), 80), money(each.option.sums.cost, sign),
             money(each.option.sums.margin, sign), money(each.price, sign),
             halves(each.option.days), seal_of(each.option.plan)[:DIGITS]]
            for each in price.options
        ],
        "refused": _long(f"Not offered: {each.title}: {stopped(each.why)}"
                         for each in price.refused),
        "ground": [] if price.ground is None else [
            [size(step.more, unit, 8), _volume(step.dug, unit), _volume(step.filled, unit),
             f"{step.cost.time / HOUR:z.0f}", money(step.cost.total, sign), money(step.price, sign)]
            for step in price.ground.steps[:_DEEPER]
        ],
        "volume": each_words("m3", unit)[1],
        "bin": "" if price.ground is None else bin_words(price.ground, unit),
        "first": terms.first,
        "built_in": _long(built_in_words(price)),
        "held": [
            {"title": str(held[each.key]), "status": str(status[each.status]),
             "blank": each.status == "blank"}
            for each in checklist_of(made.crew, issue.date is not None)
        ],
        "ask": str(table("ask", "quote")["words"]),
    }  # fmt: skip


def _volume(cubic_metres: float, unit: Unit) -> str:
    return f"{cubic_metres / each_words('m3', unit)[0]:z.1f}"


def _cost_words(price: Price) -> str:
    """Say what is paid directly and what margin is left, where hours come out low and high."""
    sums, sign, cost = price.sums, price.currency, price.plan.order.total.cost
    direct, margin = [], []
    for end in (cost.low, cost.high):
        over = end - cost.total
        direct.append(money(sums.direct_cost + over, sign))
        margin.append(f"{100 * (sums.margin - over) / sums.price:.0f} %")
    return (
        f"The direct cost of eight such jobs in ten is {direct[0]} to {direct[1]}, and the margin "
        f"at this price {margin[1]} to {margin[0]}."
    )


def quote_made(
    price: Price, issue: Issue, folder: Path, paper: str | None = None
) -> Iterator[tuple[str, Callable[[], object]]]:
    """Yield each paper of a price in words, and what writes it into a folder.

    Parameters
    ----------
    price : Price
    issue : Issue
    folder : Path
    paper : "letter" or "a4", optional
        Letter for a site in feet, A4 for one in metres when left out.
    """
    page = page_for(price.plan.site.unit, paper, portrait=True)
    job = Job(price.plan, price.plan.order, page)

    def write(name: str, data: Callable[[Price, Job, Compiled, Issue], dict[str, Any]]) -> None:
        with Compiled(name.removesuffix(".pdf")) as sheet:
            (folder / name).write_bytes(sheet.pdf(data(price, job, sheet, issue)))

    yield "the quote", lambda: write(QUOTE, quote_data)
    yield "the crew's page of how it is made", lambda: write(PRICING, pricing_data)


def write_quote(
    price: Price,
    issue: Issue,
    folder: Path,
    say: Callable[[str], None],
    paper: str | None = None,
) -> list[Path]:
    """Write the papers of a price into a folder, and return the files.

    Parameters
    ----------
    price : Price
    issue : Issue
    folder : Path
    say : callable
        Told what is being done.
    paper : "letter" or "a4", optional
        Letter for a site in feet, A4 for one in metres when left out.

    Raises
    ------
    SiteError
        A logo that cannot be used, or a folder that cannot be written.
    """

    def make(made: Path) -> None:
        for words, write in quote_made(price, issue, made, paper):
            say(f"setting {words} ...")
            write()

    return write_with(folder, make, price.plan.site)
