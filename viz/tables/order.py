"""The tables of an order, in the site's own unit, with units in every header."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from grading.crew.model import Entry
from grading.order.days import half_days
from grading.order.margins.break_even import BreakEven, Step
from grading.order.margins.sensitivity import Swing
from grading.order.model import CHOSEN, AreaOrder, Job, Order
from grading.order.supplies import Supply
from grading.order.telling import Telling
from grading.units import (
    FOOT,
    HOUR,
    POUND,
    SHORT_TON,
    SQUARE_FOOT,
    TONNE,
    Unit,
    nominals,
    percent,
    size,
)
from viz.table import CUBIC, Cells, Table
from viz.table import cubic as exact_cubic
from viz.words.figures import figure

HEAVY: Mapping[Unit, str] = {"ft": "ton", "m": "tonne"}
LIGHT: Mapping[Unit, str] = {"ft": "lb", "m": "kg"}
_MEASURES: Mapping[Unit, Mapping[str, tuple[str, float]]] = {
    "ft": {"m2": ("ft²", SQUARE_FOOT), "m": ("ft", FOOT), "kg": ("lb", POUND)},
    "m": {"m2": ("m²", 1.0), "m": ("m", 1.0), "kg": ("kg", 1.0)},
}


def cubic(cubic_metres: float, unit: Unit) -> float:
    """Return a volume [m3] in yd3 or m3, to two decimals."""
    return round(exact_cubic(cubic_metres, unit), 2)


def heavy(kilograms: float, unit: Unit) -> float:
    """Return a mass [kg] in tons of 2000 lb or in tonnes, to two decimals."""
    return round(kilograms / (SHORT_TON if unit == "ft" else TONNE), 2)


def light(kilograms: float, unit: Unit) -> int:
    """Return a mass [kg] in lb or kg, whole."""
    return round(kilograms / (POUND if unit == "ft" else 1.0))


def amount_of(amount: float, measure: str, unit: Unit) -> tuple[float, str]:
    """Return an amount in the site's unit, and the name of that unit."""
    if measure == "m3":
        return cubic(amount, unit), CUBIC[unit]
    word, factor = _MEASURES[unit].get(measure, (measure, 1.0))
    value = amount / factor
    return round(value, 1 if value < 1000 else 0), word


def _lines(job: Job, unit: Unit) -> Iterator[Cells]:
    volume, mass = CUBIC[unit], LIGHT[unit]
    for _, line in job.lines:
        net, word = amount_of(line.net, line.measure, unit)
        yield {
            "quantity": line.title,
            "net (unit beside)": net,
            "with waste (unit beside)": amount_of(line.amount, line.measure, unit)[0],
            "unit": word,
            f"compacted ({volume})": cubic(line.compacted, unit) if line.loose else "",
            f"loose ({volume})": cubic(line.loose, unit) if line.loose else "",
            f"weight ({mass})": light(line.mass, unit) if line.mass else "",
            "how it was reached": line.how,
        }


def lines_table(job: Job, unit: Unit) -> Table:
    """Return how each quantity of a job was reached."""
    return Table.of(_lines(job, unit))


def all_lines(order: Order) -> Table:
    """Return the quantities of every area on every base system in one table."""
    return Table.of(
        {
            "area": area.area.area.name,
            "base": name,
            "chosen": "yes" if name == area.area.chosen else "",
            **line,
        }
        for area in order.areas
        for name, job in area.bases.items()
        for line in _lines(job, order.plan.site.unit)
    )


def pallets_words(supply: Supply) -> str:
    """Say on how many pallets a supply comes, where it comes on any."""
    return f"{supply.pallets} pallet{'s' if supply.pallets > 1 else ''}" if supply.pallets else ""


def _priced(supply: Supply, telling: Telling, room: bool) -> Cells:
    """Return what a supply costs; where nobody gave prices nothing, or room for what it does."""
    if not telling.priced:
        return {"price (each, yours)": "", "cost (by your prices)": ""} if room else {}
    return {
        f"price ({telling.currency} each)": round(supply.price, 2),
        f"cost ({telling.head})": round(supply.cost, 2),
    }


def supplies_table(job: Job, unit: Unit, telling: Telling, room: bool = False) -> Table:
    """Return what to order, rounded up as it is sold.

    Parameters
    ----------
    job : Job
    unit : "ft" or "m"
    telling : Telling
    room : bool
        Whether prices that nobody gave have empty columns, to be filled in.
    """

    def row(supply: Supply) -> Cells:
        needed, word = amount_of(supply.amount, supply.measure, unit)
        return {
            "item": supply.title, "order (packages)": round(supply.count, 3),
            "package": supply.package.word, "needed (unit beside)": needed, "unit": word,
            f"or by volume, loose ({CUBIC[unit]})": (
                cubic(supply.loose_order, unit) if supply.loose else ""
            ),
            f"weight ({LIGHT[unit]})": light(supply.mass, unit) if supply.mass else "",
            **_priced(supply, telling, room), "that is": pallets_words(supply),
        }  # fmt: skip

    return Table.of(map(row, job.supplies))


def moving_table(jobs: Mapping[str, Job], unit: Unit) -> Table:
    """Return spoil and stone, trips, bins and deliveries of some jobs."""
    volume, mass = CUBIC[unit], HEAVY[unit]
    hauls = {name: job.haul for name, job in jobs.items()}
    return Table.of(
        {
            "base": name, f"put back, bank ({volume})": cubic(haul.spoil.kept, unit),
            f"spoil, bank ({volume})": cubic(haul.spoil.bank, unit),
            f"spoil, loose ({volume})": cubic(haul.spoil.loose, unit),
            f"spoil ({mass})": heavy(haul.spoil.mass, unit), "spoil out (trips)": haul.out.count,
            "bins (count)": haul.bins.count, "bins by": haul.bins.governed,
            f"stone in, loose ({volume})": cubic(haul.stone_loose, unit),
            f"stone in ({mass})": heavy(haul.stone_mass, unit),
            "stone in (trips)": haul.stone.count, "deliveries (count)": haul.deliveries.count,
            "pavers in (trips)": haul.pavers.count, "panels in (trips)": haul.panels.count,
        }
        for name, haul in hauls.items()
    )  # fmt: skip


def hours_table(job: Job, unit: Unit) -> Table:
    """Return the hours of one person for each task."""

    def row(title: str, amount: float | str, word: str, times: Sequence[float]) -> Cells:
        heads = (f"{each} (h)" for each in ("low", "likely", "high", "mean"))
        hours = (round(time / HOUR, 1) for time in times)
        return {
            "task": title,
            "amount (unit beside)": amount,
            "unit": word,
            **dict(zip(heads, hours, strict=True)),
        }

    rows = []
    for task in job.tasks:
        amount, word = amount_of(task.amount, task.measure, unit)
        rows.append(row(task.title, amount if task.measure else "", word, (*task.time, task.mean)))
    time = job.time
    likely = sum(likely for _, likely, _ in time.parts)
    # What the tasks sum up to is promised: to the hour, and no finer than it can be known.
    whole = [round(each / HOUR) * HOUR for each in (time.low, likely, time.high, time.mean)]
    rows.append(row("all tasks", "", "", whole))
    return Table.of(rows)


def percentiles_table(job: Job, crew_size: float, crew_day: float, telling: Telling) -> Table:
    """Return the distribution of the hours and of the cost."""
    days = f"days of a crew of {crew_size:.0f} (d)"
    return Table.of(
        {
            "jobs out of a hundred that stay below (count)": round(100 * share),
            "hours of one person (h)": round(job.time.quantile(share) / HOUR),
            days: half_days(job.time.quantile(share) / (crew_day * crew_size)),
            f"cost ({telling.head})": telling.number(job.cost.quantile(share)),
        }
        for share in (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95)
    )


def money_table(jobs: Mapping[str, Job], telling: Telling) -> Table:
    """Return the whole cost of some jobs."""
    costs = {name: job.cost for name, job in jobs.items()}
    return Table.of(
        {
            "base": name,
            **{
                f"{group} ({telling.head})": telling.number(cost.of(group))
                for group in ("material", "haul", "hours")
            },
            f"whole cost ({telling.head})": telling.number(cost.total),
            f"one in ten below ({telling.head})": telling.number(cost.low),
            f"one in ten above ({telling.head})": telling.number(cost.high),
        }
        for name, cost in costs.items()
    )


def comparison_table(jobs: Mapping[str, Job], unit: Unit, telling: Telling, chosen: str) -> Table:
    """Return dig, stone in, trips, hours and cost side by side."""

    def row(name: str, job: Job) -> Cells:
        low, high = (round(job.time.quantile(share) / HOUR) for share in (0.1, 0.9))
        return {
            "base": f"{name} *" if name == chosen else name,
            f"dig, bank ({CUBIC[unit]})": cubic(job.cut, unit),
            f"stone in ({HEAVY[unit]})": heavy(job.haul.stone_mass, unit),
            "trips (count)": job.haul.trips,
            "bins (count)": job.haul.bins.count,
            "hours (h)": round(job.time.mean / HOUR),
            "8 in 10 (h)": f"{low} to {high}",
            f"cost ({telling.head})": telling.number(job.cost.total),
            f"8 in 10 ({telling.head})": telling.between(job.cost.low, job.cost.high),
        }

    return Table.of(row(name, job) for name, job in jobs.items())


def swings_table(swings: Sequence[Swing], unit: Unit, telling: Telling, most: int = 12) -> Table:
    """Return the figures that move the comparison most."""
    rows = [
        (
            swing.entry.title,
            *(swung(swing.entry, value, unit, telling) for value in swing.values),
            *map(telling.number, swing.margins), "yes" if swing.turns else "no",
            nominals(swing.entry.source, unit),
        )
        for swing in swings[:most]
    ]  # fmt: skip
    saves = (f"cheapest saves at the {each} ({telling.head})" for each in ("first", "second"))
    headers = ("figure", "from (its unit)", "to (its unit)", *saves, "another base is cheapest",
               "source")  # fmt: skip
    return Table(headers, tuple(rows))


def swung(entry: Entry, value: float, unit: Unit, telling: Telling) -> str:
    """Return a figure that is moved in its unit; a price that nobody gave, as a part of itself.

    Parameters
    ----------
    entry : Entry
        As it is reckoned with.
    value : float
        What it is moved to. [SI]
    unit : "ft" or "m"
    telling : Telling
    """
    if entry.book != "prices" or telling.priced:
        return figure(entry, value, unit)
    return f"{percent(value / entry.likely, 0)} of what is built in"


def break_even_words(found: BreakEven, unit: Unit, telling: Telling) -> str:
    """Say where a base system stops paying."""
    price = found.what == "price"

    def priced(value: float) -> str:
        if telling.priced:
            return telling.words(value, cents=True)
        built_in = "the price built in"
        if value == found.present:
            return built_in
        return f"{percent(value / found.present, 0)} of {built_in}"

    def said(value: float) -> str:
        if price:
            return f"{found.base}s at {priced(value)}{' each' if telling.priced else ''}"
        return f"organics {size(value, unit, 8)} deep"

    now = "is the cheapest" if found.pays_now else "is not the cheapest"
    if found.value is None:
        ends = [said(value).split(" at " if price else "organics ")[-1] for value in found.searched]
        what = "price" if price else "depth"
        return (
            f"The {found.base} base {now} with {said(found.present)}; no {what} from {ends[0]} to "
            f"{ends[1]} changes that."
        )
    if found.pays_now:
        side = ("more" if price else "deeper") if found.value > found.present else "less"
        beyond = f"stops paying where it is {side}"
    else:
        side = "less" if found.value < found.present else ("more" if price else "deeper")
        beyond = f"pays where it is {side}"
    start = f"The {found.base} base {now} with {said(found.present)}; "
    if not found.jumps:
        return (
            f"{start}it costs as much as the {found.against} base with {said(found.value)}, and "
            f"{beyond}."
        )
    at = priced(found.value) if price else size(found.value, unit, 8)
    saves = [f"{_saved(abs(margin), telling)} {'less' if margin > 0 else 'more'}"
             for margin in (found.below, found.above)]  # fmt: skip
    return (
        f"{start}it {beyond} than {at}. Its cost leaps past that of the {found.against} base "
        f"there, and they cost the same nowhere: just under, it costs {saves[0]}, just over, "
        f"{saves[1]}{_leaps(found.steps)}."
    )


def _saved(amount: float, telling: Telling) -> str:
    said = telling.words(amount, cents=amount < 1)
    return said if telling.priced else f"{said} of the job"


def _leaps(steps: Sequence[Step]) -> str:
    """Say what is bought or hired one more of, the dearest first; no step is left out."""
    said = [
        f"{abs(step.more):g} {step.each}{_of(step.title)} {'more' if step.more > 0 else 'fewer'} "
        f"with the {step.base} base"
        for step in steps
    ]
    return f" ({'; '.join(said)})" if said else " (trips through the yard)"


def _of(title: str) -> str:
    """Return what there is a package of: "of soil" for bins of soil, "of sod" for sod."""
    return f" of {title.split(' of ', 1)[-1]}"


def site_jobs(order: Order) -> dict[str, Job]:
    """Return the site on each base system, with that of the bases chosen only where they mix."""
    jobs = dict(order.site)
    if len({area.area.chosen for area in order.areas}) == 1:
        jobs.pop(CHOSEN)
    return jobs


def site_choice(order: Order) -> str:
    """Name the job in `site_jobs` that is the one chosen."""
    chosen = {area.area.chosen for area in order.areas}
    return chosen.pop() if len(chosen) == 1 else CHOSEN


def area_title(area: AreaOrder) -> str:
    """Name an area and the base system chosen for it."""
    return f"{area.area.area.name} on {area.area.chosen_dig.system.called}"
