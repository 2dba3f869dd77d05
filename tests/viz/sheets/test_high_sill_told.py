"""A sill that steps lead down from: every paper counts them alike, and none counts them as work."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace

import numpy as np
from make.sites.handmade import site_of
from measure.printed import Printed
from msgspec.structs import replace

from grading.crew.reading import crew_of
from grading.errors import CannotDraw
from grading.pipeline import plan
from grading.site.model import GroundSpec
from grading.units import FOOT, INCH
from viz.drawings.section.sheet import section_sheet
from viz.paper.compose import compose, words_of
from viz.paper.page import page_for
from viz.sheets.homeowner.told import steps_told
from viz.sheets.write import write_sheets
from viz.words.paving.structures import structure_lines
from viz.words.uncounted import not_counted


@cache
def high(sill=16.0):
    """Return a patio of 16 x 14 ft on a lawn that falls 2 % from a sill so high over it [in]."""
    x, y = np.meshgrid(np.arange(-10, 31, 4.0), np.arange(-6, 41, 4.0))
    spots = np.column_stack([x.ravel(), y.ravel(), 100 - 0.02 * y.ravel()])
    outline = [[0, 0], [16, 0], [16, 14], [0, 14]]
    return plan(
        site_of(
            spots * FOOT,
            [{"name": "patio", "base": "panel", "outline": outline}],
            unit="ft",
            house={"walls": [[-10, 0], [30, 0]], "inside": [8, -8]},
            doors=[{"name": "back door", "at": [8, 0], "sill": 100 + sill / 12}],
            ground=GroundSpec(soil="loam", organics=3 * INCH),
            finish={},
        )
    )


def homeowner(made, tmp_path, monkeypatch):
    def cannot(_):
        raise CannotDraw("no picture")

    monkeypatch.setattr("viz.sheets.homeowner.stills.before_and_after", cannot)
    files = write_sheets(made, tmp_path / "out", lambda _: None, ["homeowner"])
    return Printed(next(file for file in files if file.stem == "homeowner")).text


def test_steps_from_a_door_are_in_the_order_and_its_hours_and_not_left_out():
    made = high()
    assert not any("step" in words for words in not_counted(made))
    (said,) = tuple(structure_lines(made))[:1]
    assert said.startswith("steps at back door: 2 risers of 7 7/")
    total = made.order.total
    assert any(line.item == "caps" for _, line in total.lines)
    assert any(task.title == "build steps at back door" for task in total.tasks)


def test_the_section_counts_the_steps_as_the_plan_does():
    made = high()
    sheet = section_sheet(made, made.areas[0], "down", page_for("ft"))
    said = " ".join(each.words.replace("\n", " ") for each in words_of(compose(sheet)))
    assert "2 steps of 7 7/16 in the sill 14 7/8 in up here" in said
    assert "step here" not in said


TERMS = {"margin": "30 %", "overhead": "18 %", "tax": "6 %", "tax_on": "cost",
         "deposit_most": "none"}  # fmt: skip


def test_the_homeowner_reads_what_raising_takes_in_loads(tmp_path, monkeypatch):
    made = high()
    shown = made.crew.card.model_copy(update={"show_prices": True})
    # A crew that makes no price has none to show, and what it pays is told to nobody.
    text = homeowner(replace(made, crew=replace(made.crew, card=shown)), tmp_path, monkeypatch)
    steps, raised = made.sill_ways
    assert f"takes {raised.trips - steps.trips} loads more of soil and stone" in text
    assert made.crew.currency not in text


def test_where_prices_are_shown_the_homeowner_reads_the_price_of_raising_and_no_cost(monkeypatch):
    """By hand: (material x 1.06 + the rest) x 1.18 / .70, to ten."""
    made = high()
    crew = crew_of({"price": TERMS, "crew": {"show_prices": True}}, "ft")
    made = replace(made, crew=crew)
    steps, raised = made.sill_ways
    bought = raised.material - steps.material
    price = (raised.cost - steps.cost + 0.06 * bought) * 1.18 / 0.7
    told = f"its price is ${round(price, -1):,.0f} more"
    job = SimpleNamespace(plan=made, unit="ft")
    # Nothing is told while a blank of the quote keeps it from being signed.
    assert not any("$" in said for said in steps_told(job)["said"])
    monkeypatch.setattr("viz.sheets.homeowner.told.band_words", lambda price: "")
    said = " ".join(steps_told(job)["said"])
    assert told in said
    assert f"{raised.cost - steps.cost:,.0f}" not in said
    assert "$" not in " ".join(steps_told(job, priced=False)["said"])


def test_the_homeowner_reads_of_the_steps_that_are_built_and_not_that_they_are_left_out(
    tmp_path, monkeypatch
):
    made = high()
    text = homeowner(made, tmp_path, monkeypatch)
    agreed, left_out = text[text.index("What we agree on") :].split("Not in it, unless")
    built = [
        each for order in made.order.areas
        for each in order.takeoffs[order.area.chosen].structures if "step" in each.kind
    ]  # fmt: skip
    assert built
    for each in built:
        assert each.plain.rstrip(".") in agreed
    assert "back door" not in left_out
