"""The tables of an order, in the site's own unit, with units in every header."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from grading.crew.model import Entry
from grading.order.break_even import BreakEven, Step
from grading.order.model import CHOSEN, AreaOrder, Job, Order
from grading.order.sensitivity import Swing
from grading.units import (
    FOOT,
    HOUR,
    POUND,
    SHORT_TON,
    SQUARE_FOOT,
    TONNE,
    Unit,
    cubic_yards,
    nominals,
    size,
)
from grading.units.measures import read_measure
from viz.table import Table

CUBIC: Mapping[Unit, str] = {"ft": "yd³", "m": "m³"}
HEAVY: Mapping[Unit, str] = {"ft": "ton", "m": "tonne"}
LIGHT: Mapping[Unit, str] = {"ft": "lb", "m": "kg"}
_MEASURES: Mapping[Unit, Mapping[str, tuple[str, float]]] = {
    "ft": {"m2": ("ft²", SQUARE_FOOT), "m": ("ft", FOOT), "kg": ("lb", POUND)},
    "m": {"m2": ("m²", 1.0), "m": ("m", 1.0), "kg": ("kg", 1.0)},
}


def cubic(cubic_metres: float, unit: Unit) -> float:
    """Return a volume [m3] in yd3 or m3, to two decimals."""
    return round(cubic_yards(cubic_metres) if unit == "ft" else cubic_metres, 2)


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


def lines_table(job: Job, unit: Unit) -> Table:
    """Return how each quantity of a job was reached."""
    rows = []
    for _, line in job.lines:
        net, word = amount_of(line.net, line.measure, unit)
        gross, _ = amount_of(line.amount, line.measure, unit)
        volumes = (cubic(line.compacted, unit), cubic(line.loose, unit)) if line.loose else ("", "")
        mass = light(line.mass, unit) if line.mass else ""
        rows.append((line.title, net, gross, word, *volumes, mass, line.how))
    headers = (
        "quantity", "net (unit beside)", "with waste (unit beside)", "unit",
        f"compacted ({CUBIC[unit]})", f"loose ({CUBIC[unit]})", f"weight ({LIGHT[unit]})",
        "how it was reached",
    )  # fmt: skip
    return Table(headers, tuple(rows))


def supplies_table(job: Job, unit: Unit, currency: str) -> Table:
    """Return what to order, rounded up as it is sold."""
    rows = []
    for supply in job.supplies:
        needed, word = amount_of(supply.amount, supply.measure, unit)
        loose = cubic(supply.loose_order, unit) if supply.loose else ""
        mass = light(supply.mass, unit) if supply.mass else ""
        note = f"{supply.pallets} pallets" if supply.pallets > 1 else ""
        note = "1 pallet" if supply.pallets == 1 else note
        rows.append(
            (
                supply.title, round(supply.count, 3), supply.package.word, needed, word, loose,
                mass, round(supply.price, 2), round(supply.cost, 2), note,
            )
        )  # fmt: skip
    headers = (
        "item", "order (packages)", "package", "needed (unit beside)", "unit",
        f"or by volume, loose ({CUBIC[unit]})", f"weight ({LIGHT[unit]})",
        f"price ({currency} each)", f"cost ({currency})", "that is",
    )  # fmt: skip
    return Table(headers, tuple(rows))


def moving_table(jobs: Mapping[str, Job], unit: Unit) -> Table:
    """Return spoil and stone, trips, bins and deliveries of some jobs."""
    rows = []
    for name, job in jobs.items():
        haul = job.haul
        rows.append(
            (
                name, cubic(haul.spoil.bank, unit), cubic(haul.spoil.loose, unit),
                heavy(haul.spoil.mass, unit), haul.out.count, haul.bins.count, haul.bins.governed,
                cubic(haul.stone_loose, unit), heavy(haul.stone_mass, unit), haul.stone.count,
                haul.deliveries.count, haul.pavers.count, haul.panels.count,
            )
        )  # fmt: skip
    volume, mass = CUBIC[unit], HEAVY[unit]
    headers = (
        "base", f"spoil, bank ({volume})", f"spoil, loose ({volume})", f"spoil ({mass})",
        "spoil out (trips)", "bins (count)", "bins by", f"stone in, loose ({volume})",
        f"stone in ({mass})", "stone in (trips)", "deliveries (count)", "pavers in (trips)",
        "panels in (trips)",
    )  # fmt: skip
    return Table(headers, tuple(rows))


def hours_table(job: Job, unit: Unit) -> Table:
    """Return the hours of one person for each task."""
    rows = []
    for task in job.tasks:
        amount, word = amount_of(task.amount, task.measure, unit)
        times = (round(time / HOUR, 1) for time in (*task.time, task.mean))
        rows.append((task.title, amount if task.measure else "", word, *times))
    time = job.time
    likely = sum(likely for _, likely, _ in time.parts)
    times = (round(value / HOUR, 1) for value in (time.low, likely, time.high, time.mean))
    rows.append(("all tasks", "", "", *times))
    headers = (
        "task", "amount (unit beside)", "unit", "low (h)", "likely (h)", "high (h)", "mean (h)",
    )  # fmt: skip
    return Table(headers, tuple(rows))


def percentiles_table(job: Job, crew_size: float, crew_day: float, currency: str) -> Table:
    """Return the distribution of the hours and of the cost."""
    rows = []
    for share in (0.05, 0.1, 0.25, 0.5, 0.75, 0.9, 0.95):
        time = job.time.quantile(share)
        days = time / (crew_day * crew_size)
        rows.append(
            (round(100 * share), round(time / HOUR, 1), round(days, 1),
             round(job.cost.quantile(share)))
        )  # fmt: skip
    headers = (
        "jobs out of a hundred that stay below (count)", "hours of one person (h)",
        f"days of a crew of {crew_size:.0f} (d)", f"cost ({currency})",
    )  # fmt: skip
    return Table(headers, tuple(rows))


def money_table(jobs: Mapping[str, Job], currency: str) -> Table:
    """Return the whole cost of some jobs."""
    rows = []
    for name, job in jobs.items():
        cost = job.cost
        parts = [cost.of(group) for group in ("material", "haul", "hours")]
        rows.append((name, *(round(value) for value in (*parts, cost.total, cost.low, cost.high))))
    headers = (
        "base", *(f"{word} ({currency})" for word in (
            "material", "haul", "hours", "whole cost", "one in ten below", "one in ten above")),
    )  # fmt: skip
    return Table(headers, tuple(rows))


def comparison_table(jobs: Mapping[str, Job], unit: Unit, currency: str, chosen: str) -> Table:
    """Return dig, stone in, trips, hours and cost side by side."""
    rows = []
    for name, job in jobs.items():
        hours = [round(job.time.quantile(share) / HOUR) for share in (0.1, 0.9)]
        rows.append(
            (
                f"{name} *" if name == chosen else name, cubic(job.cut, unit),
                heavy(job.haul.stone_mass, unit), job.haul.trips, job.haul.bins.count,
                round(job.time.mean / HOUR, 1), f"{hours[0]} to {hours[1]}",
                round(job.cost.total), f"{job.cost.low:.0f} to {job.cost.high:.0f}",
            )
        )  # fmt: skip
    headers = (
        "base", f"dig, bank ({CUBIC[unit]})", f"stone in ({HEAVY[unit]})", "trips (count)",
        "bins (count)", "hours (h)", "8 in 10 (h)", f"cost ({currency})", f"8 in 10 ({currency})",
    )  # fmt: skip
    return Table(headers, tuple(rows))


def figure(entry: Entry, value: float) -> str:
    """Return a figure in the unit that its table is written in: 85 ft2/h."""
    unit = entry.written.lstrip("0123456789./- ") or entry.written
    if "/" in entry.written and entry.dimension.startswith("money"):
        unit = "/" + entry.written.rpartition("/")[2]
    one, _ = read_measure(f"1 {unit}")
    inverted = entry.dimension.startswith("s/") and not entry.written.split("/")[0].endswith(
        (" h", " min")
    )
    shown = one / value if inverted else value / one
    return f"{shown:.3g} {unit}"


def swings_table(swings: Sequence[Swing], currency: str, most: int = 12) -> Table:
    """Return the figures that move the comparison most."""
    rows = [
        (
            swing.entry.title, figure(swing.entry, swing.values[0]),
            figure(swing.entry, swing.values[1]), round(swing.margins[0]), round(swing.margins[1]),
            "yes" if swing.turns else "no", nominals(swing.entry.source, "ft"),
        )
        for swing in swings[:most]
    ]  # fmt: skip
    headers = (
        "figure", "from (its unit)", "to (its unit)", f"cheapest saves at the first ({currency})",
        f"cheapest saves at the second ({currency})", "another base is cheapest", "source",
    )  # fmt: skip
    return Table(headers, tuple(rows))


def break_even_words(found: BreakEven, unit: Unit, currency: str) -> str:
    """Say where a base system stops paying."""
    price = found.what == "price"

    def said(value: float) -> str:
        if price:
            return f"{found.base}s at {currency}{value:,.2f} each"
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
    at = f"{currency}{found.value:,.2f}" if price else size(found.value, unit, 8)
    saves = [f"{_money(abs(margin), currency)} {'less' if margin > 0 else 'more'}"
             for margin in (found.below, found.above)]  # fmt: skip
    return (
        f"{start}it {beyond} than {at}. Its cost leaps past that of the {found.against} base "
        f"there, and they cost the same nowhere: just under, it costs {saves[0]}, just over, "
        f"{saves[1]}{_leaps(found.steps)}."
    )


def _money(amount: float, currency: str) -> str:
    return f"{currency}{amount:,.2f}" if amount < 1 else f"{currency}{amount:,.0f}"


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


def all_lines(order: Order) -> Table:
    """Return the quantities of every area on every base system in one table."""
    unit = order.plan.site.unit
    rows: list[tuple[object, ...]] = []
    headers: tuple[str, ...] = ()
    for area in order.areas:
        for name, job in area.bases.items():
            table = lines_table(job, unit)
            headers = ("area", "base", "chosen", *table.headers)
            chosen = "yes" if name == area.area.chosen else ""
            rows += [(area.area.area.name, name, chosen, *row) for row in table.rows]
    return Table(headers, tuple(rows))


def area_title(area: AreaOrder) -> str:
    """Name an area and the base system chosen for it."""
    return f"{area.area.area.name} on {area.area.chosen_dig.system.called}"
