"""The steps that set out and hold what was built: what they say, keep and record."""

import json
import shutil
import tomllib

import pytest
from make.plans.looked_at import every_block
from make.sites.booked_shots import a_shot, text_of
from msgspec.structs import replace

import grading
import sample_sites
from grading.asbuilt.words import lines_of
from grading.logbook.chain import records_of
from grading.reading.partly import partly_of
from grading.setout.instrument import Instrument
from grading.setout.model import set_out
from grading.setout.number import set_out_number
from grading.units import INCH
from viz.desk.asked.listed import CALLS
from viz.desk.blocks import records
from viz.desk.field.given_back import as_built_of, shots_given_back
from viz.desk.field.kept_shots import booked_of, keep, nothing_kept
from viz.desk.seen import Asked, Seen
from viz.desk.server.field_made import FIELD_MAKERS
from viz.desk.server.making import MAKERS
from viz.desk.steps import built, setout
from viz.desk.steps.listed import STEPS
from viz.tables.stakes import Told, stakes_table


@pytest.fixture(scope="module")
def planned(tmp_path_factory):
    folder = tmp_path_factory.mktemp("site") / "yard"
    shutil.copytree(sample_sites.path("back-patio"), folder)
    site = grading.read_site(folder)
    return site, grading.plan(site)


@pytest.fixture
def seen(planned, tmp_path):
    site, plan = planned
    folder = tmp_path / "yard"
    shutil.copytree(site.folder, folder)
    return Seen(
        folder=folder, document=tomllib.loads((folder / "site.toml").read_text()),
        partly=partly_of(site), files={"spots.csv": (folder / "spots.csv").read_text()},
        site=site, plan=plan, revision=3,
    )  # fmt: skip


def opened(seen, step, **asked):
    module = {"setout": setout, "built": built}[step]
    return module.step(replace(seen, asked=Asked(step=step, **asked)))


def said(blocks):
    found = []
    for block in records(blocks):
        found += [block.get("text", ""), block.get("label", "")]
    return " ".join(found)


def of_kind(blocks, kind):
    return [each for each in records(blocks) if each["kind"] == kind]


def given(plan, off=0.0):
    return text_of(plan, off)


def test_both_steps_stand_in_the_sheet_and_are_all_that_is_wanted_in_the_field():
    assert [each.key for each in STEPS if each.in_the_field] == ["setout", "built"]
    assert {"trench", "shots", "record", "rods"} <= set(CALLS)
    assert set(FIELD_MAKERS) <= set(MAKERS)


def test_a_step_that_nobody_opened_sets_nothing_out(seen, monkeypatch):
    def never(*_):
        raise AssertionError("set out")

    monkeypatch.setattr(setout, "set_out", never)
    monkeypatch.setattr(setout, "trench", never)
    monkeypatch.setattr(built, "trench", never)
    for module in (setout, built):
        step = module.step(seen)
        assert step.answer
        assert json.dumps(step.line())
        assert not step.blocks


def test_no_rod_is_told_of_a_plan_that_the_document_has_left(seen):
    for step in ("setout", "built"):
        for later in (replace(seen, stale=True), replace(seen, conflict="no finish"),
                      replace(seen, plan=None)):  # fmt: skip
            found = opened(later, step)
            assert not of_kind(found.blocks, "own")
            assert not of_kind(found.blocks, "table")
    answer = setout.rods(replace(seen, stale=True), {})
    assert [each["kind"] for each in answer["blocks"]] == ["say"]
    assert answer["blocks"][0]["tone"] == "fails"


def test_no_rod_is_told_before_every_check_is_known_or_where_one_fails(seen, monkeypatch):
    early = opened(replace(seen, whole=False), "setout")
    assert early.state == "working"
    assert not of_kind(early.blocks, "own")
    monkeypatch.setattr(setout, "forbidden", lambda plan: ("a step of 9 in at the back door",))
    found = opened(seen, "setout")
    assert found.state == "fails"
    assert "NOT TO BE BUILT" in said(found.blocks)
    assert "A step of 9 in at the back door" in said(found.blocks)
    assert not of_kind(found.blocks, "own")
    answer = setout.rods(seen, {})
    assert [each["kind"] for each in answer["blocks"]] == ["say"]


def test_the_rods_are_those_of_the_instrument_that_was_set_up_in_the_trench(seen, tmp_path):
    """It is asked for on one screen, whichever step that is opened in: the tables follow it."""
    own = replace(seen, folder=tmp_path)
    (block,) = setout.rods(own, {})["blocks"]
    assert (block["kind"], block["tone"]) == ("say", "look")
    number = set_out_number(set_out(seen.plan))
    for time, reading in (("2026-05-01T08:00:00Z", "2 0"), ("2026-05-01T09:00:00Z", "3 2 1/2")):
        setup = {"id": time, "benchmark": "back door", "z": 30.48, "reading": reading,
                 "marks": "ft-in"}  # fmt: skip
        keep(tmp_path, number, {"setups": [setup]})
    sight = Instrument("back door", 30.48, 38.5 * INCH, seen.plan.limits["rod-length"])
    (each,) = set_out(seen.plan, sight).areas
    wanted = stakes_table(set_out(seen.plan, sight), each, Told("ft-in", INCH / 16, "ft"))
    answer = setout.rods(own, {})
    table = next(each for each in answer["blocks"] if each["kind"] == "table")
    assert table["rows"] == [[str(cell) for cell in row] for row in wanted.rows]
    # Nothing else of the page asks for a reading.
    for module in (setout, built):
        forms = [each.data for each in every_block(opened(own, module.KEY).blocks)
                 if getattr(each, "module", "") == "field/forms"]  # fmt: skip
        assert not any("benchmarks" in form for form in forms)


def test_in_the_field_there_are_rods_and_shots_and_nothing_to_make_or_record(seen):
    keep(seen.folder, "0A1B-2C3D", {**nothing_kept(), "shots": [a_shot(1)]})
    for step in ("setout", "built"):
        blocks = opened(seen, step, who="field").blocks
        assert [each["module"] for each in of_kind(blocks, "own")][-1] == "field/trench"
        assert not of_kind(blocks, "make")
        assert "field/forms" not in json.dumps(records(blocks))


def test_shots_given_back_are_kept_and_held_against_the_design(seen):
    assert built.step(seen).answer == "nothing shot yet"
    answer = CALLS["shots"](seen, {"text": given(seen.plan, 0.75)})
    assert "which is the plan as it stands" in answer["words"]
    step = opened(seen, "built")
    held = as_built_of(seen.plan, shots_given_back(given(seen.plan, 0.75), seen.plan).shots)
    for _, words in lines_of(held[0], "ft"):
        assert words in said(step.blocks)
    assert step.state == "fails"
    count = len(held[0].shots)
    assert step.answer == f"{count} shots, {count} beyond tolerance"
    rows = of_kind(step.blocks, "table")[0]["rows"]
    assert {row[0] for row in rows} == {shot.name for shot in held[0].shots}
    (drawn,) = [
        each["data"] for each in of_kind(step.blocks, "own") if each["module"] == "field/built_map"
    ]
    assert {shot["sign"] for shot in drawn["shots"]} == {"up"}
    assert all(shot["beyond"] for shot in drawn["shots"])


def test_levels_from_any_csv_are_kept_too_and_the_last_of_a_stake_stands(seen):
    z = set_out(seen.plan).areas[0].stakes[0].layers[0].z
    for off in (0.0, 0.02):
        text = f"stake,layer,z\na,subgrade,{(z + off) / 0.3048:.9f}\n"
        assert "given back" in CALLS["shots"](seen, {"text": text})["words"]
    (shot,) = booked_of(seen.folder).shots
    assert shot["z"] == pytest.approx(z + 0.02, abs=1e-6)
    assert shot["wanted"] == pytest.approx(z, abs=1e-9)
    assert opened(seen, "built").state == "fails"


def test_what_cannot_be_held_against_the_design_is_not_kept(seen):
    off = "stake,layer,x,y,z\n,subgrade,400,3,99\n"
    none, no_layer = "stake,layer,z\nzz,subgrade,99\n", "stake,layer,z\na,base,99\n"
    for text in ("no text", none, off, no_layer):
        assert CALLS["shots"](seen, {"text": text})["problems"][0]["words"]
    assert booked_of(seen.folder).shots == ()


def test_a_shot_beside_no_stake_belongs_to_the_area_that_it_lies_in(seen):
    answer = CALLS["shots"](seen, {"text": "stake,layer,x,y,z\n,subgrade,10,5,98.9\n"})
    assert "1 shot given back" in answer["words"]
    (shot,) = booked_of(seen.folder).shots
    assert shot["area"] == "patio"
    assert "line 2" in json.dumps(records(opened(seen, "built").blocks))


def test_a_layer_is_recorded_against_the_files_as_they_lie_there(seen):
    CALLS["shots"](seen, {"text": given(seen.plan)})
    answer = CALLS["record"](seen, {"layer": "subgrade", "who": "Ada", "note": "dry"})
    (record,) = records_of(seen.folder)
    assert record.file in answer["words"]
    assert record.faults == ()
    assert record.told["who"] == "Ada"
    assert record.told["note"] == "dry"
    assert record.told["benchmark"]["name"] == "back door"
    assert record.told["layer"] == "subgrade"
    assert "Ada" in said(opened(seen, "built").blocks) or any(
        "Ada" in json.dumps(each) for each in records(opened(seen, "built").blocks)
    )


def test_nothing_is_recorded_while_the_files_hold_another_design(seen):
    CALLS["shots"](seen, {"text": given(seen.plan)})
    file = seen.folder / "site.toml"
    file.write_text(file.read_text().replace("sill = 100.00", "sill = 100.01"))
    answer = CALLS["record"](seen, {"layer": "subgrade"})
    assert "being saved" in answer["problems"][0]["words"]
    assert records_of(seen.folder) == ()


def test_a_layer_that_was_not_shot_or_is_none_is_not_recorded(seen):
    CALLS["shots"](seen, {"text": given(seen.plan)})
    assert CALLS["record"](seen, {"layer": "bedding"})["problems"]
    assert CALLS["record"](seen, {"layer": "lawn"})["problems"]
    assert records_of(seen.folder) == ()


def test_a_layer_that_the_base_has_no_more_is_said_and_the_others_are_held(seen):
    shots = [a_shot(1, layer="dense-graded base", built="base"), a_shot(2)]
    keep(seen.folder, "0A1B-2C3D", {**nothing_kept(), "shots": shots})
    words = said(opened(seen, "built").blocks)
    assert "base, which" in words
    assert "The subgrade of patio: 1 shot" in words or "of 1 shot beyond" in words
    assert "problems" in CALLS["record"](seen, {"layer": "base"})
    assert "words" in CALLS["record"](seen, {"layer": "subgrade"})


def test_stakes_that_moved_since_they_were_shot_are_told(seen):
    shot = a_shot(1, at=[3.0, 8.0], wanted=30.0, z=30.0)
    keep(seen.folder, "0A1B-2C3D", {**nothing_kept(), "shots": [shot]})
    words = said(opened(seen, "built").blocks)
    assert "0A1B-2C3D" in words
    assert set_out_number(set_out(seen.plan)) in words
    assert "stake a moved by 1' 0\"" in words


def test_what_is_made_for_the_yard_is_written_whole(seen, tmp_path):
    plan = grading.plan(grading.read_site(seen.folder))
    CALLS["shots"](seen, {"text": given(seen.plan)})
    for what, names in {
        "take-away": {"take-away.html"},
        "take-away-home": {"take-away-home.html"},
        "signoff": {"signoff.pdf"},
        "as-built-subgrade": {"as-built-subgrade.pdf", "as-built-subgrade.csv",
                              "as-built-subgrade-patio.svg"},
    }.items():  # fmt: skip
        folder = tmp_path / what
        folder.mkdir()
        files = FIELD_MAKERS[what](plan, folder, lambda words: None)
        assert {file.name for file in files} == names
        assert all(file.stat().st_size > 900 for file in files)
    with pytest.raises(grading.GradingError):
        FIELD_MAKERS["as-built-bedding"](plan, tmp_path / "signoff", lambda words: None)


def test_the_file_to_take_away_is_of_what_is_seen_and_of_nothing_that_was_left(seen):
    answer = CALLS["take-away"](seen, {"for": "crew"})
    assert answer["name"] == "take-away.html"
    assert "revision 3" in answer["text"]
    home = CALLS["take-away"](seen, {"for": "homeowner"})
    assert home["name"] == "take-away-home.html"
    assert "<script" not in home["text"]
    for later in (replace(seen, stale=True), replace(seen, whole=False), replace(seen, plan=None)):
        assert set(CALLS["take-away"](later, {"for": "crew"})) == {"words"}
