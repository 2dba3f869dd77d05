"""A spot of the survey, or a test hole, that is placed on the plan: a row more of its file."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

from grading.errors import Problem, SiteError
from grading.units import number
from viz.desk.blocks import Change
from viz.desk.plan.typed import read_typed
from viz.desk.seen import Seen
from viz.desk.survey.sheets import HOLES, SPOTS, Kind, sheet_of

NEW_SPOTS, NEW_HOLES = "spots.csv", "holes.csv"
"""What new files are called."""


def place_spot(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the file of the spots with one more.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `at`, the place as [x, y], and `z`, its level, as typed.

    Returns
    -------
    dict
        `file` and its `text`; the `changes` of the site file that go with it; what it is `said`.

    Raises
    ------
    SiteError
        The survey is no file that a row can be written into.
    """
    named = seen.document.get("spots")
    names = [named] if isinstance(named, str) else list(named or [])
    name = names[-1] if names else NEW_SPOTS
    changes = [] if names else [Change("spots", name)]
    cells = dict(zip(("x", "y", "z"), _bare(seen, *told["at"], told["z"]), strict=True))
    return _with_row(seen, name, SPOTS, cells, changes, "add spot")


def place_hole(seen: Seen, told: Mapping[str, Any]) -> dict[str, Any]:
    """Return the file of the test holes with one more.

    Parameters
    ----------
    seen : Seen
    told : mapping
        `at`, the place as [x, y], and `depth`, as typed.

    Returns
    -------
    dict
        As `place_spot`.

    Raises
    ------
    SiteError
        As `place_spot`.
    """
    named = seen.document.get("ground", {}).get("organics")
    known = isinstance(named, str) and named in seen.files
    name = str(named) if known else NEW_HOLES
    changes = [] if known else [Change("ground/organics", name)]
    cells = dict(zip(("x", "y", "depth"), (*_bare(seen, *told["at"]), told["depth"]), strict=True))
    return _with_row(seen, name, HOLES, cells, changes, "add test hole")


def _bare(seen: Seen, *words: Any) -> list[str]:
    """Return lengths as typed as the bare numbers that stand for them in a file of the site."""
    unit = seen.partly.unit
    return [number(read_typed(each, unit, True), unit) for each in words]


def _with_row(
    seen: Seen, name: str, kind: Kind, cells: Mapping[str, Any], changes: Sequence[Change],
    said: str,
) -> dict[str, Any]:  # fmt: skip
    if not name.lower().endswith(".csv"):
        mend = "Add it in the program that the file is from, and bring the file in again."
        raise SiteError([Problem(name, "a file of another kind", "a csv file", mend)])
    text = seen.files.get(name, "")
    sheet = sheet_of(text, name, kind)
    row = io.StringIO()
    writer = csv.writer(row, delimiter=sheet.sign, lineterminator="\n")
    writer.writerow([cells.get(each, "") for each in kind.reads(sheet.header)])
    above = "\n".join(line.raw for line in sheet.lines)
    return {
        "file": name,
        "text": f"{above}\n{row.getvalue()}",
        "changes": [each.record() for each in changes],
        "said": said,
    }
