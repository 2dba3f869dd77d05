"""[[survey.settled]]: shots that were read again or left out, and the survey as it then stands."""

from __future__ import annotations

import datetime
import re
from collections.abc import Sequence
from typing import Annotated, Any, Literal

import numpy as np
from msgspec.structs import replace
from pydantic import BeforeValidator, Field, model_validator

from grading.errors import Problem
from grading.files.fields import Length, Name, Table, UnfitError, array_of
from grading.files.toml_text import nearest, shown_value
from grading.ground.spots import SpotNames
from grading.site.model import Spots
from grading.units import Unit, number

READ_AGAIN, LEFT_OUT = "read again", "left out"

# A level is the one that was settled when it differs by no more than the file's last figures. [m]
_SAME = 5e-5  # own: half the last figure


def _date(value: Any) -> datetime.date:
    if isinstance(value, str):
        try:
            return datetime.date.fromisoformat(value.strip())
        except ValueError:
            pass
    if not isinstance(value, datetime.date) or isinstance(value, datetime.datetime):
        raise UnfitError("a day as 2026-05-14")
    return value


class Settled(Table):
    """[[survey.settled]]: what became of a shot that stood out.

    The survey's own file stays as it is: `z` stands for its level, and a shot left out is not
    part of the ground.
    """

    id: Name = Field(description='the id of the spot in quotes, or its line, such as "line 8"')
    as_: Literal["read again", "left out"] = Field(
        alias="as", description='"read again" or "left out"'
    )
    date: Annotated[datetime.date, BeforeValidator(_date)] = Field(
        description="the day it was settled, as 2026-05-14"
    )
    z: Length | None = Field(None, description="the level that was read, where it is another")
    was: Length | None = Field(None, description="the level in the survey's file that day")

    @model_validator(mode="after")
    def _one_or_the_other(self) -> Settled:
        if self.as_ == LEFT_OUT and self.z is not None:
            mend = f'Write as = "{READ_AGAIN}", or leave `z` out.'
            raise UnfitError(f'no level beside as = "{LEFT_OUT}"', mend, found="a level", key="z")
        return self


class SurveyTable(Table):
    """[survey]: what was settled of the survey."""

    settled: tuple[Settled, ...] = Field((), description="tables as [[survey.settled]]")


def row_of(word: str, spots: Spots) -> int | None:
    """Return the spot that an id or a line names, None where it names none or several."""
    own = [row for row, each in enumerate(spots.own_ids) if each == word]
    if own:
        return own[0] if len(own) == 1 else None
    line = re.fullmatch(r"(?:(?P<file>.*), )?line (?P<line>\d{1,9})", word, re.IGNORECASE)
    if line is None:
        return None
    rows = [
        row
        for row, (source, each) in enumerate(zip(spots.sources, spots.lines, strict=True))
        if each == int(line["line"]) and line["file"] in (None, source)
    ]
    return rows[0] if len(rows) == 1 else None


def not_a_spot(word: str, spots: Spots) -> tuple[str, str, str]:
    """Return what was found, what was expected and how to mend a name of no spot."""
    count = spots.own_ids.count(word)
    if count > 1:
        found = f"{shown_value(word)}, which {count} spots are called"
        line = _line(spots.own_ids.index(word), spots)
        return found, "the name of one spot", f'Write "{line}" or another of them.'
    if word in spots.ids and not any(spots.own_ids):
        found = f"{shown_value(word)}, but the spots of {spots.file} have no ids"
        line = _line(spots.ids.index(word), spots)
        return found, "the line of a spot", f'For spot {word} write "{line}".'
    known = [own for own in spots.own_ids if own][:1000]
    line = _line(len(spots.lines) - 1, spots)
    expected = f'the id of a spot in {spots.file}, or its line such as "{line}"'
    return shown_value(word), expected, nearest(word, known)


def _line(row: int, spots: Spots) -> str:
    """Return the line that a spot is on, with its file where there are several."""
    return SpotNames(lines=spots.lines, sources=spots.sources).key(row)


def settled_survey(
    spots: Spots, settled: Sequence[Settled], unit: Unit, file: str
) -> tuple[Spots, tuple[str, ...], list[Problem]]:
    """Return the survey in force, a sentence for each shot settled, and what is wrong.

    Parameters
    ----------
    spots : Spots
        As the survey's file tells them.
    settled : sequence of Settled
    unit : "ft" or "m"
        What the survey is written in.
    file : str
        The site file's name in messages.
    """
    problems: list[Problem] = []
    rows: dict[int, Settled] = {}
    for place, each in enumerate(settled, start=1):
        key = f"{file}, key survey.settled[{place}]"
        row = row_of(each.id, spots)
        if row is None:
            problems.append(Problem(f"{key}.id", *not_a_spot(each.id, spots)))
        elif row in rows:
            found = f"{shown_value(each.id)}, which was settled above"
            mend = "Leave the older of the two out."
            problems.append(Problem(f"{key}.id", found, "one entry for a spot", mend))
        elif each.was is not None and abs(each.was - spots.xyz[row, 2]) > _SAME:
            found = (
                f"{number(each.was, unit)}, but {shown_value(each.id)} now has "
                f"{number(float(spots.xyz[row, 2]), unit)} in {spots.sources[row]}"
            )
            mend = "The survey has changed since: settle the spot again, or leave the entry out."
            problems.append(Problem(f"{key}.was", found, "the level that was settled", mend))
        else:
            rows[row] = each
    if problems or not rows:
        return spots, (), problems
    names = SpotNames(spots.ids, spots.lines, spots.file, unit, sources=spots.sources)
    said = tuple(_said(rows[row], row, spots, names) for row in sorted(rows))
    return _in_force(spots, rows), said, problems


def _said(entry: Settled, row: int, spots: Spots, names: SpotNames) -> str:
    name, day = f"{names.name(row)} ({names.where(row)})", entry.date.isoformat()
    if entry.as_ == LEFT_OUT:
        return f"{name} was left out on {day}"
    if entry.z is None or abs(entry.z - float(spots.xyz[row, 2])) <= _SAME:
        return f"{name} was read again on {day} and stays"
    was = number(float(spots.xyz[row, 2]), names.unit)
    return f"{name} was read again on {day}: {number(entry.z, names.unit)}, not {was}"


def _in_force(spots: Spots, rows: dict[int, Settled]) -> Spots:
    xyz = spots.xyz.copy()
    for row, entry in rows.items():
        if entry.z is not None:
            xyz[row, 2] = entry.z
    out = {row for row, entry in rows.items() if entry.as_ == LEFT_OUT}
    kept = [row for row in range(len(xyz)) if row not in out] if out else list(range(len(xyz)))
    xyz = xyz[np.array(kept, int)]
    xyz.flags.writeable = False
    place = {row: now for now, row in enumerate(kept) if row in rows}

    def left(words: Sequence[Any]) -> tuple[Any, ...]:
        return tuple(each for row, each in enumerate(words) if row not in out)

    return replace(
        spots, xyz=xyz, ids=left(spots.ids), codes=left(spots.codes), notes=left(spots.notes),
        lines=left(spots.lines), own_ids=left(spots.own_ids),
        sd_z=array_of(spots.sd_z[kept]), sd_xy=array_of(spots.sd_xy[kept]),
        sources=left(spots.sources), readings=left(spots.readings),
        read_again=tuple(sorted(place[row] for row in rows if row not in out)),
    )  # fmt: skip
