"""Names as long as people give stand whole on the homeowner's paper, and none lies over another."""

from __future__ import annotations

import re
import shutil

import pytest
from make.sites.site_folder import LARCH_LANE
from measure.printed import Printed, overlaps

import grading
import sample_sites
from viz.sheets.write import write_sheets

NAMES = {
    "court": "courtyard by the old walnut tree 12",
    "studio path": "narrow path along the studio window",
    "garden door": "garden door beside the big kitchen.",
    "studio door": "studio door with its coloured glass",
    "Medlar House, garden court": "Medlar House behind the copper gate",
}


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_a_name_of_35_letters_is_whole_wherever_it_stands(tmp_path, paper):
    assert {len(name) for name in NAMES.values()} == {35}
    folder = tmp_path / "site"
    shutil.copytree(sample_sites.path("garden-court"), folder)
    file = folder / "site.toml"
    text = file.read_text(encoding="utf-8")
    for short, long in NAMES.items():
        text = text.replace(f'"{short}"', f'"{long}"')
    # What is done of it is told by the names of its areas, which are others now.
    file.write_text(text.partition("[done]")[0], encoding="utf-8")
    plan = grading.plan(grading.read_site(folder))
    assert [area.name for area in plan.areas] == [NAMES["court"], NAMES["studio path"]]
    write_sheets(plan, tmp_path, lambda _: None, ["homeowner"], paper)
    sheet = Printed(tmp_path / "homeowner.pdf")
    assert len(sheet.sizes) == 2
    assert "…" not in sheet.text
    for name in NAMES.values():
        assert sheet.text.count(name) >= 2, name
    # The picture names both areas and both doors, in one line each.
    for name in NAMES["garden door"], NAMES["studio door"]:
        assert re.search(rf"From the {re.escape(name)} you step", sheet.text)
    for words, (wide, high) in zip(sheet.words, sheet.sizes, strict=True):
        assert not overlaps(words)
        assert all(0 < word["x0"] <= word["x1"] < wide for word in words)
        assert all(0 < word["top"] <= word["bottom"] < high for word in words)


def test_no_page_is_half_empty(tmp_path):
    """Two areas in metres, of which the second page once held a line: both are used to the foot."""
    for path in (LARCH_LANE, sample_sites.path("side-walkway")):
        plan = grading.plan(grading.read_site(path))
        folder = tmp_path / path.name
        write_sheets(plan, folder, lambda _: None, ["homeowner"])
        sheet = Printed(folder / "homeowner.pdf")
        assert len(sheet.sizes) == 2
        for words, (_, high) in zip(sheet.words, sheet.sizes, strict=True):
            body = sorted({word["bottom"] for word in words if word["bottom"] < 0.94 * high})
            assert body[-1] > 0.8 * high
