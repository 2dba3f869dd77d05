"""The commands that draw: papers, the page, exports, the film, all that is written."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path

from grading.pipeline import Plan
from viz import export, outputs
from viz.files import write_with
from viz.pictures.film import write_film
from viz.sheets.write import HANDED, check_words, write_sheets
from viz.terminal.answering import Asked
from viz.words.figures import in_both


def write_out(plan: Plan, told: argparse.Namespace, asked: Asked, folder: Path) -> None:
    """Write the outputs of a plan into a folder, and say which.

    Parameters
    ----------
    plan : Plan
    told : Namespace
        What was written after the command.
    asked : Asked
    folder : Path
    """
    with in_both(told.units == "both"):
        files = outputs.write(plan, folder, asked.say, details=told.details, png=told.png)
    asked.written(folder, files, told.json)


def _export(told: argparse.Namespace, asked: Asked) -> int:
    names = export.chosen_formats(told.formats)
    plan = asked.planned(told.site)
    with in_both(told.units == "both"):
        made = export.export(plan, told.out, names)
    asked.written(told.out, made)
    return asked.checked(plan, told=True)


def _sheet(told: argparse.Namespace, asked: Asked) -> int:
    kinds = HANDED if told.reader is None else (told.reader,)
    check_words(kinds, told.paper)
    plan = asked.planned(told.site)
    asked.written(told.out, write_sheets(plan, told.out, asked.say, kinds, told.paper))
    asked.look_again(plan)
    return asked.checked(plan)


def _sequence(told: argparse.Namespace, asked: Asked) -> int:
    plan = asked.planned(told.site, told.out)
    asked.say("filming the build-up ...")
    every = told.bases == "all"
    made = write_with(told.out, lambda folder: write_film(plan, folder, every), plan.site)
    asked.written(told.out, made)
    return asked.checked(plan, told=True)


COMMANDS: Mapping[str, Callable[[argparse.Namespace, Asked], int]] = {
    "export": _export,
    "sheet": _sheet,
    "sequence": _sequence,
}
"""Each command by its name, which takes what was told and how it is answered."""
