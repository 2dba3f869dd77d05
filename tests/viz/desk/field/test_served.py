"""The trench in the page that is served: what is booked there is on the disk by its answer."""

import pytest
from drive.browser import browsing, needs_browser
from drive.served import Served, copied
from drive.trenched import Opened
from playwright.sync_api import expect

from viz.desk.field.kept_shots import booked_of

pytestmark = needs_browser


@pytest.fixture
def site(tmp_path):
    return copied("back-patio", tmp_path / "site")


@pytest.fixture(scope="module")
def chromium():
    with browsing() as found:
        yield found


def opened(chromium, served, wrong):
    """Return a page at the step that sets out."""
    page = chromium.new_context(viewport={"width": 1440, "height": 900}).new_page()
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.goto(served.address)
    page.locator('li[data-key="setout"] button.line').click()
    page.locator(".trench[data-ready]").wait_for()
    return page


def book(page, reading, count):
    page.get_by_role("textbox", name="Reading").fill(reading)
    page.locator("[data-key=keep]").click()
    page.locator(f'.trench[data-stored="{count}"]').wait_for()


def test_shots_are_kept_beside_the_site_and_are_there_after_the_worst(chromium, site):
    wrong = []
    with Served(site) as served:
        page = opened(chromium, served, wrong)
        page.locator('[data-key="choice back door"]').click()
        page.get_by_role("textbox", name="Reading").fill("3 2 1/2")
        page.get_by_role("button", name="Set it up here").click()
        page.locator('.trench[data-stored="1"]').wait_for()
        page.locator("[data-key=shot]").click()
        book(page, "4 3 1/2", 2)
        book(page, "4 2", 3)
        served.kill()
        assert [shot["stake"] for shot in booked_of(site).shots] == ["a", "b"]
    with Served(site) as served:
        page = opened(chromium, served, wrong)
        page.locator("[data-key=list]").click()
        rows = page.locator(".tr-line").all_inner_texts()
        assert rows[0].split("\n")[-1].startswith("4 3 1/2, ")
        assert rows[1].split("\n")[-1].startswith("4 2, ")
        page.locator('li[data-key="built"] button.line').click()
        page.locator(".built-map").wait_for()
        assert "2 shots" in page.locator('li[data-key="built"]').inner_text()
        # The instrument moves while the shots are looked at: where stakes are set out it has, too.
        page.locator(".trench [data-key=moved]").click()
        page.locator('[data-key="choice back door"]').click()
        page.get_by_role("textbox", name="Reading").fill("4 0")
        page.get_by_role("button", name="Set it up here").click()
        page.locator('.trench[data-stored="1"]').wait_for()
        height = page.locator(".tr-head strong").inner_text()
        page.locator('li[data-key="setout"] button.line').click()
        expect(page.locator(".tr-head strong")).to_have_text(height)
        page.locator("summary", has_text="Rods of every stake, as the instrument stands").click()
        page.get_by_role("button", name="Tell the rods").click()
        page.get_by_text("Rods today").wait_for()
    assert wrong == []


@pytest.mark.long
def test_two_windows_book_beside_each_other(chromium, site):
    wrong = []
    with Served(site) as served:
        one = opened(chromium, served, wrong)
        one.locator('[data-key="choice back door"]').click()
        one.get_by_role("textbox", name="Reading").fill("3 2 1/2")
        one.get_by_role("button", name="Set it up here").click()
        one.locator('.trench[data-stored="1"]').wait_for()
        two = opened(chromium, served, wrong)
        two.locator("[data-key=next]").click()
        for page in (one, two):
            page.locator("[data-key=shot]").click()
        book(one, "4 3 1/2", 2)
        book(two, "4 2", 1)
        assert {shot["reading"] for shot in booked_of(site).shots} == {"4 3 1/2", "4 2"}
    assert wrong == []


@pytest.mark.long
def test_it_fills_the_screen_and_gives_the_page_back(chromium, site):
    wrong = []
    with Served(site) as served:
        page = opened(chromium, served, wrong)
        page.locator('[data-key="back"]').click()
        page.locator('[data-key="fill"]').click()
        box = page.locator(".trench.tr-wide").bounding_box()
        assert (box["x"], box["y"], box["width"], box["height"]) == (0, 0, 1440, 900)
        # Nothing behind it is reached by the keyboard.
        for _ in range(40):
            page.keyboard.press("Tab")
            assert page.evaluate(
                "document.activeElement === document.body || "
                "document.querySelector('.trench').contains(document.activeElement)"
            )
        page.locator('[data-key="next"]').focus()
        page.keyboard.press("Escape")
        page.locator(".trench:not(.tr-wide)").wait_for()
        assert page.locator("[inert]").count() == 0
        page.locator('li[data-key="built"] button.line').click()
        page.locator('li[data-key="built"] .trench').wait_for()
    assert wrong == []


@pytest.mark.long
def test_the_file_is_taken_away_from_the_page_and_works_from_the_disk(chromium, site, tmp_path):
    wrong = []
    with Served(site) as served:
        page = opened(chromium, served, wrong)
        page.locator("[data-key=back]").click()
        with page.expect_download() as saved:
            page.locator("[data-key=away]").click()
        assert saved.value.suggested_filename == "take-away.html"
        saved.value.save_as(tmp_path / "take-away.html")
        # Nobody without the key of the page is given it.
        stranger = chromium.new_context().new_page()
        assert stranger.request.get(f"{served.home}/take-away.html").status == 403
    made = Opened(chromium, tmp_path / "take-away.html", (390, 844))
    made.ready()
    made.set_up("back door", "3 2 1/2")
    assert "revision" in (tmp_path / "take-away.html").read_text()
    assert made.page.locator(".tr-big .tr-heard").inner_text() == "4' 3 15/16\""
    made.context.close()
    assert wrong == made.wrong == []
