"""A crew's own figures, read over those that are built in, and its catalogue of base systems.

A crew writes them in one file, `crew.toml`, that lies in the site folder, or in the folder that
holds its sites so that all of them share it. The nearer one counts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from msgspec.structs import replace
from pydantic import ValidationError

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
from grading.errors import Problem, SiteError
from grading.files.toml_text import nearest, problems_of, read_toml, shown_value
from grading.signs import is_visible, shortened, visible
from grading.site.base_tables import BaseSystemSpec
from grading.site.paver_table import Pavers
from grading.units import INCH, Unit, UnitError
from grading.units.measures import read_like


def bases_of(
    raw: Any, unit: Unit, file: str
) -> tuple[tuple[BaseSystemSpec, ...], tuple[Problem, ...]]:
    """Return the base systems of a catalogue, and everything that is wrong with it.

    Parameters
    ----------
    raw : object
        What stands under [[base]] in the file.
    unit : "ft" or "m"
        What a bare length means.
    file : str
        Its name in messages.
    """
    if not isinstance(raw, list):
        found = "one table [base]" if isinstance(raw, dict) else shown_value(raw)
        wrong = Problem(f"{file}, key base", found, "a list of tables [[base]]", "Write [[base]].")
        return (), (wrong,)
    systems: dict[str, BaseSystemSpec] = {}
    problems: list[Problem] = []
    for place, table in enumerate(raw, start=1):
        key = f"base[{place}]"
        try:
            system = BaseSystemSpec.model_validate(table, context={"unit": unit, "catalogue": True})
        except ValidationError as error:
            problems += problems_of(error, BaseSystemSpec, table, file, key)
            continue
        if system.name in systems:
            first = list(systems).index(system.name) + 1
            found = f'"{system.name}", which base[{first}] is too'
            problems.append(
                Problem(f"{file}, key {key}.name", found, "a name of its own", "Rename one.")
            )
        systems.setdefault(system.name, system)
    return tuple(systems.values()), tuple(problems)


def over_catalogue(
    catalogue: Sequence[BaseSystemSpec], own: Sequence[BaseSystemSpec]
) -> tuple[BaseSystemSpec, ...]:
    """Return the base systems of a site: the catalogue's, and its own in their place by name.

    Parameters
    ----------
    catalogue, own : sequence of BaseSystemSpec
    """
    return tuple({system.name: system for system in (*catalogue, *own)}.values())


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
        found = f"a file that cannot be read ({error.strerror})"
        raise SiteError([Problem(str(path), found, "a file that can")]) from None
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
    problems: list[Problem] = []
    books: dict[Book, Mapping[str, Entry]] = {
        book: {**entries, **_own(book, entries, written.get(book, {}), problems)}
        for book, entries in built_in(nominal).items()
    }
    keys = (*books, "price", "pavers", "crew", "base", "unit", "currency")
    for key in written:
        if key not in keys:
            one_of = "one of " + ", ".join(f"`{word}`" for word in keys)
            shown = shortened(visible(key))
            problems.append(_wrong(shown, f"the key `{shown}`", one_of, nearest(key, keys)))
    pricing = None
    if "price" in written:
        names = set(built_in()["prices"])
        pricing, unfit = pricing_of(written["price"], Path(file).parent, names, FILE)
        problems += unfit
    usual = "$" if written.get("prices") else SIGN[nominal]
    own_unit, currency = written.get("unit", unit), written.get("currency", usual)
    if pricing is not None and pricing.currency is not None:
        if currency not in (pricing.currency, "$", usual):
            found = f"{shown_value(pricing.currency)} beside currency = {shown_value(currency)}"
            problems.append(_wrong("price.currency", found, "one currency", "Leave one out."))
        currency = pricing.currency
    if own_unit not in ("ft", "m"):
        problems.append(_wrong("unit", shown_value(own_unit), '"ft" or "m"'))
        own_unit = unit
    sign = currency.strip() if isinstance(currency, str) else ""
    if not 0 < len(sign) <= 4 or not is_visible(sign):
        problems.append(_wrong("currency", shown_value(currency), 'a sign such as "$" or "CHF"'))
    elif sign not in ("$", SIGN[nominal]) and not written.get("prices"):
        # Figures that are built in are dollars: another sign before them makes none of it.
        expected, mend = "prices of your own in it", "Write yours into [prices]."
        problems.append(_wrong("currency", f"{shown_value(sign)} and no prices", expected, mend))
    pavers = pavers_laid({}, own_unit, nominal)
    try:
        pavers = pavers_laid(written.get("pavers", {}), own_unit, nominal)
    except ValidationError as error:
        problems += problems_of(error, Pavers, written.get("pavers"), FILE, "pavers")
    card = CrewTable.model_validate({})
    try:
        card = CrewTable.model_validate(written.get("crew", {}))
        problems += logo_problems(card, Path(file).parent, FILE)
    except ValidationError as error:
        problems += problems_of(error, CrewTable, written.get("crew"), FILE, "crew")
    systems, wrong = bases_of(written.get("base", []), own_unit, FILE)
    problems += wrong
    if problems:
        raise SiteError(problems)
    return Crew(
        books["materials"], books["rates"], books["prices"], pavers, sign, file, card, systems,
        pricing=pricing, priced=bool(written.get("prices")),
    )  # fmt: skip


def _wrong(key: str, found: str, expected: str, mend: str = "") -> Problem:
    return Problem(f"{FILE}, key {key}", found, expected, mend)


def _own(
    book: Book, known: Mapping[str, Entry], raw: Any, problems: list[Problem]
) -> dict[str, Entry]:
    if not isinstance(raw, dict):
        problems.append(_wrong(book, shown_value(raw), f"a table [{book}]"))
        return {}
    own = {}
    for name, value in raw.items():
        entry = known.get(name)
        if entry is None:
            some = ", ".join(f"`{other}`" for other in list(known)[:3])
            expected = f"a name in [{book}], such as {some}"
            shown = shortened(visible(name))
            problems.append(
                _wrong(f"{book}.{shown}", f"the key `{shown}`", expected, nearest(name, known))
            )
            continue
        try:
            own[name] = replace(entry, values=_three(value, entry), source=OWN)
        except UnitError as error:
            key = f"{book}.{name}"
            problems.append(_wrong(key, error.found, error.expected, error.mend))
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
