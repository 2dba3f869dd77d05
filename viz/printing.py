"""The commands that print: the plan, what to order, the card of depths."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

import grading
from grading.answers.led import led
from grading.answers.mends import mend_named, write_mend
from grading.pipeline import Plan
from grading.reading.survey_edit import Settling, settle
from viz.tables.account import account_of
from viz.tables.card import sheet_of
from viz.terminal import card, first_screen, order, report
from viz.terminal.answering import Asked
from viz.terminal.lines import in_json


def plan(told: argparse.Namespace, asked: Asked, site: Path, name: str) -> Plan:
    """Print the plan of a site, and return it.

    Parameters
    ----------
    told : Namespace
        What was written after the command.
    asked : Asked
    site : Path
    name : str
        What the site is called in the command that is told next.
    """
    parts = report.chosen_parts(told.only)
    if told.settled:
        wishes = [Settling(*each) for each in told.settled]
        settle(site, wishes, datetime.date.today())
    made = asked.planned(site, told.out)
    if told.mend:
        tried = mend_named(led(made), told.mend)
        write_mend(tried)
        asked.say(f"written into {tried.file}: {tried.mend.words}")
        made = asked.planned(site, told.out)
    if told.json:
        asked.tell(in_json(grading.record(made)))
        asked.look_again(made)
    elif parts:
        asked.tell(report.parts_text(made, parts))
    else:
        asked.tell(report.text(made, name) if told.full else first_screen.text(made, name))
    return made


def order_list(told: argparse.Namespace, asked: Asked) -> int:
    """Print what a site takes to order, move, work and pay."""
    made = asked.planned(told.site, told.out)
    account = account_of(made)
    asked.tell(order.text(account))
    if told.out is not None:
        asked.written(told.out, order.write(account, told.out, asked.say))
    return asked.checked(made)


def depths(told: argparse.Namespace, asked: Asked) -> int:
    """Print the card of every depth of topsoil."""
    made = asked.planned(told.site, told.out)
    sheet = sheet_of(made)
    asked.tell(card.as_json(sheet) if told.json else card.text(sheet))
    if told.out is not None:
        asked.written(told.out, card.write(sheet, told.out, asked.say), told.json)
    return asked.checked(made)


COMMANDS = {"order": order_list, "card": depths}
"""Each command that does no more by its name, which takes what was told and how it is answered."""
