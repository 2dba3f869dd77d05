"""What a record says: who measured what on which day, against which design, and what came of it."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import tomlkit
from msgspec import Struct

from grading.asbuilt.model import AsBuilt
from grading.asbuilt.words import lines_of
from grading.catalogue.rules import RULES
from grading.errors import Problem, SiteError
from grading.logbook.chain import SCHEMA, add_record, hash_of, records_of
from grading.logbook.kept import keep_design
from grading.setout.instrument import Instrument
from grading.site.model import Site

NOTE = "note"
"""The kind of a record that tells of no layer."""


class Entry(Struct, frozen=True):
    """What a person says beside what was measured.

    Attributes
    ----------
    who : str
    note : str
    photos : tuple of Path
        Files inside the site's folder.
    corrects : int or None
        The number of a record that this one stands in place of.
    when : datetime
        With its zone.
    version : str
        Of the program.
    """

    who: str
    note: str
    photos: tuple[Path, ...]
    corrects: int | None
    when: datetime.datetime
    version: str


def check_entry(site: Site, entry: Entry) -> None:
    """Refuse what cannot be recorded, before anything is written.

    Parameters
    ----------
    site : Site
    entry : Entry

    Raises
    ------
    SiteError
        A photo that is not there or lies outside the folder, a record to correct that is not
        there, or a site that stands in no folder.
    """
    problems = []
    folder = site.folder
    if folder is None:
        raise SiteError([Problem("the site", "no folder", "one that records can stand in")])
    for photo in entry.photos:
        if not photo.is_file():
            problems.append(Problem("--photo", f"{photo}, which is not there", "a file"))
        elif not photo.resolve().is_relative_to(folder.resolve()):
            mend = "Copy it into the folder of the site first."
            found = f"{photo}, outside the folder of the site"
            problems.append(Problem("--photo", found, "a file inside it", mend))
    if entry.corrects is not None:
        known = [each.number for each in records_of(folder)]
        if entry.corrects not in known:
            told = ", ".join(map(str, known)) or "none yet"
            found = f"record {entry.corrects}"
            problems.append(Problem("--corrects", found, f"a record that is there: {told}"))
    if problems:
        raise SiteError(problems)


def record_built(
    site: Site,
    found: Sequence[AsBuilt],
    sight: Instrument | None,
    entry: Entry,
) -> Path:
    """Write what was built of a layer into the site's records.

    Parameters
    ----------
    site : Site
    found : sequence of AsBuilt
        Of one layer, each of another area.
    sight : Instrument or None
    entry : Entry

    Returns
    -------
    Path
        The file.

    Raises
    ------
    SiteError
        As for `check_entry`; or the folder cannot be written.
    """
    first = found[0]
    told: dict[str, Any] = {
        "layer": first.layer,
        "areas": [{"name": each.area.area.name, "base": each.area.chosen} for each in found],
        "tolerance": {
            "value": first.tolerance,
            "source": RULES[first.rule].source_in(site.unit),
        },
    }
    if sight is not None:
        told["benchmark"] = {"name": sight.benchmark, "z": sight.z, "reading": sight.reading}
    told["verdict"] = [
        {"area": each.area.area.name, "status": status, "words": words}
        for each in found
        for status, words in lines_of(each, site.unit)
    ]
    told["shot"] = [
        {
            "point": shot.name,
            "area": each.area.area.name,
            "at": list(shot.at),
            "z": shot.z,
            "design": shot.design,
            **({"note": shot.note} if shot.note else {}),
            **({"photo": shot.photo} if shot.photo else {}),
        }
        for each in found
        for shot in each.shots
    ]
    return _write(site, first.layer, told, entry)


def record_note(site: Site, entry: Entry) -> Path:
    """Write a note into the site's records: what was found underground, what was agreed.

    Parameters
    ----------
    site : Site
    entry : Entry

    Raises
    ------
    SiteError
        As for `record_built`.
    """
    return _write(site, NOTE, {}, entry)


def _write(site: Site, kind: str, told: dict[str, Any], entry: Entry) -> Path:
    check_entry(site, entry)
    folder = site.folder
    assert folder is not None

    def text(number: int, previous: str) -> str:
        document: dict[str, Any] = {
            "schema": SCHEMA,
            "number": number,
            "date": entry.when.date().isoformat(),
            "time": entry.when.isoformat(timespec="seconds"),
            "program": f"fallaway {entry.version}",
            "previous": previous,
        }
        if entry.who:
            document["who"] = entry.who
        if entry.note:
            document["note"] = entry.note
        if entry.corrects is not None:
            document["corrects"] = entry.corrects
        document["design"] = keep_design(folder)
        document.update(told)
        document["photo"] = [
            {
                "file": photo.resolve().relative_to(folder.resolve()).as_posix(),
                "sha256": hash_of(photo.read_bytes()),
            }
            for photo in entry.photos
        ]
        return tomlkit.dumps(document)

    return add_record(folder, kind, entry.when.date().isoformat(), text)
