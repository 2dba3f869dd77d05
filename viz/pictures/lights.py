"""How a scene is lit, in a still and in a browser alike."""

from __future__ import annotations

from typing import Any

import numpy as np

from grading.geometry.arrays import Floats, unit_vector
from viz.pictures.camera import ANGLE, Eye

BACKGROUND = "#f4f1ea"

AMBIENT = 0.5
DIFFUSE = 0.7

_AWAY = 100.0  # m: lights shine in one direction


def lights_of(eye: Eye) -> list[tuple[Floats, float]]:
    """Return where each light stands (3,) and how strong it is, all shining at what the eye sees.

    The sun high at the left, and a little light from the right for what is in its shade.

    Parameters
    ----------
    eye : Eye
    """
    right, _, back = eye.axes
    level = np.append(unit_vector(back[:2]), 0.0)
    zenith = np.array([0.0, 0.0, 1.0])
    return [
        (eye.target + _AWAY * direction, strength)
        for direction, strength in (
            (0.8 * zenith + 0.35 * level - 0.5 * right, 0.8),
            (0.3 * zenith + 0.5 * level + 0.7 * right, 0.25),
        )
    ]


def lit(back: Floats) -> dict[str, Any]:
    """Return how stills are taken and lit, as `space.js` reads it.

    Parameters
    ----------
    back : (3,) float
        The way to the eye that the lights stand as for. [drawn space]
    """
    eye = Eye(np.asarray(back, float), np.zeros(3), np.array([0.0, 0.0, 1.0]))
    return {
        "angle": ANGLE,
        "background": BACKGROUND,
        "ambient": AMBIENT,
        "lights": [
            {"towards": place.tolist(), "strength": DIFFUSE * strength}
            for place, strength in lights_of(eye)
        ],
    }
