"""The commands and their options, as help tells them: words alone, so that it comes at once."""

from __future__ import annotations

import argparse
from functools import partial

TYPE_CHECKING = False  # as `typing` has it, which help does without
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any

DOES = (
    "Cross-sections and grading for paver patios: which base, how deep the dig, "
    "and whether the water leaves the house."
)
STATUS = (
    "Exit status: 0 done; 1 done, and a check failed; 2 the input is wrong; "
    "3 a fault of fallaway's own. Estimates only: have utilities located before digging, and "
    "check on site."
)


def add_to(parser: argparse.ArgumentParser, version: str) -> None:
    """Add every command and what may be written after it.

    Parameters
    ----------
    parser : argparse parser
        Knows the types "path" and "port": what is no such word is refused by it.
    version : str
    """
    parser.add_argument("--version", action="version", version=f"fallaway {version}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND")

    def of_site(name: str, words: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=words)
        made.add_argument("site", metavar="SITE", type="path", help="site folder, or its site.toml")
        return made

    demo = commands.add_parser("demo", help="plan a bundled site, with its papers and its page")
    demo.add_argument(
        "out", metavar="DIR", nargs="?", default="fallaway-demo", type="path",
        help="where they go (default: fallaway-demo)",
    )  # fmt: skip
    _details(demo)
    demo.set_defaults(settled=[], mend=None, only=None, full=False, json=False, price=False)

    plan = commands.add_parser(
        "plan", help="whether to build it, what must be looked at, what it takes"
    )
    plan.add_argument(
        "sites", metavar="SITE", nargs="+", type="path",
        help="site folder, or its site.toml; several of them, or a folder of site folders",
    )  # fmt: skip
    _out(
        plan, "write homeowner.pdf, crew.pdf, yard.html and plan.json there; of several sites "
        "yards.csv and yards.xlsx"
    )  # fmt: skip
    _details(plan)
    _many_options(plan)
    shown = plan.add_mutually_exclusive_group()
    shown.add_argument("--full", action="store_true", help="print all of it, with its sources")
    shown.add_argument(
        "--only", metavar="PARTS", help="print some of it: checks,water,finish,base,dig,ground,"
        "survey,money,sources"
    )  # fmt: skip
    _json(shown)
    shown.add_argument(
        "--price", action="store_true",
        help="tell what it costs by prices that are built in, where the crew makes no price",
    )  # fmt: skip
    plan.add_argument(
        "--mend", metavar="NAME", help="write a mend that the plan names into site.toml, then plan"
    )
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

    _survey_commands(of_site)
    order = of_site("order", "what to order, move, work and pay on every base")
    _out(order, "write tables and a picture there")

    card = of_site("card", "every base over every depth of topsoil, on one page")
    _out(card, "write table and picture there")
    _json(card, "print the card as JSON, in SI")

    quote = of_site("quote", "the price of the job, and its paper to sign")
    _out(quote, "where quote.pdf and the crew's pricing.pdf go (default: here)")
    _json(quote, "print the price as JSON, in SI; papers are written with --out alone")
    quote.add_argument("--number", metavar="NUMBER", help="of the quote (default: of its plan)")
    quote.add_argument(
        "--date", metavar="DAY", help="such as 2027-05-20 (default: of the last record, else blank)"
    )
    _paper(quote)

    export = of_site("export", "models, drawings and tables in open formats")
    _out(export, "where they go", required=True)
    _units(export)
    export.add_argument(
        "--as", metavar="FORMATS", dest="formats",
        help="any of glb,usdz,stl,dxf,landxml,xlsx,csv (default: all)",
    )  # fmt: skip

    sheet = of_site("sheet", "printed sheets for the homeowner and for the crew")
    sheet.add_argument(
        "--for", dest="reader", metavar="WHO",
        help="homeowner, crew or questions (default: homeowner and crew)",
    )  # fmt: skip
    _out(sheet, "where (default: here)", default=".")
    _paper(sheet)

    _yard_commands(of_site, commands)
    _open_command(commands)

    film = of_site("sequence", "film how it is built")
    film.add_argument(
        "--bases", choices=("chosen", "all"), default="chosen",
        help="the base chosen, or all of them in step (default: chosen)",
    )  # fmt: skip
    films = "fallaway-sequence"
    _out(film, f"where film and strip go (default: {films})", default=films)


def _many_options(plan: argparse.ArgumentParser) -> None:
    many = plan.add_argument_group("several sites", "planned side by side, told in one table")
    many.add_argument(
        "--all-papers",
        action="store_true",
        help="what --out writes of one site, of each of them too",
    )
    many.add_argument(
        "--on", metavar="ADDRESS", help="of a Dask scheduler (default: this machine's processors)"
    )


def _open_command(commands: Any) -> None:
    """Add the command that does the whole job in a browser."""
    page = commands.add_parser("open", help="the whole job in the browser, from an empty yard on")
    page.add_argument(
        "site", metavar="SITE", nargs="?", type="path",
        help="site folder (default: a new one, by the name that you give)",
    )  # fmt: skip
    page.add_argument("--port", metavar="PORT", type="port", default=0, help="default: a free one")
    page.add_argument("--no-browser", action="store_true", help="only tell the address")
    page.add_argument(
        "--share",
        choices=("view", "field"),
        help="let one browser of your network in too, to look or to bring shots in",
    )


def _survey_commands(of_site: Callable[[str, str], argparse.ArgumentParser]) -> None:
    """Add the commands that bring a survey in."""
    take = of_site("import", "points and scans, made into the survey of a site")
    take.add_argument(
        "files", metavar="FILE", nargs="+", type="path",
        help="points: csv, geojson, dxf, xml (LandXML), xlsx; scans: las, laz, ply, xyz",
    )  # fmt: skip
    take.add_argument(
        "--as", dest="way", choices=("points", "scan"), help="how to read them (by their endings)"
    )
    take.add_argument(
        "--common", metavar="FILE", type="path",
        help="csv of points seen in the scan too: point,x,y,z,scan x,scan y,scan z",
    )  # fmt: skip
    take.add_argument(
        "--units", choices=("ft", "m", "us-ft"), help="of files that do not say so themselves"
    )
    take.add_argument("--part", metavar="NAME", help="one layer, surface or sheet of the file")
    take.add_argument("--up", choices=("y", "z"), default="z", help="what points up in the scan")
    _json(take, "print what was done as JSON, in SI")
    _json(of_site("levels", "the level book reduced, closed and adjusted"))
    _json(of_site("ties", "points placed by tape from two references or more"))


def _yard_commands(of_site: Callable[[str, str], argparse.ArgumentParser], commands: Any) -> None:
    """Add the commands that bring a plan back into the yard, and what was built back to it."""
    stakes = of_site("stakes", "stakes by tape and rod, strings and their boards")
    _sight_options(stakes, "today")
    stakes.add_argument("--grid", metavar="SPACING", help="of the grid (default: the crew sheet's)")
    stakes.add_argument("--every", metavar="SPACING", help="stakes along the edges as well")
    stakes.add_argument(
        "--round", metavar="STEP", dest="step", help="to the nearest of (default: 1/16 in or 1 mm)"
    )
    _json(stakes)
    _out(stakes, "write cards, CSV, DXF and take-away.html there")

    verify = of_site("verify", "what was built, held against the design")
    verify.add_argument(
        "shots", metavar="SHOTS", type="path",
        help="csv of stake or x,y, and rod or z; or a level book",
    )  # fmt: skip
    verify.add_argument(
        "--layer", metavar="LAYER", required=True, help="subgrade, base, bedding or surface"
    )
    verify.add_argument(
        "--under", metavar="SHOTS", type="path", help="shots of the layer below: its thickness"
    )
    _sight_options(verify, "then")
    _json(verify)
    _out(verify, "write a map and list as PDF and CSV there")
    verify.add_argument("--record", action="store_true", help="keep it in the site's records too")
    _entry_options(verify)

    record = of_site("record", "what was recorded, and the sheet to sign off")
    _entry_options(record)
    _json(record, "print the records as JSON, in SI")
    _out(record, "write signoff.pdf there")
    _paper(record)

    compare = commands.add_parser("compare", help="what changes from one site to another, and why")
    compare.add_argument(
        "before", metavar="BEFORE", type="path", help="site folder as agreed, or one of its records"
    )
    compare.add_argument("after", metavar="AFTER", type="path", help="the same yard as it is now")
    _json(compare)
    compare.add_argument(
        "--sign", action="store_true", help="write change-N.pdf, one page to sign, as well"
    )
    _out(compare, "where change-N.pdf goes (default: here)")
    _paper(compare)


def _sight_options(parser: argparse.ArgumentParser, when: str) -> None:
    parser.add_argument("--benchmark", metavar="NAME", help=f"what the level is sighted on {when}")
    parser.add_argument("--reading", metavar="ROD", help="what the rod on it reads")
    parser.add_argument(
        "--rod", metavar="MARKS", help="ft-in, ft, m, cm or mm: what the rod is marked in"
    )


def _entry_options(parser: argparse.ArgumentParser) -> None:
    """Add what a person says beside what was measured."""
    parser.add_argument("--who", metavar="NAME", default="", help="who measured or writes it")
    parser.add_argument("--note", metavar="WORDS", default="", help="what was found or agreed")
    parser.add_argument(
        "--photo", metavar="FILE", dest="photos", action="append", type="path", default=[],
        help="a photo in the site's folder",
    )  # fmt: skip
    parser.add_argument(
        "--corrects", metavar="NUMBER", type=int, help="the record that this stands in place of"
    )


def _json(
    parser: argparse._ActionsContainer, words: str = "print the result as JSON, in SI"
) -> None:
    parser.add_argument("--json", action="store_true", help=words)


def _details(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--details", action="store_true",
        help="write DIR/details too: report, tables, drawings, stills, film",
    )  # fmt: skip
    parser.add_argument("--png", action="store_true", help="drawings of the details as PNG too")
    _units(parser)


def _units(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--units", choices=("own", "both"), default="own",
        help="figures on drawings, pictures, page, models and tables (papers: the site's own)",
    )  # fmt: skip


def _paper(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--paper", metavar="PAPER", help="letter or a4 (default: letter in feet, a4 in metres)"
    )


def _out(parser: argparse.ArgumentParser, words: str, **options: Any) -> None:
    parser.add_argument("--out", metavar="DIR", type="path", help=words, **options)


def _told(option: str, words: str) -> tuple[str, str]:
    """Return an option with what was written after it: they are kept in one list, in order."""
    return option, words
