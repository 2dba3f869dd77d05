"""The records of a site as printed in the terminal."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from grading.logbook.chain import Record
from grading.logbook.words import (
    STATUS,
    changed_since,
    corrected,
    faults_of,
    record_words,
    verdicts_of,
)
from grading.records.fields import fields
from grading.units import counted
from viz.terminal.lines import in_json
from viz.words.cautions import REPORT

SCHEMA = "fallaway/records/1"


def text(name: str, folder: Path, records: Sequence[Record]) -> str:
    """Return the records of a site as they are printed: what is wrong with them comes first.

    Parameters
    ----------
    name : str
        Of the site.
    folder : Path
        Of the site.
    records : sequence of Record
    """
    parts = [name, ""]
    faults = list(faults_of(records))
    parts += [f"BROKEN: {fault}." for fault in faults]
    if not records:
        parts.append(
            "No records yet: `fallaway verify SITE SHOTS --layer LAYER --record` adds one."
        )
    gone = corrected(records)
    for each in records:
        mark = " [corrected]" if each.number in gone else ""
        parts.append(f"{record_words(each)}{mark}")
        if each.number not in gone:
            parts += [f"  {STATUS.get(status, status)}: {words}." for status, words in
                      verdicts_of(each)]  # fmt: skip
            changed = changed_since(each, folder)
            if changed:
                parts.append(f"  the design has changed since: {', '.join(changed)}")
    if records and not faults:
        kept = counted(len(records), "record")
        parts += ["", f"{kept}, each as it was written, each after the one before."]
    return "\n".join((*parts, "", REPORT))


def as_json(name: str, folder: Path, records: Sequence[Record]) -> str:
    """Return the records of a site as JSON, in SI."""
    gone = corrected(records)
    told = {
        "schema": SCHEMA,
        "site": name,
        "records": [
            {
                **fields(each, "number file kind date"),
                "who": each.told.get("who"),
                "note": each.told.get("note"),
                "corrected": each.number in gone,
                "verdicts": [
                    {"status": status, "text": words} for status, words in verdicts_of(each)
                ],
                "design_changed": list(changed_since(each, folder)),
                "faults": list(each.faults),
            }
            for each in records
        ],
        "broken": any(each.faults for each in records),
    }
    return in_json(told)
