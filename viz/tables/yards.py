"""Many yards in one table: a row for each, planned or not, in the unit of its own job."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Literal, cast, get_args

from msgspec import Struct, to_builtins
from msgspec.structs import replace

from grading.answers.led import led
from grading.order.days import days_of
from grading.pipeline import Plan
from grading.price.model import price_of
from grading.records.seal import number_of
from grading.units import Unit
from viz.table import Cells, Table, csv_text
from viz.tables.in_unit import in_unit
from viz.tables.workbook import Live, Pages, book_at
from viz.words.cautions import REPORT
from viz.words.screen.led import verdict_words
from viz.words.screen.yards import REFUSED, STOPPED, bases_words, fails_words, shots_words

Verdict = Literal["fault", "refused", "stop", "fail", "look", "build"]
"""How a yard comes out, the worst first: planned by none, for a fault of our own; not planned, for
its input is wrong; the verdicts of a plan."""

VERDICTS: tuple[Verdict, ...] = get_args(Verdict)

CSV, XLSX = "yards.csv", "yards.xlsx"


class Figures(Struct, frozen=True):
    """What a plan comes to, in SI; none are told where a shot does not fit.

    Attributes
    ----------
    base : str
        What each area stands on.
    cut, deepest : float
        Dug in the bank [m3], and how deep at the most [m], on the bases chosen.
    away : float or None
        The least fall of the paving away from a wall; None where no wall is near. [ratio]
    out, brought, bins : int
        Loads of soil out, of stone and panels in, and bins.
    days, low, high : float
        Working days of the crew; one such job in ten takes less, one more.
    price : float or None
        None where the crew does not say how it makes one, or something fails.
    currency : str
    """

    base: str
    cut: float
    deepest: float
    away: float | None
    out: int
    brought: int
    bins: int
    days: float
    low: float
    high: float
    price: float | None = None
    currency: str = ""


class Yard(Struct, frozen=True):
    """A row: a site, and what became of it.

    Attributes
    ----------
    site : str
        Its folder's name.
    verdict : Verdict
    words : str
        The verdict as the first screen says it.
    said : str
        What fails, or why there is no plan; a line each.
    failed : bool
        Whether a check failed.
    job, plan : str
        Its name, and the number of its plan; empty where there is none.
    unit : "ft", "m" or ""
        Of the site; empty where it could not be read.
    fails, looks : int
        How many things fail, and must be looked at.
    figures : Figures or None
    """

    site: str
    verdict: Verdict
    words: str
    said: str = ""
    failed: bool = False
    job: str = ""
    plan: str = ""
    unit: Unit | Literal[""] = ""
    fails: int = 0
    looks: int = 0
    figures: Figures | None = None

    @property
    def planned(self) -> bool:
        """Whether there is a plan of it."""
        return self.verdict not in ("fault", "refused")

    def plain(self) -> dict[str, Any]:
        """Return it as plain data, for JSON."""
        return cast(dict[str, Any], to_builtins(self))

    @classmethod
    def of_plain(cls, told: Mapping[str, Any]) -> Yard:
        """Return the row that plain data tell.

        Raises
        ------
        TypeError, KeyError, ValueError
            They tell none, as those of another version may not.
        """
        figures = told["figures"]
        made = cls(**{**told, "figures": None if figures is None else Figures(**figures)})
        if made.verdict not in VERDICTS:
            raise ValueError(made.verdict)
        return made


def yard_of(plan: Plan, site: str) -> Yard:
    """Return the row of a plan.

    Parameters
    ----------
    plan : Plan
    site : str
        The name of its folder.
    """
    told = led(plan)
    head = Yard(
        site, told.verdict, verdict_words(told), failed=plan.failed, job=plan.site.name,
        unit=plan.site.unit,
    )  # fmt: skip
    if told.verdict == "stop":
        return replace(head, said=shots_words(told))
    order = plan.order
    haul, days = order.total.haul, days_of(order, order.total)
    price = None if told.fails else price_of(plan)
    return replace(
        head,
        said=fails_words(told),
        plan=number_of(plan),
        fails=len(told.fails),
        looks=told.look_count,
        figures=Figures(
            base=bases_words(told),
            cut=float(told.answer.takes.cut),
            deepest=float(told.deepest),
            away=None if told.least_away is None else float(told.least_away),
            out=int(haul.out.count),
            brought=int(haul.stone.count + haul.panels.count),
            bins=int(haul.bins.count),
            days=days.mean,
            low=days.low,
            high=days.high,
            price=None if price is None else float(price.total),
            currency="" if price is None else price.currency,
        ),
    )


def refused_yard(site: str, said: str) -> Yard:
    """Return the row of a site whose input is wrong.

    Parameters
    ----------
    site, said : str
        The name of its folder, and what is wrong with it.
    """
    return Yard(site, "refused", REFUSED, said)


def lost_yard(site: str, said: str) -> Yard:
    """Return the row of a site that was not planned, and not because of what is in it.

    Parameters
    ----------
    site, said : str
        The name of its folder, and what became of it.
    """
    return Yard(site, "fault", STOPPED, said)


def yards_table(yards: Sequence[Yard]) -> Table:
    """Return the table of many yards.

    Parameters
    ----------
    yards : sequence of Yard

    Notes
    -----
    No column holds two units: where some jobs are in feet and some in metres, what has a unit has
    a column in each, and a yard stands in that of its own.
    """
    whole = [_cells(each) for each in yards]
    if not whole:
        return Table((), ())
    units: list[Unit] = [unit for unit in ("ft", "m") if any(each.unit == unit for each in yards)]
    tables = [in_unit(Table.of(whole), unit) for unit in units or ["ft"]]
    headers: dict[str, None] = {}
    for names in zip(*(each.headers for each in tables), strict=True):
        headers |= dict.fromkeys(names)
    rows = []
    for place, yard in enumerate(yards):
        own = tables[units.index(yard.unit) if yard.unit else 0]
        cells = dict(zip(own.headers, own.rows[place], strict=True))
        rows.append(tuple(cells.get(header, "") for header in headers))
    table = Table(tuple(headers), tuple(rows))
    if any(each.figures and each.figures.price is not None for each in yards):
        return table
    dropped = ("price (money)", "currency")
    return table.keeping([k for k, header in enumerate(headers) if header not in dropped])


def _cells(yard: Yard) -> Cells:
    made, planned = yard.figures, yard.planned and yard.verdict != "stop"
    figures: Cells = dict.fromkeys(
        ("base", "dig in the ground (m3)", "deepest dig (mm)", "least fall off a wall (%)",
         "loads out (count)", "loads in (count)", "bins (count)", "days (day)",
         "days, one in ten less (day)", "days, one in ten more (day)", "price (money)",
         "currency"), "",
    )  # fmt: skip
    if made is not None:
        values = (
            made.base, made.cut, round(1000 * made.deepest, 2),
            "" if made.away is None else round(100 * made.away, 2),
            made.out, made.brought, made.bins, made.days, made.low, made.high,
            "" if made.price is None else round(made.price, 2), made.currency,
        )  # fmt: skip
        figures = dict(zip(figures, values, strict=True))
    return {
        "site": yard.site, "job": yard.job, "plan": yard.plan, "verdict": yard.words,
        "fails (count)": yard.fails if planned else "",
        "looks (count)": yard.looks if planned else "",
        **figures, "what fails": yard.said,
    }  # fmt: skip


SUMMED = ("dig in the ground", "loads out", "loads in", "bins", "days (day)")
"""Columns that are summed in the workbook, by how they begin."""


def write_yards(yards: Sequence[Yard], folder: Path) -> None:
    """Write the table of many yards into a folder, as CSV and XLSX.

    Parameters
    ----------
    yards : sequence of Yard
    folder : Path

    Raises
    ------
    OSError
        It cannot be written.
    """
    table = yards_table(yards)
    (folder / CSV).write_text(csv_text(table), encoding="utf-8-sig")
    summed = tuple(header for header in table.headers if header.startswith(SUMMED))
    with book_at(folder / XLSX, "Many yards") as book:
        page = Pages(book).add("Yards", own=True)
        page.table(table, alone=True, live=Live(sums=summed))
        page.words(" ".join(REPORT.split()))
        page.close()
