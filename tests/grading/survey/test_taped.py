"""Places by tape: along walls, and ties whose mirror is settled by the house."""

from __future__ import annotations

import numpy as np
import pytest
from make.sites.level_book import book_of

from grading.catalogue.rules import Limits
from grading.design.places import Places
from grading.site.house import House
from grading.site.survey_tables import Reference
from grading.site.walls import named_walls
from grading.survey.taped import references_of, taped

OPEN = {"walls": [[0, 0], [12, 0]], "inside": [6, -4]}
CORNERED = {"walls": [[0, 10], [0, 0], [12, 0]], "inside": [-4, -4]}
CLOSED = {"walls": [[0, 0], [12, 0], [12, -8], [0, -8], [0, 0]], "inside": [6, -4]}


def places_of(folder, rows, house, own=(), header="point,wall,along,out,side,to H1"):
    built = None if house is None else House.model_validate(house)
    held = [Reference(name=name, at=at) for name, at in dict(own).items()]
    names = list(references_of(built, held))
    columns = "".join(f",to {name}" for name in names if f"to {name}" not in header)
    book = book_of(folder, f"{header}{columns},bs\n{rows}", references=names)
    return taped([book], built, held, Limits({}, "m"), "m", {})


def tie(point, at, names, side=""):
    """Return a row of ties to references, each at its place, the columns as they come."""
    away = [f"{np.hypot(*(np.array(point) - each)):.4f}" for each in names]
    return f"{at},,,,{side},{','.join(away)},"


@pytest.mark.parametrize("house", [OPEN, CORNERED, CLOSED])
@pytest.mark.parametrize("wall", [0, 1, 2])
def test_a_place_along_a_wall_is_where_the_plan_says_it_is(tmp_path, house, wall):
    walls = named_walls(House.model_validate(house))
    if wall >= len(walls):
        return
    name = walls[wall][0]
    found, problems = places_of(tmp_path, f"a,{name},3.25,1.5,,,\nb,{wall + 1},1,0,,,\n", house)
    assert not problems
    # The other way round, by the words that tell places everywhere else.
    told = Places("m", walls).at(found.places["a"].xy, name)
    assert told == f"3.25 m from the left end of {name}, 1.5 m out"
    assert Places("m", walls).at(found.places["b"].xy, name).endswith("at the wall")


def test_the_only_wall_needs_no_name_and_one_of_several_does(tmp_path):
    found, problems = places_of(tmp_path, "a,,3,2,,,\n", OPEN)
    assert not problems
    assert found.places["a"].xy == pytest.approx([9, 2])
    (problem,) = places_of(tmp_path, "a,,3,2,,,\n", CORNERED)[1]
    assert str(problem) == (
        "levels.csv, line 2, column wall: found nothing, expected a wall of the house: wall 1, "
        "wall 2."
    )


ENDS = np.array([[0.0, 0.0], [12.0, 0.0]])


@pytest.mark.parametrize("house", [OPEN, CLOSED])
@pytest.mark.parametrize("point", [[3, 5], [9.5, 1], [6, 12], [14, 3], [-2, 0.5], [-4, 14]])
def test_two_ties_from_a_wall_are_on_the_side_of_the_yard(tmp_path, house, point):
    row = tie(point, "a", ENDS)
    header = "point,wall,along,out,side,to H1,to H2"
    found, problems = places_of(tmp_path, row + "\n", house, header=header)
    assert not problems
    (one,) = found.tied
    assert one.mirror == "in or behind the house"
    assert one.fix.xy == pytest.approx(point, abs=2e-3)


HUBS = np.array([[15.0, 0.0], [22.0, 0.0]])
BESIDE = {"P": HUBS[0], "Q": HUBS[1]}


def test_both_sides_outside_are_asked_for_and_a_side_or_a_third_tie_settles_it(tmp_path):
    point, header = np.array([17.0, 3.0]), "point,wall,along,out,side,to P,to Q"
    (problem,) = places_of(tmp_path, tie(point, "a", HUBS) + "\n", OPEN, BESIDE, header)[1]
    assert "on either side of the line from P to Q" in problem.found
    assert "under `side`, or tape a third one from off that line" in problem.mend
    for side, y in (("left", 3.0), ("right", -3.0)):
        row = tie(point, "a", HUBS, side) + "\n"
        found, problems = places_of(tmp_path, row, OPEN, BESIDE, header)
        assert not problems
        assert found.tied[0].fix.xy == pytest.approx([17, y], abs=2e-3)
        assert found.tied[0].mirror == "by side"
    row = tie(point, "a", [*HUBS, [20.0, 9.0]]) + "\n"
    own = {**BESIDE, "H": [20, 9]}
    found, problems = places_of(tmp_path, row, OPEN, own, header + ",to H")
    assert not problems
    assert found.tied[0].fix.xy == pytest.approx(point, abs=2e-3)
    assert found.tied[0].mirror == "by a third tie"


def test_a_side_that_lies_in_the_house_is_refused(tmp_path):
    header = "point,wall,along,out,side,to H1,to H2"
    row = tie([3, 5], "a", ENDS, "right") + "\n"
    (problem,) = places_of(tmp_path, row, CLOSED, header=header)[1]
    assert 'that place "a" inside the house' in problem.found


def test_ties_may_stand_in_several_rows(tmp_path):
    header = "point,wall,along,out,side,to H1,to H2"
    a, b = np.hypot(*(np.array([5, 4]) - ENDS).T)
    rows = f"a,,,,,{a:.4f},,\na,,,,,,{b:.4f},\n"
    found, problems = places_of(tmp_path, rows, OPEN, header=header)
    assert not problems
    assert found.tied[0].fix.xy == pytest.approx([5, 4], abs=2e-3)
    (problem,) = places_of(tmp_path, rows + f"a,,,,,{a + 1:.4f},,\n", OPEN, header=header)[1]
    assert problem.found == f"{a + 1:.3f} m to H1, and {a:.3f} m above"


def test_how_well_a_place_is_known_follows_from_how_it_was_found(tmp_path):
    header = "point,wall,along,out,side,to H1,to H2"
    row = tie([6, 6], "a", ENDS) + "\nb,1,2,3,,,,\n"
    found, _ = places_of(tmp_path, row, OPEN, header=header)
    # Tapes at a right angle: the standard deviation of one tape along either axis.
    assert found.places["a"].sd == pytest.approx(0.006, rel=1e-3)
    assert found.places["b"].sd == 0.006


def test_corners_of_the_house_are_there_without_being_written():
    assert list(references_of(House.model_validate(OPEN), ())) == ["H1", "H2"]
    assert list(references_of(House.model_validate(CLOSED), ())) == [f"H{k}" for k in (1, 2, 3, 4)]
    own = Reference(name="A", at=[1, 2])
    assert references_of(None, [own])["A"].tolist() == [1, 2]
