"""A shot that stands out stops the plan; what the person says of it is written and followed."""

from __future__ import annotations

import datetime
import os
import tomllib

import numpy as np
import pytest
from make.sites.site_folder import write_site

import grading
from grading.errors import SiteError
from grading.reading.survey_edit import Settling, settle
from grading.units import FOOT
from viz import cli

TODAY = datetime.date(2026, 5, 14)
HEAD = """# Seven shots.
name  = "Alder Row"   # the neighbour's tree
unit  = "ft"
spots = "spots.csv"
"""
TABLES = """
[house]
walls  = [[0, 0], [30, 0]]
inside = [15, -5]

[[area]]
name    = "patio"
outline = [[5, 0], [25, 0], [25, 15], [5, 15]]
base    = "open"

[ground]   # comes last here
organics = "3 in"
"""
SPOTS = """x,y,z,id,code
0,0,100.0,a,wall
30,0,100.02,b,wall
30,25,99.3,c,
0,25,99.28,d,
15,12,99.65,e,
8,10,99.7,f,
22,8,98.77,g,lawn
"""


def site(folder, survey="", spots=SPOTS, **others):
    return write_site(folder, HEAD + TABLES + survey, spots=spots, **others)


def entry(**keys):
    rows = "".join(f"{name} = {value}\n" for name, value in keys.items())
    return f"\n[[survey.settled]]\n{rows}"


def checked(folder):
    plan = grading.plan(grading.read_site(folder))
    return plan, [check for check in plan.checks if check.rule == "survey"]


def problems(folder):
    with pytest.raises(SiteError) as refused:
        grading.read_site(folder)
    return [str(each) for each in refused.value.problems]


def test_a_foot_low_fails_with_spot_distance_and_slip(tmp_path):
    plan, (check,) = checked(site(tmp_path))
    assert plan.failed
    assert (check.status, check.where, check.unit) == ("fail", "spot g", "m")
    assert check.value == pytest.approx(-FOOT, abs=0.03)
    assert check.text.startswith("spots.csv, line 8: spot g is 1.01 ft below the ground around it")
    assert "was 99.77 read as 98.77?" in check.text
    assert all(word in check.text for word in ("--keep g", "--shot g=LEVEL", "--without g"))


def test_999_among_99s_fails_and_says_what_was_meant(tmp_path):
    plan, (check,) = checked(site(tmp_path, spots=SPOTS.replace("99.65,e", "999.2,e")))
    assert plan.failed
    assert "was 99.2 read as 999.2?" in check.text


def test_four_spots_never_pass_and_are_told_three_more_to_take(tmp_path):
    four = "".join(SPOTS.splitlines(keepends=True)[:5])
    plan, (check,) = checked(site(tmp_path, spots=four))
    assert not plan.failed
    assert (check.status, check.value) == ("unknown", 0.0)
    assert check.text.startswith("too few shots to check one another")
    assert all(f"({number}) " in check.text for number in (1, 2, 3))
    assert check.text.count("from the left end of wall 1") + check.text.count("past the") == 3


def test_a_shot_read_again_with_another_level_stands_in_the_ground(tmp_path):
    told = entry(id='"g"', **{"as": '"read again"'}, date="2026-05-14", z="99.77")
    plan, (check,) = checked(site(tmp_path, told))
    assert check.status == "pass"
    assert "spot g (spots.csv, line 8) was read again on 2026-05-14: 99.77, not 98.77" in check.text
    assert plan.site.spots.xyz[6, 2] == pytest.approx(99.77 * FOOT)
    assert plan.site.spots.codes[6] == "lawn"
    assert (tmp_path / "spots.csv").read_text() == SPOTS


def test_a_shot_that_stays_is_not_named_again(tmp_path):
    told = entry(id='"g"', **{"as": '"read again"'}, date="2026-05-14")
    plan, (check,) = checked(site(tmp_path, told))
    assert check.status != "fail"
    assert "was read again on 2026-05-14 and stays" in check.text
    assert plan.ground.surveyed_points[6, 2] == pytest.approx(98.77 * FOOT)


def test_a_shot_left_out_is_no_part_of_the_ground(tmp_path):
    told = entry(id='"line 8"', **{"as": '"left out"'}, date='"2026-05-14"')
    plan, (check,) = checked(site(tmp_path, told))
    assert check.status == "pass"
    assert plan.ground.spots == 6
    assert plan.site.spots.ids == tuple("abcdef")
    assert "spot g (spots.csv, line 8) was left out on 2026-05-14" in check.text


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ({"id": '"z"'}, 'found "z", expected the id of a spot in spots.csv, or its line'),
        ({"id": '"line 99"'}, 'found "line 99", expected the id of a spot'),
        ({"as": '"fine"'}, 'key survey.settled[1].as: found "fine", expected one of'),
        ({"as": '"left out"', "z": "99"}, "key survey.settled[1].z: found a level"),
        ({"date": '"May 14"'}, "expected a day as 2026-05-14"),
        ({"was": "98.5"}, 'found 98.5, but "g" now has 98.77 in spots.csv'),
        ({"why": '"x"'}, "expected one of `id`, `as`, `date`, `z`, `was`"),
    ],
)
def test_what_cannot_be_followed_is_refused(tmp_path, told, said):
    keys = {"id": '"g"', "as": '"read again"', "date": "2026-05-14", **told}
    (problem,) = problems(site(tmp_path, entry(**keys)))
    assert said in problem


def test_one_spot_settled_twice_is_refused(tmp_path):
    keys = {"as": '"read again"', "date": "2026-05-14"}
    (problem,) = problems(site(tmp_path, entry(id='"g"', **keys) + entry(id='"line 8"', **keys)))
    assert "which was settled above, expected one entry for a spot" in problem


def test_an_id_that_two_spots_have_asks_for_the_line(tmp_path):
    told = entry(id='"f"', **{"as": '"read again"'}, date="2026-05-14")
    (problem,) = problems(site(tmp_path, told, SPOTS.replace(",g,", ",f,")))
    assert '"f", which 2 spots are called' in problem
    assert 'Write "line 7" or another of them.' in problem


def test_what_was_settled_is_told_beside_what_is_not(tmp_path):
    told = entry(id='"a"', **{"as": '"read again"'}, date="2026-05-14")
    _, checks = checked(site(tmp_path, told))
    assert [check.status for check in checks] == ["fail", "pass"]
    assert checks[1].text == "spot a (spots.csv, line 2) was read again on 2026-05-14 and stays"


def words(folder):
    return (folder / "site.toml").read_bytes().decode()


@pytest.mark.parametrize(
    ("option", "word", "written"),
    [
        ("--keep", "g", {"as": "read again"}),
        ("--without", "line 8", {"as": "left out"}),
        ("--shot", "g = 99.77", {"as": "read again", "z": 99.77}),
        ("--shot", "line 8=99' 9 1/4\"", {"as": "read again", "z": "99' 9 1/4\""}),
    ],
)
def test_the_command_writes_the_site_file_alone_and_keeps_what_stands_in_it(
    tmp_path, option, word, written
):
    folder = site(tmp_path)
    before = {file.name: file.read_bytes() for file in folder.iterdir()}
    os.chmod(folder / "site.toml", 0o640)
    settle(folder, [Settling(option, word)], TODAY)
    text = words(folder)
    assert text.startswith(HEAD + TABLES)
    (told,) = tomllib.loads(text)["survey"]["settled"]
    assert told == {"id": "g", "date": TODAY, "was": 98.77, **written}
    assert {file.name for file in folder.iterdir()} == set(before)
    assert (folder / "spots.csv").read_bytes() == before["spots.csv"]
    assert (folder / "site.toml").stat().st_mode & 0o777 == 0o640
    assert not [each for each in checked(folder)[1] if each.status == "fail"]


def test_a_later_word_takes_the_place_of_an_earlier(tmp_path):
    folder = site(tmp_path)
    settle(folder, [Settling("--shot", "g=99.8"), Settling("--keep", "a")], TODAY)
    settle(folder, [Settling("--without", "g")], datetime.date(2026, 5, 20))
    told = tomllib.loads(words(folder))["survey"]["settled"]
    assert [each["id"] for each in told] == ["g", "a"]
    assert told[0] == {
        "id": "g", "as": "left out", "date": datetime.date(2026, 5, 20), "was": 98.77,
    }  # fmt: skip


def test_line_ends_and_mark_of_another_system_are_kept(tmp_path):
    folder = site(tmp_path)
    file = folder / "site.toml"
    data = b"\xef\xbb\xbf" + file.read_bytes().replace(b"\n", b"\r\n")
    file.write_bytes(data)
    settle(folder, [Settling("--keep", "g")], TODAY)
    made = file.read_bytes()
    assert made.startswith(data)
    assert made.count(b"\n") == made.count(b"\r\n")


def test_a_list_that_was_written_in_line_is_added_to(tmp_path):
    inline = 'survey = {settled = [{id = "a", as = "read again", date = 2026-05-01}]}\n'
    folder = write_site(tmp_path, HEAD + inline + TABLES, spots=SPOTS)
    settle(folder, [Settling("--keep", "g")], TODAY)
    told = tomllib.loads(words(folder))["survey"]["settled"]
    assert [each["id"] for each in told] == ["a", "g"]


@pytest.mark.parametrize(
    ("wishes", "said"),
    [
        ([("--keep", "q")], '--keep: found "q", expected the id of a spot in spots.csv'),
        ([("--shot", "g")], '--shot: found "g", expected ID=LEVEL'),
        ([("--shot", "g=high")], '--shot: found "high", expected a length'),
        ([("--keep", "g"), ("--without", "line 8")], "twice, expected one word on one spot"),
        ([("--without", each) for each in "abcde"], "two spots at distinct places"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_is_written(tmp_path, capfd, wishes, said):
    folder = site(tmp_path)
    before = words(folder)
    told = [part for wish in wishes for part in wish]
    assert cli.main(["plan", str(folder), *told]) == cli.INPUT_WRONG
    assert said in capfd.readouterr().err
    assert words(folder) == before
    assert {file.name for file in folder.iterdir()} == {"site.toml", "spots.csv"}


def test_a_file_without_ids_is_settled_by_line(tmp_path):
    bare = "\n".join(",".join(row.split(",")[:3]) for row in SPOTS.splitlines()) + "\n"
    folder = site(tmp_path, spots=bare)
    _, (check,) = checked(folder)
    assert '--keep "line 8"' in check.text
    with pytest.raises(SiteError, match='For spot 7 write "line 8"'):
        settle(folder, [Settling("--keep", "7")], TODAY)
    settle(folder, [Settling("--shot", "line 8=99.77")], TODAY)
    assert checked(folder)[1][0].status == "pass"


def test_a_disk_that_is_full_leaves_the_file(tmp_path, monkeypatch):
    folder = site(tmp_path)
    before = words(folder)

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("grading.files.whole.os.fsync", full)
    with pytest.raises(SiteError, match="no space left on device"):
        settle(folder, [Settling("--keep", "g")], TODAY)
    assert words(folder) == before
    assert {file.name for file in folder.iterdir()} == {"site.toml", "spots.csv"}


def test_the_command_fails_until_it_is_settled(tmp_path, capfd):
    folder = site(tmp_path)
    assert cli.main(["plan", str(folder)]) == cli.CHECK_FAILED
    stopped = capfd.readouterr().out
    assert "STOP: one shot does not fit; do not build on these numbers" in stopped
    assert "NOT FOR SIGNATURE" in stopped
    assert cli.main(["plan", str(folder), "--full"]) == cli.CHECK_FAILED
    assert "NOT FOR SIGNATURE until spot g is read again" in capfd.readouterr().out
    assert cli.main(["plan", str(folder), "--shot", "g=99.77"]) == cli.DONE
    told = capfd.readouterr()
    assert "NOT FOR SIGNATURE" not in told.out
    assert "written into site.toml: spot g (spots.csv, line 8) was read again on" in told.err
    assert "99.77, not 98.77" in told.err


def test_two_levels_at_one_place_fail_until_one_is_left_out(tmp_path):
    folder = site(tmp_path, spots=SPOTS.replace("98.77,g", "99.77,g") + "22,8,98.6,h,\n")
    plan, (check,) = checked(folder)
    assert plan.failed
    assert (
        "spot h has elevation 98.6 ft where spot g (spots.csv, line 8) has 99.77 ft" in check.text
    )
    settle(folder, [Settling("--without", "h")], TODAY)
    assert checked(folder)[1][0].status == "pass"


def test_next_shots_are_those_after_which_most_would_be_found():
    """Against every place, each with its plate inverted anew by numpy."""
    import shapely

    from grading.ground.next_shots import _left, _places, next_shots
    from grading.ground.plates import NOISE_RATIOS, scaled
    from grading.ground.smooth import plate_matrix

    xy = np.random.default_rng(2).uniform(0, 9, (8, 2))
    where = shapely.box(1, 1, 8, 8)
    places = _places(where)
    unit, middle = scaled(xy)[1:]
    sums = []
    for place in places:
        matrix = plate_matrix((np.vstack((xy, place)) - middle) / unit)
        matrix[range(9), range(9)] += NOISE_RATIOS[1]
        sums.append((1 / np.sqrt(np.diag(np.linalg.inv(matrix))[:8])).sum())
    assert _left(xy, places).sum(axis=1) == pytest.approx(sums, rel=1e-9)
    far = np.hypot(*(places[:, None] - xy[None]).transpose(2, 0, 1)).min(axis=1) >= 0.5
    found = next_shots(xy, where)
    assert found[0].tolist() == places[far][np.argmin(np.array(sums)[far])].tolist()
    assert len(found) == 3
