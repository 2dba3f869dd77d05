"""The shots of what was built: at stakes or at places, as rod readings or as elevations."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path

import numpy as np
from msgspec import Struct
from msgspec.structs import replace
from numpy.typing import NDArray

from grading.asbuilt.graduation import graduation_of
from grading.errors import Problem, SiteError
from grading.files.csv_points import PointList, not_read, read_points
from grading.files.csv_rows import columns_of
from grading.files.toml_text import nearest, shown_value
from grading.geometry.arrays import Floats
from grading.setout.instrument import Instrument
from grading.setout.model import SetOut
from grading.signs import listed
from grading.units import Unit, counted, noun

COLUMNS = "stake or x,y; rod or z; optionally area, layer, note, photo"

_TEXTS = ("stake", "area", "layer", "note", "photo")


class BuiltShots(Struct, frozen=True, eq=False):
    """Shots of what was built.

    Attributes
    ----------
    names, notes, photos : tuple of str
        What each is called: by its stake, else by its line.
    areas : tuple of str
        The area that each says it belongs to, empty where it says none.
    xyz : (n, 3) float
        [m]
    rods : (n,) float
        As they were read, NaN where an elevation is told. [m]
    lines : tuple of int
        Of the file.
    file : str
    passed_over : str
        A sentence of its columns that are not read, empty where all are.
    layer : str
        Whose rows of the file they are, empty of one that tells no layers.
    rows : mapping of str to int
        How many rows of each layer the file has.
    """

    names: tuple[str, ...]
    areas: tuple[str, ...]
    xyz: Floats
    rods: Floats
    notes: tuple[str, ...]
    photos: tuple[str, ...]
    lines: tuple[int, ...]
    file: str
    passed_over: str = ""
    layer: str = ""
    rows: Mapping[str, int] = {}

    @property
    def graduation(self) -> float:
        """What all of them are read to the nearest of, on rods where these are told. [m]"""
        return graduation_of(np.where(np.isfinite(self.rods), self.rods, self.xyz[:, 2]))

    def of(self, kept: Sequence[int] | NDArray[np.intp]) -> BuiltShots:
        """Return some of them, by their places."""
        keep = list(kept)

        def some(words: tuple[str, ...]) -> tuple[str, ...]:
            return tuple(words[k] for k in keep)

        return replace(
            self, names=some(self.names), areas=some(self.areas), xyz=self.xyz[keep],
            rods=self.rods[keep], notes=some(self.notes), photos=some(self.photos),
            lines=tuple(self.lines[k] for k in keep),
        )  # fmt: skip


def read_shots(
    path: Path,
    unit: Unit,
    found: SetOut,
    instrument: Instrument | None,
    layers: Sequence[str] = (),
) -> BuiltShots:
    """Read a csv file of shots.

    Parameters
    ----------
    path : Path
        Each row a shot: the name of a stake, or x and y; the rod read there, or z.
    unit : "ft" or "m"
        What a bare number means.
    found : SetOut
        Whose stakes are named.
    instrument : Instrument or None
        What rods were read from.
    layers : sequence of str
        Of a file with a column of layers the rows of the first of these that it has; all rows
        where none is asked for.

    Raises
    ------
    SiteError
        Everything that is wrong with the file, each with its line; rods without an instrument; no
        shot of such a layer.
    """
    shown = path.name
    if not path.is_file():
        raise SiteError([Problem(str(path), "no such file", f"a csv file: {COLUMNS}")])
    header = columns_of(path, shown)
    numbers = _numbers(header, shown)
    if "rod" in numbers and instrument is None:
        mend = "Write --benchmark and --reading, or a column z of elevations."
        raise SiteError([Problem(shown, "rods without an instrument", "what they hang on", mend)])
    listed = read_points(path, shown, unit, numbers, _TEXTS)
    columns = {name: listed.values[:, k] for k, name in enumerate(numbers)}
    count = len(listed.lines)
    empty = ("",) * count
    stakes = listed.texts.get("stake", empty)
    areas = listed.texts.get("area", empty)
    if "x" in columns:
        xy = np.column_stack([columns["x"], columns["y"]])
        _check_areas(listed.lines, areas, found, shown)
        names = tuple(
            stake or f"line {line}" for stake, line in zip(stakes, listed.lines, strict=True)
        )
    else:
        xy, areas = _at_stakes(listed, stakes, areas, found, shown)
        names = stakes
    if instrument is not None and "rod" in columns:
        rods = columns["rod"]
        z = instrument.height - rods
    else:
        rods, z = np.full(count, np.nan), columns["z"]
    notes, photos = (listed.texts.get(name, empty) for name in ("note", "photo"))
    xyz = np.column_stack([xy, z])
    told = not_read(listed, shown, _TEXTS) if listed.unread else ""
    lines = tuple(listed.lines)
    read = BuiltShots(names, tuple(areas), xyz, rods, notes, photos, lines, shown, told)
    return _of_layer(read, listed.texts.get("layer"), layers)


def _of_layer(read: BuiltShots, column: Sequence[str] | None, layers: Sequence[str]) -> BuiltShots:
    """Return the shots of the first layer that a file has, all where it tells of none."""
    if column is None or not layers:
        return read
    for layer in layers:
        kept = [place for place, own in enumerate(column) if own == layer]
        if kept:
            return replace(read.of(kept), layer=layer, rows=Counter(column))
    told = ", ".join(shown_value(own) for own in dict.fromkeys(column))
    expected = f"at least one shot of the {' or '.join(layers)}"
    raise SiteError([Problem(f"{read.file}, column layer", told, expected)])


def not_looked_at(*read: BuiltShots) -> Iterator[str]:
    """Give what rows of files are of other layers than those that were read, a sentence a file.

    Parameters
    ----------
    *read : BuiltShots
        All that was read, of one file or of several.
    """
    looked = {(each.file, each.layer) for each in read}
    for file, rows in {each.file: each.rows for each in read}.items():
        left = {layer: many for layer, many in rows.items() if (file, layer) not in looked}
        if left:
            count = sum(left.values())
            of = listed([f"{many} of layer {shown_value(layer)}" for layer, many in left.items()])
            are = noun(count, "is", "are")
            yield f"{counted(count, 'row')} of {file} {are} not looked at: {of}."


def _check_areas(lines: Sequence[int], areas: Sequence[str], found: SetOut, shown: str) -> None:
    """Raise SiteError where a shot says that it belongs to an area that is none."""
    known = [each.area.area.name for each in found.areas]
    problems = [
        Problem(f"{shown}, line {line}", shown_value(area), "the name of an area",
                nearest(area, known))
        for line, area in zip(lines, areas, strict=True)
        if area and area not in known
    ]  # fmt: skip
    if problems:
        raise SiteError(problems)


def _numbers(header: Sequence[str], shown: str) -> tuple[str, ...]:
    """Return the columns of numbers that a file has, or say which it lacks."""
    place: tuple[str, ...] = ()
    if {"x", "y"} <= set(header):
        place = ("x", "y")
    elif "stake" not in header:
        found = f"the columns {', '.join(header)}"
        raise SiteError([Problem(shown, found, f"where each shot is: {COLUMNS}")])
    for height in ("rod", "z"):
        if height in header:
            return (*place, height)
    found = f"the columns {', '.join(header)}"
    raise SiteError([Problem(shown, found, f"how high each shot is: {COLUMNS}")])


def areas_of_stakes(found: SetOut) -> dict[str, Mapping[str, Floats]]:
    """Return where the stakes of each area are, by the names of both. [m]"""
    return {
        each.area.area.name: {stake.name: stake.at for stake in each.stakes} for each in found.areas
    }


def _at_stakes(
    listed: PointList, stakes: Sequence[str], areas: Sequence[str], found: SetOut, shown: str
) -> tuple[Floats, tuple[str, ...]]:
    """Return where stakes are that shots were taken at, and whose they are."""
    known = areas_of_stakes(found)
    problems: list[Problem] = []
    xy = np.zeros((len(listed.lines), 2))
    owners: list[str] = []
    for k, (stake, area, line) in enumerate(zip(stakes, areas, listed.lines, strict=True)):
        where = f"{shown}, line {line}"
        owners.append(area)
        if area and area not in known:
            mend = nearest(area, list(known))
            problems.append(Problem(where, shown_value(area), "the name of an area", mend))
            continue
        having = [name for name in known if stake in known[name] and area in ("", name)]
        if not having:
            names = sorted({name for each in known.values() for name in each}, key=str)
            mend = nearest(stake, names) or "`fallaway stakes SITE` lists them."
            problems.append(Problem(where, shown_value(stake), "the name of a stake", mend))
        elif len(having) > 1:
            told = " and ".join(having)
            mend = "Add a column area."
            problems.append(Problem(where, f'stake "{stake}" of {told}', "one of them", mend))
        else:
            owners[k] = having[0]
            xy[k] = known[having[0]][stake]
    if problems:
        raise SiteError(problems)
    return xy, tuple(owners)
