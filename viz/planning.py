"""The command that plans: what is settled and mended first, and what is printed."""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Callable
from pathlib import Path

import grading
from grading.answers.led import led
from grading.answers.mends import mend_named, write_mend
from grading.pipeline import Plan
from grading.reading.survey_edit import Settling, settle
from grading.reading.written import FILE
from viz.terminal.answering import Asked
from viz.terminal.lines import in_json


def plan(
    told: argparse.Namespace, asked: Asked, site: Path, name: str, text: Callable[[Plan, str], str]
) -> Plan:
    """Print the plan of a site, and return it.

    Parameters
    ----------
    told : Namespace
        What was written after the command.
    asked : Asked
    site : Path
    name : str
        What the site is called in the command that is told next.
    text : callable
        Gives the words that are printed, of the plan and that name.
    """
    if told.settled:
        wishes = [Settling(*each) for each in told.settled]
        for said in settle(site, wishes, datetime.date.today()):
            asked.say(f"written into {FILE}: {said}")
    made = asked.planned(site, told.out)
    if told.mend:
        tried = mend_named(led(made), told.mend)
        write_mend(tried)
        asked.say(f"written into {tried.file}: {tried.mend.words}")
        made = asked.planned(site, told.out)
    if told.json:
        asked.tell(in_json(grading.record(made)))
        asked.look_again(made)
    else:
        asked.tell(text(made, name))
    return made
