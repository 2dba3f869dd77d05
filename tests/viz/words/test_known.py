"""How well the ground is known: in the plan, on the crew's sheet, in the order, on the drawing."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from make.sites.handmade import PATIO, WALL, grid_of_spots, site_of
from msgspec.structs import replace

from grading.design.contours import parted_by_known
from grading.design.points import corners_of
from grading.order.model import bins_between
from grading.pipeline import plan
from grading.setout.stated import by_rod
from grading.units import FOOT, INCH
from viz.drawings.plan.grading import GUESSED, grading_sheet
from viz.drawings.plan.levels import levels_sheet
from viz.paper.drawing import Text
from viz.paper.page import page_for
from viz.sheets.crew.rods import rods_page
from viz.sheets.head import Job
from viz.terminal.report import text
from viz.words.known import WORTH, _within, area_known, between_lines, bins_known, known_lines

GIVEN = {"plane": {"at": [1, 0], "z": 30.2, "fall": "2 %", "bearing": 0}}


def rolling(x, y):
    return 30 - 0.02 * y + 0.1 * np.sin(x * 0.6) * np.cos(y * 0.48)


@pytest.fixture(scope="module")
def poor():
    return plan(site_of(grid_of_spots(rolling, spacing=3.0), [{**PATIO, **GIVEN}], house=WALL))


@pytest.fixture(scope="module")
def well():
    spots = grid_of_spots(lambda x, y: 30 - 0.02 * y)
    return plan(site_of(spots, [{**PATIO, **GIVEN}], house=WALL))


def test_the_plan_tells_its_plus_or_minus_and_where_to_shoot(poor):
    known, shots = known_lines(poor)
    assert known.startswith(f"Known from {poor.ground.spots} spots, nine times in ten: the dig to ")
    assert f"\N{PLUS-MINUS SIGN}{poor.uncertainty.cut.either_way:.2f} m³" in known
    assert "it typically to \N{PLUS-MINUS SIGN}" in known
    assert all(poor.places.at(shot.at) in shots for shot in poor.uncertainty.next_shots)
    after = poor.uncertainty.next_shots[-1].after
    assert shots.endswith(f"the dig would be known to \N{PLUS-MINUS SIGN}{after:.2f} m³")
    assert f"{known}\n{shots}" in text(poor)


def test_shots_that_would_tell_little_are_not_asked_for(well):
    shots = well.uncertainty.next_shots
    assert not shots or shots[-1].after > WORTH * shots[0].before
    assert len(list(known_lines(well))) == 1


def test_many_spots_say_how_many_the_process_rests_on():
    rng = np.random.default_rng(1)
    xy = rng.uniform((-2, -1), (12, 9), (320, 2))
    corners = [[-2, -1], [12, -1], [12, 9], [-2, 9]]
    xy = np.vstack((corners, xy))
    spots = np.column_stack((xy, rolling(*xy.T)))
    made = plan(site_of(spots, [{**PATIO, **GIVEN}], house=WALL))
    assert next(iter(known_lines(made))).startswith("Known from 300 of 324 spots, ")


def test_the_crew_is_told_of_each_area(poor):
    said = area_known(poor, poor.areas[0])
    assert said.startswith(
        "Known from the shots, nine times in ten: the dig to \N{PLUS-MINUS SIGN}"
    )
    assert said.endswith("topsoil is not looked at.")
    page = rods_page(Job(poor, poor.order, page_for("m", None)), by_rod(poor))
    parts = [each for block in page.blocks for each in block.get("blocks", [block])]
    told = [block["text"] for block in parts if block["kind"] == "words"]
    assert any(words.startswith(said) for words in told)


def test_cut_refill_deepest_dig_and_falls_are_told_with_what_they_may_be():
    strip = {**PATIO, **GIVEN, "outline": [[1, 0], [9, 0], [9, 2], [1, 2]]}
    made = plan(site_of(grid_of_spots(rolling, spacing=3.0), [strip], house=WALL))
    (area,), known = made.areas, made.uncertainty
    (said,) = between_lines(made, area)
    dig = known.digs[area.name, area.chosen]
    assert f"cut {dig.cut.low:.2f} to {dig.cut.high:.2f} m³" in said
    assert f"refill {dig.fill.low:.2f} to {dig.fill.high:.2f} m³" in said
    low, high = (f"{1000 * each:.0f} mm" for each in (dig.deepest.low, dig.deepest.high))
    assert f"deepest dig {low} to {high}" in said
    (wall,) = area.walls
    fall = known.fall(wall)
    assert f"falls {100 * fall.low:.1f} % to {100 * fall.high:.1f} % away" in said
    assert said in text(made)


STAIRS = [[9, 0], [9, 5], [8.6, 5], [8.6, 5.5], [8, 5.5], [8, 6], [7.4, 6], [7.4, 6.5], [6.8, 6.5],
          [6.8, 7]]  # fmt: skip


@pytest.mark.parametrize("half", [[[9, 0], [9, 7]], STAIRS], ids=["four corners", "twenty"])
def test_the_plan_of_levels_tells_how_well_each_level_of_the_ground_is_known(half):
    outline = half + [[10 - x, y] for x, y in half[::-1]]
    made = plan(
        site_of(
            grid_of_spots(rolling, spacing=3.0),
            [{**PATIO, **GIVEN, "outline": outline}],
            house=WALL,
        )
    )
    (area,) = made.areas
    parts = levels_sheet(made, area, page_for("m", None)).paper.parts
    said = [part for part in parts if isinstance(part, Text)]
    told = [each for each in said if each.words.startswith("\N{PLUS-MINUS SIGN}")]
    known = made.uncertainty.level(np.array([at for at, _ in corners_of(area.outline)]))
    assert [each.words for each in told] == [
        f"\N{PLUS-MINUS SIGN}{1000 * each:.0f} mm" for each in known
    ]
    rows = [each.at[1] for each in told]
    assert rows == sorted(rows, reverse=True)
    assert any(each.words.startswith("wall 1: ") for each in said)


def test_bins_are_told_where_they_may_be_more_or_less(poor):
    order = poor.order
    (entry,) = [each for each in order.crew.entries() if each.name == "bin-volume"]
    small = replace(order, crew=order.crew.having(entry, poor.uncertainty.cut.either_way))
    low, high = bins_between(small)
    assert bins_known(small) == f"Bins of soil: {low} to {high}, as well as the ground is known"
    large = replace(order, crew=order.crew.having(entry, 1e3))
    assert bins_known(large) == ""


def test_too_few_spots_say_nothing():
    corners = np.array([[-2, -1, 30], [12, -1, 30], [12, 9, 29.8], [-2, 9, 29.8]])
    bare = plan(site_of(corners, [{**PATIO, **GIVEN}], house=WALL))
    assert list(known_lines(bare)) == []
    assert area_known(bare, bare.areas[0]) == ""
    assert bins_known(bare.order) == ""


def pens(made):
    sheet = grading_sheet(made, made.areas[0], page_for("m", None))
    drawn = [view.drawing for view in sheet.views]
    return [
        sum(getattr(item, "pen", None) == GUESSED for item in drawing.parts)
        for drawing in (*drawn, sheet.paper)
    ]


def test_ground_that_is_poorly_known_is_drawn_so_and_the_key_says_how(poor, well):
    on_plan, in_key = pens(poor)
    assert on_plan > 0
    assert in_key == 1
    assert pens(well) == [0, 0]


def test_each_part_of_a_contour_is_drawn_as_well_as_it_is_known(poor):
    lines = [(0.0, shapely.LineString([(-1.5, y), (11.5, y)])) for y in (1.0, 3.0, 6.0)]
    known, guessed = parted_by_known(poor, lines)
    total = sum(line.length for _, line in lines)
    assert sum(line.length for _, line in known + guessed) == pytest.approx(total)
    for parts, poorly in ((known, False), (guessed, True)):
        assert parts
        for _, line in parts:
            middle = np.array(line.interpolate(0.5, normalized=True).coords)
            reach = poor.uncertainty.level(middle)[0]
            if line.length < 0.5:  # the middle of what is looked at as one
                assert (reach > 2 * INCH) == poorly
    limits = {**poor.site.limits, "known-ground": 3 * FOOT}
    generous = replace(poor, site=replace(poor.site, limits=limits))
    assert parted_by_known(generous, lines)[1] == []


@pytest.mark.parametrize(
    ("metres", "unit", "said"),
    [(0.0004, "ft", "under ±1/8 in"), (0.01, "ft", "±3/8 in"), (0.0004, "m", "under ±1 mm"),
     (0.0123, "m", "±12 mm")],
)  # fmt: skip
def test_no_level_is_known_to_nothing(metres, unit, said):
    assert _within(metres, unit) == said
