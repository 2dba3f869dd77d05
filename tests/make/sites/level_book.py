"""Level books written for a test, as a crew writes them."""

from __future__ import annotations

from pathlib import Path

from grading.catalogue.rules import Limits
from grading.reading.level_csv import read_level_book
from grading.site.survey_tables import Benchmark, LevelsTable, same_name
from grading.survey.levels import LevelPoint, Levels, levels_from

# Textbooks have hills, and rods as long as they take.
LONGEST = 10.0


def book_of(
    folder: Path, text: str, rod: str = "m", name="levels.csv", unit="m", references=(), **keys
):
    """Write a level book and read it back."""
    path = folder / name
    path.write_text(text, encoding="utf-8")
    table = LevelsTable.model_validate({"file": name, "rod": rod, **keys}, context={"unit": unit})
    return read_level_book(path, table, unit, references, LONGEST)


def marks(unit="m", **levels):
    """Return benchmarks by their names."""
    return [
        Benchmark.model_validate({"name": name, "z": z}, context={"unit": unit})
        for name, z in levels.items()
    ]


def levelled(folder: Path, *texts: str, rod: str = "m", unit="m", limits=(), **levels) -> Levels:
    """Return level books reduced from benchmarks, each book a text."""
    books = [
        book_of(folder, text, rod, f"levels{place or ''}.csv", unit)
        for place, text in enumerate(texts)
    ]
    return levels_from(books, marks(unit, **levels), Limits(dict(limits), unit), unit)


def point_of(levels: Levels, name: str) -> LevelPoint:
    """Return the one point that a book calls by a name."""
    (found,) = (each for each in levels.points if same_name(each.name) == same_name(name))
    return found
