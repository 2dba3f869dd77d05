"""What was built against the design, as printed in the terminal."""

from __future__ import annotations

from collections.abc import Sequence

from grading.asbuilt.model import AsBuilt
from grading.asbuilt.words import lines_of, notes_of, off_words, tolerance_words
from grading.records.asbuilt import asbuilt_record
from grading.units import length
from viz.signature import not_for_signature
from viz.table import Table
from viz.terminal.lines import in_json
from viz.words.cautions import REPORT

STATUS = {"pass": "ok", "fail": "FAIL", "unknown": "not known"}


def text(found: Sequence[AsBuilt]) -> str:
    """Return what was built of some areas as it is printed: the worst first, then every shot."""
    design = found[0].design
    unit = design.site.unit
    parts = [design.site.name, *filter(None, [not_for_signature(design)])]
    for each in found:
        parts.append("")
        parts += [f"{STATUS[status]}: {words}." for status, words in lines_of(each, unit)]
        parts += [f"  {words}" for words in notes_of(each, unit)]
        rows = [
            (shot.name, length(shot.z, unit), length(shot.design, unit), off_words(shot, unit),
             STATUS[shot.status])
            for shot in each.shots
        ]  # fmt: skip
        headers = ("shot", "as built", "design", "off", "")
        parts += ["", Table(headers, tuple(rows)).grid(1, 1)]
        parts.append(f"Tolerance: {tolerance_words(each, unit)}")
    return "\n".join((*parts, "", REPORT))


def as_json(found: Sequence[AsBuilt]) -> str:
    """Return what was built as JSON, in SI."""
    return in_json(asbuilt_record(tuple(found)))
