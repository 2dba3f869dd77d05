"""The yard with all that is built, where some of it lies off the plans of its areas."""

import shutil

import numpy as np
import pytest
import shapely
from make.plans.sampled import sampled
from measure.blocked import kinds

import grading
import sample_sites
from grading.setout.stated import by_rod
from grading.units import FOOT
from viz.paper.compose import compose, words_of
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.crew.built import built_page
from viz.sheets.crew.set_out_plan import shown_of
from viz.sheets.crew.whole_yard import off_their_plans, whole_yard_plan
from viz.sheets.head import Job

WELL = np.array([[22.5, 48], [29.5, 48], [29.5, 54.5], [22.5, 54.5]]) * FOOT
"""As it is written below, 37 ft past the paving."""


@pytest.fixture(scope="module")
def far(tmp_path_factory):
    """The drained patio with its dry well at the end of a long lawn, and no line to a neighbour."""
    home = tmp_path_factory.mktemp("far") / "site"
    shutil.copytree(sample_sites.path("drained-patio"), home)
    text = (home / "site.toml").read_text()
    before, _, rest = text.partition('[[outfall]]\nname = "lot line"')
    text = before + rest[rest.index("[[downspout]]") :]
    for old, new in (
        ("[[22.5, 13], [29.5, 13], [29.5, 19.5], [22.5, 19.5], [22.5, 13]]",
         "[[22.5, 48], [29.5, 48], [29.5, 54.5], [22.5, 54.5], [22.5, 48]]"),
        ("to   = [25, 15]", "to   = [25, 49]"),
    ):  # fmt: skip
        assert old in text
        text = text.replace(old, new)
    (home / "site.toml").write_text(text)
    rows = [f"{x},{y},{98.3 - 0.025 * (y - 23):.2f},,lawn," for y in range(30, 70, 8)
            for x in (-5, 6, 18, 31)]  # fmt: skip
    with (home / "spots.csv").open("a") as spots:
        spots.write("\n".join(rows) + "\n")
    return grading.plan(grading.read_site(home))


def test_a_dry_well_far_off_is_drawn_whole_with_the_paving_and_told_by_name(far):
    found = by_rod(far)
    (each,) = off_their_plans(far, found)
    assert not shown_of(far, found, each).intersects(shapely.Polygon(WELL))
    sheet, scale = whole_yard_plan(far, found, [each])
    (view,) = sheet.views
    places = np.array([view.paper(at) for at in (*WELL, *each.area.outline.exterior.coords)])
    assert places.min() > 0
    assert (places.max(axis=0) < (sheet.page.width, sheet.page.height)).all()
    # True to scale: 7 ft of dry well on paper, by the ratio that is stated.
    side = np.hypot(*(places[1] - places[0]))
    assert side == pytest.approx(7 * FOOT * 1000 / scale.ratio, rel=1e-9)
    said = [each.words for each in words_of(compose(sheet))]
    assert {"dry well", "patio", "channel by the lawn"} <= set(said)


def test_it_stands_first_where_what_is_built_is_told(far):
    job = Job(far, far.order, page_for("ft", None, portrait=True))
    with Compiled("crew") as sheet:
        (page,) = built_page(job, by_rod(far), sheet)
    first = page.blocks[0]["blocks"]
    assert first[0]["text"] == "Where it stands, as you face the house"
    assert "true scale" in first[0]["aside"]
    assert len(list(kinds(page.blocks, "drawing"))) == 1


@pytest.mark.parametrize("name", ["drained-patio", "raised-patio", "larch-lane"])
def test_none_is_drawn_where_each_area_s_own_plan_shows_it_all(name):
    plan = sampled(name)
    assert not off_their_plans(plan, by_rod(plan))
