"""What a crew reckons with: densities, packages, rates and prices, and its own in their place."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Literal, get_args

from msgspec import Struct, field
from msgspec.structs import replace

from grading.catalogue.bases import BaseSystem
from grading.catalogue.tables import table
from grading.crew.card import CrewTable, logo_path
from grading.crew.factor import Factor, factor_of
from grading.crew.price_table import PriceTable
from grading.site.base_tables import BaseSystemSpec
from grading.site.paver_table import Pavers
from grading.units import Unit, built_size
from grading.units.measures import read_like, read_measure

FILE = "crew.toml"
OWN = "the crew's own figure"

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
        values = in_order([read_like(part, part) for part in written])
        if nominal == "m" and "metric" in entry:
            values = in_order([read_like(entry["metric"], entry["metric"])] * 3)
        elif nominal == "m" and dimension == "m":
            values = in_order([built_size(*each) for each in zip(written, values, strict=True)])
        entries[name] = Entry(
            book, name, entry["title"], values, dimension, written[1], entry["source"]
        )
    return entries


def in_order(read: Sequence[float]) -> Values:
    """Return low, likely and high: a slow rate is written first and takes the most time."""
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
def built_in(nominal: Unit = "ft") -> Mapping[Book, Mapping[str, Entry]]:
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
    called, hours_called : str
        Both files by their way from the site folder: what is told of them wherever it is read,
        since where they lie on this machine is no business of who is handed a paper.
    priced : bool
        Whether it gave prices of its own: those that are built in only weigh one thing against
        another, and are told to nobody as money.
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
    called: str = ""
    hours_called: str = ""
    priced: bool = False

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


def pavers_laid(written: Any, unit: Unit, nominal: Unit) -> Pavers:
    """Return [pavers] as written, bare lengths in one unit, sizes nobody wrote round in another."""
    return Pavers.model_validate(written, context={"unit": unit, "nominal": nominal})


SIGN: Mapping[Unit, str] = {"ft": "$", "m": "US$"}
"""The sign before the prices that are built in, which are US dollars: where a site is in metres
they are hardly its own money, and say whose they are."""


@cache
def default_crew(nominal: Unit = "ft") -> Crew:
    """Return a crew without figures of its own.

    Parameters
    ----------
    nominal : "ft" or "m"
        What sizes that nobody wrote are round in.
    """
    books = built_in(nominal)
    pavers = pavers_laid({}, nominal, nominal)
    sign = SIGN[nominal]
    return Crew(books["materials"], books["rates"], books["prices"], pavers, sign)
