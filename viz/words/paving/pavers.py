"""What is laid: how large its units are, in which pattern, with which joints."""

from __future__ import annotations

from grading.site.paver_table import Pavers
from grading.units import Unit, inches, millimetres, size
from viz.words.plain import table


def face_words(pavers: Pavers, unit: Unit) -> str:
    """Write the face of a paver, its width first: 4 × 8 in."""
    told, mark = (inches, " in") if unit == "ft" else (millimetres, " mm")
    return f"{told(pavers.width).removesuffix(mark)} × {told(pavers.length)}"


def laid_words(pavers: Pavers, filled: str, unit: Unit) -> str:
    """Say what is laid: 4 × 8 in, running bond ..., joints 1/8 in, filled with ...

    Parameters
    ----------
    pavers : Pavers
    filled : str
        What its joints are filled with, in plain words.
    unit : "ft" or "m"
    """
    words = (
        f"{face_words(pavers, unit)}, {table('pattern')[pavers.pattern]}, "
        f"joints {size(pavers.joint, unit)}, {filled}"
    )
    if pavers.soldier == "all":
        return f"{words}, a border row all round"
    return f"{words}, a border row along some edges" if pavers.soldier else words
