"""Writing into a site file what became of a shot: that file alone, whole or not at all."""

from __future__ import annotations

import datetime
import tomllib
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from msgspec import Struct

from grading.errors import Problem, SiteError
from grading.files.toml_text import shown_value
from grading.ground.model import survey_to_ground
from grading.ground.spots import SpotNames
from grading.reading.site_edit import SiteText
from grading.reading.site_file import read_site
from grading.reading.survey_table import LEFT_OUT, READ_AGAIN, not_a_spot, row_of
from grading.site.model import Site, Spots
from grading.units import METRES, Unit, UnitError, read_length


class Settling(Struct, frozen=True):
    """What a person says of one shot on the command line.

    option : "--keep", "--without" or "--shot".
    words : what was written after it: an id, or ID=LEVEL.
    """

    option: str
    words: str


def settle(folder: Path, wishes: Sequence[Settling], today: datetime.date) -> tuple[str, ...]:
    """Write into the site file of a folder what became of shots, and say what was written.

    Parameters
    ----------
    folder : Path
        The folder of a site, or its site.toml.
    wishes : sequence of Settling
    today : date
        The day that is written down.

    Raises
    ------
    SiteError
        The site cannot be read, a name is that of no spot, a level is none, one spot is settled
        twice, the site that would come of it is none, or the file cannot be written. Nothing is
        written then.

    Notes
    -----
    The survey's file is not touched. The new text is made beside the old one and put in its place
    in one move; remarks, order and layout of what stands in it are kept.
    """

    before = read_site(folder).settled
    old = SiteText.of(folder)
    made, site = settled(old, wishes, today)
    # What would be refused on the next reading is not written.
    survey_to_ground(site)
    old.write(made)
    return tuple(said for said in site.settled if said not in before)


def settled(old: SiteText, wishes: Sequence[Settling], today: datetime.date) -> tuple[str, Site]:
    """Return the text of a site file with what became of shots, and the site that it then is.

    Parameters
    ----------
    old : SiteText
    wishes, today : as for `settle`

    Raises
    ------
    SiteError
        As `settle` does, but for writing: nothing is written.
    """
    site = old.site(old.text)
    made = _with_entries(old.text, entries_of(wishes, _surveyed(site), site.unit, today), site)
    return made, old.site(made)


def entries_of(
    wishes: Sequence[Settling], spots: Spots, unit: Unit, today: datetime.date
) -> dict[str, dict[str, Any]]:
    """Return what the site file is to say of each spot, by its key.

    Parameters
    ----------
    wishes : sequence of Settling
    spots : Spots
        As the survey's files tell them.
    unit : "ft" or "m"
        Of the site.
    today : date

    Raises
    ------
    SiteError
        As `settle` does of names and levels.
    """
    problems: list[Problem] = []
    entries: dict[str, dict[str, Any]] = {}
    for wish in wishes:
        word, level = wish.words.strip(), ""
        if wish.option == "--shot":
            word, sign, level = (part.strip() for part in wish.words.rpartition("="))
            if not sign or not word:
                mend = 'Write --shot 7=99.21, or --shot "line 8=99.21".'
                problems.append(Problem("--shot", shown_value(wish.words), "ID=LEVEL", mend))
                continue
        row = row_of(word, spots)
        if row is None:
            problems.append(Problem(wish.option, *not_a_spot(word, spots)))
            continue
        key = key_of(row, spots)
        if key in entries:
            found = f"{shown_value(word)} twice"
            problems.append(Problem(wish.option, found, "one word on one spot", "Leave one out."))
            continue
        entry: dict[str, Any] = {
            "id": key,
            "as": LEFT_OUT if wish.option == "--without" else READ_AGAIN,
            "date": today,
            "was": round(float(spots.xyz[row, 2]) / METRES[unit], 5),
        }
        if wish.option == "--shot":
            try:
                read_length(level, unit)
            except UnitError as error:
                problems.append(Problem("--shot", error.found, error.expected, error.mend))
                continue
            entry["z"] = _written(level)
        entries[key] = entry
    if problems:
        raise SiteError(problems)
    return entries


def _surveyed(site: Site) -> Spots:
    assert site.as_surveyed is not None  # a site that was read has its survey
    return site.as_surveyed


def key_of(row: int, spots: Spots) -> str:
    """Return what the site file calls a spot: see `SpotNames.key`."""
    return SpotNames(lines=spots.lines, own_ids=spots.own_ids, sources=spots.sources).key(row)


def _written(level: str) -> float | str:
    """Return a level as it goes into the file: a bare number as one, feet and inches in quotes."""
    try:
        return float(level)
    except ValueError:
        return level


def _with_entries(text: str, entries: dict[str, dict[str, Any]], site: Site) -> str:
    """Return the text of a site file with entries added, or put in the place of older ones."""
    import tomlkit
    import tomlkit.exceptions
    from tomlkit.items import AoT, Array

    try:
        document = tomlkit.parse(text)
    except tomlkit.exceptions.ParseError:
        raise _by_hand(entries) from None
    survey = document.setdefault("survey", tomlkit.table(is_super_table=True))
    settled = survey.get("settled")
    if settled is None:
        settled = tomlkit.aot()
        survey.add("settled", settled)
        settled = survey["settled"]
    spots = _surveyed(site)
    old = {row_of(str(each["id"]), spots): place for place, each in enumerate(settled)}
    for key, entry in entries.items():
        table = tomlkit.inline_table() if isinstance(settled, Array) else tomlkit.table()
        for name, value in entry.items():
            table.add(name, value)
        place = old.get(row_of(key, spots))
        if place is None:
            if len(settled) and isinstance(settled, AoT):
                table.trivia.indent = "\n"  # an empty line between two
            settled.append(table)
        elif isinstance(settled, AoT):
            kept = settled[place]
            for name in [name for name in kept if name not in entry]:
                kept.remove(name)
            for name, value in entry.items():
                kept[name] = value
        else:
            settled[place] = table
    made = tomlkit.dumps(document)
    before, after = tomllib.loads(text), tomllib.loads(made)
    if {**before, "survey": after["survey"]} != after:
        raise _by_hand(entries)
    return made


def _by_hand(entries: Iterable[str]) -> SiteError:
    found = "toml that cannot be changed without changing more of it"
    expected = f"room for [[survey.settled]] of {', '.join(map(shown_value, entries))}"
    return SiteError([Problem("site.toml", found, expected, "Write the entry yourself.")])
