"""Order units: what a supplier sells, rounded up, and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from msgspec import Struct

from grading.catalogue.items import TITLES
from grading.catalogue.tables import table
from grading.crew.lines import STONES, Line
from grading.crew.model import Crew
from grading.geometry.tolerances import whole_up
from grading.order.quantities import kind_of
from grading.units import SHORT_TON, TONNE, Unit


class Package(Struct, frozen=True):
    """How an item is sold: the word for it, its size, and the least step, in the item's measure."""

    word: str
    size: float
    step: float


class Supply(Struct, frozen=True):
    """One item to order.

    Attributes
    ----------
    item, title : str
    measure : "kg", "m2", "m" or "each"
    net, amount : float
        Without and with waste, in the measure.
    count : float
        How many packages to order, rounded up.
    package : Package
    price : float
        Of one package. [money]
    mass : float
        What comes, before rounding. [kg]
    loose : float
        Stone and sand as it comes, before rounding. [m3]
    loose_order : float
        The same by volume, rounded up as it is sold. [m3]
    pallets : int
        Of pavers.
    """

    item: str
    title: str
    measure: str
    net: float
    amount: float
    count: float
    package: Package
    price: float
    mass: float
    loose: float
    loose_order: float
    pallets: int

    @property
    def cost(self) -> float:
        """What it costs. [money]"""
        return self.count * self.price


def rounded_up(amount: float, step: float) -> float:
    """Return the least multiple of a step that is no less than the amount."""
    # A digit of rounding in the sum of many lines buys no further bag.
    return round(whole_up(amount / step) * step, 12)


def package_of(item: str, crew: Crew, unit: Unit) -> Package:
    """Return how an item is sold.

    Parameters
    ----------
    item : str
        One whose kind is of `TITLES`.
    crew : Crew
    unit : "ft" or "m"
        Stone and soil are sold by the ton of 2000 lb on a site in feet, by the tonne on one in
        metres.
    """
    if item in ("topsoil", "fill-soil", *STONES.values()):
        word, size = ("ton", SHORT_TON) if unit == "ft" else ("tonne", TONNE)
        return Package(word, size, crew[f"stone-order-{unit}"])
    if item == "geotextile":
        roll = crew["geotextile-roll-width"] * crew["geotextile-roll-length"]
        return Package("roll", roll, roll)
    word, *figure = table("order", "packages").get(kind_of(item), ["piece"])
    size = crew[figure[0]] if figure else 1.0
    return Package(word, size, size)


def supplies_of(lines: Iterable[Line], crew: Crew, unit: Unit) -> tuple[Supply, ...]:
    """Return what is ordered for some lines together, each item rounded up once.

    Parameters
    ----------
    lines : iterable of Line
    crew : Crew
    unit : "ft" or "m"
    """
    return tuple(supply_of(item, of, crew, unit) for item, of in by_item(lines).items())


def by_item(lines: Iterable[Line]) -> dict[str, tuple[Line, ...]]:
    """Return the lines of each item that is ordered, in the order of the list."""
    gathered: dict[str, list[Line]] = {}
    for line in lines:
        if line.item:
            gathered.setdefault(line.item, []).append(line)
    order = list(TITLES)
    listed = sorted(gathered, key=lambda item: order.index(kind_of(item)))
    return {item: tuple(gathered[item]) for item in listed}


def supply_of(item: str, lines: Sequence[Line], crew: Crew, unit: Unit) -> Supply:
    """Return what is ordered of one item.

    Parameters
    ----------
    item : str
        One whose kind is of `TITLES`.
    lines : sequence of Line
        All that there is of it.
    crew : Crew
    unit : "ft" or "m"
    """
    package = package_of(item, crew, unit)
    amount, loose = sum(line.amount for line in lines), sum(line.loose for line in lines)
    pallet = crew["paver-pallet"] if item == "pavers" else None
    return Supply(
        item=item,
        title=TITLES.get(item) or lines[0].title,
        measure=lines[0].measure,
        net=sum(line.net for line in lines),
        amount=amount,
        count=round(rounded_up(amount, package.step) / package.size, 6),
        package=package,
        price=crew.price(item) * package.size,
        mass=sum(line.mass for line in lines),
        loose=loose,
        loose_order=rounded_up(loose, crew[f"loose-order-{unit}"]) if loose else 0.0,
        pallets=round(rounded_up(amount, pallet) / pallet) if pallet else 0,
    )
