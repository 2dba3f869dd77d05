"""Spots typed, readings booked and files brought in, in a real browser that is offline."""

import re
import tomllib

import pytest
from drive.browser import browsing
from drive.paged import (
    SIZES,
    beyond_the_edge,
    opened,
    paged,
    settled,
    too_small,
    wrong_for_somebody,
)
from drive.patience import until
from drive.served import Served, copied
from make.plans.measured_in import new_site
from playwright.sync_api import expect

import grading


@pytest.fixture(scope="module")
def browser():
    with browsing() as found:
        yield found


def cell(page, column, line):
    grid = page.get_by_role("grid", name="Spots", exact=True)
    return grid.get_by_label(f"{column}, line {line}", exact=True)


def text(site, name):
    return (site / name).read_text()


def paste(page, words):
    """Paste a text where the cursor is, as a spreadsheet puts it on the clipboard."""
    page.evaluate(
        """(words) => {
            const data = new DataTransfer();
            data.setData("text/plain", words);
            document.activeElement.dispatchEvent(new ClipboardEvent("paste",
                {clipboardData: data, bubbles: true, cancelable: true}));
        }""",
        words,
    )


def answer(page):
    return page.locator("li[data-key=ground] .answer")


def test_a_level_is_typed_with_the_keyboard_alone_and_remarks_stay(browser, tmp_path):
    site = copied("back-patio", tmp_path / "site")
    before = text(site, "spots.csv").splitlines()
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "ground")
        cell(page, "x", 4).focus()
        page.keyboard.press("Tab")
        page.keyboard.press("Tab")
        expect(cell(page, "z", 4)).to_be_focused()
        page.keyboard.type("99q")
        page.keyboard.press("Enter")
        expect(cell(page, "x", 5)).to_be_focused()  # where the run of tabs began
        expect(cell(page, "z", 4)).to_have_attribute("aria-invalid", "true")
        expect(page.locator(".grid-sentence").first).to_have_text(
            re.compile('spots.csv, line 4, column z: found "99q", expected a length')
        )
        expect(answer(page)).to_have_text("55 spots, all fit")  # the row that was read last stays
        page.keyboard.press("ArrowUp")
        for _ in range(2):
            page.keyboard.press("ArrowRight")
        page.keyboard.type("99' 2 1/2\"")
        page.keyboard.press("ArrowDown")
        expect(cell(page, "z", 5)).to_be_focused()
        expect(cell(page, "z", 4)).to_have_attribute("aria-invalid", "false")
        expect(page.locator("#undo")).to_have_text(re.compile("Undo spot in line 4"))
        page.keyboard.press("Escape")
        expect(page.get_by_role("button", name="Add a row").first).to_be_focused()
        until(lambda: "99' 2 1/2" in text(site, "spots.csv"))
        after = text(site, "spots.csv").splitlines()
        assert after[3] == "-5.0,0.0,99' 2 1/2\",1,wall,"
        assert before[:3] + before[4:] == after[:3] + after[4:]
        page.locator("#undo").click()
        expect(cell(page, "z", 4)).to_have_value("99.22")
        until(lambda: text(site, "spots.csv").splitlines() == before)


@pytest.mark.long
def test_what_is_being_typed_is_not_lost_when_the_page_is_drawn_anew(browser, tmp_path):
    site = copied("back-patio", tmp_path / "site")
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "ground")
        cell(page, "z", 6).focus()
        page.keyboard.type("99.36")
        page.keyboard.press("Enter")
        page.keyboard.type("99.4")  # while the last one is still being planned
        expect(page.locator("#undo")).to_have_text(re.compile("line 6"))
        settled(page)
        expect(cell(page, "z", 7)).to_be_focused()
        expect(cell(page, "z", 7)).to_have_value("99.4")
        page.keyboard.type("2")
        page.keyboard.press("Enter")
        until(lambda: "6.9,0.0,99.42,4" in text(site, "spots.csv"))


def test_an_empty_yard_is_begun_by_a_pasted_block(browser, tmp_path):
    site = new_site(tmp_path / "new")
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "ground")
        page.get_by_text("Type spots into a table").click()
        cell(page, "x", 2).focus()
        paste(page, "Northing\tEasting\tElev\tDesc\n0\t0\t100\tlawn\n0\t20\t99.9\tlawn\n"
                    "15\t20\t99' 3\"\tlawn\n15\t0\t99.3\tlawn\n")  # fmt: skip
        expect(page.locator(".grid-words").first).to_have_text(
            "4 spots: x 0 to 20, y 0 to 15, levels 99.25 to 100 ft"
        )
        expect(answer(page)).to_have_text("4 spots, too few to check one another")
        until(lambda: (site / "spots.csv").exists())
        assert text(site, "spots.csv").splitlines() == [
            "x,y,z,id,code,note", "0,0,100,,lawn,", "20,0,99.9,,lawn,", "20,15,99' 3\",,lawn,",
            "0,15,99.3,,lawn,",
        ]  # fmt: skip
        until(lambda: tomllib.loads(text(site, "site.toml")).get("spots") == "spots.csv")


@pytest.mark.long
def test_a_row_is_kept_once_it_is_whole(browser, tmp_path):
    site = copied("back-patio", tmp_path / "site")
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "ground")
        page.get_by_role("button", name="Add a row").first.click()
        expect(cell(page, "x", 59)).to_be_focused()
        page.keyboard.type("12")
        page.keyboard.press("Tab")
        page.keyboard.type("14")
        page.keyboard.press("Tab")
        expect(page.locator(".grid-waits").first).to_have_text("Line 59 is not kept as typed yet.")
        expect(page.locator(".grid-sentence").first).to_be_empty()  # it is still being typed
        page.keyboard.type("99.3")
        page.keyboard.press("Enter")
        expect(answer(page)).to_have_text("56 spots, all fit")
        until(lambda: text(site, "spots.csv").endswith("\n12,14,99.3,,,\n"))
        expect(cell(page, "x", 60)).to_be_focused()
        page.keyboard.press("ArrowUp")
        page.get_by_role("button", name="Take out line 59").click()
        expect(answer(page)).to_have_text("55 spots, all fit")


def test_what_cannot_be_read_stays_in_its_row_when_another_is_taken_back(browser, tmp_path):
    site = copied("back-patio", tmp_path / "site")
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "ground")
        cell(page, "z", 5).focus()
        page.keyboard.type("99q")
        page.keyboard.press("Enter")
        page.keyboard.type("99.38")
        page.keyboard.press("Enter")
        expect(page.locator("#undo")).to_have_text(re.compile("line 6"))
        page.locator("#undo").click()
        expect(cell(page, "z", 6)).to_have_value("99.37")
        expect(cell(page, "z", 5)).to_have_value("99q")
        expect(page.locator(".grid-waits").first).to_have_text("Line 5 is not kept as typed yet.")
        cell(page, "z", 5).focus()
        page.keyboard.type("99.31")
        page.keyboard.press("Enter")
        until(lambda: "-0.5,0.0,99.31,2,wall," in text(site, "spots.csv"))
        assert len(text(site, "spots.csv").splitlines()) == 58


@pytest.mark.long
def test_only_rows_in_view_are_in_the_page(browser, tmp_path):
    rows = "".join(f"{k % 40},{k // 40},{99 + (k % 7) / 100}\n" for k in range(1500))
    site = new_site(tmp_path / "new", site='name = "Long"\nunit = "ft"\nspots = "spots.csv"\n',
                    spots=f"x,y,z\n{rows}")  # fmt: skip
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "ground")
        expect(cell(page, "x", 2)).to_be_visible()
        assert page.locator(".grid-body .grid-row").count() < 60
        page.locator(".grid-box").first.evaluate("box => box.scrollTop = box.scrollHeight")
        expect(cell(page, "x", 1501)).to_have_value("19")
        assert page.locator(".grid-body .grid-row").count() < 60
        cell(page, "z", 1501).focus()
        page.keyboard.type("99.5")
        page.keyboard.press("Enter")
        until(lambda: text(site, "spots.csv").endswith("19,37,99.5\n"))


def book(page, feet, inches, part="", point=None, **place):
    entry = page.locator("form.entry")
    kept = int(page.locator(".book").get_attribute("data-kept") or 0)
    if point is not None:
        entry.get_by_label("Point", exact=True).fill(point)
    entry.get_by_label("Rod reads: feet").fill(feet)
    entry.get_by_label("inches", exact=True).fill(inches)
    if part:
        entry.locator(f'button[data-part="{part}"]').tap()
    for label, value in place.items():
        entry.get_by_label(f"{label} (ft)", exact=True).fill(value)
    entry.locator("button[type=submit]").tap()
    page.locator(f'.book[data-kept="{kept + 1}"]').wait_for()


def test_a_yard_is_booked_by_the_rod_on_a_phone(browser, tmp_path):
    site = new_site(tmp_path / "new")
    phone = {"has_touch": True, "is_mobile": True}
    with Served(site) as served, paged(browser, served, SIZES["phone"], **phone) as page:
        opened(page, "ground")
        page.get_by_text("Book rod readings").tap()
        page.get_by_label("Benchmark: the point the levels begin at").fill("sill")
        page.get_by_role("button", name="Begin the book").tap()
        expect(page.get_by_text("Say the elevation of sill.")).to_be_visible()
        page.get_by_label("Its elevation (ft)").fill("100.00")
        page.get_by_role("button", name="Begin the book").tap()
        book(page, "4", "3", "1/4")
        expect(page.locator(".book-result")).to_have_text("sill: the instrument is at 104.271")
        page.locator('.entry [data-way="xy"]').tap()
        corners = [("0", "10"), ("12", "10"), ("12", "22"), ("0", "22"), ("6", "16")]
        for number, (x, y) in enumerate(corners):
            book(page, "4", str(6 + number // 2), "1/8", x=x, y=y)
        expect(page.locator(".book-result")).to_have_text("5 is at 99.594")
        entry = page.locator("form.entry")
        entry.locator('[data-kind="foresight"]').tap()
        entry.locator('[data-way="none"]').tap()
        book(page, "4", "3", "1/4", point="sill")
        expect(page.locator(".book-words")).to_contain_text("misclosure 0 in over 1 set-up")
        page.locator('.sight[data-line="3"]').tap()
        expect(entry.get_by_label("inches", exact=True)).to_have_value("6")
        entry.get_by_label("inches", exact=True).fill("14")
        entry.locator("button[type=submit]").tap()
        expect(entry.get_by_role("alert")).to_contain_text(
            "the inches after them are fewer than 12"
        )
        entry.get_by_label("inches", exact=True).fill("5")
        entry.locator("button[type=submit]").tap()
        expect(page.locator('.sight[data-line="3"] .sight-level')).to_have_text("99.844")
        until(lambda: (site / "levels.csv").exists() and "4 5 1/8" in text(site, "levels.csv"))
        assert text(site, "levels.csv").splitlines()[:3] == [
            "point,bs,is,fs,along,out,code,note,x,y",
            "sill,4 3 1/4,,,,,,,,",
            "1,,4 5 1/8,,,,,,0,10",
        ]
        written = tomllib.loads(text(site, "site.toml"))
        assert written["levels"] == [{"file": "levels.csv", "rod": "ft-in"}]
        assert written["benchmark"] == [{"name": "sill", "z": 100}]


@pytest.mark.long
def test_a_book_whose_beginning_is_taken_back_begins_anew(browser, tmp_path):
    site = new_site(tmp_path / "new")
    with Served(site) as served, paged(browser, served, has_touch=True) as page:
        opened(page, "ground")
        page.get_by_text("Book rod readings").tap()
        page.get_by_label("Benchmark: the point the levels begin at").fill("sill")
        page.get_by_label("Its elevation (ft)").fill("100.00")
        page.get_by_role("button", name="Begin the book").tap()
        book(page, "4", "3", "1/4")
        until(lambda: (site / "levels.csv").exists())
        page.locator("#undo").click()
        expect(answer(page)).to_have_text("nothing measured yet")
        until(lambda: not (site / "levels.csv").exists())
        expect(page.get_by_role("button", name="Begin the book")).to_be_visible()
        expect(page.locator(".sight")).to_have_count(0)


@pytest.mark.long
def test_a_book_goes_on_where_it_ended(browser, tmp_path):
    site = copied("booked-yard", tmp_path / "site")
    before = text(site, "levels.csv").splitlines()
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "ground")
        expect(page.locator(".sight")).to_have_count(len(before) - 4)
        page.locator('.sight[data-line="32"]').click()  # point 24, tied to three
        entry = page.locator("form.entry")
        expect(entry.get_by_label("To A", exact=True)).to_have_value("7' 3\"")
        entry.get_by_label("To A", exact=True).fill("9' 3\"")
        entry.get_by_role("button", name="Put it right").click()
        expect(page.locator(".book-words")).to_contain_text("24: one of these three ties")
        until(lambda: text(site, "levels.csv").splitlines() != before)
        after = text(site, "levels.csv").splitlines()
        assert [k for k, (a, b) in enumerate(zip(before, after, strict=True)) if a != b] == [31]
        assert after[31] == before[31].replace("7' 3\"", "9' 3\"")


@pytest.mark.long
def test_a_shot_is_settled_and_a_file_taken(browser, tmp_path):
    site = copied("back-patio", tmp_path / "site")
    spots = site / "spots.csv"
    spots.write_text(text(site, "spots.csv").replace("13.3,4.2,99.56,16", "13.3,4.2,98.56,16"))
    shots = tmp_path / "more shots.csv"
    shots.write_text("P,N,E,Z,D\nm1,25,12,98.6,lawn\nm2,24,16,98.6,lawn\nm3,22,21,98.7,lawn\n")
    with Served(site) as served, paged(browser, served) as page:
        opened(page, "ground")
        expect(answer(page)).to_have_text("55 spots, 1 stands out")
        page.get_by_label("Spot 16 reads now (level, ft)").fill("99.55")
        page.get_by_role("button", name="Take this level").click()
        expect(answer(page)).to_have_text("55 spots, all fit")
        page.get_by_text("Bring a file of points or a scan").click()
        page.locator(".bring").evaluate(
            """(each, text) => {
                const data = new DataTransfer();
                data.items.add(new File([text], "more shots.csv", { type: "text/csv" }));
                each.dispatchEvent(new DragEvent("drop",
                    { dataTransfer: data, bubbles: true, cancelable: true }));
            }""",
            text(tmp_path, shots.name),
        )
        page.get_by_role("button", name="feet", exact=True).click()
        expect(page.locator(".bring-said")).to_contain_text("3 spots: x 12 to 21, y 22 to 25")
        page.get_by_role("button", name="Take it beside spots.csv").click()
        expect(answer(page)).to_have_text(re.compile("58 spots"))
        until(lambda: (site / "more shots.csv").exists())
        until(lambda: "more shots.csv" in text(site, "site.toml"))
    read = grading.read_site(site)
    assert read.spots.xyz.shape == (58, 3)
    assert len(read.settled) == 1


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
@pytest.mark.parametrize("name", ["booked-yard", "new"])
def test_everybody_can_measure_a_yard(browser, tmp_path, size, name):
    site = new_site(tmp_path / "new") if name == "new" else copied(name, tmp_path / "site")
    with Served(site) as served, paged(browser, served, size) as page:
        opened(page, "ground")
        page.locator("li.open .blocks").first.evaluate(
            "each => each.querySelectorAll('details').forEach(fold => fold.open = true)"
        )
        page.locator(".grid-row input").first.wait_for()
        page.locator(".bring").wait_for()
        assert not wrong_for_somebody(page)
        assert not beyond_the_edge(page)
        assert not too_small(page)
