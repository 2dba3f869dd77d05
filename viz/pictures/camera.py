"""Where the eye stands so that a box fills a picture, and where points come to lie in it."""

from __future__ import annotations

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats

ANGLE = 24.0
"""Angle of view from the bottom of a picture to its top. [degrees]"""


class Eye(Struct, frozen=True):
    """A camera that is set up: position, target and up (3,), in drawn space."""

    position: Floats
    target: Floats
    up: Floats

    @property
    def axes(self) -> Floats:
        """Right, up and backward of the picture as rows, (3, 3)."""
        back = self.position - self.target
        back = back / np.linalg.norm(back)
        right = np.cross(self.up, back)
        right = right / np.linalg.norm(right)
        return np.stack([right, np.cross(back, right), back])

    def pixels(self, points: Floats, size: tuple[int, int]) -> Floats:
        """Return where points (n, 3) come to lie, (n, 2), from the top left. [pixels]"""
        seen = (points - self.position) @ self.axes.T
        half = np.tan(np.radians(ANGLE / 2))
        scale = size[1] / 2 / half / -seen[:, 2]
        return np.column_stack([size[0] / 2 + seen[:, 0] * scale, size[1] / 2 - seen[:, 1] * scale])


def plan_axes(eye: Eye, length: float) -> Floats:
    """Return how the site's x and y run in a picture: two steps (2, 2), down the page positive.

    The longer of them is `length` long. [pixels]
    """
    steps = (eye.axes[:2, :2] * np.array([[1.0], [-1.0]])).T
    return np.asarray(steps * length / np.hypot(*steps.T).max())


def eye_for(direction: Floats, points: Floats, aspect: float, room: float = 1.04) -> Eye:
    """Stand where all points are just in the picture.

    Parameters
    ----------
    direction : (3,) float
        Unit vector from what is seen to the eye.
    points : (n, 3) float
        What is to be seen, in drawn space.
    aspect : float
        Width of the picture over its height.
    room : float
        How much larger than the points the picture is.
    """
    up = np.array([0.0, 0.0, 1.0])
    axes = Eye(direction, np.zeros(3), up).axes
    half = np.tan(np.radians(ANGLE / 2)) / room
    reach = np.array([half * aspect, half])
    # Each way by itself: the least and most of a long row are found many times as fast.
    local = np.ascontiguousarray((points @ axes.T).T)
    middle = (local.min(axis=1) + local.max(axis=1)) / 2
    # Moving the target changes what is far and near, so a few rounds settle both.
    for _ in range(20):
        offset = local - middle[:, None]
        distance = float((np.abs(offset[:2]) / reach[:, None] + offset[2]).max())
        flat = offset[:2] / (distance - offset[2])
        middle[:2] += (flat.min(axis=1) + flat.max(axis=1)) / 2 * distance
    target = middle @ axes
    return Eye(target + distance * direction, target, up)


def box_corners(box: Floats) -> Floats:
    """Return the eight corners of a box (2, 3)."""
    return np.stack(np.meshgrid(*box.T, indexing="ij"), axis=-1).reshape(-1, 3)
