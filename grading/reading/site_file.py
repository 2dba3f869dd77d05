"""Reading a site folder: all of it, gathering everything that is wrong on the way."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any, Literal, TypeVar

from msgspec.structs import replace
from pydantic import BeforeValidator, Field

from grading.catalogue.rules import Limits
from grading.crew.reading import over_catalogue, read_crew
from grading.errors import Problem, SiteError, unread
from grading.files.fields import Name, Table, UnfitError, read_name
from grading.files.names import names_of
from grading.files.toml_text import read_toml, toml_of
from grading.reading.areas_named import check_holds, check_names, check_overlaps, check_steps
from grading.reading.ground_files import check_holes, read_ground
from grading.reading.idle_keys import idle_keys
from grading.reading.limits import own_limits
from grading.reading.outlets_named import Places, check_outlets
from grading.reading.problems import done_problems, house_problems, level_problems
from grading.reading.survey_files import read_survey
from grading.reading.survey_table import SurveyTable, settled_survey
from grading.reading.suspicions import suspicions
from grading.reading.written import FILE, Written
from grading.site.base_tables import BaseSystemSpec
from grading.site.done_tables import Done
from grading.site.feature_tables import Access, Backfill, Feature, Frost, Laying
from grading.site.ground_table import GroundTable
from grading.site.hold_table import Hold
from grading.site.house import House
from grading.site.model import Site
from grading.site.step_tables import Door, Step
from grading.site.tables import Area, Ceiling, FinishTable, Floor, Meet
from grading.site.water_tables import Downspout, Outfall, Storm
from grading.units import METRES

_UNIT_NAMES = {
    **dict.fromkeys(("feet", "foot", "'", "in", "inch", "inches", "us", "imperial"), "ft"),
    **dict.fromkeys(("metre", "metres", "meter", "meters", "mm", "cm", "si", "metric"), "m"),
}


def _unit(value: Any) -> Any:
    if not isinstance(value, str) or value not in METRES:
        word = str(value).strip().lower()
        near = _UNIT_NAMES.get(word, word)
        mend = f'Did you mean "{near}"?' if near in METRES else ""
        raise UnfitError('"ft" or "m"', mend)
    return value


def _files(value: Any) -> Any:
    """Take one file or several."""
    if isinstance(value, list):
        if not value:
            raise UnfitError("one file or more")
        return tuple(read_name(each) for each in value)
    return read_name(value)


class Head(Table):
    """The keys of a site file that stand above its tables."""

    name: Name = Field(description="the name of the site in quotes")
    unit: Annotated[Literal["ft", "m"], BeforeValidator(_unit)] = Field(
        description='what a bare number means, "ft" or "m"'
    )
    spots: Annotated[str | tuple[str, ...], BeforeValidator(_files)] = Field(
        (), description='the csv file of spot elevations, such as "spots.csv"'
    )


Named = TypeVar("Named", Door, Ceiling, Floor, Meet, Outfall, Downspout, Feature)

NO_AREA = "no [[area]]"
"""What is found in a site file that is only begun."""

_TABLES = (
    "ground", "house", "finish", "door", "ceiling", "floor", "meet", "step", "area", "base",
    "limits", "survey", "done",
)  # fmt: skip
_WATER = ("outfall", "downspout", "storm")
_ADVICE = ("feature", "access", "backfill", "frost", "laying", "hold")
_BOOKED = ("levels", "benchmark", "reference")
_KEYS = (*Head.model_fields, *_TABLES, *_WATER, *_ADVICE, *_BOOKED)


def read_site(folder: Path | str) -> Site:
    """Read a site folder.

    Parameters
    ----------
    folder : Path or str
        The folder, or the site.toml inside it.

    Raises
    ------
    SiteError
        Everything that is wrong with site.toml and with the files that it names, at once.
    """
    path = Path(folder)
    try:
        folder, file = locate(path)
    except OSError as error:
        found = f"a folder that cannot be entered ({error.strerror})"
        mend = "Give it rights to be read and entered, or copy it."
        raise SiteError([Problem(str(path), found, f"a folder with {FILE}", mend)]) from None
    try:
        written = read_toml(file, FILE)
    except OSError as error:
        raise SiteError([unread(str(file), error)]) from None
    return read_written(folder, written)


def read_text(folder: Path, text: str, shown: str) -> Site:
    """Read a site of a folder whose site file would have this text."""
    return read_written(folder, toml_of(text, shown))


def read_written(folder: Path, written: dict[str, Any]) -> Site:
    """Read a site of a folder whose site file would hold these tables."""
    reader = _Reader(folder, written)
    site = reader.site()
    if reader.problems or site is None:
        raise SiteError(list(dict.fromkeys(reader.problems)))
    return replace(site, warnings=(*reader.passed_over, *suspicions(site)))


def locate(path: Path) -> tuple[Path, Path]:
    """Return the folder of a site and its file; raise SiteError where there is none."""
    mend = "Give the folder of a site, or its site.toml."
    if path.is_file():
        if path.name != FILE:
            raise SiteError([Problem(str(path), "a file", f"a folder that holds {FILE}", mend)])
        return path.parent, path
    if not path.is_dir():
        raise SiteError([Problem(str(path), "nothing there", "a folder with site.toml", mend)])
    file = path / FILE
    if not file.is_file():
        found = f"a folder without {FILE}"
        mend = f"Write {FILE} into it, or give the folder that holds one."
        raise SiteError([Problem(str(path), found, f"a folder with {FILE}", mend)])
    return path, file


class _Reader(Written):
    """One reading of one site."""

    def site(self) -> Site | None:
        """Return the site, or None where what is wrong leaves none to speak of."""
        self.check_keys(_KEYS)
        head = self.table(Head, {k: v for k, v in self.written.items() if k in Head.model_fields})
        ground, house = self.one("ground", GroundTable), self.one("house", House)
        doors, ceilings = self.many("door", Door), self.many("ceiling", Ceiling)
        floors, meets = self.many("floor", Floor), self.many("meet", Meet)
        steps, finish = self.many("step", Step), self.one("finish", FinishTable)
        areas, systems = self.many("area", Area), self.many("base", BaseSystemSpec)
        features, access = self.many("feature", Feature), self.one("access", Access)
        backfill, frost = self.one("backfill", Backfill), self.one("frost", Frost)
        laying, holds = self.one("laying", Laying), self.many("hold", Hold)
        outfalls, downspouts = self.many("outfall", Outfall), self.many("downspout", Downspout)
        storm, done = self.one("storm", Storm), self.one("done", Done)
        names = names_of(
            {**doors, **ceilings, **floors, **meets, **outfalls, **downspouts, **features}
        )
        catalogue, limits = self.of_crew(), own_limits(self)
        check_names(self, catalogue)
        check_overlaps(self, areas)
        check_outlets(self, Places(outfalls, floors, areas), outfalls, names)
        self.problems += house_problems(house, areas, self.unit, FILE)
        check_steps(self, steps, areas)
        check_holds(self, holds, areas, Limits(limits, self.unit, self.unit))
        self.problems += done_problems(
            self.written, list(self.named("area", "name").values()), FILE
        )
        if self.written.get("area", []) == []:
            mend = "Write [[area]] with a name and an outline for each piece of paving."
            self.wrong("area", NO_AREA, "one or more", mend)
        survey = self.one("survey", SurveyTable)
        surveyed = read_survey(self, house, limits)
        as_surveyed = surveyed.spots
        spec, holes = read_ground(self, ground)
        check_holes(self, holes, areas, limits)
        settled: tuple[str, ...] = ()
        spots = as_surveyed
        if spots is not None and survey is not None:
            spots, settled, problems = settled_survey(spots, survey.settled, self.unit, FILE)
            self.problems += problems
        if spots is not None:
            given = {f"{key}.plane": area.plane for key, area in areas.items() if area.plane}
            told = {**doors, **ceilings, **floors, **meets, **outfalls, **given}
            aim = {} if finish is None else {"finish": finish}
            self.problems += level_problems(spots.xyz[:, 2], {**told, **aim}, self.unit, FILE)
        if not self.problems:
            # Told alone: a key that is misspelt may leave another idle.
            self.problems += idle_keys(self.written, FILE)
        if head is None or spots is None or spec is None:
            return None
        return Site(
            folder=self.folder,
            name=head.name,
            unit=self.unit,
            nominal=self.unit,
            spots=spots,
            ground=spec,
            house=house,
            doors=_named(doors, names),
            ceilings=_named(ceilings, names),
            floors=_named(floors, names),
            meets=_named(meets, names),
            steps=tuple(steps.values()),
            finish=finish or FinishTable(),
            outfalls=_named(outfalls, names),
            downspouts=_named(downspouts, names),
            storm=storm,
            areas=tuple(areas.values()),
            systems=over_catalogue(catalogue or (), tuple(systems.values())),
            limits=limits,
            settled=settled,
            as_surveyed=as_surveyed,
            features=_named(features, names),
            access=access or Access.model_validate({}),
            backfill=backfill or Backfill.model_validate({}),
            frost=frost,
            done=done,
            laying=laying or Laying.model_validate({}),
            levels=surveyed.levels,
            benchmarks=surveyed.benchmarks,
            references=surveyed.references,
            holds=tuple(holds.values()),
        )

    def of_crew(self) -> tuple[BaseSystemSpec, ...] | None:
        """Return the base systems of the crew's catalogue; None where it cannot be read."""
        try:
            return read_crew(self.folder, self.unit).systems
        except SiteError as error:
            self.problems += error.problems
            return None


def _named(tables: Mapping[str, Named], names: Mapping[str, str]) -> tuple[Named, ...]:
    """Return the tables, those without a name of their own with the one found for their key."""
    return tuple(
        table if table.name else table.model_copy(update={"name": names[key]})
        for key, table in tables.items()
    )
