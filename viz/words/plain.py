"""Plain words for the homeowner, of what has no sentence of its own: layers, patterns, levels.

Sentences are made in plain words where they are made, and no word of them is changed afterwards:
what is put in the place of a term might be part of a name.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from grading.site.model import Site


@cache
def table(name: str, file: str = "plain") -> Mapping[str, Any]:
    """Return one table of a file of words: "plain", "quote" or "field"."""
    text = Path(__file__).with_name(f"{file}.toml").read_text(encoding="utf-8")
    found = tomllib.loads(text)[name]
    assert isinstance(found, dict)
    return found


_COUNTS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")


def counted(count: int) -> str:
    """Write a count as it is said: one, two, ten as 10."""
    return _COUNTS[count] if count < len(_COUNTS) else str(count)


def things_fail(count: int) -> str:
    """Say how many things fail: one thing fails, two things fail."""
    return "one thing fails" if count == 1 else f"{counted(count)} things fail"


def stopped(sentence: str) -> str:
    """Return a sentence with a stop, where it ends in none."""
    return sentence if sentence.endswith((".", "?", "!")) else f"{sentence}."


def opened(sentence: str) -> str:
    """Return a sentence of our own, which begins with no name, with a large first letter."""
    return f"{sentence[:1].upper()}{sentence[1:]}"


def names_in(site: Site) -> tuple[str, ...]:
    """Return the names that a person wrote for what sentences are told of.

    Parameters
    ----------
    site : Site
    """
    names = [
        *(area.name for area in site.areas), *(door.name for door in site.doors),
        *(thing.name for thing in site.features), *(place.name for place in site.outfalls),
        *(spout.name for spout in site.downspouts),
    ]  # fmt: skip
    return tuple(name for name in names if name)


def begun(sentence: str, site: Site) -> str:
    """Return a sentence with a large first letter, but where it begins with a name of the site.

    A name stays as it was written, wherever it stands.
    """
    if any(sentence.startswith(name) for name in names_in(site)):
        return sentence
    return opened(sentence)
