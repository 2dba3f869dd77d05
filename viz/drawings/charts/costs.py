"""Base systems side by side on what they cost: dig, stone in, trips, hours and money."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import shapely
from msgspec import Struct

from grading.order.days import days_of
from grading.order.model import Job, Order
from grading.order.telling import telling_of
from grading.units import HOUR, counted
from viz.drawings.placing import chosen_tag, sheets_of_groups
from viz.file_names import area_slugs
from viz.paper.compose import Sheet
from viz.paper.drawing import FINE, OUTLINE, THIN, Pen
from viz.paper.furniture import heading, title_block
from viz.paper.lettering import block, fold
from viz.paper.page import Box, Page
from viz.tables.order import site_choice, site_jobs
from viz.words.figures import earth, mass

NAME = 37.0  # mm: room for the names of the base systems
HEAD = 13.0
ROW = 43.0
FOOT = 22.0
BAR = 9.0
MOST = 4  # rows on a sheet
_BIG, _SMALL = 3.3, 2.3
BARS = "none: bars, each column to a scale of its own"
STRETCH = "none: nothing here is drawn to scale"
NOTE = (
    "Mean hours of one person; the line runs over eight jobs in ten. Stone: bedding, base and "
    "refill as delivered."
)
# Three greys that a copier keeps apart; each is named in the key and written out under its bar.
GROUPS = {"material": "#ffffff", "haul": "#bdbdbd", "hours": "#5c5c5c"}


class Measure(Struct, frozen=True):
    """One column: its title, the value that its bar shows, and the words beside it."""

    title: str
    about: str
    value: Callable[[Job], float]
    words: Callable[[Job], str]
    more: Callable[[Job], str]
    material: str = ""


def cost_sheets(order: Order, page: Page, verdicts: Sequence[str] = ()) -> Iterator[Sheet]:
    """Yield the comparison for the whole site, and for each area where there are several.

    Parameters
    ----------
    order : Order
    page : Page
    verdicts : sequence of str
        Sentences to write under that of the whole site.
    """

    title = "Whole site: what each base system takes"
    jobs, chosen = site_jobs(order), site_choice(order)
    yield from _sheets(order, page, jobs, chosen, ("whole site", "costs", title), verdicts)
    if len(order.areas) > 1:
        for area, slug in zip(order.areas, area_slugs(order.plan), strict=True):
            name = area.area.area.name
            told = name, f"{slug}-costs", heading(name, "what each base system takes")
            yield from _sheets(order, page, area.bases, area.area.chosen, told)


def _sheets(
    order: Order, page: Page, jobs: Mapping[str, Job], chosen: str, told: tuple[str, str, str],
    verdicts: Sequence[str] = (),
) -> Iterator[Sheet]:  # fmt: skip
    """Yield sheets of jobs; `told` is what they are of, their key and their title."""
    site, names, (about, key, title) = order.plan.site, list(jobs), told
    groups = [names[k : k + MOST] for k in range(0, len(names), MOST)]
    for sheet, group in sheets_of_groups(page, key, title, groups):
        _draw(sheet, order, jobs, group, chosen, verdicts)
        title_block(sheet, site.name, about, site.unit, BARS, STRETCH, NOTE)
        yield sheet


def _measures(order: Order) -> tuple[Measure, ...]:
    unit, telling = order.plan.site.unit, telling_of(order)

    def days(job: Job) -> str:
        found = days_of(order, job)
        return f"{found.counted} of {found.crew}"

    def parts(job: Job) -> str:
        cost = job.cost
        groups = [f"{group} {telling.words(cost.of(group))}" for group in GROUPS]
        between = f"{telling.words(cost.low)} to {telling.words(cost.high)}"
        return "\n".join([between, *groups])

    return (
        Measure("Dig", "in the bank", lambda job: job.cut, lambda job: earth(job.cut, unit),
                lambda job: f"{counted(job.haul.bins.count, 'bin')}\nloose "
                            f"{earth(job.haul.spoil.loose, unit)}", "soil"),
        Measure("Stone in", "base, bedding, refill", lambda job: job.haul.stone_mass,
                lambda job: mass(job.haul.stone_mass, unit),
                lambda job: f"{counted(job.haul.deliveries.count, 'delivery', 'deliveries')}\n"
                            f"loose {earth(job.haul.stone_loose, unit)}",
                "dense-graded"),
        Measure("Trips", f"by {order.way.carrier}", lambda job: float(job.haul.trips),
                lambda job: counted(job.haul.trips, "trip"),
                lambda job: f"{job.haul.out.count} with soil\n{job.haul.stone.count} with stone"),
        Measure("Hours", "of one person", lambda job: job.time.mean / HOUR,
                lambda job: f"{job.time.mean / HOUR:.0f} h", days),
        Measure("Cost", "material, haul, hours" if telling.priced else "beside the job as planned",
                lambda job: job.cost.total,
                lambda job: telling.words(job.cost.total),
                parts),
    )  # fmt: skip


def _draw(
    sheet: Sheet, order: Order, jobs: Mapping[str, Job], names: Sequence[str], chosen: str,
    verdicts: Sequence[str],
) -> None:  # fmt: skip
    body, draw = sheet.page.body, sheet.paper
    measures = _measures(order)
    table = Box(body.x0 + NAME, body.y0, body.x1, body.y1)
    columns = table.columns([1.0, 1.0, 0.9, 0.95, 1.15], 4.0)
    row = min(ROW, (body.height - HEAD - FOOT) / len(names))
    top = body.y1 - HEAD
    for column, measure in zip(columns, measures, strict=True):
        draw.paragraph((column.x0, body.y1 - 2.5), measure.title, size=3.6, bold=True)
        draw.paragraph((column.x0, body.y1 - 7.4), measure.about, size=_SMALL, colour="#444444")
    for place, name in enumerate(names):
        y = top - place * row
        draw.line([(body.x0, y), (body.x1, y)], THIN, "table")
        job = jobs[name]
        _name(sheet, Box(body.x0, y - row, body.x0 + NAME - 3, y), job, name, name == chosen)
        for column, measure in zip(columns, measures, strict=True):
            most = max(_longest(other, measure) for other in jobs.values())
            _cell(sheet, column, y, job, measure, most)
    low = top - len(names) * row
    draw.line([(body.x0, low), (body.x1, low)], THIN, "table")
    for column in columns:
        draw.line([(column.x0, low), (column.x0, top)], FINE, "axis")
    _key(sheet, columns[-1], low - 3.0)
    _key_words(sheet, Box(body.x0, body.y0, columns[-1].x0 - 4, low - 2.0), order, verdicts)


def _longest(job: Job, measure: Measure) -> float:
    if measure.title == "Hours":
        return float(job.time.quantile(0.9)) / HOUR
    return float(job.cost.high) if measure.title == "Cost" else measure.value(job)


def _name(sheet: Sheet, box: Box, job: Job, name: str, chosen: bool) -> None:
    draw = sheet.paper
    titles = {takeoff.dig.system.title for takeoff in job.jobs}
    title = titles.pop() if len(titles) == 1 and name != "chosen" else "As chosen, area by area"
    words = fold(title, 3.3, box.width, True)
    draw.paragraph((box.x0, box.y1 - 4.0), words, size=3.3, bold=True)
    if chosen:
        y = box.y1 - 5.6 - block(words, 3.3, True)[1]
        chosen_tag(draw, (box.x0, y - 2.2), 2.5, 4.4, 3.6)


def _cell(sheet: Sheet, box: Box, y: float, job: Job, measure: Measure, most: float) -> None:
    draw = sheet.paper

    def at(value: float) -> float:
        return box.x0 + (box.width - 1.0) * (value / most if most else 0.0)

    high, low = y - 4.0, y - 4.0 - BAR
    if measure.title == "Cost":
        start = 0.0
        for group, grey in GROUPS.items():
            end = start + job.cost.of(group)
            bar = shapely.box(at(start), low, at(end), high)
            draw.area(bar, fill=grey, pen=Pen(0.2), layer=f"cost {group}")
            start = end
    else:
        bar = shapely.box(box.x0, low, max(at(measure.value(job)), box.x0 + 0.2), high)
        if measure.material:
            draw.area(bar, measure.material, layer="bar")
        else:
            draw.area(bar, fill="#d9d9d9", layer="bar")
        draw.lines(bar, Pen(0.2), "bar")
    words, size = low - 1.6, _BIG
    if measure.title in ("Hours", "Cost"):
        scale = 1 / HOUR if measure.title == "Hours" else 1.0
        spread = job.time if measure.title == "Hours" else job.cost
        ends = [at(spread.quantile(share) * scale) for share in (0.1, 0.9)]
        line = low - 1.5
        draw.line([(ends[0], line), (ends[1], line)], OUTLINE, "range")
        for end in ends:
            draw.line([(end, line - 0.9), (end, line + 0.9)], OUTLINE, "range")
        words -= 2.2
    draw.paragraph((box.x0 + 0.8, words), measure.words(job), size=size, bold=True)
    more = fold(measure.more(job), _SMALL, box.width - 1.5)
    draw.paragraph((box.x0 + 0.8, words - 5.0), more, size=_SMALL)


def _key(sheet: Sheet, box: Box, y: float) -> None:
    x = box.x0
    for group, grey in GROUPS.items():
        ring = shapely.box(x, y - 2.8, x + 3.6, y)
        sheet.paper.area(ring, fill=grey, pen=Pen(0.2), layer="key")
        sheet.paper.text((x + 4.6, y - 1.4), group, size=_SMALL, across="left")
        x += 6.0 + block(group, _SMALL)[0] + 1.6


def _key_words(sheet: Sheet, box: Box, order: Order, verdicts: Sequence[str]) -> None:
    own = order.crew.called
    source = f"figures of {own}" if own else "built-in figures"
    telling = telling_of(order)
    told = "" if telling.priced else f" {telling.why.file}."
    words = (
        f"Moved {order.way.words}. Worked out with the {source}: prices, rates and densities are "
        "common practice where the crew has written none of its own."
        f"{told}"
    )
    words = "\n".join([*verdicts, words])
    sheet.paper.paragraph((box.x0, box.y1 - 1.0), fold(words, _SMALL, box.width), size=_SMALL)
