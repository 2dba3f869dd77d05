"""The plan as the page draws it: turned and never mirrored, with the labels of the papers."""

from __future__ import annotations

import copy
import json
import math
import tomllib
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from make.sites.site_folder import LARCH_LANE

import grading
import sample_sites
from grading.reading.partly import Partly, partly_of, read_partly
from grading.reading.site_file import read_site
from viz.desk.plan.view import plan_view, turn_of
from viz.export.levels import levels_table

SITES = Path(sample_sites.__file__).parent
NAMES = sorted(each.parent.name for each in SITES.glob("*/site.toml"))


def document_of(folder):
    return tomllib.loads((folder / "site.toml").read_text())


@cache
def seen(folder):
    site = read_site(folder)
    return document_of(folder), partly_of(site), grading.plan(site)


def view_of(folder, stale=False):
    document, partly, plan = seen(folder)
    return plan_view(document, partly, plan, stale)


def on_screen(view, xy):
    """Turn a place onto a screen whose y runs down, by the turn that the page is told."""
    turn = math.radians(view["turn"])
    x, y = xy
    up = math.sin(turn) * x + math.cos(turn) * y
    return math.cos(turn) * x - math.sin(turn) * y, -up


def area_of(ring):
    """Return the area of a ring by the shoelace formula, above zero anticlockwise."""
    return (
        sum(a[0] * b[1] - a[1] * b[0] for a, b in zip(ring, ring[1:] + ring[:1], strict=True)) / 2
    )


def yard(walls, inside, outline=None):
    document = {"unit": "ft", "house": {"walls": walls, "inside": inside}}
    if outline:
        document["area"] = [{"name": "patio", "outline": outline}]
    return document


def partly(document):
    return read_partly(Path("."), copy.deepcopy(document))[0]


@pytest.mark.parametrize("name", NAMES)
def test_the_plan_is_turned_and_never_mirrored(name):
    view = view_of(SITES / name)
    triangle = [(0.0, 0.0), (3.0, 0.0), (0.0, 2.0)]
    # On a screen y runs down: what turns left in the yard turns the other way in its numbers.
    assert area_of([on_screen(view, xy) for xy in triangle]) == pytest.approx(-area_of(triangle))


@pytest.mark.parametrize("name", NAMES)
def test_the_house_is_at_the_top(name):
    view = view_of(SITES / name)
    walls = [(w["from"], w["to"], w["outward"]) for w in view["house"]["walls"]]
    down = sum(math.dist(a, b) * on_screen(view, out)[1] for a, b, out in walls)
    across = sum(math.dist(a, b) * on_screen(view, out)[0] for a, b, out in walls)
    assert down > 0
    assert down >= abs(across)


@pytest.mark.parametrize(
    ("walls", "inside", "turn"),
    [
        ([[0, 0], [20, 0]], [10, 5], 0),  # the yard at small y lies below it already
        ([[0, 0], [20, 0]], [10, -5], 180),
        ([[0, 0], [0, 20]], [-5, 10], 270),  # the yard at large x: turned clockwise
        ([[0, 0], [0, 20]], [5, 10], 90),
        ([[0, 0], [20, 3]], [10, -5], 180),  # askew, to the nearest quarter
    ],
)
def test_a_house_on_any_side_comes_to_the_top_by_quarters(walls, inside, turn):
    assert turn_of(partly(yard(walls, inside))) == turn


def test_of_a_closed_house_the_paving_tells_where_the_yard_is():
    walls = [[0, 0], [30, 0], [30, 20], [0, 20], [0, 0]]
    beside = [[30, 5], [40, 5], [40, 15], [30, 15]]
    assert turn_of(partly(yard(walls, [15, 10], beside))) == 270
    above = [[5, 20], [15, 20], [15, 30], [5, 30]]
    assert turn_of(partly(yard(walls, [15, 10], above))) == 180


@pytest.mark.parametrize("folder", [*(SITES / name for name in NAMES), LARCH_LANE], ids=str)
def test_corners_have_the_letters_and_levels_of_the_table_of_levels(folder):
    _, _, plan = seen(folder)
    view = view_of(folder)
    for area, shown in zip(plan.areas, view["areas"], strict=True):
        table = levels_table(plan, area)
        column = {head: k for k, head in enumerate(table.headers)}
        unit = plan.site.unit
        told = {row[0]: row for row in table.rows if row[column["kind"]] == "corner"}
        outline = [c for c in shown["rings"][0]["corners"] if c["name"]]
        assert {c["name"] for c in outline} <= set(told)
        assert len(outline) >= 3
        for corner in outline:
            row = told[corner["name"]]
            there = [row[column[f"x ({unit})"]], row[column[f"y ({unit})"]]]
            assert corner["xy"] == pytest.approx(there, abs=0.02)
            finish = row[column[f"finish ({unit})"]]
            assert level_read(corner["level"], unit) == pytest.approx(finish, abs=6e-3)
            if unit == "ft":
                assert corner["level"] == row[column["finish (feet and inches)"]]


def level_read(words, unit):
    """Read 99' 2 11/16" or 50.160 m, by the fractions themselves."""
    if unit == "m":
        return float(words.removesuffix(" m"))
    feet, inches = words.removesuffix('"').split("' ")
    return float(int(feet) + sum(Fraction(each) for each in inches.split()) / 12)


@pytest.mark.parametrize("folder", [*(SITES / name for name in NAMES), LARCH_LANE], ids=str)
def test_every_corner_says_the_way_to_what_was_written_of_it(folder):
    document, _, _ = seen(folder)
    for area in view_of(folder)["areas"]:
        for ring in area["rings"]:
            for corner in ring["corners"]:
                value = document
                for key in corner["at"].split("/"):
                    value = value[int(key)] if isinstance(value, list) else value[key]
                assert value == corner["written"]
                assert (corner["through"] is not None) == isinstance(value, dict)


def test_a_door_stands_in_its_wall_with_the_step_that_its_finish_leaves():
    document, _, plan = seen(SITES / "back-patio")
    doors = {each["name"]: each for each in view_of(SITES / "back-patio")["doors"]}
    assert doors["back door"]["sill"] == "sill 100' 0\""
    plane = plan.areas[0].finish.plane
    for written in document["door"]:
        shown = doors[written["name"]]
        foot = np.array(shown["foot"]) * 0.3048
        step = (written["sill"] * 0.3048 - float(plane.at(foot[None])[0])) / 0.0254
        sixteenths = math.floor(step * 16 + 0.5)
        whole, rest = divmod(sixteenths, 16)
        assert shown["step"] == f"step down {whole} {Fraction(rest, 16)} in"
        assert abs(np.array(shown["along"]) @ shown["outward"]) < 1e-12


def test_arrows_point_down_the_finish_with_its_fall():
    _, _, plan = seen(SITES / "back-patio")
    area = view_of(SITES / "back-patio")["areas"][0]
    finish = plan.areas[0].finish.surface
    paved = shapely.Polygon(area["paved"][0])
    labels = [each["label"] for each in area["falls"] if each["label"]]
    assert labels == [f"{100 * plan.areas[0].finish.plane.fall:.1f} %"]
    for arrow in area["falls"]:
        assert paved.contains(shapely.Point(arrow["xy"]))
        at = np.array([arrow["xy"], np.array(arrow["xy"]) + arrow["way"]]) * 0.3048
        high, low = finish.at(at)
        assert high - low == pytest.approx(plan.areas[0].finish.plane.fall * 0.3048, rel=1e-6)


def test_free_edges_have_their_lengths_and_those_at_the_house_do_not_count_as_free():
    corners = view_of(SITES / "back-patio")["areas"][0]["rings"][0]["corners"]
    edges = {
        (tuple(corners[k - 1]["xy"]), tuple(each["xy"])): each["edge"]
        for k, each in enumerate(corners)
    }
    assert edges[(27.0, 16.0), (10.0, 16.0)] == {"label": "17' 0\"", "free": True}
    assert edges[(2.0, 0.0), (22.0, 0.0)]["free"] is False
    assert edges[(10.0, 16.0), (2.0, 8.0)]["label"] == ""  # round


def test_nothing_slow_is_worked_out_for_the_plan():
    document, partly, _ = seen(SITES / "drained-patio")
    plan = grading.plan(read_site(SITES / "drained-patio"))
    for key in ("order", "water", "advice", "checks"):
        vars(plan).pop(key, None)
    assert plan_view(document, partly, plan, stale=False)["structures"] == []
    assert not {"order", "water", "advice", "checks"} & set(vars(plan))
    assert plan.order.areas
    shown = plan_view(document, partly, plan, stale=False)["structures"]
    assert "dry well" in {each["kind"] for each in shown}


def test_all_that_is_drawn_is_shown_when_that_is_asked_however_far_it_lies():
    """A dry well stands far from the paving; spots of the survey count where they are seen."""
    document, partly, _ = seen(SITES / "drained-patio")
    plan = grading.plan(read_site(SITES / "drained-patio"))
    bare = plan_view(document, partly, plan, stale=False)
    assert plan.order.areas
    assert plan.water.low_spots is not None
    view = plan_view(document, partly, plan, stale=False)
    points = {
        each["kind"]: [xy for ring in each["rings"] for xy in ring] for each in view["structures"]
    }

    def within(box, xy):
        return box[0] <= xy[0] <= box[2] and box[1] <= xy[1] <= box[3]

    assert not all(within(view["fit"], xy) for xy in points["dry well"])
    for each in (*points.values(), [xy for mark in view["marks"] for xy in mark["points"]]):
        assert all(within(view["built"], xy) for xy in each)
    assert all(within(view["bounds"], spot["xy"]) for spot in view["spots"])
    assert bare["fit"] == view["fit"]


def test_what_cannot_be_planned_is_drawn_as_far_as_it_can_be_read():
    document = yard([[0, 0], [28, 0]], [14, -6])
    document["door"] = [{"at": [7, 0], "sill": 100}, {"at": "somewhere", "sill": 100}]
    view = plan_view(document, partly(document), None, stale=False)
    assert [each["at"] for each in view["doors"]] == ["door/0"]
    assert view["house"]["walls"][0]["to"] == [28.0, 0.0]
    assert (view["areas"], view["spots"], view["planned"]) == ([], [], False)
    empty = plan_view({}, partly({}), None, stale=False)
    assert empty["house"] is None
    assert empty["fit"][2] > empty["fit"][0]
    json.dumps([view, empty])


def test_an_area_that_is_not_planned_has_the_letters_that_it_will_have():
    document, partly, _ = seen(SITES / "back-patio")
    bare = plan_view(document, partly, None, stale=False)["areas"][0]["rings"][0]["corners"]
    planned = view_of(SITES / "back-patio")["areas"][0]["rings"][0]["corners"]
    assert [each["name"] for each in bare] == [each["name"] for each in planned]
    assert {each["level"] for each in bare} == {""}


def test_a_plan_that_is_behind_gives_no_level_to_a_corner_that_it_never_had():
    document, _, plan = seen(SITES / "back-patio")
    moved = copy.deepcopy(document)
    moved["area"][0]["outline"][4] = [29, 17]
    read, problems = read_partly(SITES / "back-patio", copy.deepcopy(moved))
    assert not problems
    view = plan_view(moved, read, plan, stale=True)
    levels = [each["level"] for each in view["areas"][0]["rings"][0]["corners"]]
    assert levels[4] == ""
    assert all(levels[:4])


def test_a_door_that_was_moved_since_the_plan_has_no_step():
    document, _, plan = seen(SITES / "back-patio")
    moved = copy.deepcopy(document)
    moved["door"][0]["at"] = [12, 0]
    moved["door"][1]["sill"] = 101
    read, _ = read_partly(SITES / "back-patio", copy.deepcopy(moved))
    view = plan_view(moved, read, plan, stale=True)
    assert [each["step"] for each in view["doors"]] == ["", ""]
    assert view["doors"][1]["sill"] == "sill 101' 0\""


def test_spots_say_whether_they_fit_stand_out_or_were_left_out(tmp_path):
    lines = (SITES / "back-patio" / "spots.csv").read_text().splitlines()
    head = next(k for k, line in enumerate(lines) if line.startswith("x,"))
    rows = [k for k in range(head + 1, len(lines)) if lines[k] and lines[k][0] != "#"]
    xyz = [[float(each) for each in lines[k].split(",")[:3]] for k in rows]
    # One in the lawn behind the paving, where nothing asks for a level.
    wrong = rows[min(range(len(rows)), key=lambda k: math.dist(xyz[k][:2], (10, 20)))]
    cells, z = lines[wrong].split(","), 2
    cells[z] = str(float(cells[z]) - 1)  # a foot misread
    lines[wrong] = ",".join(cells)
    (tmp_path / "spots.csv").write_text("\n".join(lines) + "\n")
    text = (SITES / "back-patio" / "site.toml").read_text()
    (tmp_path / "site.toml").write_text(text)
    _, read, plan = seen(tmp_path)
    shots = {
        each["id"]: each for each in plan_view(document_of(tmp_path), read, plan, False)["spots"]
    }
    out = [each for each in shots.values() if each["standing"] == "stands out"]
    assert len(out) == 1
    assert level_read(out[0]["level"], "ft") == pytest.approx(float(cells[z]), abs=0.006)
    unplanned = plan_view(document_of(tmp_path), read, None, False, [out[0]["id"]])["spots"]
    assert [each for each in unplanned if each["standing"] == "stands out"] == out
    settled = f'\n[[survey.settled]]\nid = "{plan.ground.shots.suspects[0].key}"\nas = "left out"\n'
    (tmp_path / "site.toml").write_text(text + settled + "date = 2027-05-20\n")
    site = read_site(tmp_path)
    view = plan_view(document_of(tmp_path), partly_of(site), grading.plan(site), stale=False)
    standing = {each["id"]: each["standing"] for each in view["spots"]}
    assert standing[out[0]["id"]] == "left out"
    assert set(standing.values()) == {"left out", "fits"}
    assert len(view["spots"]) == len(rows)
    again = settled.replace("left out", "read again") + f"z = {float(cells[z]) + 1}\n"
    (tmp_path / "site.toml").write_text(text + again + "date = 2027-05-20\n")
    _, read, plan = seen(tmp_path)
    shots = {
        each["id"]: each for each in plan_view(document_of(tmp_path), read, plan, False)["spots"]
    }
    level = level_read(shots[out[0]["id"]]["level"], "ft")
    assert level == pytest.approx(float(cells[z]) + 1, abs=0.006)


def test_marks_say_the_way_to_each_of_their_points():
    for name in NAMES:
        document, read, _ = seen(SITES / name)
        assert isinstance(read, Partly)
        for mark in view_of(SITES / name)["marks"]:
            for way in mark["ways"]:
                value = document
                for key in way.split("/"):
                    value = value[int(key)] if isinstance(value, list) else value[key]
                assert len(value) == 2
                assert not isinstance(value[0], list)
