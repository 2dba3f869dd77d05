"""What in a level book is worth a second look: nothing read again, another rod, long sights."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from grading.catalogue.rules import Limits
from grading.site.level_book import BookRow, LevelBook
from grading.survey.closure import Closure
from grading.survey.reduction import Reduction
from grading.units import Unit, run, size
from grading.units.rods import has_own_unit


def book_warnings(
    books: Sequence[LevelBook], levels: Reduction, limits: Limits, unit: Unit
) -> Iterator[str]:
    """Give a sentence for each reading on another rod, and each unequal pair of sights.

    Parameters
    ----------
    books : sequence of LevelBook
    levels : Reduction
    limits : Limits
    unit : "ft" or "m"
        What the sentences are written in.
    """
    for book in books:
        yield from _of_book(book, unit)
    yield from _unbalanced(books, levels, limits["sight-balance"], unit)


def close_calls(closures: Sequence[Closure], names: Mapping[str, str], unit: Unit) -> Iterator[str]:
    """Give a sentence for each closure that is within its limit and worth a second look."""
    for each in closures:
        if each.status == "warn":
            closing = each.closing
            yield (
                f"{names[closing.sight.point]} is found {size(abs(each.off), unit)} off when it is "
                f"read again ({closing.file}, line {closing.sight.row.line}): within the limit of "
                f"{size(each.limit, unit)}, and worth a second look"
            )


def not_read_again(
    levels: Reduction, closures: Sequence[Closure], names: Mapping[str, str]
) -> Iterator[str]:
    """Tell of set-ups that no closing looks at: a tripod that was bumped would not show."""
    checked = {place for each in closures for place in each.closing.path}
    files = dict.fromkeys(setup.file for setup in levels.setups)
    for file in files:
        own = [place for place, setup in enumerate(levels.setups) if setup.file == file]
        bare = [place for place in own if place not in checked]
        bench = names[levels.setups[own[0]].sights[0].point]
        if len(bare) == len(own):
            yield (
                f"{file}: no benchmark was read again at the end, so a tripod that was bumped or a "
                f"rod that slipped would not show. Read {bench} last"
            )
        elif bare:
            numbers = ", ".join(str(levels.setups[place].number) for place in bare)
            yield f"{file}: nothing was read again from set-up {numbers}, so nothing checks it"
        last = levels.setups[own[-1]]
        closing = [
            at for at, sight in enumerate(last.sights)
            if any(each.closing.sight is sight for each in closures)
        ]  # fmt: skip
        after = len(last.sights) - 1 - closing[-1] if closing else 0
        if after:
            what = "reading was" if after == 1 else "readings were"
            yield f"{file}: {after} {what} taken after the benchmark was read again. Read it last"


def _of_book(book: LevelBook, unit: Unit) -> Iterator[str]:
    """Tell of readings in another unit than the rod's, and of a rod that is hardly so marked."""
    family = "ft" if book.rod.startswith("ft") else "m"
    other = [
        row.line
        for row in book.rows
        for word in row.written
        if has_own_unit(word) not in ("", family)
    ]
    if other:
        what = {"ft": "feet or inches", "m": "metres"}
        yield (
            f"{book.file}, line {other[0]}: a reading in {what['m' if family == 'ft' else 'ft']} "
            f"in a book of a rod in {what[family]}: was it read on another rod?"
        )
    readings = [abs(float(each)) for row in book.rows for each in _read(row)]
    if readings and max(readings) < 0.1:
        yield (
            f"{book.file}: the longest reading is {size(max(readings), unit)}: is "
            f'rod = "{book.rod}" what the rod is marked in?'
        )
    if book.collimation is not None and any(
        row.distance is None for row in book.rows if _read(row)
    ):
        yield f"{book.file}: readings without a distance are not corrected for what the pegs told"


def _read(row: BookRow) -> list[Fraction]:
    return [each for each in (row.back, row.inter, row.fore) if each is not None]


def _unbalanced(
    books: Sequence[LevelBook], levels: Reduction, most: float, unit: Unit
) -> Iterator[str]:
    tested = {book.file for book in books if book.collimation is not None}
    for setup in levels.setups:
        back = setup.sights[0].row.distance
        if setup.file in tested or back is None:
            continue
        for sight in setup.sights[1:]:
            fore = sight.row.distance
            if sight.kind == "foresight" and fore is not None and abs(float(back - fore)) > most:
                yield (
                    f"{setup.file}, line {sight.row.line}: the backsight of set-up {setup.number} "
                    f"is {run(float(back), unit)} long and its foresight {run(float(fore), unit)}: "
                    "an instrument out of adjustment shows in the difference. Test it on two pegs"
                )
