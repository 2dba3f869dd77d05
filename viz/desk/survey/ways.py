"""The ways in which a yard is measured into the page, in blocks: typed, booked, or brought in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from grading.errors import SiteError
from viz.desk.blocks import (
    Block,
    Change,
    Choice,
    Field,
    Fold,
    Head,
    Item,
    Items,
    Option,
    Own,
    Say,
    Tool,
)
from viz.desk.seen import Seen
from viz.desk.survey.book import held_to, rods, tilt_of
from viz.desk.survey.bringing import spots_of
from viz.desk.survey.settling import Judged
from viz.desk.survey.sheets import BOOK, MOST_ROWS, SPOTS, Kind, mark_of, sheet_of, told
from viz.desk.written.document import table_at, tables
from viz.terminal.levels import tilted_words
from viz.words.plain import opened

_MOST_LINES = 2 * MOST_ROWS  # remarks and empty lines among them


def is_named(seen: Seen) -> bool:
    """Return whether a document names a survey."""
    return bool(spots_of(seen.document) or tables(seen.document, "levels"))


def measured_blocks(seen: Seen, found: Judged) -> Iterator[Block]:
    """Yield the ways in which a yard was, or may be, measured into the page.

    Parameters
    ----------
    seen : Seen
    found : Judged
        What its spots say of one another: marked in the rows that it is of.
    """
    spots, books = spots_of(seen.document), tables(seen.document, "levels")
    if not is_named(seen):
        yield Say("Nothing is measured yet. There are three ways, and they go together.")
    for name in spots:
        yield Head("Spots" if len(spots) == 1 else f"Spots of {name}")
        yield _spots(seen, name, found)
    for place, book in enumerate(books):
        yield Head("Rod readings")
        yield from _book(seen, place, book, found)
    if not spots:
        yield Fold("Type spots into a table", [_spots(seen, SPOTS.new, found, "spots")])
    if not books:
        name = BOOK.new if BOOK.new not in seen.files else "levels-2.csv"
        yield Fold("Book rod readings", [_booked(seen, name, fresh=True, mark="")])
    yield Tool("place-spot", "Place a spot on the plan")
    yield Fold(
        "Bring a file of points or a scan",
        [Own("ground/bring", {"key": "bring", "unit": seen.partly.unit})],
    )
    if books:
        yield Fold("What the readings hang on", list(_hung_on(seen)))


def grid(
    seen: Seen, kind: Kind, name: str, found: Judged, label: str, new: str = "", told: str = ""
) -> Own:
    """Return a file as a table to type into.

    Parameters
    ----------
    seen : Seen
    kind : Kind
    name : str
        Of the file.
    found : Judged
    label : str
        What the table is called.
    new : str
        The key that names the file once it is there; empty where the document names it already.
    told : str
        What is said in the place of a table that is too long.
    """
    return Own(
        "ground/spots",
        {"key": f"table {name}", "name": name, "kind": kind.name, "label": label, "told": told,
         "mark": mark_of(seen.files.get(name, "")),
         "naming": [Change(new, name).record()] if new else [],
         "marked": [] if told else marked(seen, name, kind, found)},
    )  # fmt: skip


def _spots(seen: Seen, name: str, found: Judged, new: str = "") -> Own:
    text = seen.files.get(name)
    long = not new if text is None else text.count("\n") > _MOST_LINES
    return grid(seen, SPOTS, name, found, "Spots", new, _told_file(seen, name) if long else "")


def _told_file(seen: Seen, name: str) -> str:
    """Return what is said of a file that is too long for a table."""
    spots = seen.partly.spots
    count = 0 if spots is None else spots.sources.count(name)
    return f"{name} holds {count:,} spots: too many for a table, so it is read as it lies."


def marked(seen: Seen, name: str, kind: Kind, found: Judged) -> list[dict[str, Any]]:
    """Return what is said of single rows of a file that can be read: each by its line.

    Parameters
    ----------
    seen : Seen
    name : str
        Of the file.
    kind : Kind
    found : Judged
    """
    try:
        reads = kind.reads(sheet_of(seen.files.get(name, ""), name, kind).header)
    except SiteError:
        return []
    wrong = [each for each in told(seen.problems, name, reads) if each["line"] is not None]
    level = reads.index("z") if "z" in reads else None
    odd = [
        {"line": line, "column": level, "words": words}
        for source, line, words in found.odd
        if source == name
    ]
    return [
        *({**each, "tone": "fails"} for each in wrong),
        *({**each, "tone": "look"} for each in odd),
        *({"line": line, "column": None, "words": opened(words), "tone": "settled"}
          for source, line, words in found.closed.values() if source == name),
    ]  # fmt: skip


def _book(seen: Seen, place: int, book: Mapping[str, Any], found: Judged) -> Iterator[Block]:
    name = book.get("file")
    if not isinstance(name, str):
        return
    text = seen.files.get(name, "")
    yield _booked(seen, name, fresh=False, mark=mark_of(text), rod=book.get("rod", ""))
    yield Fold("The book as a table", [grid(seen, BOOK, name, found, "Level book")])
    yield Fold(
        "The rod and the tape",
        [
            Choice(f"levels/{place}/rod", "The rod is marked in", book.get("rod"),
                   [Option(each["to"], each["label"]) for each in rods()]),
            Choice(f"levels/{place}/placed", "Places were found", book.get("placed", "by tape"),
                   [Option("by tape", "by tape"), Option("by eye", "by eye")]),
        ],
    )  # fmt: skip
    yield Fold("The two-peg test of the level", list(_two_peg(seen, place, book)))


def _two_peg(seen: Seen, place: int, book: Mapping[str, Any]) -> Iterator[Block]:
    """Yield the test that tells how far the level is out: four readings with their distances."""
    at, unit = f"levels/{place}/two_peg", seen.partly.unit
    yield Say(PEGS)
    tilt = tilt_of(seen.document, seen.folder, str(book.get("file", "")))
    if tilt is not None:
        yield Say(f"{tilted_words(tilt, unit)}.", "strong")
    held = table_at(book, "two_peg")
    form = {
        "form": "pegs", "key": f"pegs {place}", "at": at,
        "readings": _pairs(held.get("readings")), "distances": _pairs(held.get("distances")),
        "heads": [["Midway, peg one", "Midway, peg two"], ["Beside one, peg one",
                  "Beside one, peg two"]],
        "reads": "it reads", "far": f"how far off, in {unit}", "keep": "Keep the test",
        "gone": "Leave the test out" if held else "", "said": "two-peg test of the level",
    }  # fmt: skip
    yield Own("ground/forms", form)


PEGS = (
    "Set the level up midway between two pegs and read the rod on both, then near one of them, and "
    "read both again. The readings of this book are then corrected for what the level is out; "
    "each needs its distance in the book."
)


def _pairs(written: object) -> list[list[str]]:
    """Return two readings of two pegs as they are written; empty where there is none."""
    rows: list[object] = list(written) if isinstance(written, list) else []
    pairs = [list(each) if isinstance(each, list) else [] for each in rows]
    return [
        [str(pairs[k][peg]) if k < len(pairs) and peg < len(pairs[k]) else "" for peg in (0, 1)]
        for k in (0, 1)
    ]


def _booked(seen: Seen, name: str, **told: Any) -> Own:
    """Return a level book to be booked in, one that is there or a fresh one."""
    own = {"key": f"book {name}", "name": name, "unit": seen.partly.unit, "rods": rods()}
    return Own("ground/book", {**own, **told, **held_to(seen.document, seen.folder)})


def _hung_on(seen: Seen) -> Iterator[Block]:
    """Yield the benchmarks and the points that a tape is held to."""
    marks, own = tables(seen.document, "benchmark"), tables(seen.document, "reference")
    unit = seen.partly.unit
    yield Items(
        "benchmark", "Benchmarks: points whose elevation is given",
        [
            Item(f"benchmark/{k}", str(each.get("name", "")), f"{each.get('z', '')} {unit}",
                 [Field(f"benchmark/{k}/name", "Name, as the book has it", each.get("name"),
                        takes="text"),
                  Field(f"benchmark/{k}/z", "Elevation", each.get("z"))],
                 removable=len(marks) > 1)
            for k, each in enumerate(marks)
        ],
    )  # fmt: skip
    yield Items(
        "reference", "Points that a tape is held to, beside the corners of the house",
        [
            Item(f"reference/{k}", str(each.get("name", "")), _written_at(each.get("at"), unit),
                 [Field(f"reference/{k}/name", "Name", each.get("name"), takes="text"),
                  Field(f"reference/{k}/at", "Where: x, y", each.get("at"), takes="list")])
            for k, each in enumerate(own)
        ],
    )  # fmt: skip
    for what in ("reference", "benchmark"):
        form = {"form": "point", "key": f"add {what}", "what": what, "unit": unit}
        yield Own("ground/forms", form)


def _written_at(at: object, unit: str) -> str:
    return f"{', '.join(map(str, at))} {unit}" if isinstance(at, list | tuple) else ""
