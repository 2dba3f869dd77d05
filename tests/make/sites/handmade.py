"""Sites made by hand for the tests, without files."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from grading.site.model import (
    Area,
    BaseSystemSpec,
    Ceiling,
    Door,
    FinishTable,
    Floor,
    GroundSpec,
    House,
    Meet,
    Site,
    Spots,
    Step,
)
from grading.units import Unit

Floats = NDArray[np.float64]
Tables = Sequence[Mapping[str, Any]]

FREE = {"objective": "least dig and refill"}
YARD = ((-2.0, -1.0), (12.0, 9.0))


def grid_of_spots(
    height: Callable[[Floats, Floats], Floats], corners: Any = YARD, spacing: float = 1.0
) -> Floats:
    """Return spots (n, 3) [m] on a grid over a rectangle, jittered so that none are aligned."""
    (left, bottom), (right, top) = corners
    x = np.linspace(left, right, round((right - left) / spacing) + 1)
    y = np.linspace(bottom, top, round((top - bottom) / spacing) + 1)
    xy = np.stack(np.meshgrid(x, y), axis=-1)
    inner = xy[1:-1, 1:-1]
    inner += np.random.default_rng(7).uniform(-0.2, 0.2, inner.shape) * spacing
    flat = xy.reshape(-1, 2)
    return np.column_stack([flat, height(flat[:, 0], flat[:, 1])])


def site_of(
    spots: Floats,
    areas: Tables,
    *,
    unit: Unit = "m",
    house: Mapping[str, Any] | None = None,
    doors: Tables = (),
    ceilings: Tables = (),
    floors: Tables = (),
    meets: Tables = (),
    steps: Tables = (),
    finish: Mapping[str, Any] | None = None,
    bases: Tables = (),
    ground: GroundSpec | None = None,
    limits: Mapping[str, Any] | None = None,
) -> Site:
    """Return a site whose tables are as in a file, in its unit; spots and ground in metres.

    Without `finish` its areas are left free, and their finish takes the least dig and refill; with
    an empty one they lie on grade.
    """
    context = {"unit": unit}

    def read(model: Any, table: Mapping[str, Any]) -> Any:
        return model.model_validate(table, context=context)

    return Site(
        folder=None,
        name="test yard",
        unit=unit,
        spots=Spots(
            xyz=np.asarray(spots, dtype=float),
            ids=tuple(str(number + 1) for number in range(len(spots))),
            codes=("",) * len(spots),
            notes=("",) * len(spots),
            lines=tuple(range(2, len(spots) + 2)),
        ),
        ground=ground or GroundSpec(),
        house=None if house is None else read(House, house),
        doors=tuple(read(Door, table) for table in doors),
        ceilings=tuple(read(Ceiling, table) for table in ceilings),
        floors=tuple(read(Floor, table) for table in floors),
        meets=tuple(read(Meet, table) for table in meets),
        steps=tuple(read(Step, table) for table in steps),
        finish=read(FinishTable, FREE if finish is None else finish),
        areas=tuple(read(Area, table) for table in areas),
        systems=tuple(read(BaseSystemSpec, table) for table in bases),
        limits=dict(limits or {}),
    )


WALL = {"walls": [[-1, 0], [11, 0]], "inside": [5, -3]}
"""A foundation wall along y = 0, the yard on the side of +y."""

PATIO = {"name": "patio", "outline": [[1, 0], [9, 0], [9, 5], [1, 5]], "base": "dense"}
"""A patio 8 m by 5 m against that wall."""
