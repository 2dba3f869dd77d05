"""What a board's own stiffness does to a load on it: a plate, or a strip, on springs of soil.

It counts only where its maker states a modulus: a board of plastic foam bends over its own
thickness or so, and what it spreads is then little. The soil is Winkler's: it pushes back by how
far it is pressed in, so that the pressure under a board is its subgrade modulus times how far the
board sinks.
"""

from __future__ import annotations

from math import cos, exp, sin, sqrt

from msgspec import Struct


class Board(Struct, frozen=True):
    """A board on soil: thickness [m], modulus [Pa], Poisson's ratio, subgrade modulus [Pa/m]."""

    thickness: float
    modulus: float
    poisson: float
    subgrade: float

    @property
    def rigidity(self) -> float:
        """Of the board in bending. [N m]"""
        return self.modulus * self.thickness**3 / (12 * (1 - self.poisson**2))

    @property
    def reach(self) -> float:
        """The radius of relative stiffness: how far the board spreads a load beside it. [m]

        Source: Westergaard, Stresses in Concrete Pavements (1926): the fourth root of rigidity
        over subgrade modulus.
        """
        return float((self.rigidity / self.subgrade) ** 0.25)

    def amid(self, radius: float) -> float:
        """Return pressure under the middle of a round load amid a board, over that on the board.

        Parameters
        ----------
        radius : float
            Of the load. [m]

        Notes
        -----
        1 + a ker'(a), with a the radius over the reach: Schleicher's plate of no end (1926); for
        a small a it is Westergaard's deflection of a slab loaded in its interior.
        """
        from scipy.special import kerp  # only where a modulus is stated

        a = radius / self.reach
        return float(1 + a * kerp(a))

    def at_edge(self, length: float) -> float:
        """Return pressure under a free edge that a load stands on, over that on the board.

        Parameters
        ----------
        length : float
            Of the load, back from the edge. [m]

        Notes
        -----
        1 + exp(-x) (sin x - cos x), with x the length over the reach and over root 2: the end of a
        beam of no end (Hetenyi, Beams on Elastic Foundation, 1946). A strip as wide as the load is
        taken by itself: what the board beside it carries is left out.
        """
        x = length / (sqrt(2) * self.reach)
        return 1 + exp(-x) * (sin(x) - cos(x))
