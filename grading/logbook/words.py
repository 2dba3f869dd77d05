"""What the records of a site say: one line each, and whether their chain holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from grading.logbook.chain import Record
from grading.logbook.kept import design_hashes
from grading.logbook.model import NOTE
from grading.units import counted, noun

STATUS = {"pass": "ok", "fail": "FAIL", "unknown": "not known"}

_NONE = "nothing fails"


def corrected(records: Sequence[Record]) -> frozenset[int]:
    """Return the numbers of records that a later one stands in place of."""
    return frozenset(
        number for each in records if isinstance(number := each.told.get("corrects"), int)
    )


def in_force(records: Sequence[Record]) -> tuple[Record, ...]:
    """Return the records that no later one corrects."""
    gone = corrected(records)
    return tuple(each for each in records if each.number not in gone)


def verdicts_of(record: Record) -> Iterator[tuple[str, str]]:
    """Give what was found of a layer as it then was: status and words."""
    for each in record.told.get("verdict", ()):
        if isinstance(each, dict):
            yield str(each.get("status", "")), str(each.get("words", ""))


def record_words(record: Record) -> str:
    """Say what one record is of, in a line."""
    told = record.told
    who = f", {told['who']}" if told.get("who") else ""
    said = f"{record.number}, {record.date}{who}: "
    if record.kind == NOTE:
        said += str(told.get("note", ""))
    else:
        count = len(told.get("shot", ()))
        failed = sum(status == "fail" for status, _ in verdicts_of(record))
        said += f"{record.kind}, {counted(count, 'shot')}, "
        # What fails need be no shot: how many of these do is said by the verdict on them.
        said += f"{counted(failed, 'thing')} {noun(failed, 'fails', 'fail')}" if failed else _NONE
        if told.get("note"):
            said += f"; {told['note']}"
    if isinstance(told.get("corrects"), int):
        said += f" (corrects {told['corrects']})"
    return said


def faults_of(records: Sequence[Record]) -> Iterator[str]:
    """Give what is wrong with the chain, a sentence each."""
    for each in records:
        for fault in each.faults:
            yield f"record {each.number}, {each.file}: {fault}"


def changed_since(record: Record, folder: Path) -> tuple[str, ...]:
    """Return the files of the design that differ from those that a record was written against.

    Parameters
    ----------
    record : Record
    folder : Path
        Of the site.
    """
    then = record.told.get("design", {})
    now = design_hashes(folder)
    names = dict.fromkeys([*now, *then])
    return tuple(name for name in names if then.get(name) != now.get(name))
