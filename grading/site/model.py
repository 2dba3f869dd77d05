"""A site as its folder tells it: survey, ground, house, what bounds the finish, and areas."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import shapely
from msgspec import Struct, field
from msgspec.structs import force_setattr
from numpy.typing import NDArray

from grading.catalogue.rules import Limits
from grading.files.fields import array_of
from grading.geometry.outline import Arc
from grading.site.base_tables import BaseSystemSpec, LayerSpec
from grading.site.done_tables import Done
from grading.site.feature_tables import Access, Backfill, Feature, Frost, Laying
from grading.site.ground_table import GroundSpec
from grading.site.hold_table import Hold
from grading.site.house import House
from grading.site.level_book import LevelBook
from grading.site.step_tables import Door, Step
from grading.site.survey_tables import Benchmark, Reference
from grading.site.tables import Area, Ceiling, FinishTable, Floor, GivenPlane, Meet
from grading.site.water_tables import Downspout, Outfall, Storm
from grading.units import Unit

NOT_TOLD = array_of([])
"""Standard deviations that nobody told."""


class Reading(Struct, frozen=True):
    """How an elevation was read on a rod.

    Attributes
    ----------
    rod : float
        The reading, below zero where the rod was held upside down. [m]
    unit : str
        What the rod is marked in: "ft-in", "ft", "m", "cm" or "mm".
    setup : int
        The set-up of the instrument that it was read from, from 1 on in its file.
    hi : float
        The height of the instrument there; the elevation is this less the reading. [m]
    """

    rod: float
    unit: str
    setup: int
    hi: float


class Spots(Struct, frozen=True, eq=False):
    """The survey in force: spot elevations in the order of the file, as far as it was settled.

    Attributes
    ----------
    xyz : (n, 3) float
        Plan position and elevation. [m]
    ids, codes, notes : sequence of str
        What the file calls each spot, the number of the spot where it gives no id; and its code
        and note, empty where there is none.
    lines : sequence of int
        The line of the file that each spot is on.
    file : str
        The name of the file inside the folder.
    own_ids : tuple of str
        The ids that the file itself gives, empty where it gives none.
    read_again : tuple of int
        Spots that were read again, as the site file says.
    sd_z, sd_xy : (n,) float
        Standard deviations of the elevation, and of the place along either axis; those of a level
        and of a tape, where nothing is told. [m]
    sources : tuple of str
        The file that each spot came from; `file` where they are left out.
    readings : tuple of Reading or None
        How each was read on a rod, where a level book tells.
    """

    xyz: NDArray[np.float64]
    ids: Sequence[str] = ()
    codes: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    lines: Sequence[int] = ()
    file: str = "spots.csv"
    own_ids: tuple[str, ...] = ()
    read_again: tuple[int, ...] = ()
    sd_z: NDArray[np.float64] = field(default_factory=lambda: NOT_TOLD)
    sd_xy: NDArray[np.float64] = field(default_factory=lambda: NOT_TOLD)
    sources: tuple[str, ...] = ()
    readings: tuple[Reading | None, ...] = ()

    def __post_init__(self) -> None:
        count, limits = len(self.xyz), Limits({})
        for name, rule in (("sd_z", "level-sd"), ("sd_xy", "tape-sd")):
            if getattr(self, name) is NOT_TOLD:
                force_setattr(self, name, array_of(np.full(count, limits[rule])))
        if not self.sources:
            force_setattr(self, "sources", (self.file,) * count)
        if not self.readings:
            force_setattr(self, "readings", (None,) * count)


class Site(Struct, frozen=True, eq=False):
    """Everything that the person wrote, in SI.

    Attributes
    ----------
    folder : Path or None
        Where it was read from.
    name : str
    unit : "ft" or "m"
        What a bare number means in the files, and what drawings are written in.
    nominal : "ft" or "m"
        What sizes that nobody wrote are round in, such as the layers of a base that is built in.
    settled : tuple of str
        What was settled of the survey, a sentence for each spot.
    as_surveyed : Spots or None
        The survey as its file tells it, before anything was settled.
    limits : mapping
        The site's own limits by the name of the rule, a pair being least and greatest. [ratio or m]
    warnings : tuple of str
        What is possible but suspicious, a sentence each.
    levels : tuple of LevelBook
        The level books, as they were booked.
    benchmarks : tuple of Benchmark
    references : tuple of Reference
        What a tape was held to, beside the corners of the house.
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
    levels: tuple[LevelBook, ...] = ()
    benchmarks: tuple[Benchmark, ...] = ()
    references: tuple[Reference, ...] = ()
    holds: tuple[Hold, ...] = ()
    nominal: Unit = "ft"

    @property
    def in_force(self) -> Limits:
        """Every limit that holds on it, its own before those that are built in."""
        return Limits(self.limits, self.unit, self.nominal)

    def body(self, depth: float) -> shapely.Geometry:
        """Return the body of the house on the plan, empty where there is none: `House.polygon`."""
        return shapely.Polygon() if self.house is None else self.house.polygon(depth)

    def holds_of(self, area: str) -> tuple[Hold, ...]:
        """Return what is written to hold the edge of an area, by its name."""
        return tuple(each for each in self.holds if each.area == area)
