"""Invented yards as a scanner sees them: grass, bushes, strays, and the ground that is there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Yard:
    """A rolling yard of 30 by 20 m, less or more with `scale`."""

    width: float = 30.0
    depth: float = 20.0
    fall: float = 0.04
    noise: float = 0.006

    def z(self, x, y):
        """Return the true ground. [m]"""
        x, y = np.asarray(x, float), np.asarray(y, float)
        return (
            -self.fall * y + 0.06 * np.sin(x / 4) + 0.04 * np.cos(y / 3) + 0.01 * x
        )  # fmt: skip

    def scan(self, count: int, seed: int = 1) -> np.ndarray:
        """Return points (count, 3): lawn on the left third, bushes, and stray points below."""
        rng = np.random.default_rng(seed)
        xy = rng.uniform([0, 0], [self.width, self.depth], (count, 2))
        z = self.z(*xy.T) + rng.normal(0, self.noise, count)
        grass = (xy[:, 0] < self.width / 3) & (rng.uniform(size=count) < 0.8)
        z[grass] += rng.uniform(0.01, 0.12, grass.sum())
        for x, y, radius in ((14, 5, 0.5), (22, 12, 0.8), (25, 4, 0.4), (6, 14, 0.6)):
            bush = np.hypot(xy[:, 0] - x, xy[:, 1] - y) < radius
            z[bush] += rng.uniform(0.05, 1.2, bush.sum())
        low = rng.uniform(size=count) < 2e-4
        z[low] -= rng.uniform(0.1, 2.0, low.sum())
        return np.column_stack([xy, z])

    def off(self, xyz: np.ndarray) -> np.ndarray:
        """Return how far levels (n, 3) lie over the ground, bushes and what is by them left out."""
        clear = np.ones(len(xyz), bool)
        for x, y, radius in ((14, 5, 0.5), (22, 12, 0.8), (25, 4, 0.4), (6, 14, 0.6)):
            clear &= np.hypot(xyz[:, 0] - x, xyz[:, 1] - y) > radius + 0.5
        return (xyz[:, 2] - self.z(xyz[:, 0], xyz[:, 1]))[clear]
