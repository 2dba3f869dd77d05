"""What a thing of the site is called that its file gives no name: its kind in the trade's word."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import count

from grading.files.fields import Table

_WORDS = {
    "door": "door",
    "meet": "existing paving",
    "downspout": "downspout",
    "outfall neighbour": "neighbour's lot",
    "ceiling other": "upper limit",
    "floor other": "lower limit",
    "feature other": "feature",
}
"""The word for a table, or for a kind in it, where the kind is not itself the word."""


def word_for(table: str, kind: str = "") -> str:
    """Return what the trade calls a thing.

    Parameters
    ----------
    table : str
        The table of the site file that it is in, such as "feature".
    kind : str
        Its kind there, such as "hot tub"; empty in a table of one kind.
    """
    return _WORDS.get(f"{table} {kind}") or _WORDS.get(table) or kind


def given_names(names: Sequence[str], words: Sequence[str]) -> list[str]:
    """Return a name for each thing: its own, or its word, numbered where there are several.

    Parameters
    ----------
    names : sequence of str
        Its own, empty where it has none.
    words : sequence of str
        As `word_for` gives them.

    Notes
    -----
    No two things have one name unless the file gives it to both: where the word is the name of
    another thing, the numbers begin with 2.
    """
    taken = {name.casefold() for name in names if name}
    numbers = {word: _numbered(word, taken) for word in words}
    several = {word: _unnamed(word, names, words) > 1 for word in words}
    found = []
    for name, word in zip(names, words, strict=True):
        alone = not several[word] and word.casefold() not in taken
        found.append(name or (word if alone else next(numbers[word])))
    return found


def _unnamed(word: str, names: Sequence[str], words: Sequence[str]) -> int:
    return sum(not name and other == word for name, other in zip(names, words, strict=True))


def _numbered(word: str, taken: set[str]) -> Iterator[str]:
    for number in count(2 if word.casefold() in taken else 1):
        if f"{word} {number}".casefold() not in taken:
            yield f"{word} {number}"


def names_of(tables: Mapping[str, Table]) -> dict[str, str]:
    """Return a name for every table of a site file that may have one, by its key.

    Parameters
    ----------
    tables : mapping of str to Table
        All of them, by keys such as "feature[2]", so that no two are called alike.
    """
    words = [
        word_for(key.partition("[")[0], getattr(table, "kind", "")) for key, table in tables.items()
    ]
    names = given_names([getattr(table, "name", "") for table in tables.values()], words)
    return dict(zip(tables, names, strict=True))
