"""The crew's own jobs: hours.csv, with what each was estimated at and what it took."""

from __future__ import annotations

import math
import os
import re
from collections.abc import Iterator
from pathlib import Path

from grading.crew.factor import PastJob, figure
from grading.errors import Problem, SiteError, unread
from grading.files.csv_rows import columns_of, lines_of, read_cells, shortened_list
from grading.files.toml_text import nearest_of
from grading.signs import is_visible, shortened, visible
from grading.units import HOUR

HOURS_FILE = "hours.csv"
COLUMNS = ("job", "estimated", "actual")

_HOURS = re.compile(r"([0-9]+(?:\.[0-9]*)?|\.[0-9]+)\s*(?:h|hr|hrs|hours?)?", re.IGNORECASE)
_EXPECTED = "hours of one person, more than 0, such as 53.5"
_MOST = 1e6 * HOUR


def found_at(name: str, folder: Path, above: Path | None = None) -> Path | None:
    """Return a file of a site folder, else of the one above; None where neither has it.

    Asked before every plan, and so of the system alone: no link is followed but where it is found.

    Parameters
    ----------
    name : str
    folder : Path
    above : Path, optional
        Another in place of the folder above.
    """
    for place in (folder, os.path.join(folder, os.pardir) if above is None else above):
        # A folder above that cannot be entered holds no file.
        if os.path.isfile(os.path.join(place, name)):
            return Path(os.path.realpath(place), name)
    return None


def find_hours(folder: Path | None, crew: Path | None) -> Path | None:
    """Return the hours.csv that counts for a site: that in its folder, else that by its crew.toml.

    Parameters
    ----------
    folder : Path or None
        The site folder.
    crew : Path or None
        The crew.toml that counts for it; without one the folder above is looked into too.
    """
    return None if folder is None else found_at(HOURS_FILE, folder, crew and crew.parent)


def read_jobs(path: Path, shown: str = HOURS_FILE) -> tuple[PastJob, ...]:
    """Read the crew's own jobs.

    Parameters
    ----------
    path : Path
        A csv file with the columns job, estimated, actual; hours of one person.
    shown : str
        Its name in messages.

    Returns
    -------
    tuple of PastJob
        In the order of the file; none of a file with nothing but its header.

    Raises
    ------
    SiteError
        Everything that is wrong, each with its line and column.
    """
    try:
        return _read(path, shown)
    except OSError as error:
        raise SiteError([unread(shown, error)]) from None


def _read(path: Path, shown: str) -> tuple[PastJob, ...]:
    columns = ",".join(COLUMNS)
    header = columns_of(path, shown)
    problems = []
    for name in COLUMNS:
        if header.count(name) != 1:
            told = shortened(visible(",".join(header))) or "nothing"
            found = f"the columns {told}" if name not in header else f'two columns "{name}"'
            near = nearest_of(name, [each for each in header if each not in COLUMNS])
            mend = f"Rename `{near}` to `{name}`." if near else f"Write {columns}."
            problems.append(Problem(shown, found, f'one column "{name}"', mend))
    if problems:
        raise SiteError(problems)
    if sum(bool(line.strip()) for line in lines_of(path, shown)) == 1:
        return ()  # a file begun, and no job in it yet
    cells = read_cells(path, shown, columns)
    at = {name: header.index(name) for name in COLUMNS}
    jobs: dict[str, tuple[int, PastJob]] = {}
    for line, row in cells.rows:
        where = f"{shown}, line {line}"
        name = " ".join(row[at["job"]].split())
        wrong = list(_unfit_name(name, where, jobs))
        hours = {}
        for column in COLUMNS[1:]:
            read = _hours(row[at[column]])
            if read is None:
                cell = row[at[column]]
                found = f'"{shortened(visible(cell))}"' if cell else "nothing"
                mend = "" if cell else "Leave the row out until the job is done."
                wrong.append(Problem(f"{where}, column {column}", found, _EXPECTED, mend))
            else:
                hours[column] = read
        if len(hours) == 2:
            wrong += _unlikely(hours["estimated"], hours["actual"], where)
        if wrong:
            problems += wrong
            continue
        jobs[name] = line, PastJob(name, hours["estimated"], hours["actual"])
    if problems:
        raise SiteError(shortened_list(problems, shown))
    return tuple(job for _, job in jobs.values())


def _hours(cell: str) -> float | None:
    """Return hours as written [s]; None of what is none, and of none at all."""
    found = _HOURS.fullmatch(cell.strip())
    if found is None:
        return None
    value = float(found[1]) * HOUR
    return value if math.isfinite(value) and 0 < value <= _MOST else None


def _unfit_name(name: str, where: str, jobs: dict[str, tuple[int, PastJob]]) -> Iterator[Problem]:
    where = f"{where}, column job"
    if not name:
        yield Problem(where, "nothing", "the name of the job")
    elif len(name) > 200 or not is_visible(name):
        yield Problem(where, f'"{shortened(visible(name))}"', "a name of printable characters")
    elif name in jobs:
        found = f'"{shortened(name)}", which line {jobs[name][0]} is too'
        mend = "Leave one out, or add the number of the job to its name."
        yield Problem(where, found, "a row for each job", mend)


def _unlikely(estimated: float, actual: float, where: str) -> Iterator[Problem]:
    """Yield what is wrong with a job that took many times its estimate, or a small part of it."""
    most = figure("most-ratio")
    if not 1 / most <= actual / estimated <= most:
        found = f"{actual / HOUR:g} h, estimated at {estimated / HOUR:g} h"
        mend = "Write hours of one person in both: three people for two 8 h days are 48."
        yield Problem(where, found, f"at most {most:g} times apart", mend)
