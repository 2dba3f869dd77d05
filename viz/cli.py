"""The command: `fallaway demo`, and `plan`, `order`, `card`, `sheet` and others of a SITE.

Only argparse is imported before it is known what to do, so that help comes at once.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

if TYPE_CHECKING:
    from grading import Plan

VERSION = "0.1.0"
DEMO_SITE = "back-patio"

DONE, CHECK_FAILED, INPUT_WRONG, OWN_FAULT = 0, 1, 2, 3


class _Parser(argparse.ArgumentParser):
    """Refuses words as all else is refused: found, expected, how to mend it."""

    def error(self, message: str) -> NoReturn:
        from viz.terminal.asked import refused

        raise refused(self.prog, message, sorted(_options(_parser())))


def _options(parser: argparse.ArgumentParser) -> set[str]:
    """Return every option that a parser or a command of it has."""
    found: set[str] = set()
    for action in parser._actions:
        found |= {each for each in action.option_strings if each.startswith("--")}
        if isinstance(action, argparse._SubParsersAction):
            for each in action.choices.values():
                found |= _options(each)
    return found


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(
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

    order = commands.add_parser("order", help="what to order, move, work and pay on every base")
    order.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    order.add_argument("--out", metavar="DIR", type=_path, help="write tables and a picture there")

    card = commands.add_parser("card", help="every base over every depth of topsoil, on one page")
    card.add_argument("site", metavar="SITE", type=_path, help="site folder, or its site.toml")
    card.add_argument("--out", metavar="DIR", type=_path, help="write table and picture there")
    card.add_argument("--json", action="store_true", help="print the card as JSON, in SI")

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
        case "order":
            return _order(arguments.site, arguments.out)
        case "card":
            return _card(arguments.site, arguments.out, arguments.json)
        case "export":
            return _export(arguments.site, arguments.out, arguments.formats)
        case "sheet":
            return _sheet(arguments.site, arguments.reader, arguments.out, arguments.paper)
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
