"""The homeowner's file to take away: the cut, where water goes, steps, levels, what is agreed.

It says no price, and is made of the sentences of the homeowner's sheet.
"""

from __future__ import annotations

import base64
from collections.abc import Iterator
from html import escape

from grading.pipeline import Plan
from grading.setout.model import AreaStakes, set_out
from grading.setout.number import set_out_number
from grading.units import length
from viz.desk.field.html_parts import heading, listed, paragraph, plan_line, tabled
from viz.desk.field.trench import Turned
from viz.desk.web_files import web_text
from viz.drawings.homeowner.door_to_lawn import door_to_lawn
from viz.one_file import one_file
from viz.paper.compose import Sheet
from viz.paper.page import page_for
from viz.paper.players import write
from viz.scratch import scratch_folder
from viz.sheets.head import Job, area_title
from viz.sheets.homeowner.agreed import agreed
from viz.sheets.homeowner.told import edge_told, stands_told, steps_told, water_told
from viz.sheets.lettered import lettered
from viz.signature import not_for_signature
from viz.table import Table
from viz.words.cautions import PICTURE
from viz.words.field.away import PAPER
from viz.words.field.trench import LABELS
from viz.words.signing import against_signing

HOME_FILE = "take-away-home.html"
"""What the homeowner's is called."""

_LETTERS_WIDE = 22
"""How many letters go across the plan."""

_LETTERED = ("corner", "end of a fold", "middle of an arc")


def home_away(plan: Plan, revision: int = 0) -> str:
    """Return the homeowner's file: plain HTML without a script, and without a price.

    Parameters
    ----------
    plan : Plan
    revision : int
        Of the document that it is of, 0 where it is of a file.
    """
    body = f'<main class="paper alone">\n{"".join(_parts(plan, revision))}</main>'
    return one_file(plan.site.name, body, web_text("field/take_away.css"))


def _parts(plan: Plan, revision: int) -> Iterator[str]:
    job = Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))
    found = set_out(plan)
    yield heading(plan.site.name, 1)
    yield paragraph(plan_line(set_out_number(found), revision))
    yield paragraph(not_for_signature(plan), "band")
    against = against_signing(plan)
    if against.any:
        yield paragraph(against.lead)
        yield listed(against.reasons)
    cut = door_to_lawn(plan)
    yield heading(PAPER["cut"])
    yield _figure(cut.sheet, cut.about)
    yield heading(PAPER["water"])
    yield "".join(map(paragraph, water_told(job)))
    yield from _steps(job)
    edge = edge_told(job)
    if edge:
        yield heading(PAPER["edge"])
        yield "".join(map(paragraph, edge))
    settled = stands_told(job)
    if settled:
        yield heading(PAPER["settled"])
        yield listed(settled)
    for each in found.areas:
        yield heading(PAPER["from_above"].format(area=each.area.area.name))
        yield _from_above(plan, each)
        yield heading(PAPER["heights"], 3)
        rows = [
            (stake.name, found.design.places.at(stake.at), length(stake.layers[-1].z, job.unit))
            for stake in each.stakes
            if stake.kind in _LETTERED
        ]
        heads = (PAPER["point"], LABELS["where"], PAPER["finish"])
        yield tabled(Table(heads, tuple(rows)), PAPER["heights"], words=(1,))
    yield from _agreed(job)
    yield paragraph(PICTURE, "quiet")


def _steps(job: Job) -> Iterator[str]:
    told = steps_told(job, priced=False)
    rows = tuple((row["door"], row["step"]) for row in told["rows"])
    said = told.get("said", ())
    if not rows and not said:
        return
    yield heading(PAPER["steps"])
    if rows:
        yield tabled(Table((PAPER["door"], PAPER["step"]), rows), PAPER["steps"], words=(1,))
    yield "".join(map(paragraph, said))


def _agreed(job: Job) -> Iterator[str]:
    told = agreed(job)
    yield heading(PAPER["agreed"])
    for area, row in zip(job.plan.areas, told["areas"], strict=True):
        yield heading(area_title(area), 3)
        yield listed(
            (
                PAPER["said"].format(what=PAPER["size"], words=row["size"]),
                PAPER["said"].format(what=PAPER["base"], words=row["base"]),
                *(PAPER["said"].format(what=PAPER["step"], words=step) for step in row["steps"]),
                PAPER["said"].format(what=PAPER["edge_head"], words=row["edge"]),
            )
        )
    yield "".join(map(paragraph, (*told["laid"], *told["built"])))
    yield heading(PAPER["not_included"], 3)
    yield "".join(map(paragraph, told["not_included"]))


def _from_above(plan: Plan, each: AreaStakes) -> str:
    """Return an area in plan with its letters, the house at the top."""
    turned = Turned(plan, each.area)
    told = turned.record()
    x, y, wide, tall = told["box"]
    unit = max(wide, tall) / _LETTERS_WIDE
    parts = [f'<path d="{d}" fill="#ece4d4" stroke="#000" stroke-width="{unit / 10:.3f}"/>'
             for d in told["areas"]]  # fmt: skip
    parts.append(
        f'<path d="{told["house"]}" fill="none" stroke="#000" stroke-width="{unit / 3:.3f}"/>'
    )
    points = each.points
    for name, at, away in zip(points.names, points.xy, points.away, strict=True):
        (cx, cy), (tx, ty) = turned.at(at), turned.at(at + away * unit)
        parts.append(f'<circle cx="{cx}" cy="{cy}" r="{unit / 4:.3f}"/>')
        parts.append(
            f'<text x="{tx}" y="{ty + 0.35 * unit:.3f}" font-size="{unit:.3f}" '
            f'font-weight="700" text-anchor="middle">{escape(name)}</text>'
        )
    about = escape(PAPER["from_above"].format(area=each.area.area.name))
    return (
        f'<svg role="img" aria-label="{about}" viewBox="{x} {y} {wide} {tall}">'
        f"{''.join(parts)}</svg>\n"
    )


def _figure(sheet: Sheet, about: str) -> str:
    """Return a drawing as a picture within the file."""
    with scratch_folder() as folder:
        (path,) = write(lettered(sheet), folder / "picture", ("svg",))
        data = base64.b64encode(path.read_bytes()).decode("ascii")
    alt = escape(about)
    return (
        f'<figure tabindex="0" role="group" aria-label="{alt}">'
        f'<img alt="{alt}" src="data:image/svg+xml;base64,{data}"></figure>\n'
    )
