"""What is built beside the paving reaches the order, the hours, the dig, the record, the words."""

import json

import pytest
import shapely
from make.sites.on_a_plane import planar_spots, written

from grading.crew.lines import Maker, Work, stone_line
from grading.pipeline import plan
from grading.records.plan import record
from grading.structures import built
from grading.structures.model import Dug, Solid, Structure
from viz.tables.account import account_of
from viz.terminal.order import text
from viz.words.paving.structures import plainly_told

SITE = """
name = "yard"
unit = "m"
spots = "spots.csv"

[[area]]
name    = "patio"
outline = [[0, 0], [4, 0], [4, 3], [0, 3]]
base    = "dense"
"""


def _stone(volume, crew):
    yield stone_line("dense-graded", "pad of the plinth", volume, "measured", crew)


def plinth(plan_, area, dig, crew):
    yield Structure(
        kind="plinth",
        name="plinth of patio",
        area=area.name,
        solids=(Solid("dense-graded", shapely.box(5, 0, 6, 1), 9.8, 10.0),),
        makers=(Maker(_stone, (0.25,)),),
        works=(Work("build the plinth", 2.0, "m", "lay-underdrain"),),
        dug=Dug(0.5, 0.2, 0.1),
        said="a plinth beside the patio",
        plain="a little block",
        cautions=("Ask first.",),
        not_counted=("the statue on the plinth",),
    )


@pytest.fixture
def site(tmp_path):
    return written(tmp_path, SITE, planar_spots((4, 3), (10, 0, -0.02)))


def test_a_structure_is_counted_told_and_recorded_once(site, monkeypatch):
    monkeypatch.setattr(built, "_BUILDERS", ())
    before = record(plan(site))
    monkeypatch.setattr(built, "_BUILDERS", (plinth,))
    told = json.loads(json.dumps(record(plan(site)), allow_nan=False))

    assert before["areas"][0]["structures"] == []
    (one,) = told["areas"][0]["structures"]
    assert one["kind"] == "plinth"
    assert one["name"] == "plinth of patio"
    dug = {"bank": 0.5, "topsoil": 0.2, "put_back": 0.1, "filled": 0.0, "turfed": 0.0}
    assert one["dug"] == dug
    assert one["parts"] == ["dense-graded"]
    assert one["works"][0]["amount"] == 2.0
    assert one["cautions"] == ["Ask first."]
    # The lines of the record are those of the order, no other count of them.
    lines = told["areas"][0]["bases"]["dense"]["quantities"]["lines"]
    assert one["lines"][0] == {
        key: value
        for line in lines
        if line["title"] == "pad of the plinth"
        for key, value in line.items()
        if key != "area"
    }
    haul = [each["cost"]["bases"]["chosen"]["haul"] for each in (before, told)]
    # Of 0.5 m3 that is dug 0.1 is put back; its topsoil goes beside the paving, where compacted
    # subsoil would take more of the bank.
    out, back = (haul[1][key] - haul[0][key] for key in ("spoil_bank", "soil_put_back"))
    assert out + back == pytest.approx(0.5)
    assert 0.07 < back <= 0.1


def test_a_structure_is_said_to_the_crew_and_to_who_pays(site, monkeypatch):
    monkeypatch.setattr(built, "_BUILDERS", (plinth,))
    made = plan(site)
    printed = text(account_of(made))
    dug = "dug for it beyond the hole of the paving 0.50 m³; of that topsoil 0.20 m³"
    said = f"  a plinth beside the patio\n    {dug}; soil put back 0.10 m³\n    Ask first.\n"
    assert said in printed
    left_out = printed[printed.index("Not in this list") :]
    assert "the statue on the plinth" in left_out
    (told,) = plainly_told(made, ["plinth"])
    assert told == "a little block."
