"""A plane over the site, and how water runs on it."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats


class Plane(Struct, frozen=True):
    """The plane z = z0 + dzdx x + dzdy y. [m, ratio, ratio]"""

    z0: float
    dzdx: float
    dzdy: float

    @classmethod
    def through(cls, at: Floats, z: float, fall: float, bearing: float) -> Plane:
        """Return the plane through a point that falls along a bearing.

        Parameters
        ----------
        at : (2,) float
            The point. [m]
        z : float
            Its level. [m]
        fall : float
            Ratio, positive downhill.
        bearing : float
            Degrees clockwise from +y, the direction in which water runs.
        """
        turn = np.radians(bearing)
        dzdx, dzdy = -fall * np.sin(turn), -fall * np.cos(turn)
        return cls(float(z - dzdx * at[0] - dzdy * at[1]), float(dzdx), float(dzdy))

    @property
    def gradient(self) -> Floats:
        """Rise per metre along x and y, (2,). [ratio]"""
        return np.array([self.dzdx, self.dzdy])

    @property
    def fall(self) -> float:
        """Steepest fall, at least 0. [ratio]"""
        return float(np.hypot(self.dzdx, self.dzdy))

    @property
    def bearing(self) -> float:
        """Direction in which water runs, degrees clockwise from +y; 0 on a level plane."""
        if self.fall == 0:
            return 0.0
        return float(np.degrees(np.arctan2(-self.dzdx, -self.dzdy)) % 360)

    @property
    def downhill(self) -> Floats:
        """Unit vector in which water runs, (2,); zero on a level plane."""
        return -self.gradient / self.fall if self.fall else np.zeros(2)

    def at(self, xy: Floats) -> Floats:
        """Return levels at points (k, 2). [m]"""
        points = np.asarray(xy, dtype=float)
        return np.asarray(self.z0 + points @ self.gradient)

    def lowered(self, depth: float) -> Plane:
        """Return the plane straight below by a depth. [m]"""
        return Plane(self.z0 - depth, self.dzdx, self.dzdy)

    def fall_along(self, direction: Floats) -> float:
        """Return the fall for each metre along a unit vector, negative uphill. [ratio]"""
        return float(-(self.gradient @ direction))
