"""The crew's first page: how corners are taped from the house, arcs off strings, strings by rod."""

import numpy as np
import pytest
from make.plans.drawn import planned
from make.plans.furnished import furnished
from make.plans.sampled import sampled
from make.sites.compared import folder
from make.sites.site_folder import AREA, HEAD, write_site
from measure.blocked import kinds

import grading
from grading.setout.stated import by_rod
from grading.setout.words import grid_words
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.crew.plans import plans_page
from viz.sheets.head import Job


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return grading.plan(grading.read_site(folder(tmp_path_factory.mktemp("taped") / "a")))


def page(plan):
    job = Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))
    with Compiled("crew") as sheet:
        return plans_page(job, by_rod(plan), sheet)


def tables(plan):
    """Return the tables by the head of their first column."""
    found = {}
    for each in kinds(page(plan).blocks, "table"):
        found.setdefault(each["columns"][0]["head"], []).append(each)
    return found


def said(plan):
    return " ".join(each["text"] for each in kinds(page(plan).blocks, "words"))


def test_every_corner_has_the_tapes_of_its_stake_and_every_edge_its_string(plan):
    (ties,), (strings,) = tables(plan)["Point"], tables(plan)["String"]
    found = by_rod(plan)
    (area,) = found.areas
    told = said(plan)
    assert "H1 right end of wall 1" in told or "H1 left end of wall 1" in told
    corners = [stake for stake in area.stakes if stake.kind == "corner"]
    assert [row[0] for row in ties["rows"]] == [stake.name for stake in corners]
    for row, stake in zip(ties["rows"], corners, strict=True):
        for cell, tie in zip(row[1:], stake.tied.ties, strict=False):
            assert cell in (f"{tie.to} {tie.length:.3f} m", f"at {tie.to}")
    assert [row[0] for row in strings["rows"]] == [each.name for each in area.strings]
    for row, each in zip(strings["rows"], area.strings, strict=True):
        rods = [found.instrument.height - end.z for end in (each.start, each.end)]
        assert [float(cell) for cell in row[2:]] == pytest.approx(rods, abs=5.1e-4)
    assert f"Strings {area.strings[0].over * 1000:.0f} mm over the finish" in told
    assert "Diagonals: a-c 5.000 m; b-d 5.000 m." in told


def test_without_a_house_points_are_told_along_and_out(tmp_path):
    root = folder(tmp_path / "a")
    text = (root / "site.toml").read_text(encoding="utf-8")
    start, end = text.index("[house]"), text.index("[[area]]")
    (root / "site.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    made = grading.plan(grading.read_site(root))
    (points,) = tables(made)["Point"]
    assert [column["head"] for column in points["columns"]] == ["Point", "along", "out", "set"]
    assert "foundation" not in said(made)


def test_arcs_of_the_outline_are_told_off_a_string_and_round_holes_from_their_middle():
    """By hand: a sagitta of 1.5 m on a chord of 8 m, halved; a pocket of half a metre."""
    made = furnished("two terraces")
    arcs = [row for found in tables(made)["Arc"] for row in found["rows"]]
    bent = by_rod(made).areas[1].curves
    heads = [column["head"] for column in tables(made)["Arc"][-1]["columns"]]
    radius = (4.0**2 + 1.5**2) / (2 * 1.5)
    half = float(np.hypot(4.0, 1.5))
    told = {row[0]: row for row in arcs}
    for each in bent:
        row = told[f"{each.start}-{each.end}"]
        assert float(row[1].removesuffix(" m")) == pytest.approx(each.length, abs=5e-4)
        assert row[2] == "outward"
        for head, cell in zip(heads[3:], row[3:], strict=False):
            along = float(head.removesuffix(" m"))
            if cell:
                # The height of an arc over its chord, of any handbook of surveying.
                high = np.sqrt(radius**2 - (along - each.length / 2) ** 2)
                off = high - np.sqrt(radius**2 - (each.length / 2) ** 2)
                assert float(cell) == pytest.approx(1000 * off, abs=0.51)
    assert {round(each.length, 6) for each in bent} <= {8.0, round(half, 6)}
    # The middle of the round pocket is a point to tape to; the middle of the arc is not.
    middles = [stake.name for stake in by_rod(made).areas[1].stakes if stake.kind == "centre"]
    names = [row[0] for found in tables(made)["Point"] for row in found["rows"]]
    assert len(middles) == 2
    assert sum(name in names for name in middles) == 1


def test_an_area_of_straight_sides_has_no_arcs():
    assert "Arc" not in tables(planned("pocket"))


def test_a_yard_without_a_house_is_told_along_its_longest_edge(tmp_path):
    text = HEAD + AREA
    made = grading.plan(grading.read_site(write_site(tmp_path / "b", text)))
    (area,) = made.areas
    assert not area.walls
    assert grid_words(area) == "along the longest edge, out from it"
    assert grid_words(sampled("back-patio").areas[0]) == "along the house, out from it"
