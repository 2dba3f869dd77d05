"""What can be read of a site that cannot be planned yet: each table by itself, so far as it goes.

A yard is drawn before its survey is there, and stays in view while something in it is wrong.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, TypeVar

from msgspec import Struct, field

from grading.errors import Problem
from grading.files.fields import Table
from grading.reading.limits import own_limits
from grading.reading.survey_files import read_survey
from grading.reading.written import Written
from grading.site.feature_tables import Feature
from grading.site.house import House
from grading.site.model import Site, Spots
from grading.site.step_tables import Door, Step
from grading.site.survey_tables import Benchmark, Reference
from grading.site.tables import Area, Ceiling, Floor, Meet
from grading.site.water_tables import Downspout, Outfall
from grading.units import Unit

Read = TypeVar("Read", bound=Table)


class Partly(Struct, frozen=True, eq=False):
    """The tables of a site that can be read, each list by the way to its entry: "door/0".

    Attributes
    ----------
    unit : "ft" or "m"
    house : House or None
    spots : Spots or None
        The survey as its files tell it.
    """

    unit: Unit
    house: House | None = None
    spots: Spots | None = None
    areas: Mapping[str, Area] = field(default_factory=dict)
    doors: Mapping[str, Door] = field(default_factory=dict)
    ceilings: Mapping[str, Ceiling] = field(default_factory=dict)
    floors: Mapping[str, Floor] = field(default_factory=dict)
    meets: Mapping[str, Meet] = field(default_factory=dict)
    steps: Mapping[str, Step] = field(default_factory=dict)
    outfalls: Mapping[str, Outfall] = field(default_factory=dict)
    downspouts: Mapping[str, Downspout] = field(default_factory=dict)
    features: Mapping[str, Feature] = field(default_factory=dict)
    benchmarks: Mapping[str, Benchmark] = field(default_factory=dict)
    references: Mapping[str, Reference] = field(default_factory=dict)


def partly_of(site: Site) -> Partly:
    """Return all of a site that could be read.

    Parameters
    ----------
    site : Site
    """
    return Partly(
        unit=site.unit, house=site.house, spots=site.as_surveyed or site.spots,
        areas=_by_way("area", site.areas), doors=_by_way("door", site.doors),
        ceilings=_by_way("ceiling", site.ceilings), floors=_by_way("floor", site.floors),
        meets=_by_way("meet", site.meets), steps=_by_way("step", site.steps),
        outfalls=_by_way("outfall", site.outfalls),
        downspouts=_by_way("downspout", site.downspouts),
        features=_by_way("feature", site.features),
        benchmarks=_by_way("benchmark", site.benchmarks),
        references=_by_way("reference", site.references),
    )  # fmt: skip


def read_partly(folder: Path, written: dict[str, Any]) -> tuple[Partly, tuple[Problem, ...]]:
    """Return what can be read of a site, and what was found wrong on the way.

    Parameters
    ----------
    folder : Path
        That its files are in.
    written : dict
        The site file as TOML has it.
    """
    reader = Written(folder, written)

    def many(key: str, model: type[Read]) -> dict[str, Read]:
        found = reader.many(key, model)
        return {f"{key}/{int(place[len(key) + 1 : -1]) - 1}": each for place, each in found.items()}

    house = reader.one("house", House)
    parts = Partly(
        unit=reader.unit, house=house, areas=many("area", Area), doors=many("door", Door),
        ceilings=many("ceiling", Ceiling), floors=many("floor", Floor),
        meets=many("meet", Meet), steps=many("step", Step), outfalls=many("outfall", Outfall),
        downspouts=many("downspout", Downspout), features=many("feature", Feature),
        benchmarks=many("benchmark", Benchmark), references=many("reference", Reference),
        spots=read_survey(reader, house, own_limits(reader)).spots,
    )  # fmt: skip
    return parts, tuple(dict.fromkeys(reader.problems))


def _by_way(key: str, tables: tuple[Read, ...]) -> dict[str, Read]:
    return {f"{key}/{place}": each for place, each in enumerate(tables)}
