"""The site folder that what is imported goes into: what it draws, and what it is told."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any, TypeVar, cast

import numpy as np
import shapely
from msgspec import Struct
from pydantic import ValidationError

from grading.errors import Problem, SiteError, unread
from grading.files.fields import Table
from grading.files.toml_text import read_toml, shown_value
from grading.files.whole import new_file, replace_file
from grading.geometry.arrays import Floats
from grading.signs import is_visible
from grading.site.house import House
from grading.site.step_tables import Door
from grading.site.tables import Area
from grading.site.water_tables import Outfall
from grading.units import METRES, Unit

FILE = "site.toml"
BEHIND = 3.0
"""How deep a house is taken to be behind an open line of its walls. [m] Common practice, no
source."""
_MOST_NAMES = 1000

T = TypeVar("T", bound=Table)


class Destination(Struct, frozen=True, eq=False):
    """A site folder, as far as it is written yet: it may have no survey, and no area.

    Attributes
    ----------
    folder, file : Path
        The folder, and its site.toml.
    unit : "ft" or "m"
    written : dict
        The tables of the file.
    paving : (k, 2) float
        Corners of the areas. [m]
    drawn : geometry or None
        Areas, house, doors and outfalls; None where there are none. [m]
    house, walls : geometry or None
        The body of the house, and its walls. [m]
    """

    folder: Path
    file: Path
    unit: Unit
    written: dict[str, Any]
    paving: Floats
    drawn: shapely.Geometry | None
    house: shapely.Geometry | None
    walls: shapely.Geometry | None

    @property
    def spots(self) -> tuple[str, ...]:
        """The files that the site names as its survey."""
        value = self.written.get("spots", [])
        listed = value if isinstance(value, list) else [value]
        return tuple(name for name in listed if isinstance(name, str) and name.strip())

    @property
    def awaited(self) -> str | None:
        """The name that the site has for a survey that is not there yet, in its own folder."""
        for name in self.spots:
            plain = Path(name).name == name and "\\" not in name
            if plain and not (self.folder / name).exists():
                return name
        return None


def destination(folder: Path, file: Path) -> Destination:
    """Return what stands in a site file so far; raise SiteError where it is no toml or no unit.

    Tables that are wrong are left aside: reading the site tells of them.
    """
    try:
        written = read_toml(file, FILE)
    except OSError as error:
        raise SiteError([unread(str(file), error)]) from None
    unit = written.get("unit")
    if unit not in METRES:
        found = "no unit" if unit is None else shown_value(unit)
        mend = 'Write unit = "ft" or unit = "m".'
        raise SiteError([Problem(f"{FILE}, key unit", found, '"ft" or "m"', mend)])
    unit = cast(Unit, unit)
    areas = _tables(written, "area", Area, unit)
    houses = _tables({"house": [written.get("house")]}, "house", House, unit)
    doors = _tables(written, "door", Door, unit)
    outfalls = _tables(written, "outfall", Outfall, unit)
    shapes: list[shapely.Geometry] = [area.polygon for area in areas]
    shapes += [shapely.LineString(each.walls) for each in houses]
    shapes += [shapely.Point(door.at) for door in doors]
    shapes += [shapely.MultiPoint(np.atleast_2d(each.at)) for each in outfalls]
    corners = [np.asarray(area.polygon.exterior.coords) for area in areas]
    return Destination(
        folder, file, unit, written,
        paving=np.concatenate([np.zeros((0, 2)), *corners]),
        drawn=shapely.union_all(shapes) if shapes else None,
        house=houses[0].polygon(BEHIND) if houses else None,
        walls=shapely.LineString(houses[0].walls) if houses else None,
    )  # fmt: skip


def _tables(written: dict[str, Any], key: str, model: type[T], unit: Unit) -> list[T]:
    """Return the tables of a key that can be read."""
    raw = written.get(key)
    found = []
    for each in raw if isinstance(raw, list) else []:
        try:
            found.append(model.model_validate(each, context={"unit": unit}))
        except ValidationError:
            continue
    return found


def free_name(folder: Path, stem: str) -> str:
    """Return a name of a csv file that the folder has not, made from a stem."""
    plain = "".join(sign if sign.isalnum() or sign in "-_ ." else "-" for sign in stem).strip(" .")
    plain = plain[:80] if plain and is_visible(plain) else "survey"
    for number in range(1, _MOST_NAMES):
        name = f"{plain}.csv" if number == 1 else f"{plain}-{number}.csv"
        if not (folder / name).exists() and not (folder / name).is_symlink():
            return name
    raise SiteError([Problem(str(folder), f"{_MOST_NAMES} files {plain}", "a name that is free")])


class Told(Struct, frozen=True):
    """What was written into a folder.

    table, breaklines : names of the files; None where there are no breaklines.
    lines : what site.toml says, or has to say, so that the site uses them, beside the survey that
        it has.
    alone : what it has to say instead, so that it uses them in the place of that; empty where it
        has none.
    changed : whether site.toml says it.
    """

    table: str
    breaklines: str | None
    lines: tuple[str, ...]
    alone: str
    changed: bool


def write_into(to: Destination, stem: str, table: bytes, breaklines: bytes | None) -> Told:
    """Write a table of spots, and one of breaklines, into a folder, and have the site use them.

    Parameters
    ----------
    to : Destination
    stem : str
        What the files are named after, where the site does not wait for one.
    table : bytes
    breaklines : bytes or None

    Raises
    ------
    SiteError
        A file cannot be written; nothing is left of the others then.

    Notes
    -----
    A site that names its survey keeps it, and is told what to write instead; one that waits for
    the file that it names gets it under that name; one that names none is told in site.toml,
    whose remarks are kept.
    """
    name = to.awaited or free_name(to.folder, stem)
    creases = None if breaklines is None else free_name(to.folder, f"{Path(name).stem}-breaklines")
    only = f'spots = "{name}"'
    free = "spots" not in to.written or to.awaited is not None
    every = ", ".join(f'"{each}"' for each in (*to.spots, name))
    lines = [only if free else f"spots = [{every}]"]
    if creases is not None:
        lines += ["[ground]", f'breaklines = "{creases}"']
    ground = to.written.get("ground")
    own_creases = isinstance(ground, dict) and "breaklines" in ground
    changed = free and not (creases is not None and own_creases)
    made: list[Path] = []
    try:
        for file, data in ((name, table), (creases, breaklines)):
            if file is not None and data is not None:
                new_file(to.folder / file, data)
                made.append(to.folder / file)
        if changed:
            changed = _tell_site(to, name, creases)
    except BaseException:
        for path in made:
            path.unlink(missing_ok=True)
        raise
    return Told(name, creases, tuple(lines), "" if free else only, changed)


def _tell_site(to: Destination, name: str, creases: str | None) -> bool:
    """Write into site.toml what it does not say yet; return whether it could be."""
    import tomlkit
    import tomlkit.exceptions

    file = to.file.resolve()
    data = file.read_bytes()
    mark = b"\xef\xbb\xbf" if data.startswith(b"\xef\xbb\xbf") else b""
    text = data[len(mark) :].decode("utf-8")
    end = "\r\n" if "\r\n" in text else "\n"
    before = tomllib.loads(text)
    named = "spots" in before  # it waited for this one
    if named and creases is None:
        return True
    wanted = before if named else {**before, "spots": name}
    try:
        document = tomlkit.parse(text.replace("\r\n", "\n"))
        if not named:
            document["spots"] = name
        if creases is not None:
            ground = document.setdefault("ground", tomlkit.table())
            ground["breaklines"] = creases
            wanted["ground"] = {**before.get("ground", {}), "breaklines": creases}
        made = tomlkit.dumps(document)
        same = tomllib.loads(made) == wanted
    except (tomlkit.exceptions.TOMLKitError, tomllib.TOMLDecodeError):
        return False
    if not same:
        return False
    replace_file(file, mark + made.replace("\n", end).encode("utf-8"))
    return True
