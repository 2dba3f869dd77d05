"""The sites that ship with the program plan as their README says."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled
from msgspec.structs import replace

import sample_sites
from grading.logbook.chain import records_of
from grading.logbook.words import faults_of, verdicts_of
from grading.pipeline import Plan, plan
from grading.site.model import FinishTable
from grading.units import FOOT, INCH, area, inches, percent, volume
from viz import cli

README = Path(sample_sites.__file__).with_name("README.md").read_text(encoding="utf-8")
TABLE = [
    [cell.strip() for cell in line.strip("|").split("|")]
    for line in README.split("## What must come out")[1].splitlines()
    if line.startswith("| ")
]
HEADERS, ROWS = TABLE[0], TABLE[2:]


@pytest.fixture(scope="module")
def plans() -> dict[str, Plan]:
    return {name: sampled(name) for name in sample_sites.names()}


def test_names():
    assert sample_sites.names() == (
        "back-patio", "booked-yard", "drained-patio", "flush-walk", "front-walk", "garden-court",
        "raised-patio", "side-walkway",
    )  # fmt: skip
    assert {row[0] for row in ROWS} == set(sample_sites.names())
    for name in sample_sites.names():
        assert (sample_sites.path(name) / "site.toml").is_file()
        assert f"| `{name}` |" in README


@pytest.mark.parametrize(
    "name", ["", "..", "no-such-site", "back-patio/../back-patio", "README.md"]
)
def test_another_name_is_refused_and_the_names_are_listed(name):
    with pytest.raises(KeyError, match="back-patio, booked-yard, drained-patio"):
        sample_sites.path(name)


def test_every_area_has_a_row(plans):
    areas = [(name, area.area.name) for name, made in plans.items() for area in made.areas]
    assert sorted(areas) == sorted((row[0], row[1]) for row in ROWS)


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row[0]}: {row[1]}")
def test_the_readme_tells_what_comes_out(plans, row):
    told = dict(zip(HEADERS, row, strict=True))
    made = plans[told["site"]]
    found = next(area for area in made.areas if area.area.name == told["area"])
    unit = made.site.unit
    checks = [check for check in made.checks if check.area == told["area"]]
    held = [f"{check.rule} {check.status}" for check in checks if check.status != "pass"]
    assert told == {
        "site": told["site"],
        "area": told["area"],
        "paving": area(found.outline.area, unit),
        "fall": percent(found.finish.plane.fall, 2),
        "bearing": str(round(found.finish.plane.bearing) % 360),
        **{base: volume(found.digs[base].cut, unit) for base in ("dense", "open", "panel")},
        "base": found.chosen,
        "checks that do not pass": ", ".join(held) or "none",
    }


def test_nothing_fails_and_nothing_looks_wrong(plans):
    for name, made in plans.items():
        assert not made.failed, name
        assert not made.warnings, name
        assert not made.ground.beyond.any(), name  # the survey covers every dig


def test_the_demonstration_shows_what_it_is_for(plans):
    patio = plans["back-patio"].areas[0]
    assert patio.digs["panel"].cut < patio.digs["dense"].cut / 2
    steps = [
        inches(door.sill - patio.finish.plane.at(door.at[None])[0])
        for door in plans["back-patio"].site.doors
    ]
    assert steps == ["6 3/16 in", "6 11/16 in"]
    assert f"the steps come to {steps[0]} and {steps[1]}" in re.sub(r"\s+", " ", README)
    falls = [wall.fall_away for wall in patio.walls]
    assert len(falls) == 3
    assert falls == pytest.approx([0.02] * 3, abs=1e-6)


def test_the_flush_walk_meets_the_patio_and_is_a_plane_of_its_own(plans):
    patio, walk = (area.finish.plane for area in plans["flush-walk"].areas)
    edge = np.column_stack([np.full(9, 16.0), np.linspace(0, 4, 9)]) * FOOT
    assert patio.at(edge) == pytest.approx(walk.at(edge), abs=1e-6)
    assert patio.dzdy == pytest.approx(walk.dzdy, abs=1e-6)
    assert walk.dzdx < patio.dzdx - 0.01


def test_the_raised_patio_is_raised(plans):
    patio = plans["raised-patio"].areas[0]
    assert patio.max_raise / INCH == pytest.approx(12.2, abs=0.5)
    assert volume(patio.chosen_dig.fill, "ft") == "1.4 yd³"
    # Fitted for the earth alone it stands on four times the stone, and on a wall of 17 in.
    site = replace(plans["raised-patio"].site, finish=FinishTable(objective="least earth"))
    other = plan(site).areas[0]
    assert other.max_raise / INCH == pytest.approx(17, abs=0.5)
    assert volume(other.chosen_dig.fill, "ft") == "4.4 yd³"
    assert patio.finish.work < 0.85 * other.finish.work
    assert patio.chosen_dig.build_up / INCH == pytest.approx(2.375 + 1 + 10, rel=1e-12)


def test_the_drained_patio_leads_all_of_its_water_to_the_dry_well(plans):
    made = plans["drained-patio"]
    found = {one.name: one for area in made.order.areas for one in
             area.takeoffs[area.area.chosen].structures}  # fmt: skip
    assert set(found) == {
        "channel by the lawn", "dry well", "extension of downspout at the back"
    }  # fmt: skip
    for name in ("channel by the lawn", "extension of downspout at the back"):
        assert found[name].led.outlet == "dry well"
    well = found["dry well"].well
    assert well.stone > well.needed > 0
    assert "537 gal of a 2 in storm, gone in 2 h" in re.sub(r"\s+", " ", README)
    assert "is to hold 537 gal" in found["dry well"].said
    assert f"{well.hours:.0f}" == "2"


def test_the_front_walk_meets_the_driveway(plans):
    made = plans["front-walk"]
    (meet,) = made.site.meets
    finish = made.areas[0].finish.plane
    for at, z in zip(meet.at, meet.z, strict=True):
        assert finish.at([at])[0] == pytest.approx(z, abs=1e-6)


def test_the_survey_in_inches_is_read_to_an_eighth(plans):
    spots = plans["side-walkway"].site.spots
    eighths = spots.xyz[:, 2] / (INCH / 8)
    assert abs(eighths - eighths.round()).max() < 1e-6
    assert 30 < spots.xyz[:, 2].mean() < 31


@pytest.mark.parametrize("name", sample_sites.names())
def test_every_survey_is_of_a_size_that_a_crew_shoots(plans, name):
    spots = plans[name].site.spots
    assert 25 <= len(spots.xyz) <= 60
    assert all(spots.codes)
    assert len(set(spots.ids)) == len(spots.ids)


@pytest.mark.parametrize("name", sample_sites.names())
def test_what_is_said_of_digging_holds_by_a_grid_over_the_survey(plans, name):
    """What is dug is the ground down to the formation, and to the bottom of the topsoil at least:
    summed here on squares of 2 in, where the plan cuts triangles."""
    made, square = plans[name], 2 * INCH
    for each in made.areas:
        dug = {}
        for base, dig in each.digs.items():
            left, low, right, high = dig.polygon.bounds
            x, y = np.arange(left, right, square), np.arange(low, high, square)
            at = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2) + square / 2
            at = at[shapely.contains_xy(dig.polygon, at)]
            formation = each.finish.surface.at(at) - dig.build_up
            ground, topsoil = made.ground.elevation(at), made.ground.organics_at(at)
            dug[base] = np.nansum(np.maximum(ground - formation, topsoil)) * square**2
        least = min(dug, key=dug.__getitem__)
        for base in dug:
            for reason in made.advice.area(each.name).base.of(base).reasons:
                if reason.rule == "least-dig":
                    assert base == least
                    assert _told(dug[base], reason.plain)
                if reason.rule == "more-dig":
                    assert f"than {each.digs[least].system.called}" in reason.plain
                    assert _told(dug[base] - dug[least], reason.plain)


def _told(volume: float, words: str) -> bool:
    """Say whether a sentence tells a volume [m³], to its last figure and a fiftieth."""
    ((whole, part, unit),) = re.findall(r"(\d+)[.](\d+) (m³|yd³)", words)
    one = {"m³": 1.0, "yd³": 0.9144**3}[unit]
    told, figure = float(f"{whole}.{part}") * one, 10.0 ** -len(part) * one
    return abs(volume - told) <= figure / 2 + told / 50


def test_the_records_of_a_sample_are_as_they_were_written(capsys):
    found = records_of(sample_sites.path("booked-yard"))
    assert [each.kind for each in found] == ["note", "surface"]
    assert list(faults_of(found)) == []
    site = str(sample_sites.path("booked-yard"))
    shots = str(sample_sites.path("booked-yard") / "built-surface.csv")
    assert cli.main(["verify", site, shots, "--layer", "surface"]) == 1
    printed = capsys.readouterr().out
    for _, words in verdicts_of(found[1]):
        assert words in printed
