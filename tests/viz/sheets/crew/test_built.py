"""What is built beside the paving: its rods on a page of its own, its bodies in the sections."""

import numpy as np
import pytest
import shapely
from measure.blocked import kinds

import grading
import sample_sites
from grading.crew.lines import Line, Maker, Work
from grading.geometry.plane import Plane
from grading.records.plan import record
from grading.section.built import built_in
from grading.section.square import high_edge_cut
from grading.setout.stated import by_rod
from grading.structures import built as builders
from grading.structures.model import Dug, Solid, Structure
from grading.units import FOOT, INCH
from grading.units.rods import read_rod
from viz.drawings.details.cuts import edge_detail
from viz.drawings.section.built import built_labels, built_of
from viz.drawings.section.sheet import section_sheet
from viz.paper.drawing import Area
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.crew.built import _downward, built_page
from viz.sheets.crew.edge import edge_sheets
from viz.sheets.crew.sheet import crew_data
from viz.sheets.crew.work import work_page
from viz.sheets.head import Job
from viz.words.paving.structures import structure_lines

FOOT_OF_IT = 97.0 * FOOT
PAD, COURSE, CAP = 6 * INCH, 6 * INCH, 2.25 * INCH


def strip(near, far):
    """Along the outer edge of the raised patio, which lies 14 ft out. [m]"""
    return shapely.box(0.0, near * FOOT, 18 * FOOT, far * FOOT)


def pieces(name, crew):
    yield Line("", f"units of {name}", "each", 27.4, 30.0, "by hand")
    yield Line("dense-graded", f"pad of {name}", "kg", 500.0, 500.0, "by hand", compacted=0.6)


def wall(plan, area, dig, crew):
    top = FOOT_OF_IT + PAD
    yield Structure(
        "block wall", "wall of the edge", area.area.name,
        solids=(
            Solid("dense-graded", strip(13.5, 15.5), FOOT_OF_IT, top),
            *(Solid("block", strip(14.0, 15.0), top + k * COURSE, top + (k + 1) * COURSE)
              for k in range(3)),
            Solid("cap", strip(14.0, 15.0), top + 3 * COURSE, top + 3 * COURSE + CAP),
        ),
        makers=(Maker(pieces, ("wall of the edge",)),),
        works=(Work("lay the courses", 14 * FOOT, "m", "edge-restraint"),),
        dug=Dug(2.0, 0.5, 0.25),
        said="wall of the edge: 14 ft of blocks",
        plain="A low wall",
        cautions=("ask the building department",),
        not_counted=("a guard",),
    )  # fmt: skip


def built_by(*own):
    """Plan the raised patio with what some builders give beside its paving, and nothing else."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(builders, "_BUILDERS", own)
        made = grading.plan(grading.read_site(sample_sites.path("raised-patio")))
        assert bool(made.order.areas[0].takeoffs["open"].structures) == bool(own)
    return made


@pytest.fixture(scope="module")
def plan():
    return built_by(wall)


def job_of(plan):
    return Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))


def page_of(plan):
    with Compiled("crew") as sheet:
        return list(built_page(job_of(plan), by_rod(plan), sheet))


def test_its_parts_are_read_on_the_rod_from_the_bottom_up(plan):
    """By hand: the line of sight, less the foot of the pad and what stands on it."""
    (page,) = page_of(plan)
    assert page.title == "Build: block wall"
    (table,) = kinds(page.blocks, "table")
    told = record(plan)["rods"]
    sight = told["benchmark"]["z"] + told["benchmark"]["reading"]
    top = FOOT_OF_IT + PAD
    by_hand = [
        ("stone with fines", FOOT_OF_IT, top, INCH / 16),
        ("3 x block", top, top + 3 * COURSE, INCH / 32),
        ("cap", top + 3 * COURSE, top + 3 * COURSE + CAP, INCH / 32),
    ]
    assert [row[0] for row in table["rows"]] == [name for name, *_ in by_hand]
    for row, (_, bottom, high, step) in zip(table["rows"], by_hand, strict=True):
        assert float(read_rod(row[2], told["rod"])) == pytest.approx(sight - bottom, abs=step)
        assert float(read_rod(row[3], told["rod"])) == pytest.approx(sight - high, abs=step)
    assert [column["kind"] for column in table["columns"]].count("box") == 1


def test_it_says_what_it_is_and_whom_to_ask_and_the_order_what_it_still_needs(plan):
    """What it takes stands in the order and the hours; what is dug for it, in the report."""
    (page,) = page_of(plan)
    said = " ".join(block["text"] for block in kinds(page.blocks, "words"))
    assert "wall of the edge: 14 ft of blocks." in said
    reported = "; ".join(structure_lines(plan))
    for words in ("hole of the paving 2.6 yd³", "of that topsoil 0.7 yd³", "soil put back 0.3 yd³"):
        assert words in reported
        assert words not in said
    (asked,) = kinds(page.blocks, "list")
    assert asked["items"] == ["ask the building department."]
    still = next(each for each in kinds(work_page(job_of(plan)).blocks, "list"))
    assert "a guard" in still["items"]


def test_it_stands_after_the_dig_and_the_steps_send_the_crew_there(plan):
    with Compiled("crew") as sheet:
        pages = crew_data(job_of(plan), sheet, lambda _: None)["pages"]
    titles = [page["title"] for page in pages]
    assert titles[3] == "Build: block wall"
    steps = next(block for block in kinds(pages[2]["blocks"], "list") if block["numbered"])
    assert "wall of the edge; see Build." in steps["items"][1]


def test_a_job_without_has_no_such_page():
    plan = grading.plan(grading.read_site(sample_sites.path("front-walk")))
    assert not page_of(plan)


def test_a_cut_meets_each_body_where_its_footprint_lies(plan):
    (area,) = plan.areas
    edge = high_edge_cut(plan.sections, area)
    found = built_of(plan.order, edge.cut)
    assert len(found) == 5
    across = abs(float(edge.cut.along[1]))
    for each, solid in zip(found, found[0].structure.solids, strict=True):
        near, low, far, high = each.shape.bounds
        _, y0, _, y1 = solid.footprint.bounds
        # The cut is askew to the strip where it stands on the arc: as much wider is the body.
        assert far - near == pytest.approx((y1 - y0) / across, abs=1e-9)
        assert edge.cut.plan_point((near + far) / 2)[1] == pytest.approx((y0 + y1) / 2, abs=1e-9)
        assert [low, high] == pytest.approx([solid.bottom, solid.top], abs=1e-9)
    assert built_in((), edge.cut) == ()
    labels = [words for _, _, words in built_labels(found, "ft")]
    assert labels == ["stone with fines 6 in", "block, 3 of 6 in", "cap 2 1/4 in"]


def test_sections_show_what_holds_the_edge_and_outline_nothing_in_its_place(plan):
    for made, shown in ((plan, True), (built_by(), False)):
        ((sheet, _, _),) = edge_sheets(job_of(made))
        detail = edge_detail(made, made.areas[0], "ft")
        down = section_sheet(made, made.areas[0], "down", page_for("ft"))
        for drawing in (sheet.views[0].drawing, down.views[0].drawing):
            bodies = [part for part in drawing.of("built") if isinstance(part, Area)]
            assert bool(bodies) == shown
            assert bool(drawing.of("holder")) != shown
        words = " ".join(each.words for each in detail.labels)
        assert ("block, 3 of 6 in" in words) == shown
        assert ("designed separately" in words) != shown


@pytest.mark.parametrize("turn", range(0, 360, 40))
def test_a_pipe_is_told_from_its_higher_end_as_its_rods_are(turn):
    """A smaller reading is a higher point: told the other way it would be laid uphill."""
    angle = np.radians(turn)
    way = np.array([np.cos(angle), np.sin(angle)])
    start = np.array([3.0, 1.0])
    strips = [shapely.LineString([start + way * a, start + way * b]).buffer(0.05, cap_style="flat")
              for a, b in ((0, 4), (4, 6))]  # fmt: skip
    bottom = Plane(99.0 + 0.02 * float(way @ start), *(-0.02 * way))  # 99 at its start
    solids = [Solid("pipe", strip, bottom, bottom) for strip in strips]
    high, low = _downward(solids)
    assert np.hypot(*(high - start)) < 0.06
    assert np.hypot(*(low - start - 6 * way)) < 0.06
