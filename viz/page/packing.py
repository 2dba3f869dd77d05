"""The parts of a page as they are packed into it: each array once, as steps down its columns."""

from __future__ import annotations

import base64
import zlib
from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from viz.scene.parts import Part

FINE = 1024
"""Steps in a metre that coordinates are rounded to: a millimetre, which packs well."""

Array = NDArray[np.float64] | NDArray[np.int64]
"""Points (n, 3) [m], or cells (n, 2 or 3)."""


def packed(parts: Sequence[Part]) -> str:
    """Return parts deflated (RFC 1950) in base 64: JSON as `parts.js` reads it.

    Parameters
    ----------
    parts : sequence of Part
        One that is drawn each, in this order.

    Notes
    -----
    Neighbouring points and cells differ by little: written as differences down each column, the
    same scene takes less than half the room. No number changes.
    """
    arrays: dict[bytes, tuple[int, dict[str, Any]]] = {}

    def placed(values: Array, fine: int) -> int:
        whole = np.round(np.asarray(values, np.float64) * fine).astype(np.int64)
        key = whole.tobytes() + bytes([whole.shape[1], fine > 1])
        if key not in arrays:
            steps = np.diff(whole, axis=0, prepend=np.zeros((1, whole.shape[1]), np.int64))
            told = {"columns": whole.shape[1], "fine": fine, "steps": steps.T.ravel().tolist()}
            arrays[key] = len(arrays), told
        return arrays[key][0]

    listed = [
        {
            "points": placed(part.points, FINE), "cells": placed(part.cells, 1),
            "colour": part.colour, "line": part.width > 0, "face": part.face,
            "house": part.house, "words": part.words, "lift": part.lift, "factor": part.factor,
            "seen": sorted(f"{scene}:{view}" for scene, view in part.seen),
        }
        for part in parts
    ]  # fmt: skip
    told = {"parts": listed, "arrays": [array for _, array in arrays.values()]}
    data = zlib.compress(msgspec.json.encode(told), 9)
    return base64.b64encode(data).decode("ascii")
