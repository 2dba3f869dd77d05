"""How a line of the first screen is set: behind its label, folded under its own beginning."""

from __future__ import annotations

import textwrap

WIDE = 100
"""Columns of the first screen."""

LINES = 14
"""Lines of the first screen; every failure is told with its first mend, past them if need be."""

MOST_LOOKS = 3
"""Of more looks the first two are told, and how many more there are."""

LABEL = 5
"""Letters of what stands before each line."""


def labelled(label: str, words: str, most: int | None = None) -> list[str]:
    """Return the lines of something said behind a label, folded under its own beginning.

    Parameters
    ----------
    label, words : str
    most : int, optional
        So many lines at the most; what is left out is then said to stand in the rest.
    """
    indent = " " * (LABEL + 3)
    made = textwrap.wrap(
        words, WIDE, initial_indent=f"{label.rjust(LABEL + 1)}  ", subsequent_indent=indent,
        break_long_words=False, break_on_hyphens=False, max_lines=most, placeholder=" ... --full",
    )  # fmt: skip
    return made or [label.rjust(LABEL + 1)]
