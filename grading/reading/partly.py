"""What can be read of a site that cannot be planned yet: each table by itself, so far as it goes.

A yard is drawn before its survey is there, and stays in view while something in it is wrong.
"""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

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

_LISTS: Mapping[str, type[Table]] = {
    "area": Area, "door": Door, "ceiling": Ceiling, "floor": Floor, "meet": Meet, "step": Step,
    "outfall": Outfall, "downspout": Downspout, "feature": Feature, "benchmark": Benchmark,
    "reference": Reference,
}  # fmt: skip
"""The lists of tables that are read, by their keys; what holds them is called as many."""


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
    lists: dict[str, Any] = {
        f"{key}s": {f"{key}/{place}": each for place, each in enumerate(getattr(site, f"{key}s"))}
        for key in _LISTS
    }
    return Partly(site.unit, site.house, site.as_surveyed or site.spots, **lists)


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
    house = reader.one("house", House)
    lists: dict[str, Any] = {
        f"{key}s": {
            f"{key}/{int(place[len(key) + 1 : -1]) - 1}": each
            for place, each in reader.many(key, model).items()
        }
        for key, model in _LISTS.items()
    }
    spots = read_survey(reader, house, own_limits(reader)).spots
    return Partly(reader.unit, house, spots, **lists), tuple(dict.fromkeys(reader.problems))
