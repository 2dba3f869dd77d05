"""Shots on their way back: a text read, what moved since, what is kept beside the site."""

import json
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from make.sites.booked_shots import HEAD, a_shot, text_of
from make.sites.on_a_plane import planar_spots, written

import grading
from grading.asbuilt.model import as_built
from grading.asbuilt.shots import read_shots
from grading.errors import SiteError
from grading.setout.model import set_out
from grading.setout.number import set_out_number
from grading.units import INCH, size
from viz.desk.field.given_back import as_built_of, last_sight, shots_given_back, shots_kept
from viz.desk.field.kept_shots import HOME, keep, kept_numbers, nothing_kept, read_kept, standing


def a_yard(folder, sill=100.8, edge=12):
    folder.mkdir(exist_ok=True)
    return grading.plan(
        written(
            folder,
            'name = "Ash Row"\nunit = "ft"\nspots = "spots.csv"\n'
            "[house]\nwalls = [[0, 0], [30, 0]]\ninside = [15, -5]\n"
            f'[[door]]\nname = "door"\nat = [15, 0]\nsill = {sill}\n'
            f'[[area]]\nname = "patio"\noutline = [[5, 0], [20, 0], [20, {edge}], [5, {edge}]]\n',
            planar_spots((30, 20), (100.0, 0.0, -0.02)),
        )
    )


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return a_yard(tmp_path_factory.mktemp("ash") / "site")


def test_a_text_is_read_as_the_command_reads_it(plan, tmp_path):
    file = tmp_path / "shots.csv"
    file.write_text(text_of(plan, 0.25, ("subgrade", "surface")))
    back = shots_given_back(file.read_text(), plan)
    assert list(back.shots) == ["subgrade", "surface"]
    for layer, shots in back.shots.items():
        own = read_shots(file, "ft", set_out(plan), None, (layer,))
        assert own.names == shots.names
        assert np.array_equal(own.xyz, shots.xyz)
        (area,) = plan.areas
        for shot in as_built(plan, area, own, layer).shots:
            assert shot.off == pytest.approx(0.25 * INCH, abs=1e-9)
    number = set_out_number(set_out(plan))
    assert back.said[1] == f"They are of plan {number}, which is the plan as it stands."


def test_layers_are_held_each_against_its_own_and_the_thickness_against_the_one_below(plan):
    found = as_built_of(plan, shots_given_back(text_of(plan, 0.25, ("subgrade", "surface")),
                                               plan).shots)  # fmt: skip
    assert [each.layer for each in found] == ["subgrade", "surface"]
    assert found[0].thickness is None
    system = plan.areas[0].chosen_dig.system
    assert found[1].thickness.mean == pytest.approx(system.build_up, abs=1e-9)
    assert not found[0].failed


def test_what_lies_around_the_text_is_passed_over_and_lines_keep_their_numbers(plan):
    message = f"here are the shots\n\n{text_of(plan)}"
    assert len(shots_given_back(message, plan).shots["subgrade"].names) == len(
        [stake for stake in set_out(plan).areas[0].stakes if stake.layers]
    )
    broken = message.replace("plan,area", "plan,area", 1).splitlines()
    broken[4] = broken[4].replace(",subgrade,", ",subgrad,")
    with pytest.raises(SiteError) as refused:
        shots_given_back("\n".join(broken), plan)
    assert 'line 5, layer: found "subgrad"' in str(refused.value)
    assert 'Did you mean "subgrade"' in str(refused.value) or "subgrade" in str(refused.value)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no line that names its columns"),
        ("hello,world\n1,2\n", "no line that names its columns"),
        (",".join(HEAD), "a header and no shots"),
        ("stake,layer,z\nzz,subgrade,99\n", "the name of a stake"),
        ("stake,layer,z,area\na,subgrade,99,patioo\n", "the name of an area"),
        ("stake,layer,x,y,z,area\na,subgrade,6,1,99,patioo\n", "the name of an area"),
        ("stake,layer,z\na,subgrade,about\n", "z"),
    ],
)
def test_what_is_no_such_text_is_refused_in_a_sentence(plan, text, said):
    with pytest.raises(SiteError) as refused:
        shots_given_back(text, plan)
    assert said in str(refused.value)


def test_it_says_which_stakes_moved_since(plan, tmp_path):
    """The far edge 2 ft out, so what is beyond the middle lies elsewhere and lower."""
    later = a_yard(tmp_path / "later", edge=14)
    back = shots_given_back(text_of(plan, stakes=("a", "b", "c")), later)
    said = back.said[1]
    assert set_out_number(set_out(plan)) in said
    assert set_out_number(set_out(later)) in said
    now = {stake.name: stake for stake in set_out(later).areas[0].stakes}
    then = {stake.name: stake for stake in set_out(plan).areas[0].stakes}
    for name in ("a", "b", "c"):
        away = float(np.hypot(*(now[name].at - then[name].at)))
        lower = abs(now[name].layers[0].z - then[name].layers[0].z)
        assert (f"stake {name} moved by 2' 0\"" in said) == (away > 0.5)
        assert (f"stake {name} " in said) == (away > 0.5 or lower > 5e-4)
    # They are held where they were taken.
    shots = back.shots["subgrade"]
    for name, xyz in zip(shots.names, shots.xyz, strict=True):
        assert xyz[:2] == pytest.approx(then[name].at)


def test_a_door_that_is_moved_moves_no_stake_but_tells_other_levels(plan, tmp_path):
    later = a_yard(tmp_path / "lower", sill=100.7)
    said = shots_given_back(text_of(plan, stakes=("a",)), later).said[1]
    then = set_out(plan).areas[0].stakes[0].layers[0].z
    now = set_out(later).areas[0].stakes[0].layers[0].z
    assert abs(now - then) > 5e-4
    way = "higher" if now > then else "lower"
    assert f"stake a is to be {size(abs(now - then), 'ft')} {way} at the subgrade" in said


def test_what_was_booked_comes_back_with_its_instrument(plan, tmp_path):
    back = shots_given_back(text_of(plan, -0.5, ("subgrade", "surface")), plan)
    ((number, kept),) = back.kept.items()
    assert number == set_out_number(set_out(plan))
    sight = last_sight(kept["setups"][-1], plan)
    assert sight.benchmark == "door"
    assert sight.height == pytest.approx(float(plan.site.doors[0].sill) + 40 * INCH)
    keep(tmp_path, number, kept)
    again = shots_kept(standing(read_kept(tmp_path, number)), plan)
    for layer, shots in back.shots.items():
        assert again[layer].names == shots.names
        assert again[layer].xyz == pytest.approx(shots.xyz, abs=1e-9)


def test_what_two_keep_apart_is_laid_together_and_what_is_taken_back_stays_so(tmp_path):
    number = "0A1B-2C3D"
    one, two = a_shot(1), a_shot(2, "b")
    keep(tmp_path, number, {**nothing_kept(), "shots": [one]})
    keep(tmp_path, number, {**nothing_kept(), "shots": [two]})
    kept = keep(tmp_path, number, {**nothing_kept(), "gone": [one["id"]], "shots": [one]})
    assert kept["shots"] == [one, two]
    assert standing(kept) == [two]
    assert kept == read_kept(tmp_path, number)
    assert kept_numbers(tmp_path) == (number,)
    # The last of a surface stands.
    kept = keep(tmp_path, number, {**nothing_kept(), "shots": [a_shot(3, "b", reading="4 2")]})
    assert [each["reading"] for each in standing(kept)] == ["4 2"]


def test_nothing_that_was_answered_is_lost_in_a_file_that_was_cut_off(tmp_path):
    number = "0A1B-2C3D"
    keep(tmp_path, number, {**nothing_kept(), "shots": [a_shot(1)]})
    (file,) = tmp_path.rglob("*.jsonl")
    with file.open("ab") as stream:
        stream.write(b'{"shots": [{"id": "2026')
    keep(tmp_path, number, {**nothing_kept(), "shots": [a_shot(2)]})
    assert len(read_kept(tmp_path, number)["shots"]) == 2


def test_two_who_keep_at_once_lose_nothing(tmp_path):
    number = "0A1B-2C3D"
    with ThreadPoolExecutor(8) as several:
        list(several.map(
            lambda k: keep(tmp_path, number, {**nothing_kept(), "shots": [a_shot(k % 60, f"{k}")]}),
            range(60),
        ))  # fmt: skip
    assert len(read_kept(tmp_path, number)["shots"]) == 60


@pytest.mark.parametrize("number", ["", "../../x", "0a1b-2c3d", "0A1B-2C3D/..", "0A1B-2C3D\n"])
def test_no_number_leads_out_of_the_folder(tmp_path, number):
    with pytest.raises(SiteError):
        keep(tmp_path, number, {**nothing_kept(), "shots": [a_shot(1)]})
    assert not list(tmp_path.rglob("*"))


@pytest.mark.parametrize(
    "wrong",
    [
        [], "x", {"shots": "x"}, {"shots": [1]}, {"shots": [a_shot(1, at=[1.0])]},
        {"shots": [a_shot(1, z=float("nan"))]}, {"shots": [a_shot(1, z=True)]},
        {"shots": [a_shot(1, marks="yd")]}, {"shots": [a_shot(1, built="lawn")]},
        {"shots": [a_shot(1, area="x" * 500)]}, {"gone": [5]}, {"shots": [a_shot(1)] * 5001},
        {"setups": [{"id": "x", "benchmark": "door", "reading": "4", "marks": "m", "z": 1e12}]},
    ],
)  # fmt: skip
def test_what_is_no_booking_is_refused_and_not_kept(tmp_path, wrong):
    with pytest.raises(SiteError):
        keep(tmp_path, "0A1B-2C3D", wrong)
    assert not list(tmp_path.rglob("*.jsonl"))


def test_nothing_else_that_is_sent_along_is_kept(tmp_path):
    keep(tmp_path, "0A1B-2C3D", {**nothing_kept(), "shots": [a_shot(1, script="x")], "more": "x"})
    (file,) = Path(tmp_path).rglob(f"{HOME}/*.jsonl")
    assert "script" not in file.read_text()
    assert set(json.loads(file.read_text())) == {"setups", "shots", "checks", "gone"}
