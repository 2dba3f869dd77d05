"""One file to take away: for the crew with its rods and shots, for the homeowner with its picture.

It is opened on a phone with no connection and no laptop. What is in it reads without scripts.
"""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import Literal

from msgspec.structs import replace

from grading.catalogue.rules import RULES
from grading.pipeline import Plan
from grading.setout.instrument import Instrument, benchmarks_of, rod_marks, rod_words, rounding_of
from grading.setout.model import AreaStakes, SetOut, set_out
from grading.setout.number import set_out_number
from grading.setout.words import LOWER, SQUARE, instrument_words
from grading.units import length, size
from grading.units.rods import RodUnit
from viz.desk.field.home_away import home_away
from viz.desk.field.html_parts import heading, listed, paragraph, plan_line, tabled
from viz.desk.field.trench import built_layers, trench
from viz.desk.web_files import web_text
from viz.one_file import one_file, one_script
from viz.sheets.crew.sheet import NOT_TO_BE_BUILT
from viz.table import Table
from viz.tables.stakes import Told, diagonals_table, stakes_table, strings_table
from viz.words.cautions import CREW, DRAWING
from viz.words.field.away import EXAMPLE, PAPER
from viz.words.field.trench import LABELS
from viz.words.lookouts import forbidden

For = Literal["crew", "homeowner"]

FILE = "take-away.html"
"""What the crew's is called."""

MODULES = tuple(
    f"desk/web/{name}.js"
    for name in (
        "dom", "field/rods", "field/kept", "field/parts", "field/screens", "field/trench",
        "field/take_away",
    )
)  # fmt: skip
"""Each after those that it imports."""


def take_away(
    plan: Plan,
    for_: For = "crew",
    found: SetOut | None = None,
    marks: RodUnit | None = None,
    step: float | None = None,
    revision: int = 0,
) -> str:
    """Return one HTML file that needs no connection, and makes none.

    Parameters
    ----------
    plan : Plan
    for_ : "crew" or "homeowner"
        The crew's has stakes, rods and shots; the homeowner's levels, steps, a picture of the cut
        and what is agreed, and no prices.
    found : SetOut, optional
        Its stakes, with today's instrument where one is told of: then rods read without scripts.
    marks : "ft-in", "ft", "m", "cm" or "mm", optional
        What the rod is marked in; as usual on the site where it is left out.
    step : float, optional
        What rods are told to the nearest of; 1/16 in or 1 mm where it is left out. [m]
    revision : int
        Of the document that it is of, 0 where it is of a file.
    """
    if for_ == "homeowner":
        return home_away(plan, revision)
    unit = plan.site.unit
    own = marks or rod_marks(None, plan.site)
    told = Told(own, step or rounding_of(None, unit), unit)
    found = found or set_out(plan)
    data = {**trench(plan, revision, step, found), "rod": own}
    body = (
        f'<main>\n<h1 id="site" hidden>{escape(plan.site.name)}</h1>\n'
        '<div id="trench"></div>\n<div id="paper" class="paper">\n'
        f"{''.join(_paper(plan, found, told, revision))}</div>\n</main>"
    )
    style = web_text("field/take_away.css") + web_text("field/trench.css")
    return one_file(plan.site.name, body, style, one_script(MODULES), data)


def _paper(plan: Plan, found: SetOut, told: Told, revision: int) -> Iterator[str]:
    """Give what reads without scripts."""
    sight = found.instrument
    number = set_out_number(found)
    yield f'<button type="button" data-rods hidden>{escape(LABELS["screen"])}</button>\n'
    yield f'<h1 tabindex="-1">{escape(plan.site.name)}</h1>\n'
    yield paragraph(plan_line(number, revision))
    yield paragraph(DRAWING, "quiet")
    against = forbidden(plan)
    if against:
        yield paragraph(NOT_TO_BE_BUILT, "band")
        yield listed(against)
        yield paragraph(LABELS["no_rods"])
        return
    yield from _benchmarks(plan)
    levels = replace(found, instrument=None)
    rods: SetOut | None = found
    if sight is not None:
        said = instrument_words(sight, told.rod, told.unit, told.step)
        title = PAPER["rods_today"].format(sight=said)
        how = LOWER
    else:
        rods = _from_nothing(found)
        on = "" if rods is None or rods.instrument is None else rods.instrument.benchmark
        title, how = (
            PAPER["rods_by_hand"].format(benchmark=on),
            PAPER["by_hand"].format(benchmark=on, lower=LOWER),
        )
    for place, each in enumerate(found.areas):
        base = each.area.chosen_dig.system.called
        yield heading(PAPER["area"].format(area=each.area.area.name, base=base))
        if rods is not None:
            yield heading(title, 3)
            yield paragraph(how)
            if sight is None:
                yield paragraph(_example(rods, rods.areas[place], told))
            yield tabled(_levels(stakes_table(rods, rods.areas[place], told), rods), title)
        yield heading(PAPER["levels"], 3)
        yield tabled(_levels(stakes_table(levels, each, told), levels), PAPER["levels"])
        yield heading(PAPER["places"], 3)
        yield tabled(_places(found, each, told), PAPER["places"], words=(2,))
        yield listed(
            f"{stake.name}: {note}" for stake in each.stakes for note in found.notes(stake)
        )
        yield from _strings(found, each, told)
        yield from _tolerances(plan, each)
    yield heading(PAPER["before"])
    yield listed(CREW)


def _benchmarks(plan: Plan) -> Iterator[str]:
    known = benchmarks_of(plan.site)
    yield heading(PAPER["benchmarks"])
    if known:
        yield listed(f"{name}: {length(z, plan.site.unit)}" for name, z in known.items())
    else:
        yield paragraph(LABELS["no_benchmark"])


def _from_nothing(found: SetOut) -> SetOut | None:
    """Return the stakes with what is added to a reading on a benchmark; None without one."""
    site = found.design.site
    known = benchmarks_of(site)
    if not known:
        return None
    own = {each.name: float(each.z) for each in site.benchmarks}
    name, z = next(iter((own or known).items()))
    return replace(found, instrument=Instrument(name, z, 0.0, found.design.limits["rod-length"]))


def _example(rods: SetOut, each: AreaStakes, told: Told) -> str:
    """Work the sum for the first stake, so that nobody has to guess which way it goes."""
    sight = rods.instrument
    assert sight is not None
    stake = next(stake for stake in each.stakes if stake.layers)
    layer = stake.layers[0]
    reading = EXAMPLE[told.unit]
    told_rods = [
        rod_words(metres, told.rod, told.step)
        for metres in (reading, sight.at(layer.z), reading + sight.at(layer.z))
    ]
    return PAPER["example"].format(
        benchmark=sight.benchmark, reading=told_rods[0], layer=layer.name, stake=stake.name,
        added=told_rods[1], rod=told_rods[2],
    )  # fmt: skip


def _levels(table: Table, found: SetOut) -> Table:
    """Return a table of stakes with nothing but what is read on the rod, or the levels."""
    first = _first(found)
    rows = tuple(row for row in table.rows if any(str(cell) for cell in row[first + 1 :]))
    kept = (0, *range(first + 1, len(table.headers)))
    return Table(table.headers, rows).keeping(kept)


def _first(found: SetOut) -> int:
    """Return the place of what is dug among the columns, which follows the tapes."""
    return 4 if found.references else 3


def _places(found: SetOut, each: AreaStakes, told: Told) -> Table:
    """Return where every stake goes: in words, and by tape."""
    table = stakes_table(found, each, told)
    dig = _first(found)
    rows = []
    for stake, row in zip(each.stakes, table.rows, strict=True):
        tapes = ", ".join(
            tape if head == "tie" else f"{head} {tape}"
            for head, tape in zip(table.headers[1:dig], map(str, row[1:dig]), strict=True)
            if tape
        )
        where = found.design.places.at(stake.at)
        dug = str(row[dig]).replace(" ", "\u00a0")
        rows.append((stake.name, dug, PAPER["place"].format(where=where, tapes=tapes)))
    return Table((table.headers[0], table.headers[dig], LABELS["where"]), tuple(rows))


def _strings(found: SetOut, each: AreaStakes, told: Told) -> Iterator[str]:
    if each.strings:
        over = size(each.strings[0].over, told.unit)
        title = PAPER["strings"].format(over=over)
        yield heading(title, 3)
        yield tabled(strings_table(found, each, told), title, words=(1, 2, 3, 4, 5))
    diagonals = diagonals_table(each, told).rows
    if diagonals:
        said = "; ".join(f"{corners} {far}" for corners, far in diagonals)
        yield paragraph(PAPER["diagonals"].format(diagonals=said))
    yield paragraph(SQUARE[told.unit])


def _tolerances(plan: Plan, each: AreaStakes) -> Iterator[str]:
    yield heading(PAPER["tolerances"], 3)
    unit = plan.site.unit
    yield listed(
        f"{name}: {size(plan.limits[f'built-{kind}'], unit)} "
        f"({RULES[f'built-{kind}'].source_in(unit)})"
        for name, kind in built_layers(each).items()
    )
