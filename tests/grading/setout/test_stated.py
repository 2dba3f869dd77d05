"""Rods for a stated reading: back to the design in closed form, corrected by one sum."""

from fractions import Fraction

import pytest
import shapely
from make.plans.sampled import sampled

from grading.records.plan import record
from grading.setout.instrument import Instrument, benchmarks_of, rod_words
from grading.setout.model import SetOut
from grading.setout.stated import MOST_ROWS, by_rod, rod_step
from grading.units import FOOT, INCH
from grading.units.rods import read_rod

NAMES = ("back-patio", "raised-patio", "flush-walk", "garden-court", "booked-yard")


@pytest.fixture(scope="module", params=NAMES)
def plan(request):
    return sampled(request.param)


def test_the_reading_is_whole_and_the_line_of_sight_above_all_that_is_read(plan):
    found = by_rod(plan)
    sight, unit = found.instrument, plan.site.unit
    assert sight.z == pytest.approx(benchmarks_of(plan.site)[sight.benchmark])
    whole = sight.reading / (FOOT if unit == "ft" else 0.5)
    assert whole == pytest.approx(round(whole), abs=1e-9)
    assert whole >= (3 if unit == "ft" else 2)
    rods = [sight.at(layer.z) for each in found.areas for s in each.stakes for layer in s.layers]
    rods += [sight.at(board.z) for each in found.areas for s in each.strings
             for board in (s.start, s.end)]  # fmt: skip
    assert min(rods) >= (FOOT if unit == "ft" else 0.3) - 1e-9


def test_a_rod_is_the_sight_less_the_plane_of_the_finish(plan):
    """Closed form: z0 + dzdx x + dzdy y of the record's plane, layers below it by thickness."""
    told = record(plan)
    sight = told["rods"]["benchmark"]
    height = Fraction(str(round(sight["z"], 9))) + Fraction(str(round(sight["reading"], 9)))
    marks = told["rods"]["rod"]
    checked = 0
    for area, rods in zip(told["areas"], told["rods"]["areas"], strict=True):
        if len(area["finish"]["planes"]) != 1:
            continue
        plane = area["finish"]["planes"][0]
        below = {"finish": 0.0}
        depth = 0.0
        for layer in area["bases"][area["base"]]["layers"]:
            below[layer["name"]] = depth
            depth += layer["thickness"]
        below["subgrade"] = depth
        for stake in rods["stakes"]:
            z = plane["z0"] + plane["dzdx"] * stake["at"][0] + plane["dzdy"] * stake["at"][1]
            for layer in stake["layers"]:
                if layer["name"] not in below:
                    continue
                by_hand = float(height) - (z - below[layer["name"]])
                assert layer["rod"] == pytest.approx(by_hand, abs=1e-6)
                read = float(read_rod(layer["rod_text"], marks))
                coarse = {"ft-in": INCH / 16, "ft": 0.005 * FOOT}.get(marks, 2.5e-3)
                assert abs(read - by_hand) <= coarse + 1e-9
                checked += 1
    assert checked


def test_one_sum_corrects_every_reading_for_another_set_up(plan):
    """The level stands 7 1/4 in higher today: its reading on the benchmark says so, and no more."""
    found = by_rod(plan)
    stated = found.instrument
    more = 7.25 * INCH
    today = Instrument(stated.benchmark, stated.z, stated.reading + more, stated.rod)
    other = SetOut(found.design, today, found.references, found.areas)
    for one, two in zip(found.areas, other.areas, strict=True):
        for stake, again in zip(one.stakes, two.stakes, strict=True):
            for layer, same in zip(stake.layers, again.layers, strict=True):
                corrected = stated.at(layer.z) + (today.reading - stated.reading)
                assert today.at(same.z) == pytest.approx(corrected, abs=1e-12)


def test_the_points_fit_one_page_and_soil_is_told_coarser_than_paving(plan):
    found = by_rod(plan)
    rows = [s for each in found.areas for s in each.stakes if s.layers]
    assert len(rows) <= MOST_ROWS
    names = {s.kind for s in rows}
    assert "corner" in names
    steps = {layer.role: rod_step(layer, plan.site.unit) for s in rows for layer in s.layers}
    assert steps["finish"] < steps["subgrade"]
    for layer in rows[0].layers:
        text = rod_words(found.instrument.at(layer.z), "ft-in", rod_step(layer, "ft"))
        denominators = [int(part.rstrip('"').split("/")[1]) for part in text.split() if "/" in part]
        assert all(each <= (16 if layer.role in ("finish", "panel", "bedding") else 8)
                   for each in denominators)  # fmt: skip


def test_points_of_the_sheet_lie_on_the_paving(plan):
    for each in by_rod(plan).areas:
        for stake in each.stakes:
            if stake.layers:
                assert shapely.distance(each.area.outline, shapely.Point(stake.at)) <= INCH
