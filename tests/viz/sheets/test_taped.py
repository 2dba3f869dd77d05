"""The crew's sheet tells how corners are taped from the house, and where strings run."""

import pytest
from compared import folder

import grading
from grading.setout.model import set_out
from viz.paper.page import page_for
from viz.sheets.compile import Compiled
from viz.sheets.head import Job
from viz.sheets.taped import taping


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    return grading.plan(grading.read_site(folder(tmp_path_factory.mktemp("taped") / "a")))


def sections(plan):
    job = Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True))
    with Compiled("crew") as sheet:
        return list(taping(job, sheet))


def test_every_corner_has_the_tapes_of_its_stake_and_every_edge_its_line(plan):
    (section,) = sections(plan)
    ties, said, over, strings, checks, rods = section.blocks
    (area,) = set_out(plan).areas
    assert "H1, right end of wall 1" in said["text"] or "H1, left end of wall 1" in said["text"]
    corners = [stake for stake in area.stakes if stake.kind == "corner"]
    assert [row[0][0] for row in ties["rows"]] == [stake.name for stake in corners]
    for row, stake in zip(ties["rows"], corners, strict=True):
        for cell, tie in zip(row[1:], stake.tied.ties, strict=False):
            assert cell[0] in (f"{tie.to} {tie.length:.3f} m", f"at {tie.to}")
    assert [row[0][0] for row in strings["rows"]] == [each.name for each in area.strings]
    assert f"{area.strings[0].over * 1000:.0f} mm above the finish" in over["text"]
    assert "Diagonals: a-c 5.000 m; b-d 5.000 m." in checks["text"]
    assert "garden door 10.100 m" in rods["text"]


def test_without_a_house_there_are_strings_and_no_tapes(tmp_path):
    root = folder(tmp_path / "a")
    text = (root / "site.toml").read_text(encoding="utf-8")
    start, end = text.index("[house]"), text.index("[[area]]")
    (root / "site.toml").write_text(text[:start] + text[end:], encoding="utf-8")
    (section,) = sections(grading.plan(grading.read_site(root)))
    kinds = [block["kind"] for block in section.blocks]
    assert kinds == ["words", "table", "words", "words"]
