"""hours.csv: read, found in its place, and refused with its line where it is wrong."""

from __future__ import annotations

import pytest

from grading.crew.past_jobs import find_hours, read_jobs
from grading.crew.reading import read_crew
from grading.errors import SiteError

GOOD = "job,estimated,actual\nPlum Lane,50,55\n# a remark\nBirch Road, 40 h , 38.5 hours\n"


def write(folder, text, name="hours.csv"):
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_text(text, encoding="utf-8")
    return folder / name


def test_jobs_are_read_in_their_order(tmp_path):
    found = read_jobs(write(tmp_path, GOOD))
    assert [(job.name, job.ratio) for job in found] == [
        ("Plum Lane", pytest.approx(1.1)),
        ("Birch Road", pytest.approx(38.5 / 40)),
    ]
    assert found[0].estimated == 50 * 3600


def test_columns_come_in_any_order_and_decimals_may_have_a_comma(tmp_path):
    text = "Actual;note;Estimated;Job\n55,5;rain;50;Plum Lane\n"
    (job,) = read_jobs(write(tmp_path, text))
    assert (job.name, job.actual) == ("Plum Lane", 55.5 * 3600)


def test_a_file_with_nothing_but_its_header_tells_of_no_job(tmp_path):
    assert read_jobs(write(tmp_path, "job,estimated,actual\n")) == ()


@pytest.mark.parametrize(
    ("row", "where", "found"),
    [
        ("Plum Lane,0,55", "line 2, column estimated", '"0"'),
        ("Plum Lane,50,-3", "line 2, column actual", '"-3"'),
        ("Plum Lane,fifty,55", "line 2, column estimated", '"fifty"'),
        ("Plum Lane,50,", "line 2, column actual", "nothing"),
        ("Plum Lane,nan,55", "line 2, column estimated", '"nan"'),
        ("Plum Lane,inf,55", "line 2, column estimated", '"inf"'),
        ("Plum Lane,1e9,55", "line 2, column estimated", '"1e9"'),
        (",50,55", "line 2, column job", "nothing"),
        ("Plum Lane,50,2", "line 2", "2 h, estimated at 50 h"),
        ("Plum Lane,50,55\nPlum Lane,50,55", "line 3, column job", "which line 2 is too"),
        ("Plum Lane,50,55,7", "line 2", "4 cells"),
    ],
)
def test_a_row_that_is_wrong_is_refused_with_its_line(tmp_path, row, where, found):
    path = write(tmp_path, f"job,estimated,actual\n{row}\n")
    with pytest.raises(SiteError) as caught:
        read_jobs(path)
    (problem, *_) = caught.value.problems
    assert problem.where == f"hours.csv, {where}"
    assert found in problem.found
    assert problem.expected


def test_every_wrong_row_is_told_at_once(tmp_path):
    with pytest.raises(SiteError) as caught:
        read_jobs(write(tmp_path, "job,estimated,actual\nA,0,1\nB,2,x\n"))
    assert len(caught.value.problems) == 2


@pytest.mark.parametrize("header", ["job,estimate,actual", "job,actual", "", "job,actual,actual"])
def test_a_column_that_is_missing_or_there_twice_is_named(tmp_path, header):
    with pytest.raises(SiteError) as caught:
        read_jobs(write(tmp_path, f"{header}\nPlum Lane,1,1\n"))
    assert "column" in caught.value.problems[0].expected


def test_the_nearer_file_counts(tmp_path):
    """That in the site folder, else that beside its crew.toml."""
    site = tmp_path / "jobs" / "plum-lane"
    site.mkdir(parents=True)
    assert find_hours(site, None) is None
    shared = write(tmp_path / "jobs", GOOD)
    assert find_hours(site, tmp_path / "jobs" / "crew.toml") == shared
    assert find_hours(site, None) == shared
    assert find_hours(site, site / "crew.toml") is None
    own = write(site, GOOD)
    assert find_hours(site, None) == own


def test_own_jobs_multiply_every_hour_that_is_told(tmp_path):
    write(tmp_path, "job,estimated,actual\nA,50,60\nB,50,60\nC,50,60\nD,50,60\n")
    crew = read_crew(tmp_path, "ft")
    assert crew.hours_file == str(tmp_path / "hours.csv")
    assert crew.factor.told == pytest.approx(1.2 ** (4 / (4 + 0.5625)))


def test_a_wrong_file_of_the_folder_above_is_named_whole(tmp_path):
    site = tmp_path / "plum-lane"
    site.mkdir()
    path = write(tmp_path, "job,estimated,actual\nA,0,1\n")
    with pytest.raises(SiteError) as caught:
        read_crew(site, "ft")
    assert caught.value.problems[0].where.startswith(str(path))
