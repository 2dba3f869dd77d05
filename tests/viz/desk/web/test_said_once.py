"""In a browser: a refusal is said once, beside what was typed; words of thin layers lie apart; very
long names stay within a narrow page."""

from __future__ import annotations

import re

import pytest
from drive.browser import browsing
from drive.paged import SIZES, beyond_the_edge, opened, paged
from drive.served import Served
from make.plans.looked_at import copied
from playwright.sync_api import expect

LONG = "walk past the Hausmannsgaertnereiverwaltungsgebaeudenebenhof"

OVERLAPS = """() => {
    const boxes = [...document.querySelectorAll(".base svg")].map((svg) =>
        [...svg.querySelectorAll("text")].map((each) => each.getBoundingClientRect()));
    const meet = (a, b) => a.left < b.right && b.left < a.right
        && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 4;
    return boxes.map((some) =>
        some.flatMap((a, k) => some.slice(k + 1).filter((b) => meet(a, b))).length);
}"""


@pytest.fixture(scope="module")
def browser():
    with browsing() as made:
        yield made


@pytest.mark.long
def test_a_refusal_is_said_once_and_words_of_layers_lie_apart(browser, tmp_path):
    with Served(copied("back-patio", tmp_path)) as served, paged(browser, served) as page:
        opened(page, "base")
        depth = page.locator('input[data-at="ground/organics"]')
        depth.fill("knee high")
        depth.press("Enter")
        wrong = page.locator(".field", has=depth).locator(".say.fails")
        expect(wrong).to_contain_text("knee high")
        expect(page.locator("#notice")).to_have_text("")
        depth.press("Escape")
        opened(page, "yard")
        page.get_by_role("button", name="Place a door").click()
        bar = page.locator(".plan-bar")
        bar.locator("summary", has_text="Or type its place").click()
        bar.locator('input[name="x"]').fill("14")
        bar.locator('input[name="y"]').fill("0")
        bar.get_by_role("button", name="Add").click()
        bar.locator('input[name="sill"]').fill("knee high")
        bar.get_by_role("button", name="Done").click()
        expect(bar.locator(".wrong")).to_contain_text("knee high")
        expect(page.locator("#notice")).to_have_text("")
        bar.get_by_role("button", name="Cancel").click()
        page.locator("#tabs button[data-view=section]").click()
        page.get_by_role("button", name="Bases side by side").click()
        page.locator(".base svg").first.wait_for()
        assert page.evaluate(OVERLAPS) == [0, 0, 0]


@pytest.mark.long
def test_what_was_refused_stays_with_its_sentence_until_it_is_mended(browser, tmp_path):
    """Another step and another field are no answer to it; Escape and a value that is right are."""
    with Served(copied("back-patio", tmp_path)) as served, paged(browser, served) as page:
        opened(page, "base")
        depth = page.locator('input[data-at="ground/organics"]')
        wrong = page.locator(".field", has=depth).locator(".say.fails")
        before = depth.input_value()
        depth.fill("3 inx")
        # Left without Enter.
        depth.blur()
        expect(wrong).to_contain_text("3 inx")
        for step in ("yard", "base"):
            opened(page, step)
        expect(depth).to_have_value("3 inx")
        expect(wrong).to_contain_text("3 inx")
        expect(depth).to_have_attribute("aria-invalid", "true")
        depth.press("Escape")
        expect(depth).to_have_value(before)
        expect(wrong).to_have_text("")
        depth.fill("knee high")
        depth.press("Enter")
        expect(wrong).to_contain_text("knee high")
        depth.fill("3 in")
        depth.press("Enter")
        expect(wrong).to_have_text("")
        for step in ("yard", "base"):
            opened(page, step)
        expect(depth).to_have_value("3 in")
        expect(wrong).to_have_text("")


@pytest.mark.long
def test_a_very_long_name_stays_within_a_narrow_page(browser, tmp_path):
    site = copied("back-patio", tmp_path)
    file = site / "site.toml"
    text = re.sub(r'(\[\[area\]\]\s+name\s*= )"[^"]+"', rf'\1"{LONG}"', file.read_text())
    file.write_text(re.sub(r'(\[\[door\]\]\s+name\s*= )"[^"]+"', rf'\1"{LONG}"', text, count=1))
    width, height = 360, SIZES["phone"][1]
    with Served(site) as served, paged(browser, served, (width, height)) as page:
        for step in ("yard", "finish", "setout"):
            opened(page, step)
            expect(page.locator(f"li[data-key={step}]")).to_contain_text(LONG)
            assert not beyond_the_edge(page)
