"""The section in a browser: moved by keys, bases chosen at a place, saved, and whole on a phone."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from drive.browser import browsing
from drive.paged import SIZES, beyond_the_edge, opened, paged, settled, wrong_for_somebody
from drive.served import Served
from make.plans.looked_at import copied
from playwright.sync_api import expect


@pytest.fixture(scope="module")
def browser():
    with browsing() as made:
        yield made


@pytest.fixture
def site(tmp_path):
    return copied("back-patio", tmp_path)


def test_the_line_is_moved_by_keys_and_the_picture_is_saved_whole(site, browser, tmp_path):
    with Served(site) as served, paged(browser, served) as page:
        page.locator("#tabs button[data-view=section]").click()
        picture = page.locator(".section-frame svg")
        picture.wait_for()
        first = picture.get_attribute("aria-label")
        assert "Section through patio" in first
        page.locator(".section-frame").focus()
        page.keyboard.press("Shift+ArrowLeft")
        page.keyboard.press("Shift+ArrowLeft")
        expect(picture).not_to_have_attribute("aria-label", first)
        assert page.evaluate("document.activeElement.className") == "section-frame"
        with page.expect_download() as download:
            page.get_by_role("button", name="Save the picture").click()
        file = tmp_path / "saved.svg"
        download.value.save_as(file)
        drawn = ElementTree.parse(file).getroot()
        patterns = {each.get("id") for each in drawn.iter("{http://www.w3.org/2000/svg}pattern")}
        used = set(re.findall(r"url\(#([^)]+)\)", file.read_text(encoding="utf-8")))
        assert used - {"cut-window"} <= patterns
        assert "class=" not in file.read_text(encoding="utf-8")


@pytest.mark.long
def test_a_base_is_chosen_beside_the_others(site, browser):
    with Served(site) as served, paged(browser, served) as page:
        page.locator("#tabs button[data-view=section]").click()
        page.get_by_role("button", name="Bases side by side").click()
        page.get_by_role("button", name="Plan on stone with fines").click()
        planned = page.locator(".base-planned h3")
        expect(planned).to_have_text("Stone with fines")
        settled(page)
        assert 'base      = "dense"' in re.sub(
            r"base\s+=", "base      =", _saved(page, site, "dense")
        )
        page.locator("#undo").click()
        expect(planned).to_have_text("Panels")


def _saved(page, site, word):
    """Wait until a word stands in the site file that is saved."""
    expect(page.locator("#saved")).to_have_text(re.compile(r"^saved"))
    text = (site / "site.toml").read_text(encoding="utf-8")
    assert f'"{word}"' in text
    return text


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
def test_every_layer_is_told_in_words_at_every_size_and_nothing_lies_beyond_the_edge(
    site, browser, size
):
    with Served(site) as served, paged(browser, served, SIZES[size]) as page:
        page.locator("#tabs button[data-view=section]").click()
        page.locator(".section-frame svg").wait_for()
        text = page.locator("#section").inner_text()
        for words in ("paver 2 3/8 in", "panel 3/4 in", "bedding 1 in", "existing ground"):
            assert words in text
        assert "times as large as lengths" in text
        assert not beyond_the_edge(page)
        page.get_by_role("button", name="Bases side by side").click()
        tops = page.locator(".base > svg")
        tops.first.wait_for()
        boxes = [tops.nth(k).bounding_box()["y"] for k in range(tops.count())]
        assert max(boxes) - min(boxes) < 1.0
        assert not beyond_the_edge(page)
        assert not wrong_for_somebody(page)


def test_a_conflict_is_ended_by_its_button_and_undone_by_its_name(site, browser):
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "finish")
        page.locator("summary", has_text="Sill and steps at back door").click()
        page.locator("#at-door-0-sill").fill("99")
        page.keyboard.press("Enter")
        offer = page.locator("#problems .offer").first
        offer.wait_for()
        assert "Tried:" in offer.inner_text()
        offer.locator("button").click()
        expect(page.locator("#problems")).to_be_hidden()
        expect(page.locator("#undo")).to_contain_text("what was asked of")
        line = page.locator("li[data-key=finish] button.line")
        expect(line).not_to_contain_text("fails")
        expect(line).to_contain_text("falls")


@pytest.mark.long
def test_what_is_called_alike_of_two_areas_is_told_of_both(tmp_path, browser):
    with Served(copied("garden-court", tmp_path)) as served, paged(browser, served) as page:
        opened(page, "base")
        step = page.locator("li[data-key=base]")
        for words in ("All that is said of each base", "Why: what fills the joints"):
            expect(step.locator("summary", has_text=words)).to_have_count(2)
        # So many cuts are picked from a list: as buttons they would leave the picture no room.
        page.locator("#tabs button[data-view=section]").click()
        cuts = page.get_by_label("Where it is cut")
        cuts.select_option(label="studio path: along its longer side")
        expect(page.locator(".section-frame svg")).to_have_attribute(
            "aria-label", re.compile("Section through studio path")
        )
        told = cuts.evaluate("(each) => each.selectedOptions[0].textContent")
        assert told == "studio path: along its longer side"
