"""Papers, models and films made from the page: each in a process of its own, which can be ended.

The page goes on while they are made; how far they are is told by what the makers say themselves.
"""

from __future__ import annotations

import multiprocessing
import shutil
import threading
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from pathlib import Path

import grading
from grading.errors import GradingError, Problem, SiteError
from grading.pipeline import Plan
from grading.price.model import price_of
from grading.units import counted
from viz.desk.model.still import write_stills
from viz.desk.server.field_made import FIELD_MAKERS
from viz.desk.server.telling import Told
from viz.desk.written.journal import FOLDER
from viz.export.formats import FORMATS, export
from viz.page.html import write_page
from viz.pictures.child import TELL
from viz.pictures.film import write_film
from viz.sheets.price.quote import issue_of, write_quote
from viz.sheets.write import KINDS, write_sheets

Say = Callable[[str], None]

MADE = "made"
"""The folder, in that of the page, of what was made."""


def _paper(kind: str) -> Callable[[Plan, Path, Say], Sequence[Path]]:
    return lambda plan, folder, say: write_sheets(plan, folder, say, (kind,))


def _format(name: str) -> Callable[[Plan, Path, Say], Sequence[Path]]:
    return lambda plan, folder, say: export(plan, folder, (name,))


def _yard(plan: Plan, folder: Path, say: Say) -> Sequence[Path]:
    say("drawing the page that turns ...")
    return [write_page(plan, folder / "yard.html")]


def _quote(plan: Plan, folder: Path, say: Say) -> Sequence[Path]:
    price = price_of(plan)
    if price is None:
        found, mend = "no [price]", "Say in it how the crew makes its price."
        raise SiteError([Problem("site.toml, key price", found, "how a price is made", mend)])
    return write_quote(price, issue_of(plan, None, None), folder, say)


def _film(plan: Plan, folder: Path, say: Say) -> Sequence[Path]:
    say("filming how it is built ...")
    TELL.append(lambda made, many: say(f"filming: {made} of {counted(many, 'picture')} drawn"))
    return write_film(plan, folder, False)


MAKERS: dict[str, Callable[[Plan, Path, Say], Sequence[Path]]] = {
    **{kind: _paper(kind) for kind in KINDS},
    **{name: _format(name) for name in FORMATS},
    "quote": _quote,
    "yard": _yard,
    "film": _film,
    "still": write_stills,
    **FIELD_MAKERS,
}
"""What can be made, by its name: each is told the plan, an empty folder, and whom to say how far it
is."""


class Making:
    """What is being made for one site.

    Parameters
    ----------
    folder : Path
        Of the site.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._at_work: dict[object, BaseProcess] = {}

    def begin(self, id: object, what: str, say: Callable[[Told], None]) -> None:
        """Begin to make something.

        Parameters
        ----------
        id : object
            By which it may be cancelled.
        what : str
            A name of `MAKERS`.
        say : callable
            Told, in another thread, how far it is and what was made.
        """
        if what not in MAKERS:
            say({"is": "refused", "problems": [{"words": "no such thing to make"}]})
            return
        context = multiprocessing.get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        process = context.Process(target=_make, args=(theirs, str(self._folder), what), daemon=True)
        process.start()
        theirs.close()
        self._at_work[id] = process
        threading.Thread(target=self._listen, args=(id, ours, say), daemon=True).start()

    def _listen(self, id: object, pipe: Connection, say: Callable[[Told], None]) -> None:
        done = False
        while not done:
            try:
                told = pipe.recv()
            except (EOFError, OSError):
                told = {"is": "stopped"}
            done = told["is"] != "busy"
            say(told)
        self._at_work.pop(id, None)

    def cancel(self, id: object) -> None:
        """End the making of something; what is half made is never seen."""
        process = self._at_work.get(id)
        if process is not None:
            process.kill()

    def stop(self) -> None:
        """End all that is being made."""
        for process in list(self._at_work.values()):
            process.kill()


def made_file(folder: Path, name: str) -> Path | None:
    """Return a file that was made, by its name as `what/file`; None where there is none."""
    home = folder / FOLDER / MADE
    listed = {f"{file.parent.name}/{file.name}": file for file in home.glob("*/*")}
    return listed.get(name)


def _make(pipe: Connection, folder: str, what: str) -> None:
    """Make one thing; the body of its process."""
    home = Path(folder) / FOLDER / MADE
    part, whole = home / f".{what}-part", home / what
    try:
        shutil.rmtree(part, ignore_errors=True)
        part.mkdir(parents=True)
        pipe.send({"is": "busy", "words": "planning ..."})
        plan = grading.plan(grading.read_site(folder))
        files = MAKERS[what](plan, part, lambda words: pipe.send({"is": "busy", "words": words}))
        names = sorted(file.name for file in files)
        shutil.rmtree(whole, ignore_errors=True)
        part.rename(whole)
        made = [{"name": name, "href": f"/made/{what}/{name}"} for name in names]
        pipe.send({"is": "made", "files": made})
    except (GradingError, OSError) as error:
        pipe.send({"is": "refused", "problems": [{"words": str(error)}]})
    finally:
        shutil.rmtree(part, ignore_errors=True)
