"""Tables of the papers as blocks of the page: the same cells, each written as it is printed."""

from __future__ import annotations

from collections.abc import Sequence

from viz.desk.blocks import Table as TableBlock
from viz.table import Table


def table_block(table: Table, label: str = "", without: Sequence[str] = ()) -> TableBlock:
    """Return a table as a block.

    Parameters
    ----------
    table : Table
    label : str
    without : sequence of str
        Beginnings of the titles of columns that are left out.
    """
    kept = [k for k, title in enumerate(table.headers) if not title.startswith(tuple(without))]
    columns = [" ".join(table.headers[k].split()) for k in kept]
    rows = [[_cell(row[k]) for k in kept] for row in table.rows]
    return TableBlock(columns, rows, label)


def _cell(value: object) -> str:
    if isinstance(value, float):
        return f"{value:,.2f}".rstrip("0").rstrip(".") if value % 1 else f"{value:,.0f}"
    return f"{value:,}" if isinstance(value, int) and not isinstance(value, bool) else str(value)
