"""The set of drawings of a plan, written to a folder."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from grading.design.area import AreaPlan
from grading.pipeline import Plan
from viz.drawings.answers import answers_of
from viz.drawings.charts.finishes import tradeoff_sheets
from viz.drawings.details.bases import bases_sheets
from viz.drawings.details.sheet import details_sheets
from viz.drawings.plan.cut_and_fill import cutfill_sheet
from viz.drawings.plan.grading import grading_sheet
from viz.drawings.plan.levels import levels_sheet
from viz.drawings.plan.water import water_sheet
from viz.drawings.section.compare import compare_sheets
from viz.drawings.section.sheet import section_sheet
from viz.file_names import area_slugs
from viz.paper.band import banded
from viz.paper.compose import Sheet
from viz.paper.page import Page, page_for
from viz.paper.players import write
from viz.signature import not_for_signature


def sheets_of(plan: Plan, area: AreaPlan, page: Page) -> Iterator[tuple[str, Sheet]]:
    """Yield the sheets of one area, each with the name of its file after the area's."""
    words = not_for_signature(plan)
    for name, sheet in _sheets_of(plan, area, page):
        yield name, banded(sheet, words)


def _sheets_of(plan: Plan, area: AreaPlan, page: Page) -> Iterator[tuple[str, Sheet]]:

    yield "section-down-the-fall", section_sheet(plan, area, "down", page)
    yield "section-across", section_sheet(plan, area, "across", page)
    for sheet in compare_sheets(plan, area, page):
        yield sheet.name, sheet
    yield "grading", grading_sheet(plan, area, page)
    yield "cut-and-fill", cutfill_sheet(plan, area, page)
    yield "levels", levels_sheet(plan, area, page)
    for sheet in details_sheets(plan, area, page):
        yield sheet.name, sheet


def answer_sheets(plan: Plan, area: AreaPlan) -> Iterator[tuple[str, Sheet]]:
    """Yield the small drawings that answer a homeowner's questions, by the name of their file."""

    words = not_for_signature(plan)
    for answer in answers_of(plan, area):
        yield f"answer-{answer.key}", banded(answer.sheet, words)


def site_sheets(plan: Plan, page: Page) -> Iterator[tuple[str, Sheet]]:
    """Yield the sheets of the whole site, each with the name of its file."""

    words = not_for_signature(plan)
    bases = [(sheet.name, sheet) for sheet in bases_sheets(plan, page)]
    for name, sheet in (*bases, ("water", water_sheet(plan, page)), *tradeoff_sheets(plan, page)):
        yield name, banded(sheet, words)


def write_drawings(
    plan: Plan, folder: Path | str, formats: Iterable[str] = ("svg", "png"),
    paper: str | None = None,
) -> list[Path]:  # fmt: skip
    """Write every drawing of every area and of the site, and return the files.

    Parameters
    ----------
    plan : Plan
    folder : Where to; made when it is not there.
    formats : Any of "svg", "png", "pdf".
    paper : "letter" or "a4"; letter for a site in feet, A4 for one in metres when left out.

    Raises ValueError for a paper or format that is not known.
    """

    folder = Path(folder)
    page = page_for(plan.site.unit, paper)
    kinds = tuple(formats)
    folder.mkdir(parents=True, exist_ok=True)
    files: list[Path] = []
    for area, name in zip(plan.areas, area_slugs(plan), strict=True):
        for ending, sheet in sheets_of(plan, area, page):
            files += write(sheet, folder / f"{name}-{ending}", kinds)
        for ending, sheet in answer_sheets(plan, area):
            files += write(sheet, folder / f"{name}-{ending}", kinds)
    for ending, sheet in site_sheets(plan, page):
        files += write(sheet, folder / ending, kinds)
    return files
