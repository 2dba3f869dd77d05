"""The crew's sheet as data: set out, levels in rods, dig and build, order and hours; whole job.

Two to four pages of the job, however many areas it has. A page is added to `crew_pages`.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from grading.setout.model import SetOut
from grading.setout.stated import by_rod
from viz.sheets.blocks import MARGIN, Page
from viz.sheets.compile import Compiled
from viz.sheets.crew.build import build_page
from viz.sheets.crew.built import built_page
from viz.sheets.crew.plans import plans_page
from viz.sheets.crew.rods import level_blocks, rods_page
from viz.sheets.crew.work import work_page
from viz.sheets.head import Job, Say, head_of
from viz.words.lookouts import forbidden

NOT_TO_BE_BUILT = "NOT TO BE BUILT"
"""Heads the sheet of a plan that fails, or whose survey stands in doubt."""


def crew_data(job: Job, sheet: Compiled, say: Say) -> dict[str, Any]:
    """Return what the crew's template reads.

    Parameters
    ----------
    job : Job
    sheet : Compiled
        Takes the drawings.
    say : callable
        Told what is being done.
    """
    say("drawing the plans and sections for the crew ...")
    found = by_rod(job.plan)
    against = list(forbidden(job.plan))
    return {
        **head_of(job, sheet),
        "margin": MARGIN,
        "stop": {"title": NOT_TO_BE_BUILT, "why": against} if against else None,
        "pages": [page.data() for page in crew_pages(job, found, sheet)],
    }


def crew_pages(job: Job, found: SetOut, sheet: Compiled) -> Iterator[Page]:
    """Yield the pages of the crew's sheet, in order."""
    yield plans_page(job, found, sheet)
    if not forbidden(job.plan):
        rods = rods_page(job, found)
        yield Page(rods.title, (*rods.blocks, *level_blocks(job, found)), flows=True)
    yield build_page(job, found, sheet)
    yield from built_page(job, found, sheet)
    yield work_page(job)
