"""The step "Yard": what it leads to, and that every field of it writes what is there."""

from __future__ import annotations

import copy
import re
import tomllib
from importlib.resources import files
from pathlib import Path

import pytest

import grading
import sample_sites
from grading.reading.partly import partly_of, read_partly
from viz.desk.seen import Seen
from viz.desk.steps.yard import FIRST, SECOND, THIRD, step

SITES = Path(sample_sites.__file__).parent
NAMES = sorted(each.parent.name for each in SITES.glob("*/site.toml"))
BESIDE = {"spots": [], "levels": []}


def begun(**document):
    partly, _ = read_partly(Path("."), copy.deepcopy(document))
    return step(Seen(Path("."), document, partly))


def every(blocks):
    """Yield the records of blocks, and of those within them."""
    for block in blocks:
        yield block
        for inner in block.get("blocks", []), *(each["blocks"] for each in block.get("items", [])):
            yield from every(inner)


def records(made):
    return list(every(made.opened()["blocks"]))


def of_site(name):
    site = grading.read_site(SITES / name)
    document = tomllib.loads((SITES / name / "site.toml").read_text())
    return document, step(Seen(SITES, document, partly_of(site), site=site))


HOUSE = {"walls": [[0, 0], [28, 0]], "inside": [14, -6]}
DOOR = {"name": "back door", "at": [7, 0], "sill": 100}
AREA = {"name": "patio", "outline": [[0, 0], [12, 0], [12, 10], [0, 10]]}


@pytest.mark.parametrize(
    ("document", "words", "tool", "state"),
    [
        ({}, FIRST, "draw-walls", "to do"),
        ({"house": HOUSE}, SECOND, "place-door", "to do"),
        ({"house": HOUSE, "door": [DOOR]}, THIRD, "draw-outline", "to do"),
        ({"house": HOUSE, "door": [DOOR], "area": [AREA]}, "Next the ground", None, "settled"),
    ],
)
def test_a_yard_that_is_begun_says_what_comes_next(document, words, tool, state):
    made = begun(**document)
    first = made.opened()["blocks"][:2]
    assert words in first[0]["text"]
    assert first[0]["tone"] == "strong"
    if tool:
        assert first[1]["name"] == tool
    assert made.state == state


def test_a_yard_that_is_measured_is_led_no_further():
    _, made = of_site("back-patio")
    assert not [each for each in records(made) if each.get("tone") == "strong"]
    assert made.answer == "3 walls, 2 doors, patio"


@pytest.mark.parametrize("name", NAMES)
def test_every_field_writes_where_a_value_is_or_may_be(name):
    document, made = of_site(name)
    fields = [each for each in records(made) if each["kind"] in ("field", "choice")]
    assert len(fields) > 20
    for each in fields:
        *keys, last = each["at"].split("/")
        value = document
        for key in keys:
            value = value[int(key)] if isinstance(value, list) else value.get(key, {})
        held = value[int(last)] if isinstance(value, list) else value.get(last)
        if each["kind"] == "field" or held is not None:
            assert each["value"] == held, each["at"]
        assert each["label"]


def test_a_choice_offers_every_way_that_the_reader_takes():
    _, made = of_site("back-patio")
    ways = {each["at"]: each for each in records(made) if each["kind"] == "choice"}
    uses = {option["to"] for option in ways["area/0/use"]["options"]}
    assert uses == {"patio", "walkway", "front walkway", "driveway"}
    kinds = {option["to"] for option in ways["outfall/0/kind"]["options"]}
    assert kinds == {"lawn", "street", "swale", "drain", "dry well", "neighbour"}


def test_corners_are_typed_by_the_letters_of_the_plan():
    _, made = of_site("back-patio")
    labels = {each["at"]: each["label"] for each in records(made) if each["kind"] == "field"}
    assert labels["area/0/outline/5"] == "Corner g"
    assert labels["area/0/outline/6/arc/1"] == "Corner a"
    assert labels["area/0/outline/6/arc/0"] == "A point of the round edge to corner a"


def test_what_cannot_be_read_is_there_to_be_mended():
    made = begun(house=HOUSE, door=[{"at": [7, 0], "sill": "about knee high"}], area=[AREA])
    assert made.state == "fails"
    items = [item for each in records(made) for item in each.get("items", [])]
    door = next(item for item in items if item["at"] == "door/0")
    assert door["summary"] == "cannot be read yet"
    fields = {each["at"]: each for each in door["blocks"] if each["kind"] == "field"}
    assert fields["door/0/sill"]["value"] == "about knee high"


def test_the_house_goes_to_the_other_side_of_its_wall_and_back():
    made = begun(house=HOUSE)
    offer = next(each for each in records(made) if each["kind"] == "offer")
    assert offer["changes"] == [{"do": "set", "at": "house/inside", "to": [14, 6]}]
    turned = begun(house={**HOUSE, "inside": [14, 6]})
    back = next(each for each in records(turned) if each["kind"] == "offer")
    assert back["changes"][0]["to"] == [14, -6]


def test_the_plan_knows_every_tool_that_is_offered():
    script = files("viz.desk").joinpath("web/plan/tools.js").read_text()
    known = set(re.findall(r'^  "?([a-z-]+)"?: (?:\{|drawn\()', script, re.MULTILINE))
    offered = set()
    for made in (begun(), begun(house=HOUSE), *(of_site(name)[1] for name in NAMES)):
        offered |= {each["name"] for each in records(made) if each["kind"] == "tool"}
    assert {"draw-walls", "place-door", "draw-outline", "draw-swale", "place-feature"} <= offered
    assert offered <= known


def test_the_unit_is_chosen_before_anything_is_measured_in_it():
    assert [each for each in records(begun(unit="m")) if each.get("at") == "unit"]
    assert not [each for each in records(begun(house=HOUSE)) if each.get("at") == "unit"]


def test_tables_that_are_no_tables_do_not_stop_the_page():
    made = begun(door="none", area=3, house="there", access=[1], outfall=["x"])
    assert made.opened()["blocks"]
    assert made.state == "fails"
