"""What the plan of the page asks: typed lengths, an edge made so long, a spot placed."""

from __future__ import annotations

import copy
import math
import tomllib
from pathlib import Path

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

import sample_sites
from grading.errors import SiteError
from grading.geometry.outline import outline_polygon
from grading.reading.partly import read_partly
from viz.desk.plan.calls import PLAN_CALLS
from viz.desk.plan.typed import read_typed, written_length
from viz.desk.seen import Seen

SITES = Path(sample_sites.__file__).parent


def seen_of(document, folder=Path("."), files=()):
    partly, _ = read_partly(folder, copy.deepcopy(document))
    return Seen(folder=folder, document=document, partly=partly, files=dict(files))


def patio(outline, walls=None, unit="ft"):
    document = {"unit": unit, "area": [{"name": "patio", "outline": outline}]}
    if walls:
        document["house"] = {"walls": walls, "inside": [walls[0][0] + 3, -6]}
    return document


def lengthened(document, corner, length, folder=Path(".")):
    """Return the outline (ft or m) after an edge was made so long, as polygon and as written."""
    at = f"area/0/outline/{corner}"
    answer = PLAN_CALLS["edge-length"](seen_of(document, folder), {"at": at, "length": length})
    after = copy.deepcopy(document)
    for change in answer["changes"]:
        way, _, k = change["at"].rpartition("/")
        assert way == "area/0/outline"
        after["area"][0]["outline"][int(k)] = change["to"]
    read, problems = read_partly(folder, copy.deepcopy(after))
    assert not [each for each in problems if "area" in each.where]
    per = {"ft": 0.3048, "m": 1.0}[document["unit"]]
    polygon = outline_polygon(read.areas["area/0"].outline)
    return shapely.affinity.scale(polygon, 1 / per, 1 / per, origin=(0, 0)), after


def test_lengths_are_read_as_the_file_reads_them():
    seen = seen_of({"unit": "ft"})
    told = PLAN_CALLS["lengths"](seen, {"words": ["17' 6\"", "9", "3 m", "6 in"]})
    assert told["lengths"] == pytest.approx([17.5, 9, 3 / 0.3048, 0.5], abs=1e-6)
    place = PLAN_CALLS["lengths"](seen, {"words": ["-2' 6\"", "0"], "place": True})
    assert place["lengths"] == [-2.5, 0]


@pytest.mark.parametrize("words", ["about so long", "", "0", "-3"])
def test_what_is_no_length_is_refused_in_a_sentence(words):
    with pytest.raises(SiteError, match="expected a length"):
        PLAN_CALLS["lengths"](seen_of({"unit": "ft"}), {"words": [words]})


@given(
    st.integers(3, 40), st.integers(3, 40), st.integers(0, 3), st.integers(4, 50),
    st.booleans(),
)  # fmt: skip
def test_a_rectangle_stays_one(wide, high, corner, length, backward):
    ring = [[0, 0], [wide, 0], [wide, high], [0, high]]
    if backward:
        ring.reverse()
    before = [math.dist(ring[k - 1], ring[k]) for k in range(4)]
    polygon, _ = lengthened(patio(ring), corner, str(length))
    other = before[(corner + 1) % 4]
    assert polygon.area == pytest.approx(length * other, rel=1e-4)
    assert polygon.minimum_rotated_rectangle.area == pytest.approx(polygon.area, rel=1e-4)


def test_paving_at_the_house_grows_into_the_yard():
    ring = [[0, 0], [12, 0], [12, 10], [0, 10]]
    walls = [[-5, 0], [30, 0]]
    for corner in (2, 0):  # either side edge, whichever way it is drawn
        polygon, _ = lengthened(patio(ring, walls), corner, "14' 6\"")
        assert polygon.bounds == pytest.approx((0, 0, 12, 14.5), abs=1e-3)


def test_a_round_edge_goes_along_and_keeps_its_shape():
    document = tomllib.loads((SITES / "back-patio" / "site.toml").read_text())
    polygon, after = lengthened(document, 4, "8'", SITES / "back-patio")  # 7 ft, one foot more
    before = outline_polygon(
        [{"arc": e["arc"]} if isinstance(e, dict) else e for e in document["area"][0]["outline"]]
    )
    # A strip of one foot is added between x 2 and 27 but for the wing, whose edge stays.
    assert polygon.area - before.area == pytest.approx(25.0, abs=0.01)
    arc = after["area"][0]["outline"][6]["arc"]
    assert arc[1] == [2, 9]
    assert read_typed(arc[0][1], "ft") / 0.3048 == pytest.approx(14.657, abs=1e-3)


def test_a_triangle_moves_one_corner_and_keeps_the_direction_of_its_edge():
    polygon, after = lengthened(patio([[0, 0], [10, 0], [4, 9]]), 1, "12")
    assert after["area"][0]["outline"][1] == [12, 0]
    assert polygon.area == pytest.approx(54)


def test_a_round_edge_is_not_told_by_its_length():
    ring = [[0, 0], [10, 0], {"arc": [[12, 5], [10, 10]]}, [0, 10]]
    with pytest.raises(SiteError, match="straight edge"):
        lengthened(patio(ring), 2, "12")


@pytest.mark.parametrize(
    ("metres", "unit", "written"),
    [
        (27 * 0.3048, "ft", 27),
        (27 * 0.3048 + 1.5 * 0.0254, "ft", "27' 1 1/2\""),
        (-2.5 * 0.3048, "ft", "-2' 6\""),
        (8.2301, "ft", 27.0016),
        (8.25, "m", 8.25),
        (8.0, "m", 8),
    ],
)
def test_lengths_are_written_as_people_write_them_and_read_back(metres, unit, written):
    assert written_length(metres, unit) == written
    assert read_typed(written, unit, place=True) == pytest.approx(metres, abs=2e-5)


def test_a_spot_that_is_placed_is_a_row_more_and_nothing_else_changes():
    folder = SITES / "back-patio"
    document = tomllib.loads((folder / "site.toml").read_text())
    text = (folder / "spots.csv").read_text()
    seen = seen_of(document, folder, {"spots.csv": text})
    told = {"at": ["10' 6\"", -3], "z": "99' 8\""}
    answer = PLAN_CALLS["place-spot"](seen, told)
    assert answer["file"] == "spots.csv"
    assert answer["changes"] == []
    assert answer["text"].startswith(text.rstrip("\n"))
    row = answer["text"].rstrip("\n").rsplit("\n", 1)[1].split(",")
    assert [float(each) for each in row[:3]] == pytest.approx([10.5, -3, 99 + 8 / 12], abs=1e-4)
    assert answer["text"].count("\n") == text.rstrip("\n").count("\n") + 2


def test_the_first_spot_and_the_first_hole_begin_their_files():
    seen = seen_of({"unit": "m"})
    answer = PLAN_CALLS["place-spot"](seen, {"at": [1.5, 2], "z": "99.5"})
    assert answer["text"].splitlines()[:2] == ["x,y,z,id,code,note", "1.5,2,99.5,,,"]
    assert answer["changes"] == [{"do": "set", "at": "spots", "to": "spots.csv"}]
    answer = PLAN_CALLS["place-hole"](seen, {"at": [1.5, 2], "depth": "80 mm"})
    assert answer["text"].splitlines()[1].startswith("1.5,2,80 mm")
    assert answer["changes"] == [{"do": "set", "at": "ground/organics", "to": "holes.csv"}]


def test_a_spot_goes_into_no_file_of_another_kind():
    document = {"unit": "ft", "spots": ["points.xyz"]}
    with pytest.raises(SiteError, match="csv"):
        PLAN_CALLS["place-spot"](seen_of(document), {"at": [1, 2], "z": "99"})
    with pytest.raises(SiteError, match="expected a length"):
        PLAN_CALLS["place-spot"](seen_of({"unit": "ft"}), {"at": [1, 2], "z": "high"})


def test_contours_carry_their_levels():
    import grading
    from grading.reading.partly import partly_of

    site = grading.read_site(SITES / "back-patio")
    plan = grading.plan(site)
    seen = Seen(SITES, {}, partly_of(site), site=site, plan=plan)
    lines = PLAN_CALLS["contours"](seen, {})["contours"]
    assert {each["kind"] for each in lines} == {"ground", "finish"}
    plane = plan.areas[0].finish.plane
    for each in lines:
        if each["kind"] == "finish":
            feet, inches = each["label"].removesuffix('"').split("' ")
            level = (int(feet) + eval_inches(inches) / 12) * 0.3048
            xy = [[x * 0.3048, y * 0.3048] for x, y in each["line"]]
            assert plane.at(xy).tolist() == pytest.approx([level] * len(xy), abs=2e-3)


def eval_inches(words):
    whole = 0.0
    for each in words.split():
        top, _, foot = each.partition("/")
        whole += int(top) / int(foot or 1)
    return whole
