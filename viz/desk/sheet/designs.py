"""Two designs of one yard beside each other: an earlier state of the document, and it as it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import grading
from grading.comparison.figures import JOB, Figure
from grading.comparison.model import Comparison, compared
from grading.comparison.words import (
    below_headline,
    changes,
    figure_rows,
    headline,
    of_area,
    seen_words,
    telling_both,
    turned_words,
    written_words,
)
from grading.errors import GradingError
from grading.kept import Kept
from grading.reading.site_file import read_site
from viz.desk.blocks import Block, Fold, Say, Table, records
from viz.desk.seen import Seen
from viz.desk.written.document import Document
from viz.desk.written.journal import Journal
from viz.desk.written.shadow import Shadow
from viz.scratch import scratch_folder
from viz.words.plain import opened, stopped

NO_PLAN = "There is no plan now that an earlier design could stand beside."
GONE = "That state is not kept any more."
WHOLE = "the whole job"
_MONEY = "money"


def compare(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return what differs between an earlier state and the document as it is.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `rev`, the revision of the earlier state.
    """
    if seen.plan is None or seen.stale:
        return {"words": NO_PLAN, "blocks": []}
    document = earlier(seen.folder, told.get("rev"))
    if document is None:
        return {"words": GONE, "blocks": []}
    try:
        with scratch_folder() as scratch:
            shadow = Shadow(seen.folder, scratch)
            shadow.hold(document.texts)
            then = grading.plan(read_site(shadow.home), kept=Kept())
            found = compared(then, seen.plan)
            blocks = records(_blocks(found, seen.asked.prices))
    except GradingError as error:
        return {"words": str(error), "blocks": []}
    return {"words": "", "blocks": blocks}


def earlier(folder: Path, revision: object) -> Document | None:
    """Return the document of a revision as the journal of a folder tells it, None of no such.

    Parameters
    ----------
    folder : Path
        Of the site.
    revision : object
        The number of the revision.
    """
    document = Document({})
    for entry in Journal(folder).entries():
        document = document.patched(entry.texts)
        if entry.revision == revision:
            return document
    return None


def _blocks(found: Comparison, prices: bool) -> Iterator[Block]:
    unit = found.after.site.unit
    if prices:
        yield Say(stopped(headline(found, unit)), "strong")
    yield Say(stopped(seen_words(found, unit)), "plain" if prices else "strong")
    below = below_headline(found, unit, headed=prices)
    yield from (Say(stopped(opened(said))) for said in below)
    told = [each for each in changes(found, unit) if prices or each.measure != _MONEY]
    for area in (*(each.area.name for each in found.after.areas), JOB):
        figures = of_area(tuple(told), area)
        if figures:
            yield _table(found, area or WHOLE, figures)
    same = len(found.figures) - len(changes(found, unit))
    yield Say(f"{same} of {len(found.figures)} figures are told as before.", "quiet")
    if found.turned:
        yield Say("Checks that come out otherwise:", "strong")
    for one in found.turned:
        where = f"{one.check.area}: " if one.check.area else ""
        fails = one.after is not None and one.after.status == "fail"
        yield Say(f"{where}{stopped(turned_words(one))}", "fails" if fails else "plain")
    lines = list(written_words(found))
    if lines:
        yield Fold("Written differently", [Say(stopped(line)) for line in lines])


def _table(found: Comparison, title: str, figures: tuple[Figure, ...]) -> Table:
    rows = figure_rows(figures, found.after.site.unit, telling_both(found))
    return Table((title, "then", "now", "difference"), rows)
