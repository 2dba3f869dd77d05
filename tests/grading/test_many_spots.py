"""A million spots in memory: a column that says one thing, or counts, is not written out."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from make.sites.on_a_plane import spots_csv, written

from grading.geometry.arrays import Numbered
from grading.kept import fingerprint

TOML = """
name = "many"
unit = "m"
spots = "spots.csv"
[house]
walls = [[0, 0.5], [24, 0.5]]
inside = [12, -5]
[[area]]
name = "patio"
use = "patio"
outline = [[6, 0.5], [18, 0.5], [18, 8], [6, 8]]
base = "dense"
"""


def spots(count):
    rng = np.random.default_rng(3)
    xy = rng.uniform([0, 0], [24, 15], (count, 2))
    return np.column_stack([xy, 0.1 * np.sin(xy[:, 0]) - 0.03 * xy[:, 1]])


def test_names_and_lines_that_count_are_not_written_out(tmp_path):
    site = written(tmp_path, TOML, spots_csv(spots(300)))
    assert site.spots.lines == range(2, 302)
    assert isinstance(site.spots.ids, Numbered)
    assert site.spots.ids[0] == "1"
    assert site.spots.ids[-1] == "300"
    assert site.spots.ids[298:] == ("299", "300")
    assert list(site.spots.ids) == [str(number) for number in range(1, 301)]
    assert site.spots.sd_z.strides == (0,)


def test_a_blank_line_is_counted(tmp_path):
    rows = spots_csv(spots(4)).splitlines()
    site = written(tmp_path, TOML, "\n".join([*rows[:2], "", *rows[2:]]))
    assert list(site.spots.lines) == [2, 4, 5, 6]


def test_columns_that_differ_are_told_apart():
    told = [
        fingerprint(each)
        for each in (range(3), range(1, 3), Numbered(3), Numbered(4), ("1", "2", "3"), np.ones(0))
    ]
    assert len(set(told)) == len(told)
    assert fingerprint(Numbered(3)) == told[2]
    square = np.arange(6.0).reshape(2, 3)
    assert fingerprint(square) != fingerprint(square.T)
    assert fingerprint(square.T) == fingerprint(np.arange(6.0).reshape(2, 3).T)


WHOLE = """
import sys, resource
from pathlib import Path
import grading
made = grading.plan(grading.read_site(Path(sys.argv[1])))
assert made.areas[0].digs
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


@pytest.mark.long
def test_a_million_spots_are_planned_in_600_mb(tmp_path):
    written(tmp_path, TOML, spots_csv(spots(1_000_000)))
    run = [sys.executable, "-c", WHOLE, str(tmp_path)]
    told = subprocess.run(run, capture_output=True, text=True, check=True).stdout
    kilobyte = 1 if sys.platform == "darwin" else 1024
    assert int(told) * kilobyte < 600 * 1024**2
