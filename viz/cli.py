"""The command: `fallaway demo`, and `plan`, `import`, `order`, `card` and others of a SITE.

Only argparse is imported before it is known what to do, so that help comes at once.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from contextlib import ExitStack
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from grading import Plan
    from grading.asbuilt.shots import BuiltShots
    from grading.logbook.model import Entry

VERSION = "0.1.0"
DEMO_SITE = "back-patio"

DONE, CHECK_FAILED, INPUT_WRONG, OWN_FAULT = 0, 1, 2, 3


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="fallaway",
        description="Cross-sections and grading for paver patios: which base, how deep the dig, "
        "and whether the water leaves the house.",
        epilog="Exit status: 0 done; 1 done, and a check failed; 2 the input is wrong; "
        "3 a fault of fallaway's own. Estimates only: have utilities located before digging, and "
        "check on site.",
    )
    parser.add_argument("--version", action="version", version=f"fallaway {VERSION}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    demo = commands.add_parser("demo", help="plan a bundled site, with drawings and sheets")
    demo.add_argument(
        "folder",
        metavar="DIR",
        nargs="?",
        default="fallaway-demo",
        type=_path,
        help="where the drawings go (default: fallaway-demo)",
    )

    plan = commands.add_parser("plan", help="ground, finish, dig of every base system, checks")
    plan.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    plan.add_argument("--out", metavar="DIR", type=_path, help="write drawings and tables there")
    plan.add_argument("--json", action="store_true", help="print the result as JSON, in SI")
    settling = plan.add_argument_group(
        "shots that stand out", "written into site.toml, then planned; the survey's file stays"
    )
    for option, metavar, words in (
        ("--keep", "ID", "the shot was read again and is right"),
        ("--shot", "ID=LEVEL", "the shot was read again and is this"),
        ("--without", "ID", "plan without the shot"),
    ):
        settling.add_argument(
            option, metavar=metavar, dest="settled", action="append", help=words, default=[],
            type=partial(_told, option),
        )  # fmt: skip

    take = commands.add_parser("import", help="points and scans, made into the survey of a site")
    take.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    take.add_argument(
        "files", metavar="FILE", nargs="+", type=_path,
        help="points: csv, geojson, dxf, xml (LandXML), xlsx; scans: las, laz, ply, xyz",
    )  # fmt: skip
    take.add_argument(
        "--as", dest="way", choices=("points", "scan"), help="how to read them (by their endings)"
    )
    take.add_argument(
        "--common", metavar="FILE", type=_path,
        help="csv of points seen in the scan too: point,x,y,z,scan x,scan y,scan z",
    )  # fmt: skip
    take.add_argument(
        "--units", choices=("ft", "m", "us-ft"), help="of files that do not say so themselves"
    )
    take.add_argument("--part", metavar="NAME", help="one layer, surface or sheet of the file")
    take.add_argument("--up", choices=("y", "z"), default="z", help="what points up in the scan")
    take.add_argument("--json", action="store_true", help="print what was done as JSON, in SI")

    order = commands.add_parser("order", help="what to order, move, work and pay on every base")
    order.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    order.add_argument("--out", metavar="DIR", type=_path, help="write tables and a picture there")

    card = commands.add_parser("card", help="every base over every depth of topsoil, on one page")
    card.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    card.add_argument("--out", metavar="DIR", type=_path, help="write table and picture there")
    card.add_argument("--json", action="store_true", help="print the card as JSON, in SI")

    levels = commands.add_parser("levels", help="the level book reduced, closed and adjusted")
    levels.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    levels.add_argument("--json", action="store_true", help="print it as JSON, in SI")

    ties = commands.add_parser("ties", help="points placed by tape from two references or more")
    ties.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    ties.add_argument("--json", action="store_true", help="print them as JSON, in SI")

    export = commands.add_parser("export", help="models, drawings and tables in open formats")
    export.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    export.add_argument("--out", metavar="DIR", type=_path, required=True, help="where they go")
    export.add_argument(
        "--as", metavar="FORMATS", dest="formats",
        help="any of glb,stl,dxf,landxml,xlsx,csv (default: all)",
    )  # fmt: skip

    sheet = commands.add_parser("sheet", help="printed sheets for the homeowner and for the crew")
    sheet.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    sheet.add_argument(
        "--for", dest="reader", metavar="WHO", help="homeowner or crew (default: a sheet for each)"
    )
    sheet.add_argument(
        "--out", metavar="DIR", type=_path, default=Path(), help="where (default: here)"
    )
    sheet.add_argument(
        "--paper", metavar="PAPER", help="letter or a4 (default: letter in feet, a4 in metres)"
    )

    stakes = commands.add_parser("stakes", help="stakes by tape and rod, strings and their boards")
    stakes.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    stakes.add_argument("--benchmark", metavar="NAME", help="what the level is sighted on today")
    stakes.add_argument("--reading", metavar="ROD", help="what the rod on it reads")
    stakes.add_argument(
        "--rod", metavar="MARKS", help="ft-in, ft, m, cm or mm: what the rod is marked in"
    )
    stakes.add_argument("--grid", metavar="SPACING", help="of the grid (default: the crew sheet's)")
    stakes.add_argument("--every", metavar="SPACING", help="stakes along the edges as well")
    stakes.add_argument(
        "--round", metavar="STEP", dest="step", help="to the nearest of (default: 1/16 in or 1 mm)"
    )
    stakes.add_argument("--json", action="store_true", help="print the result as JSON, in SI")
    stakes.add_argument("--out", metavar="DIR", type=_path, help="write cards, CSV and DXF there")

    verify = commands.add_parser("verify", help="what was built, held against the design")
    verify.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    verify.add_argument(
        "shots",
        metavar="SHOTS",
        type=_path,
        help="csv of stake or x,y, and rod or z; or a level book",
    )
    verify.add_argument(
        "--layer", metavar="LAYER", required=True, help="subgrade, base, bedding or surface"
    )
    verify.add_argument(
        "--under", metavar="SHOTS", type=_path, help="shots of the layer below: its thickness"
    )
    verify.add_argument("--benchmark", metavar="NAME", help="what the level was sighted on")
    verify.add_argument("--reading", metavar="ROD", help="what the rod on it read")
    verify.add_argument(
        "--rod", metavar="MARKS", help="ft-in, ft, m, cm or mm: what the rod is marked in"
    )
    verify.add_argument("--json", action="store_true", help="print the result as JSON, in SI")
    verify.add_argument(
        "--out", metavar="DIR", type=_path, help="write a map and list as PDF and CSV there"
    )
    verify.add_argument("--record", action="store_true", help="keep it in the site's records too")
    _entry_options(verify)

    record = commands.add_parser("record", help="what was recorded, and the sheet to sign off")
    record.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    _entry_options(record)
    record.add_argument("--json", action="store_true", help="print the records as JSON, in SI")
    record.add_argument("--out", metavar="DIR", type=_path, help="write signoff.pdf there")
    record.add_argument(
        "--paper", metavar="PAPER", help="letter or a4 (default: letter in feet, a4 in metres)"
    )

    compare = commands.add_parser("compare", help="what changes from one site to another, and why")
    compare.add_argument(
        "before", metavar="BEFORE", type=_path, help="site folder as agreed, or one of its records"
    )
    compare.add_argument("after", metavar="AFTER", type=_path, help="the same yard as it is now")
    compare.add_argument("--json", action="store_true", help="print the result as JSON, in SI")
    compare.add_argument(
        "--sign", action="store_true", help="write change-N.pdf, one page to sign, as well"
    )
    compare.add_argument(
        "--out", metavar="DIR", type=_path, help="where change-N.pdf goes (default: here)"
    )
    compare.add_argument(
        "--paper", metavar="PAPER", help="letter or a4 (default: letter in feet, a4 in metres)"
    )

    show = commands.add_parser("open", help="turn the layers of a site in the browser")
    show.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")

    film = commands.add_parser("sequence", help="film how it is built, all bases in step")
    film.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    film.add_argument(
        "--out",
        metavar="DIR",
        type=_path,
        default=Path("fallaway-sequence"),
        help="where film and strip go (default: fallaway-sequence)",
    )
    return parser


def _entry_options(parser: argparse.ArgumentParser) -> None:
    """Add what a person says beside what was measured."""
    parser.add_argument("--who", metavar="NAME", default="", help="who measured or writes it")
    parser.add_argument("--note", metavar="WORDS", default="", help="what was found or agreed")
    parser.add_argument(
        "--photo", metavar="FILE", dest="photos", action="append", type=_path, default=[],
        help="a photo in the site's folder",
    )  # fmt: skip
    parser.add_argument(
        "--corrects", metavar="NUMBER", type=int, help="the record that this stands in place of"
    )


def _entry(arguments: argparse.Namespace) -> Entry:
    import datetime

    from grading.logbook.model import Entry

    now = datetime.datetime.now().astimezone()
    return Entry(
        arguments.who, arguments.note, tuple(arguments.photos), arguments.corrects, now, VERSION
    )


def _record(arguments: argparse.Namespace) -> int:
    from grading.logbook.chain import records_of
    from grading.logbook.model import record_note
    from viz.files import check_owner
    from viz.sheets.write import check_words
    from viz.terminal import records as printed
    from viz.terminal import report

    check_words((), arguments.paper)
    plan, out = _planned(arguments.site), arguments.out
    folder = plan.site.folder
    assert folder is not None
    if out is not None:
        check_owner(out, plan.site)
    entry = _entry(arguments)
    if entry.note or entry.photos:
        _say(f"recorded in {record_note(plan.site, entry)}")
    records = records_of(folder)
    words = printed.as_json if arguments.json else printed.text
    _tell(words(plan.site.name, folder, records))
    if out is not None:
        from viz.sheets.signoff import write_signoff

        written = write_signoff(plan, records, out, _say, arguments.paper)
        if not arguments.json:
            _tell(report.written(out, written))
    return CHECK_FAILED if any(each.faults for each in records) else DONE


def _told(option: str, words: str) -> tuple[str, str]:
    """Return an option with what was written after it: they are kept in one list, in order."""
    return option, words


def _say(sentence: str) -> None:
    from viz.terminal.lines import say

    say(sentence)


def _tell(words: object, end: str = "\n") -> None:
    """Write to standard output; what it cannot take is a fault of the place it goes to."""
    from viz.terminal.lines import tell

    try:
        tell(str(words), end)
    except OSError as error:
        from grading.errors import Problem, SiteError

        found = (error.strerror or str(error)).lower()
        mend = "Send it to another file, or make room."
        raise SiteError(
            [Problem("standard output", found, "a place that can be written", mend)]
        ) from error


def _path(words: str) -> Path:
    """Return a path as it was written; an empty one, as a variable not set leaves, is none."""
    if words.strip():
        return Path(words)
    from grading.errors import Problem, SiteError

    mend = 'For the folder that you are in write ".".'
    raise SiteError([Problem("the command", 'an empty name ""', "the name of a folder", mend)])


def _planned(site: Path) -> Plan:
    """Return the plan of a site; where there is none, say what looked odd in it as well."""
    import grading
    from grading.ground.model import survey_to_ground

    read = grading.read_site(site)
    try:
        return grading.plan(read)
    except grading.GradingError:
        try:
            ground = survey_to_ground(read)
            suspects = ground.shots.suspects if ground.shots is not None else ()
            odd = (*read.warnings, *ground.warnings, *(each.text for each in suspects))
        except grading.GradingError:
            odd = read.warnings
        for warning in odd:
            _say(f"look again: {warning}")
        raise


def _plan(site: Path, out: Path | None, as_json: bool, sheets: bool = False) -> int:
    import json

    import grading
    from viz.files import check_owner
    from viz.terminal import report

    plan = _planned(site)
    if out is not None:
        check_owner(out, plan.site)
    if as_json:
        _tell(json.dumps(grading.record(plan), indent=2, allow_nan=False))
        for warning in plan.warnings:
            _say(f"look again: {warning}")
    else:
        _tell(report.text(plan))
    if out is not None:
        from viz import outputs

        written = outputs.write(plan, out, _say)
        if sheets:
            from viz.sheets import write_sheets

            written = sorted([*written, *write_sheets(plan, out, _say)])
        if not as_json:
            _tell(report.written(out, written))
    return CHECK_FAILED if plan.failed else DONE


def _settle(site: Path, settled: Sequence[tuple[str, str]]) -> None:
    """Write into the site what became of shots, where anything is said of them."""
    if settled:
        import datetime

        from grading.reading.survey_edit import Settling, settle

        settle(site, [Settling(*each) for each in settled], datetime.date.today())


def _import(arguments: argparse.Namespace) -> int:
    import json

    from grading.reading.site_file import locate
    from grading.survey.sources.importing import import_files
    from viz.terminal import imported
    from viz.terminal.progress import Progress

    folder, file = locate(arguments.site)
    with Progress() as progress:
        done = import_files(
            folder, file, arguments.files, way=arguments.way, common=arguments.common,
            units=arguments.units, part=arguments.part, y_up=arguments.up == "y",
            progress=progress.tell,
        )  # fmt: skip
    if arguments.json:
        _tell(json.dumps(done.record(), indent=2, allow_nan=False))
    else:
        _tell(imported.text(done))
    for remark in done.remarks:
        _say(f"look again: {remark}")
    return DONE


def _order(site: Path, out: Path | None) -> int:
    from viz.files import check_owner
    from viz.tables.account import account_of
    from viz.terminal import order, report

    plan = _planned(site)
    if out is not None:
        check_owner(out, plan.site)
    account = account_of(plan)
    _tell(order.text(account))
    if out is not None:
        _tell(report.written(out, order.write(account, out, _say)))
    if plan.failed:
        _say("a check of the plan failed: see `fallaway plan`")
    return CHECK_FAILED if plan.failed else DONE


def _card(site: Path, out: Path | None, as_json: bool) -> int:
    from viz.files import check_owner
    from viz.tables.card import sheet_of
    from viz.terminal import card, report

    plan = _planned(site)
    if out is not None:
        check_owner(out, plan.site)
    sheet = sheet_of(plan)
    _tell(card.as_json(sheet) if as_json else card.text(sheet))
    if out is not None:
        written = card.write(sheet, out, _say)
        if not as_json:
            _tell(report.written(out, written))
    if plan.failed:
        _say("a check of the plan failed: see `fallaway plan`")
    return CHECK_FAILED if plan.failed else DONE


def _levels(site: Path, as_json: bool) -> int:
    import grading
    from grading.survey.levels import levels_of
    from viz.terminal import levels as book

    read = grading.read_site(site)
    levels = levels_of(read)
    if levels is None:
        raise book.no_book(read)
    _tell(book.as_json(read, levels) if as_json else book.text(read, levels))
    return CHECK_FAILED if levels.failed else DONE


def _ties(site: Path, as_json: bool) -> int:
    import grading
    from grading.survey.taped import taped_of
    from viz.terminal import ties

    read = grading.read_site(site)
    places = taped_of(read)
    if not places.tied:
        raise ties.no_ties(read)
    _tell(ties.as_json(read, places) if as_json else ties.text(read, places))
    return CHECK_FAILED if any(each.fix.astray for each in places.tied) else DONE


def _export(site: Path, out: Path, formats: str | None) -> int:
    from viz import export
    from viz.terminal import report

    names = export.chosen_formats(formats)
    plan = _planned(site)
    _tell(report.written(out, export.export(plan, out, names)).lstrip("\n"))
    return CHECK_FAILED if plan.failed else DONE


def _sheet(site: Path, reader: str | None, out: Path, paper: str | None) -> int:
    from viz.sheets import KINDS, check_words, write_sheets
    from viz.terminal import report

    kinds = KINDS if reader is None else (reader,)
    check_words(kinds, paper)
    plan = _planned(site)
    _tell(report.written(out, write_sheets(plan, out, _say, kinds, paper)))
    for warning in plan.warnings:
        _say(f"look again: {warning}")
    if plan.failed:
        _say("a check of the plan failed: see `fallaway plan`")
    return CHECK_FAILED if plan.failed else DONE


def _stakes(arguments: argparse.Namespace) -> int:
    from grading.catalogue.rules import Limits
    from grading.setout.instrument import instrument_of, rod_marks, rounding_of
    from grading.setout.model import set_out, spacing_of
    from viz.files import check_owner
    from viz.tables.stakes import Told
    from viz.terminal import report, stakes

    plan, out = _planned(arguments.site), arguments.out
    if out is not None:
        check_owner(out, plan.site)
    unit = plan.site.unit
    told = Told(rod_marks(arguments.rod, plan.site), rounding_of(arguments.step, unit), unit)
    rod = Limits(plan.site.limits, unit)["rod-length"]
    found = set_out(
        plan,
        instrument_of(plan.site, arguments.benchmark, arguments.reading, rod, told.rod),
        spacing_of(arguments.grid, "--grid", plan),
        spacing_of(arguments.every, "--every", plan),
    )
    _tell(stakes.as_json(found, told) if arguments.json else stakes.text(found, told))
    if out is not None:
        from viz.sheets.stakes import write_stakes

        written = write_stakes(found, told, out, _say)
        if not arguments.json:
            _tell(report.written(out, written))
    if plan.failed:
        _say("a check of the plan failed: see `fallaway plan`")
    return CHECK_FAILED if plan.failed else DONE


def _verify(arguments: argparse.Namespace) -> int:
    from grading.asbuilt.booked import booked_shots, holds_a_book
    from grading.asbuilt.model import as_built, layer_named, shots_of_areas
    from grading.asbuilt.shots import read_shots
    from grading.catalogue.rules import Limits
    from grading.setout.instrument import instrument_of, rod_marks
    from grading.setout.model import set_out
    from viz.files import check_owner
    from viz.terminal import asbuilt, report

    layer = layer_named(arguments.layer)
    plan = _planned(arguments.site)
    if arguments.out is not None:
        check_owner(arguments.out, plan.site)
    unit = plan.site.unit
    rod = Limits(plan.site.limits, unit)["rod-length"]
    marks = rod_marks(arguments.rod, plan.site)
    sight = instrument_of(plan.site, arguments.benchmark, arguments.reading, rod, marks)
    stakes = set_out(plan)

    def read(path: Path) -> BuiltShots:
        if holds_a_book(path):
            return booked_shots(path, plan.site, stakes, marks)
        return read_shots(path, unit, stakes, sight)

    shots = read(arguments.shots)
    under = None if arguments.under is None else read(arguments.under)
    below = (
        {} if under is None else {area.area.name: own for area, own in shots_of_areas(plan, under)}
    )
    found = [
        as_built(plan, area, own, layer, below.get(area.area.name))
        for area, own in shots_of_areas(plan, shots)
    ]
    if arguments.record:
        from grading.logbook.model import record_built

        _say(f"recorded in {record_built(plan.site, found, sight, _entry(arguments))}")
    _tell(asbuilt.as_json(found) if arguments.json else asbuilt.text(found))
    if arguments.out is not None:
        from viz.sheets.asbuilt import write_asbuilt

        written = write_asbuilt(plan, found, arguments.out, _say)
        if not arguments.json:
            _tell(report.written(arguments.out, written))
    return CHECK_FAILED if any(each.failed for each in found) else DONE


def _site_of(path: Path, restored: ExitStack) -> Path:
    """Return a site as it was written: of a record, its design as it was, in a folder for now."""
    from grading.logbook.kept import is_record, restore_design
    from viz.scratch import scratch_folder

    if not is_record(path):
        return path
    folder = restored.enter_context(scratch_folder())
    restore_design(path, folder)
    return folder


def _compare(
    before: Path, after: Path, as_json: bool, sign: bool, out: Path | None, paper: str | None
) -> int:
    from grading.comparison.model import compared
    from viz.files import check_owner
    from viz.sheets.write import check_words
    from viz.terminal import comparison, report

    if out is not None and not sign:
        from grading.errors import Problem, SiteError

        mend = "Write --sign as well, or leave --out away."
        raise SiteError([Problem("--out", f"{out} without --sign", "a paper to write", mend)])
    check_words((), paper)
    folder = Path() if out is None else out
    with ExitStack() as restored:
        found = compared(_planned(_site_of(before, restored)), _planned(_site_of(after, restored)))
    if sign:
        check_owner(folder, found.after.site)
    _tell(comparison.as_json(found) if as_json else comparison.text(found))
    if sign:
        from viz.sheets.change import write_change

        written = write_change(found, folder, _say, paper)
        if not as_json:
            _tell(report.written(folder, written))
    return CHECK_FAILED if found.failed else DONE


def _demo(folder: Path) -> int:
    import sample_sites

    return _plan(sample_sites.path(DEMO_SITE), folder, as_json=False, sheets=True)


def _open(site: Path) -> int:
    import tempfile
    import webbrowser

    from viz.page import write_page
    from viz.scratch import no_room

    plan = _planned(site)
    try:
        page = write_page(plan, Path(tempfile.mkdtemp(prefix="fallaway-")) / "index.html")
    except OSError as error:
        raise no_room(error) from error
    _tell(page)
    if not webbrowser.open(page.as_uri()):
        _say(f"no browser could be opened here; open {page} in one")
    return CHECK_FAILED if plan.failed else DONE


def _sequence(site: Path, out: Path) -> int:
    from viz.files import check_owner, write_with
    from viz.pictures.film import write_film
    from viz.terminal import report

    plan = _planned(site)
    check_owner(out, plan.site)
    _say("filming the build-up ...")

    def make(folder: Path) -> None:
        write_film(plan, folder)

    _tell(report.written(out, write_with(out, make, plan.site)))
    return CHECK_FAILED if plan.failed else DONE


def _run(arguments: argparse.Namespace) -> int:
    match arguments.command:
        case "demo":
            return _demo(arguments.folder)
        case "plan":
            _settle(arguments.site, arguments.settled)
            return _plan(arguments.site, arguments.out, arguments.json)
        case "import":
            return _import(arguments)
        case "order":
            return _order(arguments.site, arguments.out)
        case "card":
            return _card(arguments.site, arguments.out, arguments.json)
        case "levels":
            return _levels(arguments.site, arguments.json)
        case "ties":
            return _ties(arguments.site, arguments.json)
        case "export":
            return _export(arguments.site, arguments.out, arguments.formats)
        case "sheet":
            return _sheet(arguments.site, arguments.reader, arguments.out, arguments.paper)
        case "stakes":
            return _stakes(arguments)
        case "record":
            return _record(arguments)
        case "verify":
            return _verify(arguments)
        case "compare":
            return _compare(
                arguments.before, arguments.after, arguments.json, arguments.sign, arguments.out,
                arguments.paper,
            )  # fmt: skip
        case "open":
            return _open(arguments.site)
        case "sequence":
            return _sequence(arguments.site, arguments.out)
    _tell(_parser().format_help(), end="")
    return DONE


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status.

    Parameters
    ----------
    arguments : sequence of str, optional
        The words after `fallaway`; those of the process by default.
    """
    from viz.terminal.lines import hold_warnings, open_streams, stoppable

    with stoppable() as stop:
        try:
            open_streams()
            if arguments is None:
                hold_warnings()
            status = _main(arguments)
        except (SystemExit, KeyboardInterrupt):
            if not stop.signal:
                raise
        # Also what is no Exception: libraries in other languages have panics of their own.
        except BaseException as error:
            if not stop.signal:
                return _faulty(error, arguments)
        if not stop.signal:
            return status
        _say("stopped")
        return stop.status


def _faulty(error: BaseException, arguments: Sequence[str] | None) -> int:
    """Say in a sentence where the report of a fault of our own lies."""
    from viz.terminal.fault import told

    words = sys.argv[1:] if arguments is None else list(arguments)
    try:
        site = getattr(_parser().parse_args(words), "site", None)
    except (Exception, SystemExit):
        site = None
    _say(told(error, words, site, VERSION))
    return OWN_FAULT


def _main(arguments: Sequence[str] | None) -> int:
    try:
        return _run(_chosen(arguments))
    except Exception as error:
        from grading.errors import GradingError

        if not isinstance(error, GradingError):
            raise
        _say(str(error))
        return error.exit_status


def _chosen(arguments: Sequence[str] | None) -> argparse.Namespace:
    try:
        return _parser().parse_args(arguments)
    finally:
        _tell("", end="")  # of the help that was asked for, some stands in the stream still


if __name__ == "__main__":
    sys.exit(main())
