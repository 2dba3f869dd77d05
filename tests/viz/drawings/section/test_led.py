"""Leaders of sections and details, read off what is recorded: each starts in what it names."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.plans.drawn import planned

from viz.drawings.details.sheet import details_sheets
from viz.drawings.section.compare import compare_sheets
from viz.drawings.section.sheet import section_sheet
from viz.paper.drawing import Area, Leader
from viz.paper.page import page_for

SITES = ("back-patio", "raised-patio", "front-walk", "side-walkway", "garden-court")
SPIKED, SET = ("edge restraint",), ("edge of concrete", "border unit")


def shape_of(part):
    outer, *holes = part.rings
    return shapely.make_valid(shapely.Polygon(outer, holes))


def sheets_of(name):
    plan = planned(name)
    page = page_for(plan.site.unit)
    for area in plan.areas:
        for way in ("down", "across"):
            yield section_sheet(plan, area, way, page)
        yield from details_sheets(plan, area, page)
        yield from compare_sheets(plan, area, page)


def starts(view):
    """Yield the words of every label, where its leader starts [m] and [mm], where it bends [mm]."""
    for part in view.drawing.parts:
        if isinstance(part, Leader):
            at = np.array(view.paper(part.tip))
            yield part.words.replace("\n", " "), part.tip, at, at + part.shift - [2.0, 0.0]


@pytest.mark.parametrize("name", SITES)
def test_a_leader_starts_in_what_it_names_and_in_nothing_that_is_drawn_over_it(name):
    named = 0
    for sheet in sheets_of(name):
        for view in sheet.views:
            areas = [part for part in view.drawing.parts if isinstance(part, Area)]
            for words, tip, _, _ in starts(view):
                over = [part for part in areas if shape_of(part).buffer(1e-6).covers(
                    shapely.Point(tip))]  # fmt: skip
                layers = [part.layer for part in over]
                wanted = [part.layer for part in areas if part.layer and words.startswith(
                    f"{part.layer} ") and part.layer != "edge restraint"]  # fmt: skip
                if "soil put back" in words:
                    assert layers[-1:] == ["backfill"], (sheet.title, words, layers)
                elif wanted:
                    # What is built is drawn last, over the layers that it stands in.
                    assert layers[-1:] == wanted[:1], (sheet.title, words, layers)
                elif words.startswith("edge restraint"):
                    assert layers[-1:] == list(SPIKED), (sheet.title, words, layers)
                elif words.startswith("concrete edge"):
                    assert layers[-1] in SET, (sheet.title, words, layers)
                else:
                    continue
                named += 1
    assert named >= 8


@pytest.mark.parametrize("name", SITES)
def test_no_leader_runs_over_the_start_of_another(name):
    for sheet in sheets_of(name):
        for view in sheet.views:
            led = list(starts(view))
            for words, _, start, bend in led:
                line = shapely.LineString([start, bend])
                for other, _, at, _ in led:
                    if other != words:
                        apart = line.distance(shapely.Point(at))
                        assert apart > 0.6, (sheet.title, words, other)


def test_what_holds_a_raised_edge_is_drawn_under_every_base_and_no_soil_hangs_beside_it():
    plan = planned("raised-patio")
    (sheet,) = compare_sheets(plan, plan.areas[0], page_for("ft"))
    assert len(sheet.views) == 3
    for view in sheet.views:
        assert len(view.drawing.of("built")) > 4
        assert not view.drawing.of("backfill")
        assert not view.drawing.of("holder")
        assert [part.words for part in view.drawing.parts if isinstance(part, Leader)] == [
            "1", "2", "3", "4"
        ]  # fmt: skip
