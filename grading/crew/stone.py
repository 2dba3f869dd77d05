"""Stone and sand as they are ordered: by weight, with what is lost, and loose."""

from __future__ import annotations

from grading.crew.lines import Line
from grading.crew.model import Crew
from grading.units import percent

STONES = {
    "dense-graded": "dense-graded",
    "open-graded": "open-graded",
    "chips": "chips",
    "bedding sand": "bedding-sand",
}
"""The item that a layer's material is ordered as; another material is reckoned as dense-graded."""


def stone_item(material: str) -> str:
    """Return what a material is ordered as."""
    return STONES.get(material, "dense-graded")


def stone_line(material: str, title: str, compacted: float, how: str, crew: Crew) -> Line:
    """Return the line of some stone or sand that is compacted in place.

    Parameters
    ----------
    material, title : str
    compacted : float
        In place. [m3]
    how : str
        How it was reached.
    crew : Crew
    """
    item = stone_item(material)
    net = compacted * crew[f"{item}-compacted"]
    amount = net * (1 + crew[f"{item}-waste"])
    words = f"{how}; {percent(crew[f'{item}-waste'], 0)} more"
    if material not in STONES:
        words += f"; {material} counted as dense-graded"
    loose = amount / crew[f"{item}-loose"]
    return Line(item, title, "kg", net, amount, words, compacted, loose, amount)
