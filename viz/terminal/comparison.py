"""Two plans of one yard side by side, as printed in the terminal."""

from __future__ import annotations

from grading.comparison.figures import JOB, Figure
from grading.comparison.model import Comparison
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
from grading.records.comparison import comparison_record
from grading.units import counted, noun
from viz.signature import not_for_signature
from viz.table import Table
from viz.terminal.lines import in_json
from viz.words.cautions import REPORT

WHOLE = "the whole job"


def text(found: Comparison) -> str:
    """Return a comparison as it is printed: the headline, what stays, figures, checks, causes."""
    unit = found.after.site.unit
    names = found.before.site.name, found.after.site.name
    title = names[1] if names[0] == names[1] else f"{names[1]}, beside {names[0]}"
    bands = dict.fromkeys(filter(None, map(not_for_signature, (found.before, found.after))))
    parts = [title, *bands, "", headline(found, unit), seen_words(found, unit)]
    told = changes(found, unit)
    parts += below_headline(found, unit)
    for area in (*(each.area.name for each in found.after.areas), JOB):
        figures = of_area(told, area)
        if figures:
            parts += ["", _table(found, area or WHOLE, figures)]
    same = len(found.figures) - len(told)
    of = counted(len(found.figures), "figure")
    parts += ["", f"{same} of {of} {noun(same, 'is', 'are')} told as before."]
    if found.turned:
        parts += ["", "Checks that come out otherwise:"]
        parts += [f"  {_of(one.check.area)}{turned_words(one)}" for one in found.turned]
    written = list(written_words(found))
    if written:
        parts += ["", "Written differently:", *(f"  {line}" for line in written)]
    else:
        parts += ["", "Nothing was written differently in site.toml, crew.toml and their lists."]
    return "\n".join((*parts, "", REPORT))


def _of(area: str) -> str:
    return f"{area}: " if area else ""


def _table(found: Comparison, title: str, figures: tuple[Figure, ...]) -> str:
    rows = figure_rows(figures, found.after.site.unit, telling_both(found))
    return Table((title, "before", "after", "difference"), tuple(rows)).grid(1)


def as_json(found: Comparison) -> str:
    """Return a comparison as JSON, in SI."""
    return in_json(comparison_record(found))
