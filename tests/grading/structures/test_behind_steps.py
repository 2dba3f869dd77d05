"""What lies behind and beside steps: clean stone, fabric, pipe; blocks returned, cheek walls.

Worked by hand from the sizes in the tables; the dig by looking at every square centimetre. That
steps hold what is behind them as a wall of their height is common practice, no source, and so are
cheek walls and returned blocks (from memory).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from make.plans.raised_yard import DOWN, raised, yard
from make.sites.handmade import grid_of_spots, site_of
from msgspec.structs import replace

from grading.crew.model import default_crew
from grading.errors import GradingError
from grading.order.model import order_of
from grading.pipeline import plan
from grading.site.step_tables import Step
from grading.structures.flights import flights_of
from grading.units import FOOT, INCH
from viz.words.uncounted import not_counted

CREW = default_crew()
OUT = {"outfalls": []}
CREEK = [{"kind": "outlet", "name": "creek", "at": [3, 14], "z": 8.5}]
PAD, CAP, UNDER = 6 * INCH, CREW["wall-cap-height"], 3.375 * INCH
"""Of the pad, of a cap, and of pavers with their bedding."""


def job(made):
    return order_of(made, CREW).total


def steps_of(found, name="steps"):
    (one,) = (each for part in found.jobs for each in part.structures if each.kind == name)
    return one


def line(found, title):
    return next((one for _, one in found.lines if one.title == title), None)


def volume_of(solid):
    parts = shapely.get_parts(shapely.constrained_delaunay_triangles(solid.footprint))
    low, high = solid.between(shapely.get_coordinates(shapely.centroid(parts)))
    return float(((high - low) * shapely.area(parts)).sum())


def test_behind_steps_lie_stone_fabric_and_pipe_as_behind_a_wall():
    """1.2 m of them, from 9.9 m down to a lawn at 9.5; the pad a cap below the lawn."""
    found = job(raised([DOWN], floors=CREEK))
    high = 9.9 - UNDER - (9.5 - CAP)
    stone = line(found, "drain stone behind steps from patio to the lawn")
    assert stone.compacted == pytest.approx(1.2 * FOOT * high, rel=1e-6)
    assert stone.item == "open-graded"
    fabric = line(found, "fabric behind steps from patio to the lawn")
    assert fabric.net == pytest.approx(1.2 * (high + FOOT + FOOT))
    pipe = line(found, "pipe behind steps from patio to the lawn")
    # The walls' pads at both sides of them lie lower: the pipe runs on into theirs.
    assert pipe.net == pytest.approx(1.2)
    assert "into the pipe behind block wall 1 of patio" in pipe.how
    drawn = [each for each in steps_of(found).solids if each.material == "open-graded"]
    # Under a finish that falls 2 %, a foot deep: its middle lies 1.5 ft inside the edge.
    assert sum(map(volume_of, drawn)) == pytest.approx(1.2 * FOOT * (high + 0.02 * 1.5 * FOOT))


def test_where_stone_lies_behind_steps_no_base_with_fines_is_laid_but_bedding_is():
    found = job(raised([DOWN]))
    with_it, low = found.jobs[0], job(raised([DOWN], ground=9.86)).jobs[0]
    # 1.6 in over the lawn nothing is held: the same steps, no stone.
    gone = {a.layer.role: b.area - a.area
            for a, b in zip(with_it.layers, low.layers, strict=True)}  # fmt: skip
    assert gone["bedding"] == pytest.approx(0)
    strip = 1.2 * FOOT
    wall = sum(each.stands.intersection(with_it.dig.polygon).area + each.drained.area
               for each in with_it.structures if each.kind == "block wall")  # fmt: skip
    own = next(each for each in low.structures if each.kind == "steps").stands
    more = steps_of(found).stands.intersection(with_it.dig.polygon).area
    more -= own.intersection(low.dig.polygon).area
    assert gone["base"] == pytest.approx(strip + wall + more, rel=1e-3)


def test_over_clean_stone_only_what_lies_below_its_hole_is_ordered():
    """The open base's own stone fills the rest: its hole ends a build-up below the finish."""
    made = raised([DOWN], base="open")
    found = job(made)
    dig = found.jobs[0].dig
    stone = line(found, "drain stone behind steps from patio to the lawn")
    # In the middle of the strip, 1.5 ft inside; nothing is stripped below the lawn.
    bottom = min(9.9 + 0.02 * 1.5 * FOOT - dig.build_up, 9.5)
    left = max(bottom - (9.5 - CAP), 0.0)
    assert (0.0 if stone is None else stone.compacted) == pytest.approx(1.2 * FOOT * left, abs=1e-6)
    assert line(found, "pipe behind steps from patio to the lawn").net > 0


def test_without_a_place_for_its_water_that_is_said_and_nothing_is_led_there():
    """Beside a slope of grass no wall's pipe takes it on."""
    hold = [{"area": "patio", "kind": "grass slope"}]
    dry = raised([DOWN], holds=hold)
    assert any("the way out of the pipe behind steps from patio" in one for one in not_counted(dry))
    led = raised([DOWN], holds=hold, floors=CREEK)
    assert not any("the way out of the pipe" in one for one in not_counted(led))
    # From the edge at 5 m to the creek at 14.
    pipe = line(job(led), "pipe behind steps from patio to the lawn")
    assert pipe.net == pytest.approx(1.2 + 9.0)


def test_steps_at_a_door_hold_nothing():
    door = {"name": "back door", "at": [3, 0], "sill": 10.45, "steps": 3}
    assert line(job(raised(doors=[door])), "drain stone behind steps at back door") is None


def test_steps_between_areas_hold_the_base_of_the_upper_one():
    down = {"down": ["patio", "court"], "risers": 3}
    found = job(raised([down], lower=9.45, ground=9.4))
    stone = line(found, "drain stone behind steps from patio to court")
    pad_top = 9.45 - 0.02 * 2 * FOOT - UNDER  # two treads out, below the pavers of the court
    high = 9.9 - UNDER - pad_top
    assert stone.compacted == pytest.approx(6 * FOOT * high, rel=2e-3)
    flush = job(raised([{**down, "risers": 1}], lower=9.8, ground=9.4))
    patio, other = (next(one for one in each.jobs if one.area.name == "patio")
                    for each in (found, flush))  # fmt: skip
    base, without = (next(each.area for each in one.layers if each.layer.role == "base")
                     for one in (patio, other))  # fmt: skip
    # At both ends a foot of it lies behind a wall at the side, and was left out before.
    assert without - base == pytest.approx((6 - 2 * FOOT) * FOOT)


def test_steps_all_round_have_the_same_behind_them():
    """44 ft of edge 12 in high: stone a foot wide from the pad, 6 in down, to the bedding."""
    found = job(yard(12, {"kind": "steps"}))
    stone = line(found, "drain stone behind steps round patio")
    assert stone.compacted == pytest.approx(44 * FOOT * FOOT * (18 * INCH - UNDER), rel=1e-3)
    fabric = line(found, "fabric behind steps round patio")
    assert fabric.net == pytest.approx(44 * FOOT * (18 * INCH - UNDER + 3 * FOOT), rel=1e-3)
    assert line(found, "pipe behind steps round patio").net > 44 * FOOT
    low = job(yard(5, {"kind": "steps"}))
    assert line(low, "drain stone behind steps round patio") is None


CELL = FOOT / 24
"""Half an inch: pads, cheek walls and stone end on the lines of the grid."""


def brute(made, parts):
    """Return what is dug beyond the hole, cell by cell: from it, or the lawn, to the lowest."""
    dig = made.areas[0].chosen_dig
    reach = (np.arange(-4 * 24, 4 * 24) + 0.5) * CELL
    x, y = np.meshgrid(3 + reach, 5 + reach)
    xy = np.column_stack([x.ravel(), y.ravel()])
    top = np.full(len(xy), 9.5)
    inside = shapely.intersects_xy(dig.polygon, xy)
    top[inside] = np.minimum(10.0 - 0.02 * xy[inside, 1] - dig.build_up, 9.5)
    low = top.copy()
    for where, bottom in parts:
        here = shapely.intersects_xy(where, xy)
        low[here] = np.minimum(low[here], bottom)
    return float((top - low).sum()) * CELL**2


def test_what_is_dug_for_steps_with_cheek_walls_is_the_union_of_all_of_it():
    """Beside a slope of grass, where nothing else is dug: pads, cheek walls, stone behind."""
    hold = [{"area": "patio", "kind": "grass slope"}]
    made = raised([{**DOWN, "width": 4 * FOOT, "sides": "cheek walls"}], holds=hold)
    (flight,) = flights_of(made)
    one = steps_of(job(made))
    x0, x1 = 3 - 2 * FOOT, 3 + 2 * FOOT
    body = shapely.box(x0, 5 - FOOT, x1, 5 + 2 * FOOT).buffer(PAD, join_style="mitre")
    strip = shapely.box(x0, 5 - 2 * FOOT, x1, 5 - FOOT)
    # Inward a cheek wall's pad ends at the steps, which stand on their own.
    treads = shapely.box(x0, 5, x1, 5 + 2 * FOOT)
    sides = [
        shapely.box(x, 5, x + FOOT, 5 + 2 * FOOT).buffer(PAD, join_style="mitre") - treads
        for x in (x0 - FOOT, x1)
    ]
    # The slope closes much of their sides: the lowest cap lies at the front of the lowest tread,
    # two courses under it are the fewest that reach 6 in below the lawn.
    low = flight.treads[-1].front - CAP - 2 * 6 * INCH
    assert 6 * INCH <= 9.5 - low < 12 * INCH
    parts = [(body, 9.5 - CAP - PAD), (strip, 9.5 - CAP), *((each, low - PAD) for each in sides)]
    assert one.dug.bank == pytest.approx(brute(made, parts), rel=2e-3)
    assert flight.count == 3


@pytest.mark.parametrize("ground", [9.5, 9.3])
def test_cheek_walls_are_walls_of_what_each_tread_shows(ground):
    """Courses counted tread by tread, and both pads drawn block by block."""
    hold = [{"area": "patio", "kind": "block wall"}]
    made = raised([{**DOWN, "sides": "cheek walls"}], ground=ground, holds=hold, floors=CREEK)
    (flight,) = flights_of(made)
    found = job(made)
    tops = [each.front for each in flight.treads]
    shown = tops[0] - ground
    bury = max(6 * INCH, shown / 10)
    first = math.ceil(((tops[-1] - ground) - CAP + bury) / PAD - 1e-6)
    counts = [first + round((top - tops[-1]) / (6 * INCH)) for top in tops]
    # The wall beside them takes the first of their way: its face stands a unit and the setback of
    # its courses out.
    walls = [each for part in found.jobs for each in part.structures if each.kind == "block wall"]
    blocks = [each for one in walls for each in one.solids if each.material == "block"]
    face = max(each.footprint.bounds[3] for each in blocks) - 5
    lengths = [max(FOOT - face, 0.0), *[FOOT] * (len(tops) - 1)]
    if face > FOOT:
        lengths = [0.0, 2 * FOOT - face, *[FOOT] * (len(tops) - 2)]
    long = 2 * sum(lengths)
    units = 2 * sum(n * each for n, each in zip(counts, lengths, strict=True)) / (16 * INCH)
    told = line(found, "units of cheek walls of steps from patio to the lawn")
    assert told.net == pytest.approx(units, rel=1e-6)
    assert told.amount == math.ceil(units * 1.05)
    assert line(found, "caps of cheek walls of steps from patio to the lawn").net == pytest.approx(
        long / FOOT
    )
    hours = {task.title: task.amount for task in found.tasks}
    assert hours["lay the base course of cheek walls"] == pytest.approx(long)
    bare = job(raised([DOWN], ground=ground, holds=hold, floors=CREEK))
    assert found.cut > bare.cut
    assert found.time.mean > bare.time.mean
    assert found.cost.total > bare.cost.total
    assert "with low walls along both sides" in steps_of(found).plain
    assert "cheek walls beside them" in steps_of(found).said


@pytest.mark.parametrize("rows", range(1, 7))
@pytest.mark.parametrize("wide", [8, 9, 12, 18])
def test_blocks_returned_at_the_sides_take_no_further_blocks(rows, wide):
    """Laid on a grid of half a unit's depth: rows between two blocks that are turned.

    Units of 12 x 16 in: a course so many rows deep and `wide` times 16 in wide.
    """
    across, deep = wide * 16, rows * 12
    plain = rows * across / 16
    turned = 2 * deep / 16 + rows * (across - 2 * 12) / 16
    assert turned == pytest.approx(plain)


def test_returned_blocks_are_what_is_built_where_nothing_is_said():
    bare, said = raised([DOWN]), raised([{**DOWN, "sides": "returned blocks"}])
    assert job(bare).cost.total == job(said).cost.total
    assert "its end blocks returned" in steps_of(job(bare)).said


def test_how_high_a_cheek_wall_stands_is_not_known_where_the_ground_beside_it_is_not():
    """The survey ends 0.2 m beside the steps: a unit of a foot stands out beyond it."""
    spots = grid_of_spots(lambda x, y: 9.5 + 0 * x, ((-4, -3), (6.2, 16)))
    areas = [{"name": "patio", "outline": [(0, 0), (6, 0), (6, 5), (0, 5)], "base": "dense",
              "plane": {"at": [0, 0], "z": 10.0, "fall": "2 %", "bearing": 0}}]  # fmt: skip
    down = {"area": "patio", "to": "lawn", "at": [5.4, 5], "width": 1.2, "sides": "cheek walls"}
    steps = (Step.model_validate(down, context={"unit": "m"}),)
    made = plan(replace(site_of(spots, areas), steps=steps))
    words = [each for each in not_counted(made) if "cheek wall" in each]
    assert words
    assert "how high it stands is not known" in words[0]
    one = line(job(made), "units of cheek walls of steps from patio to the lawn")
    both = raised([{**DOWN, "sides": "cheek walls"}], house=False)
    assert one is None or one.net < line(
        job(both), "units of cheek walls of steps from patio to the lawn"
    ).net  # fmt: skip


def test_sides_of_one_riser_are_refused():
    with pytest.raises((GradingError, ValueError), match="sides"):
        Step.model_validate({**DOWN, "risers": 1, "sides": "cheek walls"}, context={"unit": "m"})
