"""A site as its folder tells it: survey, ground, house, what bounds the finish, and areas."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from grading.geometry.outline import Arc
from grading.site.base_tables import BaseSystemSpec, LayerSpec
from grading.site.done_tables import Done
from grading.site.feature_tables import Access, Backfill, Feature, Frost, Laying
from grading.site.house import House
from grading.site.tables import (
    Area,
    Ceiling,
    Door,
    FinishTable,
    Floor,
    GivenPlane,
    GroundSpec,
    Meet,
    Step,
)
from grading.site.water_tables import Downspout, Outfall, Storm
from grading.units import Unit


@dataclass(frozen=True, eq=False)
class Spots:
    """The survey in force: spot elevations in the order of the file, as far as it was settled.

    Attributes
    ----------
    xyz : (n, 3) float
        Plan position and elevation. [m]
    ids, codes, notes : tuple of str
        What the file calls each spot, the number of the spot where it gives no id; and its code
        and note, empty where there is none.
    lines : tuple of int
        The line of the file that each spot is on.
    file : str
        The name of the file inside the folder.
    own_ids : tuple of str
        The ids that the file itself gives, empty where it gives none.
    read_again : tuple of int
        Spots that were read again, as the site file says.
    """

    xyz: NDArray[np.float64]
    ids: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    lines: tuple[int, ...] = ()
    file: str = "spots.csv"
    own_ids: tuple[str, ...] = ()
    read_again: tuple[int, ...] = ()


@dataclass(frozen=True, eq=False)
class Site:
    """Everything that the person wrote, in SI.

    Attributes
    ----------
    folder : Path or None
        Where it was read from.
    name : str
    unit : "ft" or "m"
        What a bare number means in the files, and what drawings are written in.
    settled : tuple of str
        What was settled of the survey, a sentence for each spot.
    as_surveyed : Spots or None
        The survey as its file tells it, before anything was settled.
    limits : mapping
        The site's own limits by the name of the rule, a pair being least and greatest. [ratio or m]
    warnings : tuple of str
        What is possible but suspicious, a sentence each.
    """

    folder: Path | None
    name: str
    unit: Unit
    spots: Spots
    ground: GroundSpec = field(default_factory=GroundSpec)
    house: House | None = None
    doors: tuple[Door, ...] = ()
    ceilings: tuple[Ceiling, ...] = ()
    floors: tuple[Floor, ...] = ()
    meets: tuple[Meet, ...] = ()
    steps: tuple[Step, ...] = ()
    finish: FinishTable = field(default_factory=FinishTable)
    outfalls: tuple[Outfall, ...] = ()
    downspouts: tuple[Downspout, ...] = ()
    storm: Storm | None = None
    areas: tuple[Area, ...] = ()
    systems: tuple[BaseSystemSpec, ...] = ()
    limits: Mapping[str, float | tuple[float, float]] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    settled: tuple[str, ...] = ()
    as_surveyed: Spots | None = None
    features: tuple[Feature, ...] = ()
    access: Access = field(default_factory=lambda: Access.model_validate({}))
    backfill: Backfill = field(default_factory=lambda: Backfill.model_validate({}))
    frost: Frost | None = None
    done: Done | None = None
    laying: Laying = field(default_factory=lambda: Laying.model_validate({}))
