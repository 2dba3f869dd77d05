"""What a crew reckons with: densities, packages, rates and prices, and its own in their place.

A crew writes them in one file, `crew.toml`, that lies in the site folder, or in the folder that
holds its sites so that all of them share it. The nearer one counts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import suppress
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args

from msgspec import Struct, field
from msgspec.structs import replace
from pydantic import ValidationError

from grading.catalogue.bases import BaseSystem
from grading.catalogue.tables import table
from grading.crew.card import CrewTable, logo_path, logo_problems
from grading.crew.catalogue import bases_of
from grading.crew.factor import Factor, factor_of
from grading.crew.past_jobs import HOURS_FILE, find_hours, read_jobs
from grading.crew.price_table import PriceTable, pricing_of
from grading.errors import Problem, SiteError
from grading.files.toml_file import nearest, problems_of, read_toml, shown_value
from grading.signs import is_visible, shortened, visible
from grading.site.base_tables import BaseSystemSpec
from grading.site.paver_table import Pavers
from grading.units import INCH, Unit, UnitError, built_size
from grading.units.measures import read_like, read_measure

FILE = "crew.toml"
OWN = "the crew's own figure"

_PIECES = ("-lift", "-length", "-width", "-piece", "-spacing")  # what things are cut up into

Book = Literal["materials", "rates", "prices"]
Values = tuple[float, float, float]
Figure = tuple[Book, str]
"""The book and the name of a figure."""


class Entry(Struct, frozen=True):
    """One figure: its low, likely and high value in SI, its dimension, and its source.

    `written` is the likely value as it stands in the table; it tells the unit of a bare number.
    """

    book: Book
    name: str
    title: str
    values: Values
    dimension: str
    written: str
    source: str

    @property
    def likely(self) -> float:
        """The likely value, in SI."""
        return self.values[1]


def _read(book: Book, nominal: Unit) -> dict[str, Entry]:
    entries = {}
    for name, entry in table("crew", book).items():
        value = entry["value"]
        written = value if isinstance(value, list) else [value] * 3
        dimension = read_measure(written[1])[1]
        values = _values([read_like(part, part) for part in written])
        if nominal == "m" and "metric" in entry:
            values = _values([read_like(entry["metric"], entry["metric"])] * 3)
        elif nominal == "m" and dimension == "m":
            values = _values([built_size(*each) for each in zip(written, values, strict=True)])
        entries[name] = Entry(
            book, name, entry["title"], values, dimension, written[1], entry["source"]
        )
    return entries


def _values(read: Sequence[float]) -> Values:
    # A slow rate is written first and takes the most time: inside, the least comes first.
    least, likely, most = sorted(read)
    return least, likely, most


def _swells() -> dict[str, Entry]:
    """Return the swell of each soil: the same figures that the plan reckons with."""
    entries = {}
    for soil, entry in table("catalogue", "soils").items():
        name, swell = f"{soil}-swell", float(entry["swell"])
        title = f"swell of {soil} from the bank into the barrow"
        entries[name] = Entry(
            "materials", name, title, (swell, swell, swell), "ratio", f"{100 * swell:g} %",
            entry["source"],
        )  # fmt: skip
    return entries


@cache
def _defaults(nominal: Unit = "ft") -> Mapping[Book, Mapping[str, Entry]]:
    """Return every figure that is built in, sizes as round as they are where a site is in metres.

    What a bare number of a crew's own means is as the table has it, whatever the site is in.
    """
    books: dict[Book, dict[str, Entry]] = {book: _read(book, nominal) for book in get_args(Book)}
    books["materials"] |= _swells()
    return books


class Crew(Struct, frozen=True):
    """The figures of a crew.

    Attributes
    ----------
    materials, rates, prices : mapping of str to Entry
        By name.
    pavers : Pavers
        What is laid where an area says nothing else.
    currency : str
        The sign before an amount of money.
    file : str
        Where the crew's own figures were read from; empty where there are none.
    card : CrewTable
        Who it is, for the head of its sheets.
    systems : tuple of BaseSystemSpec
        Its catalogue: the base systems that all its sites are compared on.
    factor : Factor
        What slows or speeds all its work alike, as its own jobs tell.
    hours_file : str
        Where its own jobs were read from; empty where there are none.
    pricing : PriceTable or None
        How it makes a price from a cost; None where it says nothing of it.
    """

    materials: Mapping[str, Entry]
    rates: Mapping[str, Entry]
    prices: Mapping[str, Entry]
    pavers: Pavers
    currency: str = "$"
    file: str = ""
    card: CrewTable = field(default_factory=lambda: CrewTable.model_validate({}))
    systems: tuple[BaseSystemSpec, ...] = ()
    factor: Factor = field(default_factory=factor_of)
    hours_file: str = ""
    pricing: PriceTable | None = None

    @property
    def logo(self) -> Path | None:
        """The file of the crew's logo, where it has one."""
        return logo_path(self.card, Path(self.file).parent)

    def __getitem__(self, name: str) -> float:
        """Return the likely value of a material's figure, in SI."""
        return self.materials[name].likely

    def price(self, name: str) -> float:
        """Return a price, in money for each kg, m2, m, s or piece."""
        return self.prices[name].likely

    def entries(self) -> tuple[Entry, ...]:
        """Return every figure."""
        return (*self.materials.values(), *self.rates.values(), *self.prices.values())

    def having(self, entry: Entry, value: float) -> Crew:
        """Return a crew that reckons with another value of one figure, sure of it.

        Parameters
        ----------
        entry : Entry
        value : float
            In SI.
        """
        changed = replace(entry, values=(value, value, value))
        book: Any = {**getattr(self, entry.book), entry.name: changed}
        return replace(self, **{str(entry.book): book})

    def selling(self, systems: Iterable[BaseSystem]) -> Crew:
        """Return a crew that has a price for the panels and fixings that base systems tell of.

        Parameters
        ----------
        systems : iterable of BaseSystem
            What is written of no price is priced as other panels and fixings are.
        """
        prices = dict(self.prices)
        for system in systems:
            if system.panel is None:
                continue
            named = {system.panels: ("panels", system.panel.price, f"panels, {system.called}")}
            fixing = system.panel.fixing
            if fixing is not None:
                title = f"{fixing.name}, {system.called}"
                named[system.fixings] = "fixings", fixing.price, title
            for item, (like, price, title) in named.items():
                known = self.prices[like]
                values = known.values if price is None else (price, price, price)
                source = known.source if price is None else system.source or OWN
                prices[item] = replace(
                    known, name=item, title=title, values=values, source=source,
                    written=known.written if price is None else f"{price:g} /each",
                )  # fmt: skip
        return replace(self, prices=prices)

    def noting(self, looked_up: set[Figure]) -> Crew:
        """Return a crew with the same figures that notes which of them are looked up.

        Parameters
        ----------
        looked_up : set of (book, name)
            Where they are added.
        """
        return replace(
            self,
            materials=_Noting("materials", self.materials, looked_up),
            rates=_Noting("rates", self.rates, looked_up),
            prices=_Noting("prices", self.prices, looked_up),
        )


class _Noting(Mapping[str, Entry]):
    """A book of figures that notes which of them are looked up."""

    def __init__(self, book: Book, entries: Mapping[str, Entry], looked_up: set[Figure]) -> None:
        self.book, self.entries, self.looked_up = book, entries, looked_up

    def __getitem__(self, name: str) -> Entry:
        # One that is not there was looked for all the same, but there is no figure to move.
        entry = self.entries[name]
        self.looked_up.add((self.book, name))
        return entry

    def __iter__(self) -> Iterator[str]:
        return iter(self.entries)

    def __len__(self) -> int:
        return len(self.entries)


def _pavers_laid(written: Any, unit: Unit, nominal: Unit) -> Pavers:
    return Pavers.model_validate(written, context={"unit": unit, "nominal": nominal})


_BUILT_IN: Mapping[Unit, str] = {"ft": "$", "m": "US$"}
"""The sign before the prices that are built in, which are US dollars: where a site is in metres
they are hardly its own money, and say whose they are."""


def default_crew(nominal: Unit = "ft") -> Crew:
    """Return a crew without figures of its own.

    Parameters
    ----------
    nominal : "ft" or "m"
        What sizes that nobody wrote are round in.
    """
    books = _defaults(nominal)
    pavers = _pavers_laid({}, nominal, nominal)
    sign = _BUILT_IN[nominal]
    return Crew(books["materials"], books["rates"], books["prices"], pavers, sign)


def find_crew(folder: Path | None) -> Path | None:
    """Return the crew.toml that counts for a site folder: its own, else that of the folder above.

    Parameters
    ----------
    folder : Path or None
        The site folder.
    """
    if folder is None:
        return None
    home = folder.resolve()
    for place in dict.fromkeys((home, home.parent)):
        with suppress(PermissionError):  # a folder above that cannot be entered holds no file
            if (place / FILE).is_file():
                return place / FILE
    return None


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
    hours = find_hours(folder, path)
    if hours is None:
        return crew
    assert folder is not None
    shown = HOURS_FILE if hours.parent == folder.resolve() else str(hours)
    return replace(crew, factor=factor_of(read_jobs(hours, shown)), hours_file=str(hours))


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
        for book, entries in _defaults(nominal).items()
    }
    keys = (*books, "price", "pavers", "crew", "base", "unit", "currency")
    for key in written:
        if key not in keys:
            one_of = "one of " + ", ".join(f"`{word}`" for word in keys)
            shown = shortened(visible(key))
            problems.append(_wrong(shown, f"the key `{shown}`", one_of, nearest(key, keys)))
    pricing = None
    if "price" in written:
        names = set(_defaults()["prices"])
        pricing, unfit = pricing_of(written["price"], Path(file).parent, names, FILE)
        problems += unfit
    usual = "$" if written.get("prices") else _BUILT_IN[nominal]
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
    elif sign not in ("$", _BUILT_IN[nominal]) and not written.get("prices"):
        # Figures that are built in are dollars: another sign before them makes none of it.
        expected, mend = "prices of your own in it", "Write yours into [prices]."
        problems.append(_wrong("currency", f"{shown_value(sign)} and no prices", expected, mend))
    pavers = _pavers_laid({}, own_unit, nominal)
    try:
        pavers = _pavers_laid(written.get("pavers", {}), own_unit, nominal)
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
        pricing=pricing,
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
    return _values(read)
