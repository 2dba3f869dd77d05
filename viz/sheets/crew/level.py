"""How what stands level on the falling finish is set: rod and sand at each of its corners."""

from __future__ import annotations

from collections.abc import Iterator

from grading.conditions.level_words import beside_words
from grading.conditions.seat_words import stands_words
from grading.setout.model import SetOut
from grading.units import size
from viz.sheets.blocks import Block, Column, heading, table, together, words
from viz.sheets.compile import printable
from viz.sheets.crew.rods import rod_of
from viz.sheets.head import Job
from viz.words.lookouts import forbidden
from viz.words.plain import opened


def level_blocks(job: Job, found: SetOut) -> Iterator[Block]:
    """Yield how what stands level is set: the rod and the sand at each of its corners."""
    unit, rods = job.unit, not forbidden(job.plan)
    for thing in job.plan.advice.levels:
        masonry = any(corner.lost is not None for corner in thing.corners)
        bedded = thing.seat.stands == "bedding"
        rows = []
        for corner in thing.corners:
            under = corner.sand if bedded else corner.base_below
            cells = [under, *([corner.lost] if masonry else []), corner.shows]
            rows.append([
                corner.name, printable(corner.where, 200),
                *([rod_of(job, found, corner.finish)] if rods else []),
                *("" if each is None else size(each, unit) for each in cells),
            ])  # fmt: skip
        columns = [
            Column("", kind="name", strong=True), Column("Where", kind="words"),
            *([Column("finish, rod", strong=True)] if rods else []),
            Column("sand under it" if bedded else "base below finish"),
            *([Column("or off its course")] if masonry else []),
            Column("shows above"), Column("set", 9.0, "tick"),
        ]  # fmt: skip
        yield together([
            heading(
                f"Set level: {printable(thing.seat.name, 60)}",
                f"it stands {stands_words(thing.seat)}",
            ),
            table(columns, rows),
            *(words(opened(f"{said}."), small=True) for said in beside_words(thing, unit)),
        ])  # fmt: skip
