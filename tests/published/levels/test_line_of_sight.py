"""The line of sight by its height, moved twice, against a worked exercise of levelling.

Source: an exercise of the height of instrument method in a public course of surveying and
levelling (civilprojectsonline.com, "Height of Instrument Method"): readings on a staff in metres,
the instrument shifted after the fifth and the eleventh, the first on a point at 136.440. Its table
of levels, and its check, sum of backsights less sum of foresights, are given there.
"""

import pytest
from drive.browser import needs_browser
from drive.trenched import sums
from make.plans.sampled import sampled

from grading.setout.instrument import Instrument, rod_words
from grading.units.rods import read_rod
from viz.desk.field.trench import trench

# Each set-up: the level of what it was sighted on, the reading there, the line of sight; then
# readings with the levels that the exercise finds.
SETUPS = (
    ("136.440", "0.585", "137.025",
     (("1.010", "136.015"), ("1.735", "135.290"), ("3.295", "133.730"), ("3.775", "133.250"))),
    ("133.250", "0.350", "133.600",
     (("1.300", "132.300"), ("1.795", "131.805"), ("2.575", "131.025"), ("3.375", "130.225"),
      ("3.895", "129.705"))),
    ("129.705", "1.735", "131.440", (("0.635", "130.805"), ("1.605", "129.835"))),
)  # fmt: skip


def test_the_exercise_closes_as_its_check_does():
    back = sum(float(reading) for _, reading, _, _ in SETUPS)
    fore = sum(float(rows[-1][0]) for *_, rows in SETUPS)
    assert back == pytest.approx(2.670)
    assert fore == pytest.approx(9.275)
    assert back - fore == pytest.approx(129.835 - 136.440)


def test_the_set_out_finds_its_levels_and_rods():
    for z, reading, height, rows in SETUPS:
        sight = Instrument("point", float(z), float(read_rod(reading, "m")), 5.0)
        assert sight.height == pytest.approx(float(height), abs=1e-9)
        for rod, level in rows:
            assert rod_words(sight.at(float(level)), "m", 1e-3) == rod


@needs_browser
def test_the_page_finds_its_levels_and_rods():
    data = trench(sampled("garden-court"))
    asked = [
        {"z": float(z), "reading": reading, "marks": "m",
         "rows": [[rod, float(level)] for rod, level in rows]}
        for z, reading, _, rows in SETUPS
    ]  # fmt: skip
    with sums() as run:
        found = run(
            """({data, asked}) => asked.map((setup) => [fixed(sightOf(data, setup), 3),
                 setup.rows.map(([rod, level]) => [
                   rodText(data, rodAt(sightOf(data, setup), level), "m"),
                   levelText(data, sightOf(data, setup) - readRod(data, rod, "m").metres)])])""",
            {"data": data, "asked": asked},
        )
    for (_, _, height, rows), (sight, read) in zip(SETUPS, found, strict=True):
        assert sight == height
        assert read == [[rod, f"{level} m"] for rod, level in rows]
