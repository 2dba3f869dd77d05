"""Where a browser cannot draw in space: something stands there, and nothing is waited for."""

from __future__ import annotations

from drive.browser import browsing
from drive.paged import paged
from drive.served import Served, copied


def test_without_pictures_in_space_a_cut_and_a_still_stand_there(tmp_path):
    site = copied("back-patio", tmp_path / "site")
    with (
        Served(site) as served,
        browsing("--disable-3d-apis") as browser,
        paged(browser, served) as page,
    ):
        page.locator("#tabs button[data-view=model]").click()
        pictures = page.locator(".model-flat img")
        pictures.first.wait_for()
        words = page.locator(".model-flat").inner_text()
        assert "cannot draw the model in space" in words
        assert "Building" not in words
        sizes = pictures.evaluate_all(
            """async (all) => {
                await Promise.all(all.map((each) => each.decode()));
                const name = (each) => each.src.split("?")[0].split("/").pop();
                return all.map((each) => [name(each), each.naturalWidth]);
            }"""
        )
        assert dict(sizes).keys() >= {"patio-cut.svg"}
        assert all(width > 300 for _, width in sizes)
        told = page.request.get(pictures.first.evaluate("each => each.src")).text()
        for layer in ("1  paver: 2 3/8 in", "2  panel: 3/4 in"):
            assert layer in told
        # The numbers are there all the same.
        assert page.locator("#tally .figure").count() >= 4
