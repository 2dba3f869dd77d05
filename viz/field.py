"""The commands of the yard: a survey in, stakes out, what was built held against the design."""

from __future__ import annotations

import argparse
import datetime
from collections.abc import Callable, Mapping
from contextlib import ExitStack
from pathlib import Path

import grading
from grading.asbuilt.booked import booked_shots, holds_a_book
from grading.asbuilt.layers import LAYERS, LayerName, layer_named
from grading.asbuilt.model import as_built, shots_of_areas
from grading.asbuilt.shots import BuiltShots, not_looked_at, read_shots
from grading.comparison.model import compared
from grading.errors import Problem, SiteError
from grading.logbook.chain import records_of
from grading.logbook.kept import is_record, restore_design
from grading.logbook.model import Entry, record_built, record_note
from grading.pipeline import Plan
from grading.reading.site_file import locate
from grading.setout.instrument import Instrument, instrument_of, rod_marks, rounding_of
from grading.setout.model import set_out, spacing_of
from grading.survey.levels import levels_of
from grading.survey.sources.importing import import_files
from grading.survey.taped import taped_of
from grading.units.rods import RodUnit
from viz.desk.field.take_away import FILE as TAKE_AWAY
from viz.desk.field.take_away import take_away
from viz.scratch import scratch_folder
from viz.sheets.field.asbuilt import write_asbuilt
from viz.sheets.field.signoff import write_signoff
from viz.sheets.field.stakes import write_stakes
from viz.sheets.price.change import write_change
from viz.sheets.write import check_words
from viz.tables.stakes import Told
from viz.terminal import asbuilt, comparison, imported, levels, stakes, ties
from viz.terminal import records as recorded
from viz.terminal.answering import CHECK_FAILED, DONE, Asked
from viz.terminal.lines import in_json
from viz.terminal.progress import Progress


def _import(told: argparse.Namespace, asked: Asked) -> int:
    folder, file = locate(told.site)
    with Progress() as progress:
        done = import_files(
            folder, file, told.files, way=told.way, common=told.common, units=told.units,
            part=told.part, y_up=told.up == "y", progress=progress.tell,
        )  # fmt: skip
    as_json = in_json(done.record()) if told.json else ""
    asked.tell(as_json or imported.text(done))
    for remark in done.remarks:
        asked.say(f"look again: {remark}")
    return DONE


def _levels(told: argparse.Namespace, asked: Asked) -> int:
    site = grading.read_site(told.site)
    found = levels_of(site)
    if found is None:
        raise levels.no_book(site)
    asked.tell(levels.as_json(site, found) if told.json else levels.text(site, found))
    return CHECK_FAILED if found.failed else DONE


def _ties(told: argparse.Namespace, asked: Asked) -> int:
    site = grading.read_site(told.site)
    places = taped_of(site)
    if not places.tied:
        raise ties.no_ties(site)
    asked.tell(ties.as_json(site, places) if told.json else ties.text(site, places))
    return CHECK_FAILED if any(each.fix.astray for each in places.tied) else DONE


def _sight(told: argparse.Namespace, plan: Plan) -> tuple[RodUnit, Instrument | None]:
    """Return what the rod is marked in, and the instrument that a person tells of."""
    marks, longest = rod_marks(told.rod, plan.site), plan.limits["rod-length"]
    return marks, instrument_of(plan.site, told.benchmark, told.reading, longest, marks)


def _stakes(told: argparse.Namespace, asked: Asked) -> int:
    plan = asked.planned(told.site, told.out)
    marks, sight = _sight(told, plan)
    how = Told(marks, rounding_of(told.step, plan.site.unit), plan.site.unit)
    grid, every = (
        spacing_of(words, option, plan)
        for words, option in ((told.grid, "--grid"), (told.every, "--every"))
    )
    found = set_out(plan, sight, grid, every)
    asked.tell(stakes.as_json(found, how) if told.json else stakes.text(found, how))
    if told.out is not None:
        step = None if told.step is None else how.step
        away = {TAKE_AWAY: take_away(plan, "crew", found, marks, step)}
        asked.written(told.out, write_stakes(found, how, told.out, asked.say, away), told.json)
    return asked.checked(plan)


def _verify(told: argparse.Namespace, asked: Asked) -> int:
    layer = layer_named(told.layer)
    plan = asked.planned(told.site, told.out)
    marks, sight = _sight(told, plan)
    placed = set_out(plan)

    def read(path: Path, *of: LayerName) -> BuiltShots:
        if holds_a_book(path):
            return booked_shots(path, plan.site, placed, marks)
        return read_shots(path, plan.site.unit, placed, sight, of)

    shots = [read(told.shots, layer)]
    if told.under is not None:
        shots.append(read(told.under, *reversed(LAYERS[: LAYERS.index(layer)])))
    for sentence in filter(None, (*(each.passed_over for each in shots), *not_looked_at(*shots))):
        asked.say(f"Look again: {sentence}")
    below = {
        area.area.name: own for under in shots[1:] for area, own in shots_of_areas(plan, under)
    }
    found = [
        as_built(plan, area, own, layer, below.get(area.area.name))
        for area, own in shots_of_areas(plan, shots[0])
    ]
    if told.record:
        asked.say(f"recorded in {record_built(plan.site, found, sight, _entry(told, asked))}")
    asked.tell(asbuilt.as_json(found) if told.json else asbuilt.text(found))
    if told.out is not None:
        asked.written(told.out, write_asbuilt(plan, found, told.out, asked.say), told.json)
    return CHECK_FAILED if any(each.failed for each in found) else DONE


def _entry(told: argparse.Namespace, asked: Asked) -> Entry:
    now = datetime.datetime.now().astimezone()
    return Entry(told.who, told.note, tuple(told.photos), told.corrects, now, asked.version)


def _record(told: argparse.Namespace, asked: Asked) -> int:
    check_words((), told.paper)
    plan = asked.planned(told.site, told.out)
    folder, entry = plan.site.folder, _entry(told, asked)
    assert folder is not None
    if entry.note or entry.photos:
        asked.say(f"recorded in {record_note(plan.site, entry)}")
    records = records_of(folder)
    words = recorded.as_json if told.json else recorded.text
    asked.tell(words(plan.site.name, folder, records))
    if told.out is not None:
        written = write_signoff(plan, records, told.out, asked.say, told.paper)
        asked.written(told.out, written, told.json)
    return CHECK_FAILED if any(each.faults for each in records) else DONE


def _compare(told: argparse.Namespace, asked: Asked) -> int:
    if told.out is not None and not told.sign:
        mend = "Write --sign as well, or leave --out away."
        found = f"{told.out} without --sign"
        raise SiteError([Problem("--out", found, "a paper to write", mend)])
    check_words((), told.paper)
    folder = told.out or Path()
    with ExitStack() as restored:
        before = asked.planned(_site_of(told.before, restored))
        after = asked.planned(_site_of(told.after, restored), folder if told.sign else None)
        change = compared(before, after)
    asked.tell(comparison.as_json(change) if told.json else comparison.text(change))
    if told.sign:
        asked.written(folder, write_change(change, folder, asked.say, told.paper), told.json)
    return CHECK_FAILED if change.failed else DONE


def _site_of(path: Path, restored: ExitStack) -> Path:
    """Return a site as it was written: of a record, its design as it was, in a folder for now."""
    if not is_record(path):
        return path
    folder = restored.enter_context(scratch_folder())
    restore_design(path, folder)
    return folder


COMMANDS: Mapping[str, Callable[[argparse.Namespace, Asked], int]] = {
    "import": _import,
    "levels": _levels,
    "ties": _ties,
    "stakes": _stakes,
    "verify": _verify,
    "record": _record,
    "compare": _compare,
}
"""Each command by its name, which takes what was told and how it is answered."""
