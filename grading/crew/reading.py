"""A crew's own figures, read over those that are built in, and its catalogue of base systems.

A crew writes them in one file, `crew.toml`, that lies in the site folder, or in the folder that
holds its sites so that all of them share it. The nearer one counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import replace

from grading.crew.card import CrewTable, logo_problems
from grading.crew.factor import factor_of
from grading.crew.model import (
    FILE,
    OWN,
    SIGN,
    Book,
    Crew,
    Entry,
    Values,
    built_in,
    default_crew,
    in_order,
    pavers_laid,
)
from grading.crew.past_jobs import HOURS_FILE, find_hours, found_at, read_jobs
from grading.crew.price_table import pricing_of
from grading.errors import SiteError, unread
from grading.files.tables import Tables
from grading.files.toml_text import read_toml, shown_value
from grading.signs import is_visible
from grading.site.base_tables import BaseSystemSpec
from grading.site.paver_table import Pavers
from grading.units import INCH, Unit, UnitError
from grading.units.measures import read_like

_PIECES = ("-lift", "-length", "-width", "-piece", "-spacing")  # what things are cut up into


def find_crew(folder: Path | None) -> Path | None:
    """Return the crew.toml that counts for a site folder: its own, else that of the folder above.

    Parameters
    ----------
    folder : Path or None
        The site folder.
    """
    return None if folder is None else found_at(FILE, folder)


def read_crew(folder: Path | None, unit: Unit, nominal: Unit = "ft") -> Crew:
    """Read the crew's own figures over those built in, and its own jobs.

    Parameters
    ----------
    folder : Path or None
        The site folder.
    unit : "ft" or "m"
        What a bare length means under [pavers] and [[base]] where the file has no `unit`.
    nominal : "ft" or "m"
        What sizes that nobody wrote are round in.

    Raises
    ------
    SiteError
        Everything that is wrong with crew.toml, at once; or with hours.csv.
    """
    path = find_crew(folder)
    crew = default_crew(nominal) if path is None else _read_crew(path, folder, unit, nominal)
    if folder is None:
        return crew
    if path is not None:
        crew = replace(crew, called=_from(folder, path))
    hours = find_hours(folder, path)
    if hours is None:
        return crew
    shown = HOURS_FILE if hours.parent == folder.resolve() else str(hours)
    factor, called = factor_of(read_jobs(hours, shown)), _from(folder, hours)
    return replace(crew, factor=factor, hours_file=str(hours), hours_called=called)


def _from(folder: Path, file: Path) -> str:
    """Return a file beside a site folder or in it, by its way from there."""
    return file.name if file.parent == folder.resolve() else f"../{file.name}"


def _read_crew(path: Path, folder: Path | None, unit: Unit, nominal: Unit) -> Crew:
    try:
        return crew_of(read_toml(path, FILE), unit, str(path), nominal)
    except OSError as error:
        raise SiteError([unread(str(path), error)]) from None
    except SiteError as error:
        if folder is not None and path.parent == folder.resolve():
            raise
        # Of the folder above: its name alone would be looked for in the site folder.
        raise SiteError(
            [replace(one, where=str(path) + one.where.removeprefix(FILE)) for one in error.problems]
        ) from None


def crew_of(written: Mapping[str, Any], unit: Unit, file: str = FILE, nominal: Unit = "ft") -> Crew:
    """Return a crew from its own figures as written.

    Parameters
    ----------
    written : mapping
        Tables [materials], [rates], [prices], [price], [pavers], [crew], [[base]], and the keys
        `unit` and `currency`.
    unit : "ft" or "m"
        What a bare length means under [pavers] and [[base]] where there is no `unit`.
    file : str
        Kept with the crew; the logo lies in its folder.
    nominal : "ft" or "m"
        What sizes that nobody wrote are round in.

    Raises
    ------
    SiteError
        Everything that is wrong, at once.
    """
    own_unit = written.get("unit", unit)
    known: Unit = own_unit if own_unit in ("ft", "m") else unit
    reader, folder = Tables(FILE, written, known, nominal, catalogue=True), Path(file).parent
    books: dict[Book, Mapping[str, Entry]] = {
        book: {**entries, **_own(reader, book, entries)}
        for book, entries in built_in(nominal).items()
    }
    reader.check_keys((*books, "price", "pavers", "crew", "base", "unit", "currency"))
    pricing = pricing_of(reader, folder, built_in()["prices"])
    usual = "$" if written.get("prices") else SIGN[nominal]
    currency = written.get("currency", usual)
    if pricing is not None and pricing.currency is not None:
        if currency not in (pricing.currency, "$", usual):
            found = f"{shown_value(pricing.currency)} beside currency = {shown_value(currency)}"
            reader.wrong("price.currency", found, "one currency", "Leave one out.")
        currency = pricing.currency
    if own_unit != known:
        reader.wrong("unit", shown_value(own_unit), '"ft" or "m"')
    sign = currency.strip() if isinstance(currency, str) else ""
    if not 0 < len(sign) <= 4 or not is_visible(sign):
        reader.wrong("currency", shown_value(currency), 'a sign such as "$" or "CHF"')
    elif sign not in ("$", SIGN[nominal]) and not written.get("prices"):
        # Figures that are built in are dollars: another sign before them makes none of it.
        expected, mend = "prices of your own in it", "Write yours into [prices]."
        reader.wrong("currency", f"{shown_value(sign)} and no prices", expected, mend)
    pavers = reader.one("pavers", Pavers) or pavers_laid({}, known, nominal)
    card = reader.one("crew", CrewTable) or CrewTable.model_validate({})
    reader.problems += logo_problems(card, folder, FILE)
    systems = reader.many("base", BaseSystemSpec)
    first: dict[str, str] = {}
    for key, system in systems.items():
        if system.name in first:
            found = f'"{system.name}", which {first[system.name]} is too'
            reader.wrong(f"{key}.name", found, "a name of its own", "Rename one.")
        first.setdefault(system.name, key)
    if reader.problems:
        raise SiteError(reader.problems)
    return Crew(
        books["materials"], books["rates"], books["prices"], pavers, sign, file, card,
        tuple(systems.values()), pricing=pricing, priced=bool(written.get("prices")),
    )  # fmt: skip


def _own(reader: Tables, book: Book, known: Mapping[str, Entry]) -> dict[str, Entry]:
    raw = reader.written.get(book, {})
    if not isinstance(raw, dict):
        reader.wrong(book, shown_value(raw), f"a table [{book}]")
        return {}
    own = {}
    for name, value in raw.items():
        entry = known.get(name)
        if entry is None:
            some = ", ".join(f"`{other}`" for other in list(known)[:3])
            reader.unknown(name, f"a name in [{book}], such as {some}", known, f"{book}.")
            continue
        try:
            own[name] = replace(entry, values=_three(value, entry), source=OWN)
        except UnitError as error:
            reader.wrong(f"{book}.{name}", error.found, error.expected, error.mend)
    return own


def _three(value: Any, entry: Entry) -> Values:
    written = value if isinstance(value, list) else [value] * 3
    if len(written) != 3 or (entry.book != "rates" and isinstance(value, list)):
        wanted = "one figure, or low, likely and high" if entry.book == "rates" else "one figure"
        raise UnitError(f"{len(written)} figures", f'{wanted}, such as "{entry.written}"')
    read = [read_like(part, entry.written) for part in written]
    if read not in (sorted(read), sorted(read, reverse=True)):
        raise UnitError(shown_value(value), "low, likely and high in this order")
    whole = entry.book == "materials" and entry.dimension not in ("ratio", "each")
    # Nobody does a piece of work in no time; only waiting and setting up may take none.
    work = entry.book == "rates" and "/" in entry.dimension
    if (whole or work) and min(read) <= 0:
        raise UnitError(shown_value(value), "more than zero")
    if entry.name.endswith(_PIECES) and min(read) < INCH:
        raise UnitError(shown_value(value), "at least 1 in (25 mm)")
    return in_order(read)


def over_catalogue(
    catalogue: Sequence[BaseSystemSpec], own: Sequence[BaseSystemSpec]
) -> tuple[BaseSystemSpec, ...]:
    """Return the base systems of a site: the catalogue's, and its own in their place by name.

    Parameters
    ----------
    catalogue, own : sequence of BaseSystemSpec
    """
    return tuple({system.name: system for system in (*catalogue, *own)}.values())
