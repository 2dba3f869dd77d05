"""Tables of the site file as rows that open: their keys as fields, in the words of the tables."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, Literal, TypeAlias, get_args

from grading.files.fields import Table
from grading.units import counted
from viz.desk.blocks import Block, Choice, Field, Fold, Item, Items, Option
from viz.desk.seen import Seen
from viz.desk.written.document import tables
from viz.desk.yard.examples import told_with
from viz.words.plain import opened

Takes = Literal["text", "number", "list"]
Written: TypeAlias = Mapping[str, Any]
Row = Callable[[str, Written], tuple[str, str, list[Block]]]
"""Makes the title, the summary and the blocks of a table, of its way and as it is written."""


def field(
    seen: Seen, model: type[Table], at: str, written: Written, key: str, label: str,
    takes: Takes = "number",
) -> Field:  # fmt: skip
    """Return a field of a key, its hint in the words of its table.

    Parameters
    ----------
    seen : Seen
    model : type of Table
    at : str
        The way to the table.
    written : mapping
        It, as it is written.
    key, label : str
    takes : "number", "text" or "list"
    """
    told = model.model_fields[key]
    # What a name is, or an age, its label says by itself.
    hint = (
        "" if key in ("name", "age")
        else opened(told_with(told.description or "", seen.partly.unit))
    )  # fmt: skip
    return Field(
        f"{at}/{key}", label, written.get(key), hint=hint, optional=not told.is_required(),
        takes=takes,
    )  # fmt: skip


def choice(model: type[Table], at: str, written: Written, key: str, label: str) -> Choice:
    """Return the ways that a key may take, as its table has them.

    Parameters
    ----------
    model : type of Table
    at, written, key, label : as for `field`
    """
    told = model.model_fields[key]
    default = None if told.is_required() else told.default
    options = [Option(each, each) for each in _words_of(told.annotation)]
    return Choice(f"{at}/{key}", label, written.get(key, default), options)


def _words_of(annotation: Any) -> list[str]:
    """Return the words of a Literal, wherever it stands in an annotation."""
    found: list[str] = []
    for each in get_args(annotation):
        found += [each] if isinstance(each, str) else _words_of(each)
    return found


def switch(at: str, label: str, value: bool, yes: str, no: str) -> Choice:
    """Return a choice between two, of a key that is true or false."""
    return Choice(at, label, value, [Option(True, yes), Option(False, no)])


def places(at: str, written: Any, what: str = "Point") -> Block:
    """Return the places of a key that takes a point or a list of points, each typed as x, y.

    Parameters
    ----------
    at : str
        The way to the key.
    written : object
        Its value as it is written.
    what : str
        What each of them is called.
    """
    if not isinstance(written, list) or not any(isinstance(each, list) for each in written):
        return Field(at, "Where it is, as x, y", written, takes="list")
    rows = [
        Field(f"{at}/{k}", f"{what} {k + 1}", each, takes="list") for k, each in enumerate(written)
    ]
    return Fold(f"Its {counted(len(rows), what.lower())}, typed as x, y", rows)


def corners(at: str, written: Any, names: Sequence[str]) -> Block:
    """Return the corners of an outline, each typed as x, y, and the middles of its round edges.

    Parameters
    ----------
    at : str
        The way to the outline.
    written : object
        It, as it is written.
    names : sequence of str
        Letters of the corners, empty where one has none.
    """
    rows: list[Block] = []
    for k, each in enumerate(written if isinstance(written, list) else []):
        name = f"Corner {names[k] if k < len(names) and names[k] else k + 1}"
        if isinstance(each, Mapping):
            middle = Field(
                f"{at}/{k}/arc/0", f"A point of the round edge to {name.lower()}",
                (each.get("arc") or [None])[0], takes="list",
            )  # fmt: skip
            rows.append(middle)
            end = (each.get("arc") or [None, None])[-1]
            again = ", where it closes" if end == written[0] else ""
            rows.append(Field(f"{at}/{k}/arc/1", f"{name}{again}", end, takes="list"))
        else:
            rows.append(Field(f"{at}/{k}", name, each, takes="list"))
    count = len(written) if isinstance(written, list) else 0
    return Fold(f"Its {counted(count, 'corner')}, typed as x, y", rows)


def listed(seen: Seen, key: str, label: str, row: Row) -> list[Block]:
    """Return the tables of a list as rows that open; nothing where there is none.

    Parameters
    ----------
    seen : Seen
    key : str
    label : str
    row : Row
    """
    items = items_of(seen, key, row)
    return [Items(key, label, items)] if items else []


def items_of(seen: Seen, key: str, row: Row) -> list[Item]:
    """Return the tables of a list, each as a row that opens.

    Parameters
    ----------
    seen, key, row : as for `listed`
    """
    written = enumerate(tables(seen.document, key))
    return [Item(f"{key}/{k}", *row(f"{key}/{k}", each)) for k, each in written]
