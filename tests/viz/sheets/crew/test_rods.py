"""The crew's second page: rods for a stated reading, where to write what was read, and no rods."""

import re

import pytest
from make.plans.furnished import furnished
from make.plans.sampled import sampled
from make.sites.compared import folder
from measure.blocked import kinds

import grading
from grading.design.levels import levels_at
from grading.records.plan import record
from grading.setout.stated import by_rod
from grading.units import INCH, size
from grading.units.rods import read_rod
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.crew.rods import NO_RODS, rods_page
from viz.sheets.crew.sheet import crew_data
from viz.sheets.head import Job

UPHILL = 'base = "dense"\nplane = {at = [0, 0], z = 10.03, fall = "3 %", bearing = 180}'
ASTRAY = "-8,4,9.92,f\n8,4,9.92,g\n-4,4,9.92,h\n4,4,9.92,i\n0,8,9.84,j\n0,6,9.88,k\n"


def job_of(plan):
    return Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))


def rows_of(plan):
    found = by_rod(plan)
    page = rods_page(job_of(plan), found)
    for each, table in zip(found.areas, kinds(page.blocks, "table"), strict=True):
        heads = [c["head"] for c in table["columns"] if c["kind"] not in ("box", "tick")]
        stakes = [stake for stake in each.stakes if stake.layers]
        yield each, table, list(zip(stakes, ([*zip(heads, row, strict=True)] for row in
                                             table["rows"]), strict=True))  # fmt: skip


@pytest.mark.parametrize("name", ["raised-patio", "side-walkway", "flush-walk", "garden-court"])
def test_a_rod_on_the_page_is_the_sight_less_the_level(name):
    """Read back off the page as a crew reads it: benchmark and reading, less the rod."""
    plan = sampled(name)
    told = record(plan)["rods"]
    (stated,) = kinds(rods_page(job_of(plan), by_rod(plan)).blocks, "stated")
    height = float(read_rod(stated["reading"], told["rod"])) + told["benchmark"]["z"]
    unit = plan.site.unit
    fine, rough = (INCH / 32, INCH / 16) if unit == "ft" else (5.1e-4, 2.6e-3)
    for each, _, rows in rows_of(plan):
        for stake, cells in rows:
            found = levels_at(plan, each.area, stake.at[None])
            said = dict(cells)
            finish = height - float(read_rod(said["Paver top"], told["rod"]))
            dug = height - float(read_rod(said["Dig to"], told["rod"]))
            assert finish == pytest.approx(found.finish[0], abs=fine + 1e-9)
            assert dug == pytest.approx(found.dug[0], abs=rough + 1e-9)


@pytest.mark.parametrize("name", ["raised-patio", "side-walkway"])
def test_what_is_dug_laid_and_finished_has_a_box_for_what_was_read(name):
    plan = sampled(name)
    for _, table, _ in rows_of(plan):
        kinds_of = [column["kind"] for column in table["columns"]]
        heads = [column["head"] for column in table["columns"]]
        assert kinds_of.count("box") == 3
        for box in (k for k, kind in enumerate(kinds_of) if kind == "box"):
            assert heads[box] == "is"
            assert kinds_of[box - 1] == "rod"
        assert heads[kinds_of.index("box") - 1] == "Dig to"


def test_the_top_of_the_fill_is_told_only_where_the_hole_is_filled():
    raised, side = (sampled(name) for name in ("raised-patio", "side-walkway"))
    ((_, table, _),) = rows_of(raised)
    assert "Fill top" in [column["head"] for column in table["columns"]]
    ((_, table, _),) = rows_of(side)
    assert "Fill top" not in [column["head"] for column in table["columns"]]


def data_of(plan):
    with Compiled("crew") as sheet:
        return crew_data(job_of(plan), sheet, lambda _: None)


def blocks_of(data):
    return [block for page in data["pages"] for block in page["blocks"]]


def test_a_plan_that_fails_has_no_rods_and_says_so_first(tmp_path):
    plan = grading.plan(grading.read_site(folder(tmp_path / "a", area=UPHILL)))
    assert plan.failed
    data = data_of(plan)
    assert data["stop"]["title"] == "NOT TO BE BUILT"
    failing = [check for check in plan.checks if check.status == "fail"]
    assert len(data["stop"]["why"]) == len(failing) > 0
    words = " ".join(block["text"] for block in kinds(blocks_of(data), "words"))
    assert NO_RODS in words
    assert not kinds(blocks_of(data), "stated")
    for table in kinds(blocks_of(data), "table"):
        assert not [c for c in table["columns"] if c["kind"] == "rod" or "rod" in c["head"]]


def test_a_survey_in_doubt_has_no_rods_either(tmp_path):
    root = folder(tmp_path / "a", z="9.62")
    with (root / "spots.csv").open("a", encoding="utf-8") as file:
        file.write(ASTRAY)
    plan = grading.plan(grading.read_site(root))
    assert plan.ground.shots.suspects
    data = data_of(plan)
    assert any("read again" in why for why in data["stop"]["why"])
    assert not kinds(blocks_of(data), "stated")


def test_nothing_stands_against_a_plan_that_passes(tmp_path):
    plan = grading.plan(grading.read_site(folder(tmp_path / "a")))
    assert not plan.failed
    data = data_of(plan)
    assert data["stop"] is None
    assert kinds(blocks_of(data), "stated")


def test_no_price_stands_on_the_crew_s_sheet(tmp_path):
    root = folder(tmp_path / "a")
    own = 'currency = "CHF"\n[crew]\nshow_prices = true\n[prices]\nlabour = 70\n'
    (root / "crew.toml").write_text(own, "utf-8")
    plan = grading.plan(grading.read_site(root))
    text = str(data_of(plan)["pages"])
    assert "CHF" not in text
    assert not re.search(r"[$€£]", text)


def test_what_stands_level_is_set_by_rod_and_sand_at_each_corner():
    """The rod on each corner read back: the level that the advice told, and its sand beside it."""
    plan = furnished("in metres")
    data = data_of(plan)
    found = by_rod(plan)
    tables = [each for each in kinds(data["pages"][1]["blocks"], "table")
              if each["columns"][-1]["kind"] == "tick"]  # fmt: skip
    assert len(tables) == len(plan.advice.levels) > 1
    for table, thing in zip(tables, plan.advice.levels, strict=True):
        for row, corner in zip(table["rows"], thing.corners, strict=True):
            assert row[0] == corner.name
            assert found.instrument.height - float(row[2]) == pytest.approx(corner.finish, abs=6e-4)
            under = corner.sand if thing.seat.stands == "bedding" else corner.base_below
            assert row[3] == size(under, "m")
