"""Sentences, lists and tables as plain HTML, and the line that says which plan they are of."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from viz.table import Table
from viz.words.field.away import PAPER
from viz.words.field.trench import LABELS


def plan_line(number: str, revision: int) -> str:
    """Say which plan something is of, and which revision of the document where that is known."""
    told = LABELS["plan"].format(number=number)
    return f"{told}, {PAPER['revision'].format(revision=revision)}" if revision else told


def heading(text: str, level: int = 2) -> str:
    """Return a heading."""
    return f"<h{level}>{escape(text)}</h{level}>\n"


def paragraph(text: str, kind: str = "") -> str:
    """Return a sentence; nothing of none."""
    if not text:
        return ""
    named = f' class="{kind}"' if kind else ""
    return f"<p{named}>{escape(text)}</p>\n"


def listed(sentences: Iterable[str]) -> str:
    """Return sentences as a list; nothing of none."""
    items = "".join(f"<li>{escape(each)}</li>" for each in sentences)
    return f"<ul>{items}</ul>\n" if items else ""


def tabled(table: Table, label: str, words: Sequence[int] = ()) -> str:
    """Return a table, its first column the heads of its rows.

    Parameters
    ----------
    table : Table
    label : str
        What it is called: one that is wider than the screen is moved along by keys, too.
    words : sequence of int
        Columns that are words, and may be folded.
    """
    heads = "".join(
        f'<th scope="col"{_kind(place in words)}>{escape(str(head))}</th>' if head else "<td></td>"
        for place, head in enumerate(table.headers)
    )
    rows = []
    for row in table.rows:
        cells = [f'<th scope="row">{escape(str(row[0]))}</th>']
        for place, cell in enumerate(row[1:], start=1):
            cells.append(f"<td{_kind(place in words)}>{escape(str(cell))}</td>")
        rows.append(f"<tr>{''.join(cells)}</tr>")
    return (
        f'<div class="wide" tabindex="0" role="region" aria-label="{escape(label)}">'
        f"<table><thead><tr>{heads}</tr></thead>\n"
        f"<tbody>{''.join(rows)}</tbody></table></div>\n"
    )


def _kind(words: bool) -> str:
    return ' class="words"' if words else ""
