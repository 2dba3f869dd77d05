"""The trench of a pipe or a channel: what is dug below the ground and below the paving's hole."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
from msgspec import Struct

from grading.geometry.arrays import Floats
from grading.geometry.tolerances import SOLVED
from grading.structures.drains.leading import DAYLIGHT, EVERY, Yard
from grading.structures.drains.model import Cover, PipeRun
from grading.structures.model import Dug


class Trench(Struct, frozen=True):
    """A trench.

    Attributes
    ----------
    dug : Dug
        Beyond the hole of the paving, and below it.
    stone : float
        Bedding under the pipe, and all of the trench under paving, less the pipe. [m3]
    lawn : float
        Plan area of lawn that it goes through. [m2]
    cover : Cover or None
        None where it goes through no lawn.
    """

    dug: Dug
    stone: float
    lawn: float
    cover: Cover | None


NONE = Trench(Dug(), 0.0, 0.0, None)
"""No trench."""


def trench_of(yard: Yard, run: PipeRun, width: float, bed: float, filled: float = 0.0) -> Trench:
    """Return the trench of a run.

    Parameters
    ----------
    yard : Yard
    run : PipeRun
    width : float
        [m]
    bed : float
        Below the invert. [m]
    filled : float
        Section of what is neither stone nor soil in it: a pipe's own where it is left out. [m2]

    Notes
    -----
    Station by station along its middle: a trench is narrow, and soil is told by the inch.
    """
    xy, invert = run.stations(EVERY)
    steps = np.hypot(*np.diff(xy, axis=0).T)
    middle = (xy[1:] + xy[:-1]) / 2
    top, paved = yard.tops(middle)
    bottom = (invert[1:] + invert[:-1]) / 2 - bed
    deep = np.maximum(top - bottom, 0.0)
    soft = np.where(paved, 0.0, np.minimum(yard.organics(middle), deep))
    own = filled or math.pi * run.size**2 / 4
    bank, topsoil = (float((each * steps).sum()) * width for each in (deep, soft))
    under = float((deep * steps)[paved].sum()) * width
    far = run.length - np.cumsum(steps) + steps / 2
    lawn = ~paved
    bedding = float((np.minimum(bed, deep) * steps)[lawn].sum()) * width
    taken = float((np.where(deep > 0, own, 0.0) * steps)[lawn].sum())
    put_back = max(bank - under - topsoil - bedding - taken, 0.0)
    sunk = float((np.where(deep > 0, own, 0.0) * steps)[paved].sum())
    covers = top - (bottom + bed) - run.size
    shallow = far[lawn & (covers < yard.plan.limits["pipe-cover"] - SOLVED)]
    short = float(shallow.max(initial=0.0))
    deeper = covers[lawn & (far > max(short, DAYLIGHT))]
    return Trench(
        Dug(bank, topsoil, put_back),
        bedding + max(under - sunk, 0.0),
        float(steps[lawn & (deep > 0)].sum()) * width,
        Cover(float(deeper.min()) if len(deeper) else 0.0, short) if lawn.any() else None,
    )


def turns_of(line: Floats, least: float = math.radians(10)) -> tuple[float, ...]:
    """Return the angles that a line turns by, those that are hardly any left out. [rad]"""
    ways = np.diff(line, axis=0)
    ways = ways[np.hypot(*ways.T) > 0]
    turned = [
        math.acos(min(1.0, max(-1.0, float(a @ b) / float(np.hypot(*a) * np.hypot(*b)))))
        for a, b in pairwise(ways)
    ]
    return tuple(angle for angle in turned if angle > least)
