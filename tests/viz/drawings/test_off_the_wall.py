"""A door belongs to its wall however the tape was read: it is on every plan, and named with it."""

import numpy as np
import pytest
from make.sites.handmade import grid_of_spots, site_of

from grading.design.door_steps import door_steps
from grading.design.levels import grid_of
from grading.geometry.tolerances import TOGETHER
from grading.pipeline import plan
from grading.section.line import Line
from grading.setout.stated import by_rod
from grading.units import FOOT, INCH
from viz.drawings.answers import answers_of
from viz.drawings.details.cuts import door_detail
from viz.drawings.listed import sheets_of, site_sheets
from viz.paper.page import page_for
from viz.sheets.crew.set_out_plan import set_out_plan, stated_scales
from viz.sheets.homeowner.plain_plan import plain_plan
from viz.words.paving.falls import wall_called

# Where a door was taped, and how far off its wall: to hundredths of a foot, to an inch, to a hand.
CASES = {"as drawn": (0.0, 0.0), "turned": (17.0, 0.0), "turned far": (62.0, 0.0),
         "an inch out": (0.0, INCH), "a hand in": (33.0, -4 * INCH)}  # fmt: skip


def yard(turn, off):
    """Return a plan of a patio with a door [m], its coordinates to hundredths of a foot."""
    cos, sin = np.cos(np.radians(turn)), np.sin(np.radians(turn))

    def at(points):
        moved = np.array(points, float) @ np.array([[cos, sin], [-sin, cos]])
        return np.round(moved / FOOT, 2).tolist()

    spots = grid_of_spots(lambda x, y: 30.0 - 0.03 * y, ((-3, -2), (13, 10)))
    spots[:, :2] = np.array(at(spots[:, :2].tolist())) * FOOT
    return plan(
        site_of(
            spots,
            [{"name": "patio", "outline": at([[1, 0], [9, 0], [9, 4], [1, 4]]), "base": "dense"}],
            unit="ft",
            house={"walls": at([[-1, 0], [11, 0], [11, -6]]), "inside": at([[5, -3]])[0]},
            doors=[{"name": "back door", "at": at([[4, off]])[0], "sill": 30.15 / FOOT}],
        )
    )


@pytest.fixture(scope="module", params=CASES, ids=str)
def made(request):
    return yard(*CASES[request.param])


def test_the_door_is_on_every_plan(made):
    area, page = made.areas[0], page_for("ft")
    sheets = dict(sheets_of(made, area, page)) | dict(site_sheets(made, page))
    plans = {name: sheets[name] for name in ("cut-and-fill", "levels", "grading", "water")}
    found = by_rod(made)
    plans["crew"] = set_out_plan(made, found, found.areas[0], stated_scales(made, found)[0])
    plans["homeowner"] = plain_plan(made, area)
    plans |= {
        f"answer {each.key}": each.sheet
        for each in answers_of(made, area)
        if each.key in ("water", "edge")
    }
    assert len(plans) == 8
    for name, sheet in plans.items():
        assert any(view.drawing.of("door") for view in sheet.views), name


def test_the_door_stands_in_its_wall_in_the_section_and_in_its_detail(made):
    area = made.areas[0]
    (step,) = door_steps(area)
    assert door_detail(made, area, step, "ft") is not None
    wall = made.site.house.wall_of(step.door.at)
    through = wall.foot + wall.outward
    cut = made.sections.along(area, Line(through, np.asarray(wall.outward)))
    assert [one.door for one in cut.walls] == ["back door"]


def test_the_homeowner_reads_which_wall_has_the_door(made):
    assert [wall_called(made, each.wall.name) for each in made.areas[0].walls] == [
        "wall 1 (back door)"
    ]


def test_every_point_of_the_grid_on_the_edge_of_the_paving_is_set_out(made):
    """A patio of 8 by 4 m takes lines at 0, 5, ... 25 ft along and 0, 5, 10 out, by hand.

    Each line out meets the outer edge at 13 ft too.
    """
    grid = grid_of(made.areas[0], "ft")
    assert len(grid.steps) == 6 * 3 + 6
    assert TOGETHER == INCH


def test_a_door_is_told_when_it_is_off_its_wall_by_more_than_an_inch():
    assert not [each for each in yard(17.0, 0.0).warnings if "foundation line" in each]
    assert pytest.approx(0.0254) == TOGETHER
