"""The pieces that a wall is built of, how they are set, and how many courses of them it takes."""

from __future__ import annotations

from msgspec import Struct
from msgspec.structs import replace

from grading.crew.model import Crew
from grading.geometry.tolerances import SAME, whole_up
from grading.structures.holding.gravity import leaning


class WallUnit(Struct, frozen=True):
    """The pieces that a wall is built of, and how they are set. [m]

    Attributes
    ----------
    height, depth, length : float
        Of a unit; its depth is that of the wall, its length is along it.
    setback : float
        How far the face of each course stands behind that of the one below.
    cap_height, cap_length : float
    bury : float
        How deep it stands in the ground in front at the least.
    radius : float
        Of a curve that units go round unsawn.
    pipe : float
        Inner diameter of the pipe behind it.
    pad, spread : float
        How thick the pad is, and how far it reaches before, behind and past its ends.
    drain : float
        How wide the stone behind it is.
    product : str
        What its units are called; empty where the site does not say.
    """

    height: float
    depth: float
    length: float
    setback: float
    cap_height: float
    cap_length: float
    bury: float
    pad: float
    spread: float
    drain: float
    radius: float
    pipe: float
    product: str = ""

    @property
    def lean(self) -> float:
        """How far a wall of them leans back. [rad]"""
        return leaning(self.setback, self.height)

    def bury_at(self, shown: float) -> float:
        """Return how deep a wall that shows so much is buried at the least. [m]

        The greatest of `bury`, one course, and a tenth of what is shown: common practice, no
        source.
        """
        return max(self.bury, self.height, shown / 10)

    def courses(self, shown: float) -> int:
        """Return how many courses are under the caps of a wall that shows so much [m]."""
        under_cap = shown - self.cap_height + self.bury_at(shown)
        return max(whole_up(under_cap / self.height, SAME), 1)

    def buried(self, shown: float) -> float:
        """Return how deep a wall that shows so much [m] comes to be buried. [m]"""
        return self.courses(shown) * self.height + self.cap_height - shown


def unit_of(crew: Crew, given: dict[str, float] | None = None) -> WallUnit:
    """Return the units that a crew builds walls of.

    Parameters
    ----------
    crew : Crew
    given : mapping of str to float, optional
        Sizes of the site's own, by their names in `WallUnit`. [m]
    """
    usual = WallUnit(
        height=crew["wall-unit-height"],
        depth=crew["wall-unit-depth"],
        length=crew["wall-unit-length"],
        setback=crew["wall-setback"],
        cap_height=crew["wall-cap-height"],
        cap_length=crew["wall-cap-length"],
        bury=crew["wall-bury"],
        pad=crew["wall-pad"],
        spread=crew["wall-pad-spread"],
        drain=crew["wall-drain-stone"],
        radius=crew["wall-least-radius"],
        pipe=crew["underdrain-pipe"],
    )
    return replace(usual, **(given or {}))
