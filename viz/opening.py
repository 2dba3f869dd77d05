"""The command that opens the page of a site, or of a yard that is only begun."""

from __future__ import annotations

import argparse
import re
import sys
import webbrowser
from pathlib import Path

from grading.errors import Problem, SiteError
from grading.files.whole import new_file
from grading.reading.site_file import locate
from grading.reading.written import FILE
from viz.desk.server.serve import open_page
from viz.terminal.answering import DONE, Asked

_BEGUN = """\
name = {name}
unit = "{unit}"
spots = "spots.csv"
"""


def open_site(told: argparse.Namespace, asked: Asked) -> int:
    """Serve the page of a site until it is stopped.

    Parameters
    ----------
    told : Namespace
        What was written after the command.
    asked : Asked
    """
    folder = begun(asked) if told.site is None else locate(told.site)[0]

    def show(address: str) -> None:
        if not webbrowser.open(address):
            asked.say("no browser could be opened here; open the address in one")

    open_page(folder, told.port, asked.tell, None if told.no_browser else show, told.share)
    return DONE


def begun(asked: Asked) -> Path:
    """Ask for the name of a yard, and begin its folder under the current one.

    Raises
    ------
    SiteError
        Nobody is there to answer, or the folder holds something already.
    """
    mend = "Write `fallaway open SITE`, or run it where you can type."
    if not sys.stdin.isatty():
        raise SiteError([Problem("SITE", "none, and nobody to ask", "a site folder", mend)])
    asked.tell("The name of the yard:")
    return begin(Path.cwd(), sys.stdin.readline().strip())


def begin(parent: Path, name: str) -> Path:
    """Begin a yard by its name, in a folder of its own.

    Parameters
    ----------
    parent : Path
    name : str

    Raises
    ------
    SiteError
        It has no letter to name a folder by, or the folder holds something already.
    """
    words = re.findall(r"\w+", name.lower())
    if not words:
        found = f'"{name}"' if name else "none"
        raise SiteError([Problem("the name of the yard", found, "a name with a letter in it")])
    folder = parent / "-".join(words)[:60]
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        mend = "Give another name, or open that folder."
        raise SiteError([Problem(str(folder), "a folder with files", "one that is free", mend)])
    folder.mkdir(exist_ok=True)
    quoted = '"' + re.sub(r'[\\"]', "", name) + '"'
    new_file(folder / "spots.csv", b"x,y,z,id,code,note\n")
    new_file(folder / FILE, _BEGUN.format(name=quoted, unit="ft").encode())
    return folder
