"""Reading a site folder: all of it, gathering everything that is wrong on the way."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import combinations
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Annotated, Any, Literal, TypeVar, cast

import numpy as np
from pydantic import BeforeValidator, Field, ValidationError

from grading.catalogue.bases import catalogue_names
from grading.catalogue.rules import RULES, Limit, Limits, Rule
from grading.crew.catalogue import over_catalogue
from grading.crew.model import read_crew
from grading.errors import Problem, SiteError
from grading.files.csv_file import PointList, read_points
from grading.files.fields import INCHES_NEED_A_UNIT, Name, Table, UnfitError
from grading.files.names import names_of
from grading.files.toml_file import nearest, problems_of, read_toml, shown_value, toml_of
from grading.geometry.outline import shared_edge
from grading.ground.test_holes import COLUMN, hole_problems
from grading.reading.done_problems import done_problems
from grading.reading.idle_keys import idle_keys
from grading.reading.problems import house_problems, level_problems
from grading.reading.survey_table import SurveyTable, settled_survey
from grading.reading.suspicions import suspicions
from grading.signs import shortened, visible
from grading.site.base_tables import BaseSystemSpec
from grading.site.done_tables import Done
from grading.site.feature_tables import Access, Backfill, Feature, Frost, Laying
from grading.site.house import House
from grading.site.model import Site, Spots
from grading.site.tables import (
    Area,
    Ceiling,
    Door,
    FinishTable,
    Floor,
    GroundSpec,
    GroundTable,
    Meet,
    Step,
    is_file_name,
)
from grading.site.water_tables import Downspout, Outfall, Storm
from grading.units import METRES, Unit, UnitError, length, number, read_length, read_slope, size
from grading.units import area as area_text

FILE = "site.toml"

LEAST_OVERLAP = 0.01
"""Areas that share less than this share an edge. [m2]"""

MOST_TIMES = 8.0
"""A limit of a site's own is hardly so many times that of the rule: inches read as feet are 12
times. Common practice, no source."""

LEAST_BOUND = 0.1
"""Limits up to this are taken whatever that of the rule is. [m]"""

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


class Head(Table):
    """The keys of a site file that stand above its tables."""

    name: Name = Field(description="the name of the site in quotes")
    unit: Annotated[Literal["ft", "m"], BeforeValidator(_unit)] = Field(
        description='what a bare number means, "ft" or "m"'
    )
    spots: Name = Field(description='the csv file of spot elevations, such as "spots.csv"')


T = TypeVar("T", bound=Table)
Named = TypeVar("Named", Door, Ceiling, Floor, Meet, Outfall, Downspout, Feature)

_TABLES = (
    "ground", "house", "finish", "door", "ceiling", "floor", "meet", "step", "area", "base",
    "limits", "survey", "done",
)  # fmt: skip
_WATER = ("outfall", "downspout", "storm")
_ADVICE = ("feature", "access", "backfill", "frost", "laying")
_IN_ORDER = (("lawn-least", "lawn-most"), ("lawn-most", "lawn-shoulder"))
"""Limits of which one may not be more than the other."""

_KEYS = (*Head.model_fields, *_TABLES, *_WATER, *_ADVICE)


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
        found = f"a file that cannot be read ({error.strerror})"
        raise SiteError([Problem(str(file), found, "a file that can")]) from None
    return _site(folder, written)


def read_text(folder: Path, text: str, shown: str) -> Site:
    """Read a site of a folder whose site file would have this text."""
    return _site(folder, toml_of(text, shown))


def _site(folder: Path, written: dict[str, Any]) -> Site:
    reader = _Reader(folder, written)
    site = reader.site()
    if reader.problems or site is None:
        raise SiteError(list(dict.fromkeys(reader.problems)))
    return replace(site, warnings=suspicions(site))


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


class _Reader:
    """One reading of one site: what was written, and what was found wrong so far."""

    def __init__(self, folder: Path, written: dict[str, Any]) -> None:
        self.folder, self.written = folder, written
        self.problems: list[Problem] = []
        self.holes: tuple[str, PointList] | None = None
        # Where the unit itself is wrong, the rest is read on so that its faults are told too.
        unit = written.get("unit")
        self.unit: Unit = cast(Unit, unit) if unit in ("ft", "m") else "ft"
        self.catalogue = self.of_crew()

    def site(self) -> Site | None:
        """Return the site, or None where what is wrong leaves none to speak of."""
        for key in self.written:
            if key not in _KEYS:
                one_of = "one of " + ", ".join(f"`{word}`" for word in _KEYS)
                shown = shortened(visible(key))
                self.wrong(shown, f"the key `{shown}`", one_of, nearest(key, _KEYS))
        head = self.table(Head, {k: v for k, v in self.written.items() if k in Head.model_fields})
        ground, house = self.one("ground", GroundTable), self.one("house", House)
        doors, ceilings = self.many("door", Door), self.many("ceiling", Ceiling)
        floors, meets = self.many("floor", Floor), self.many("meet", Meet)
        steps, finish = self.many("step", Step), self.one("finish", FinishTable)
        areas, systems = self.many("area", Area), self.many("base", BaseSystemSpec)
        features, access = self.many("feature", Feature), self.one("access", Access)
        backfill, frost = self.one("backfill", Backfill), self.one("frost", Frost)
        laying = self.one("laying", Laying)
        outfalls, downspouts = self.many("outfall", Outfall), self.many("downspout", Downspout)
        storm, done = self.one("storm", Storm), self.one("done", Done)
        names = names_of(
            {**doors, **ceilings, **floors, **meets, **outfalls, **downspouts, **features}
        )
        limits = self.limits()
        self.check_names()
        self.check_overlaps(areas)
        self.problems += house_problems(house, areas, self.unit, FILE)
        self.check_steps(steps, areas)
        self.problems += done_problems(
            self.written, list(self.named("area", "name").values()), FILE
        )
        if self.written.get("area", []) == []:
            mend = "Write [[area]] with a name and an outline for each piece of paving."
            self.wrong("area", "no [[area]]", "one or more", mend)
        survey = self.one("survey", SurveyTable)
        as_surveyed, spec = self.spots(), self.ground(ground)
        self.check_holes(areas, limits)
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
            systems=over_catalogue(self.catalogue or (), tuple(systems.values())),
            limits=limits,
            settled=settled,
            as_surveyed=as_surveyed,
            features=_named(features, names),
            access=access or Access.model_validate({}),
            backfill=backfill or Backfill.model_validate({}),
            frost=frost,
            done=done,
            laying=laying or Laying.model_validate({}),
        )

    def of_crew(self) -> tuple[BaseSystemSpec, ...] | None:
        """Return the base systems of the crew's catalogue; None where it cannot be read."""
        try:
            return read_crew(self.folder, self.unit).systems
        except SiteError as error:
            self.problems += error.problems
            return None

    def wrong(self, key: str, found: str, expected: str, mend: str = "") -> None:
        self.problems.append(Problem(f"{FILE}, key {key}", found, expected, mend))

    def table(self, model: type[T], raw: Any, key: str = "") -> T | None:
        """Return one table read, or None where something in it is wrong."""
        try:
            return model.model_validate(raw, context={"unit": self.unit})
        except ValidationError as error:
            self.problems += problems_of(error, model, raw, FILE, key)
            return None

    def one(self, key: str, model: type[T]) -> T | None:
        if key not in self.written:
            return None
        return self.table(model, self.written[key], key)

    def many(self, key: str, model: type[T]) -> dict[str, T]:
        """Return the tables that could be read, each by its key, counted from 1."""
        raw = self.written.get(key, [])
        if not isinstance(raw, list):
            found = f"one table [{key}]" if isinstance(raw, dict) else shown_value(raw)
            self.wrong(key, found, f"a list of tables [[{key}]]", f"Write [[{key}]].")
            return {}
        tables = {
            f"{key}[{place}]": self.table(model, entry, f"{key}[{place}]")
            for place, entry in enumerate(raw, start=1)
        }
        return {place: table for place, table in tables.items() if table is not None}

    def limits(self) -> dict[str, float | tuple[float, float]]:
        raw = self.written.get("limits", {})
        if not isinstance(raw, dict):
            self.wrong("limits", shown_value(raw), "a table [limits]")
            return {}
        rules = {name: rule for name, rule in RULES.items() if rule.limit is not None}
        own = {}
        for name, value in raw.items():
            rule = rules.get(name)
            if rule is None:
                one_of = "a rule with a limit: " + ", ".join(f"`{known}`" for known in rules)
                shown = shortened(visible(name))
                self.wrong(f"limits.{shown}", f"the key `{shown}`", one_of, nearest(name, rules))
                continue
            try:
                own[name] = self.limit(value, rule)
            except (UnitError, UnfitError) as error:
                found = error.found or shown_value(value)
                self.wrong(f"limits.{name}", found, error.expected, error.mend)
        for least, most in _IN_ORDER:
            written = next((name for name in (least, most) if name in own), "")
            first, last = (own.get(name, RULES[name].limit) for name in (least, most))
            if written and isinstance(first, float) and isinstance(last, float) and first > last:
                self.wrong(
                    f"limits.{written}",
                    f"`{least}` of {size(first, self.unit)} over `{most}` of "
                    f"{size(last, self.unit)}",
                    "the lower limit below the higher one",
                    "Write both, or leave it out.",
                )
        return own

    def limit(self, value: Any, rule: Rule) -> float | tuple[float, float]:
        if not isinstance(rule.limit, tuple):
            return self.quantity(value, rule)
        if not isinstance(value, list) or len(value) != 2:
            raise UnfitError("the least and the greatest as [least, greatest]")
        least, greatest = (self.quantity(part, rule) for part in value)
        if least > greatest:
            raise UnfitError("the least first")
        return least, greatest

    def quantity(self, value: Any, rule: Rule) -> float:
        if rule.unit == "ratio":
            slope = read_slope(value)
            if slope <= 0:
                raise UnfitError("a slope greater than zero")
            return slope
        size = read_length(value, self.unit)
        if size < 0:
            raise UnfitError("zero or more")
        most = max(MOST_TIMES * float(np.max(rule.limit or 0.0)), LEAST_BOUND)
        if size > most:
            expected = f"at most {length(most, self.unit)}"
            raise UnfitError(expected, INCHES_NEED_A_UNIT, found=length(size, self.unit))
        return size

    def named(self, key: str, name: str) -> dict[str, str]:
        """Return a key that each table of a list has as text, also of those not read."""
        raw = self.written.get(key)
        return {
            f"{key}[{place}].{name}": " ".join(entry[name].split())
            for place, entry in enumerate(raw if isinstance(raw, list) else [], start=1)
            if isinstance(entry, dict) and isinstance(entry.get(name), str) and entry[name].split()
        }

    def check_names(self) -> None:
        """Note names that two tables share, and names of what there is not."""
        areas, bases = self.named("area", "name"), self.named("base", "name")
        for names in (areas, bases):
            first: dict[str, str] = {}
            for key, name in names.items():
                if name in first:
                    found = f'"{name}", which is {first[name]} too'
                    self.wrong(key, found, "a name of its own", "Rename one of them.")
                first.setdefault(name, key)
        if self.catalogue is not None:
            listed = (system.name for system in self.catalogue)
            known = (*catalogue_names(), *listed, *bases.values())
            for key in ("area", "meet"):
                self.check_known(self.named(key, "base"), "a base system", known)
        for key in ("ceiling", "floor", "meet", "feature"):
            self.check_known(self.named(key, "area"), "the name of an area", areas.values())

    def check_known(self, names: Mapping[str, str], what: str, known: Iterable[str]) -> None:
        known = list(dict.fromkeys(known))
        for key, name in names.items():
            if name not in known:
                listed = f"{what}: {', '.join(map(shown_value, known))}" if known else what
                self.wrong(key, shown_value(name), listed, nearest(name, known))

    def check_overlaps(self, areas: Mapping[str, Area]) -> None:
        for (_, one), (key, other) in combinations(areas.items(), 2):
            shared = one.polygon.intersection(other.polygon).area
            if shared > LEAST_OVERLAP:
                self.wrong(
                    f"{key}.outline",
                    f'{area_text(shared, self.unit)} of "{other.name}" on "{one.name}"',
                    "areas that do not overlap",
                    "Let them share an edge, or cut the one out of the other.",
                )

    def check_steps(self, steps: Mapping[str, Step], areas: Mapping[str, Area]) -> None:
        """Note steps between areas that are not there, are one, or share no edge."""
        known = self.named("area", "name").values()
        outlines = {area.name: area.polygon for area in areas.values()}
        first: dict[frozenset[str], str] = {}
        for key, step in steps.items():
            key, names = f"{key}.down", f"{shown_value(list(step.down))}"
            ends = {f"{key}[{place}]": name for place, name in enumerate(step.down, start=1)}
            self.check_known(ends, "the name of an area", known)
            pair = frozenset(step.down)
            if len(pair) == 1:
                mend = "A step goes down from one area to another."
                self.wrong(key, names, "the names of two areas", mend)
            elif pair in first:
                mend = "Leave one of them out."
                self.wrong(key, f"{names}, as {first[pair]} has", "one step for an edge", mend)
            elif pair <= outlines.keys() and not shared_edge(*(outlines[one] for one in step.down)):
                found = f"{names}, which share no edge"
                mend = "Draw both to the same corners, or leave the step out."
                self.wrong(key, found, "two areas that share an edge", mend)
            first.setdefault(pair, key)

    def spots(self) -> Spots | None:
        name = self.written.get("spots")
        if not isinstance(name, str) or not name.strip():
            return None  # said of the head
        points = self.points(name, "spots", "xyz", ("id", "code", "note"))
        if points is None:
            return None
        count = len(points.lines)
        ids = points.texts.get("id", ("",) * count)
        return Spots(
            xyz=points.values,
            ids=tuple(own or str(number) for number, own in enumerate(ids, start=1)),
            codes=points.texts.get("code", ("",) * count),
            notes=points.texts.get("note", ("",) * count),
            lines=points.lines,
            file=name,
            own_ids=points.texts.get("id", ()),
        )

    def ground(self, table: GroundTable | None) -> GroundSpec | None:
        raw = self.written.get("ground")
        organics = raw.get("organics") if isinstance(raw, dict) else None
        probes = self.probes(organics) if is_file_name(organics) else None
        if table is None:
            return GroundSpec() if raw is None else None
        if isinstance(table.organics, str) and probes is None:
            return None
        return GroundSpec(
            soil=table.soil,
            organics=table.organics if isinstance(table.organics, float) else 0.0,
            probes=None if probes is None else probes.values,
            hole_areas=() if probes is None else _words(probes, COLUMN),
            breaklines=table.lines(),
            surface=table.surface,
        )

    def probes(self, name: str) -> PointList | None:
        probes = self.points(name, "ground.organics", ("x", "y", "depth"), (COLUMN,))
        if probes is None:
            return None
        for line, depth in zip(probes.lines, probes.values[:, 2].tolist(), strict=True):
            if depth < 0:
                where = f"{name}, line {line}, column depth"
                found = number(depth, self.unit)
                mend = "Write 0 where the hole found no topsoil."
                self.problems.append(Problem(where, found, "a depth of zero or more", mend))
        self.holes = name, probes
        return probes

    def check_holes(self, areas: Mapping[str, Area], limits: Mapping[str, Limit]) -> None:
        """Note test holes of no area that do not say so, and of areas that there are not."""
        written = self.written.get("area", [])
        # An area that is wrong itself is told as that: its holes may be right.
        if self.holes is None or not areas or len(areas) < len(written):
            return
        file, holes = self.holes
        reach = Limits(limits)["hole-reach"]
        words, every = _words(holes, COLUMN), tuple(areas.values())
        self.problems += hole_problems(
            holes.values, words, holes.lines, every, reach, self.unit, file
        )

    def points(
        self, name: str, key: str, numbers: Sequence[str], texts: Sequence[str] = ()
    ) -> PointList | None:
        """Return the points of a file that the site names under a key, or None."""
        path = self.inside(name, key)
        if path is None:
            return None
        try:
            return read_points(path, name, self.unit, numbers, texts)
        except SiteError as error:
            self.problems += error.problems
        except OSError as error:
            found = f"a file that cannot be read ({error.strerror})"
            self.problems.append(Problem(name, found, "a file that can"))
        return None

    def inside(self, name: str, key: str) -> Path | None:
        """Return the path of a file inside the folder, or None where it leaves it or is none."""
        windows, posix = PureWindowsPath(name), PurePosixPath(name)
        leaves = windows.drive or windows.root or posix.is_absolute() or ".." in windows.parts
        home = self.folder.resolve()
        try:
            path = (home / name).resolve()
            leaves = leaves or not path.is_relative_to(home)
            there = not leaves and path.is_file()
        except (OSError, ValueError, RuntimeError):
            there = False
        if leaves:
            mend = "Copy the file into the folder, and write its name alone."
            self.wrong(
                key,
                f'"{shortened(name)}", which leaves the folder',
                "a file inside the folder",
                mend,
            )
            return None
        if not there:
            files = sorted(entry.name for entry in home.iterdir() if entry.is_file())
            mend = nearest(name, [entry for entry in files if entry != FILE])
            mend = mend or "Put the file there, or write the name of the one that is."
            self.wrong(
                key, f'"{shortened(name)}", which is not there', "a file in the folder", mend
            )
            return None
        return path


def _words(points: PointList, column: str) -> tuple[str, ...]:
    """Return a column of text, each cell's words one space apart; empty where there is none."""
    return tuple(" ".join(cell.split()) for cell in points.texts.get(column, ()))


def _named(tables: Mapping[str, Named], names: Mapping[str, str]) -> tuple[Named, ...]:
    """Return the tables, those without a name of their own with the one found for their key."""
    return tuple(
        table if table.name else table.model_copy(update={"name": names[key]})
        for key, table in tables.items()
    )
