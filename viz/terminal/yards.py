"""What `fallaway plan SITES...` prints: how many yards come out how, and a line for each."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from pathlib import Path

from grading.order.days import halves
from grading.order.telling import money
from grading.signs import shortened
from grading.units import size, volume
from viz.table import Table
from viz.tables.yards import CSV, VERDICTS, Yard
from viz.words.figures import DIRT
from viz.words.screen.lines import labelled
from viz.words.screen.yards import tally_words

MOST = 40
"""Yards that have a line each; of more the worst are told."""

_NAME, _BASE = 24, 22  # letters
_NAMED = 6


def text(yards: Sequence[Yard], out: Path | None) -> str:
    """Return how many yards come out how, and a line for each, the worst first.

    Parameters
    ----------
    yards : sequence of Yard
    out : Path or None
        The folder that all of it was written to.
    """
    order = sorted(yards, key=lambda each: VERDICTS.index(each.verdict))
    shown = order[:MOST]
    cells = [_cells(each) for each in shown]
    # No column of prices where nobody made any.
    left = () if any(each["price"] for each in cells) else ("price",)
    rows = [{key: each[key] for key in each if key not in left} for each in cells]
    lines = [tally_words(each.verdict for each in yards), "", Table.of(rows).grid(2, 1)]
    reasons = [line for each in shown for line in _reasons(each)]
    if reasons:
        lines += ["", *reasons]
    if len(order) > len(shown):
        rest = f"--out DIR writes them all, {CSV} first" if out is None else f"all: {out / CSV}"
        lines += ["", f"and {len(order) - len(shown)} more; {rest}"]
    return "\n".join(lines)


def _cells(yard: Yard) -> dict[str, object]:
    made, unit = yard.figures, yard.unit
    cells: dict[str, object] = {
        "yard": shortened(yard.site, _NAME), "verdict": yard.words.partition(":")[0],
        "fails": "", "looks": "", "dig": "", "deepest": "", "bins": "", "days": "", "price": "",
        "base": "",
    }  # fmt: skip
    if made is not None and unit:
        cells |= {
            "fails": yard.fails or "", "looks": yard.looks or "", "dig": volume(made.cut, unit),
            "deepest": size(made.deepest, unit, DIRT), "bins": made.bins,
            "days": halves(made.days),
            "price": "" if made.price is None else money(made.price, made.currency),
            "base": shortened(made.base, _BASE),
        }  # fmt: skip
    return cells


def _reasons(yard: Yard) -> Iterator[str]:
    """Yield why a yard has no figures: the first of what was found, and how much more there is."""
    if yard.figures is not None:
        return
    first, *more = yard.said.splitlines() or [""]
    rest = f" (and {len(more)} more: fallaway plan tells them all)" if more else ""
    yield from labelled(shortened(yard.site, _NAME), first + rest)


def as_json(yards: Sequence[Yard]) -> str:
    """Return every row as JSON, in SI.

    Parameters
    ----------
    yards : sequence of Yard
    """
    told = {"schema": "fallaway/plans/1", "sites": [each.plain() for each in yards]}
    return json.dumps(told, indent=2, ensure_ascii=False, allow_nan=False)


def named(names: Sequence[str]) -> str:
    """Name some folders, and say how many more there are."""
    told = ", ".join(f"{each}/" for each in names[:_NAMED])
    more = len(names) - _NAMED
    return f"{told} and {more} more" if more > 0 else told
