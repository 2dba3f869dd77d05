"""The process that plans yards, one after the other, each from the files that it is handed.

Started by `viz.many.apart` as `python -m viz.many.planner`. What comes on standard input and goes
on standard output are frames (`viz.many.frames`); it ends with who holds the other end.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from queue import SimpleQueue
from threading import Thread

import grading
from viz import VERSION, outputs
from viz.many.frames import Answer, Job, received, sent
from viz.many.given import laid
from viz.scratch import scratch_folder
from viz.tables.yards import lost_yard, refused_yard, yard_of
from viz.terminal.fault import named, report

_SPARED = 500
"""How much sooner than others a system that runs out of memory ends this process (proc(5))."""


def main() -> None:
    """Plan what comes until nobody is left to hand it."""
    # Nothing that a library prints may come between the frames.
    jobs_pipe, answers = os.fdopen(os.dup(0), "rb"), os.fdopen(os.dup(1), "wb")
    nowhere = os.open(os.devnull, os.O_RDWR)
    os.dup2(nowhere, 0)
    os.dup2(nowhere, 1)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # who holds us ends us
    with suppress(OSError):
        Path("/proc/self/oom_score_adj").write_text(str(_SPARED), encoding="ascii")
    jobs: SimpleQueue[Job] = SimpleQueue()

    def listen() -> None:
        for job in received(jobs_pipe):
            jobs.put(job)
        os._exit(0)

    Thread(target=listen, daemon=True).start()
    with scratch_folder() as scratch:
        while True:
            job = jobs.get()
            place = scratch / "job"
            place.mkdir()
            try:
                answer = planned(job, place, lambda words: sent(answers, words))
            finally:
                shutil.rmtree(place, ignore_errors=True)
            sent(answers, answer)


def planned(job: Job, place: Path, told: Callable[[str], None]) -> Answer:
    """Plan a yard, in an empty folder.

    Parameters
    ----------
    job : Job
    place : Path
    told : callable
        Told what is being done, as it is.
    """
    site_folder = place / "sites"
    site_folder.mkdir()
    # What is said of a file names the one that a person knows.
    known = str(site_folder.resolve()), str(job.given.home.parent)
    try:
        home = laid(job.given, site_folder)
        told("reading")
        plan = grading.plan(grading.read_site(home))
        row = yard_of(plan, job.site)
        files: dict[str, bytes] = {}
        notes: list[str] = []
        if job.papers:

            def said(words: str) -> None:
                told(words)
                if not words.endswith("..."):
                    notes.append(words.replace(*known))

            made = outputs.write(plan, place / "out", said)
            files = {
                each.relative_to(place / "out").as_posix(): _known(each, known) for each in made
            }
        return Answer(job.site, row.plain(), plan.site.name, files, tuple(notes))
    except grading.GradingError as error:
        return Answer(job.site, refused_yard(job.site, str(error).replace(*known)).plain())
    except BaseException as error:  # also what is none of Python's own: panics of other languages
        report_text = report(error, ["plan", str(job.given.home)], site_folder / job.site, VERSION)
        said_of_it = f"fallaway stopped at a fault of its own ({named(error)})."
        return Answer(
            job.site, lost_yard(job.site, said_of_it).plain(), report=(named(error), report_text)
        )


def _known(file: Path, known: tuple[str, str]) -> bytes:
    """Return what a file holds; the plan for scripts names files where they stand."""
    data = file.read_bytes()
    if file.suffix != ".json":
        return data
    here, there = (json.dumps(each)[1:-1].encode() for each in known)
    return data.replace(here, there)


if __name__ == "__main__":
    main()
    sys.exit()
