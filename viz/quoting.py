"""The command that makes a price of a plan."""

from __future__ import annotations

import argparse
from pathlib import Path

from grading.crew.model import FILE
from grading.errors import Problem, SiteError
from grading.pipeline import Plan
from grading.price.model import price_of
from viz.sheets.price.quote import issue_of, write_quote
from viz.sheets.write import check_words
from viz.terminal import quote as quoted
from viz.terminal.answering import Asked


def quote(told: argparse.Namespace, asked: Asked) -> int:
    """Print the price of a plan and write its papers.

    Parameters
    ----------
    told : Namespace
        What was written after the command.
    asked : Asked

    Returns
    -------
    int
        1 where a check of the plan, or of a way that is offered, fails.
    """
    check_words((), told.paper)
    folder = told.out or (None if told.json else Path())
    made = asked.planned(told.site, folder)
    issue = issue_of(made, told.number, told.date)
    price = price_of(made)
    if price is None:
        raise SiteError([_unpriced(made)])
    words = quoted.as_json if told.json else quoted.text
    asked.tell(words(price, issue.number, issue.iso))
    if folder is not None:
        asked.written(folder, write_quote(price, issue, folder, asked.say, told.paper), told.json)
    return asked.checked(made)


def _unpriced(made: Plan) -> Problem:
    where = made.crew.file or FILE
    mend = (
        'Add [price] with at least: margin = "30 %", tax = "none" or a rate with tax_on, '
        'deposit_most = 1000, a part of the price, or "none"; figures are your own.'
    )
    found = "no [price]" if made.crew.file else "no such file in the site folder or above it"
    return Problem(where, found, "how a price is made from the cost", mend)
