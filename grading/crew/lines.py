"""What is counted: a line of a take-off, of stone too, what makes some, and work to be done."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import NamedTuple

from msgspec import Struct

from grading.crew.model import Crew
from grading.units import percent

STONES = {
    "dense-graded": "dense-graded",
    "open-graded": "open-graded",
    "chips": "chips",
    "bedding sand": "bedding-sand",
}
"""The item that a layer's material is ordered as; another material is reckoned as dense-graded."""


class Line(Struct, frozen=True):
    """One line of a take-off.

    Attributes
    ----------
    item : str
        What it is ordered as; empty where nothing is bought.
    title : str
    measure : "kg", "m2", "m" or "each"
        Of `net` and `amount`.
    net, amount : float
        Without and with waste and allowances.
    how : str
        How it was reached.
    compacted, loose : float
        Volume in place, and as it comes. [m3]
    mass : float
        What it weighs. [kg]
    """

    item: str
    title: str
    measure: str
    net: float
    amount: float
    how: str
    compacted: float = 0.0
    loose: float = 0.0
    mass: float = 0.0


def with_more(
    item: str, title: str, measure: str, net: float, how: str, more: float, why: str = ""
) -> Line:
    """Return a line of so much more [ratio] than is built in, which its last words tell.

    Parameters
    ----------
    item, title, measure : str
    net : float
        What is built in; of what is measured by weight it is its mass too. [kg]
    how : str
        How it was reached.
    more : float
        What is lost, lapped or cut. [ratio]
    why : str
        What is said after that.
    """
    amount = net * (1 + more)
    words = f"{how}; {percent(more, 0)} more{why}"
    return Line(item, title, measure, net, amount, words, mass=amount if measure == "kg" else 0.0)


class Maker(NamedTuple):
    """Makes some lines of a take-off with a crew's figures, from nothing but what it is given.

    Makers that are given the same are equal, and make the same lines.

    Attributes
    ----------
    make : callable
        Of all that is given, and a crew.
    given : tuple
    """

    make: Callable[..., Iterator[Line]]
    given: tuple[object, ...]

    def lines(self, crew: Crew) -> tuple[Line, ...]:
        """Return the lines."""
        return tuple(self.make(*self.given, crew))


class Work(NamedTuple):
    """What is to be done: how much of it, by which rate, and whether the machine runs meanwhile."""

    title: str
    amount: float
    measure: str
    rate: str
    machine: bool = False


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
