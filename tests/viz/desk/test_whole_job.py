"""The whole job in a browser, from an empty page to the homeowner's paper: mouse, touch, keys."""

import io
import json
import re
import subprocess
import sys
from fractions import Fraction

import pdfplumber
import pytest
from drive.browser import browsing
from drive.paged import SIZES, paged, settled
from drive.served import ROOT, Served
from playwright.sync_api import Locator, Page, expect

from viz.opening import begin

SPOTS = [
    (x, y, round(99.4 - 0.02 * y + 0.005 * x, 2))
    for x in (-2, 4, 10, 16, 22, 28, 34)
    for y in (0, 5, 10, 16, 23)
    if not (x > 25 and y < 9)
]
"""A lawn that falls from the house, a shot every few feet. Invented."""


@pytest.fixture(scope="module")
def browser():
    with browsing() as found:
        yield found


class Hands:
    """How a page is worked: by a mouse, by a finger, or by keys alone."""

    def __init__(self, page: Page, how: str) -> None:
        self.page, self.how = page, how

    def press(self, what: Locator) -> None:
        """Press something."""
        if self.how == "mouse":
            what.click()
        elif self.how == "touch":
            # Brought there at once: it may be drawn anew while a view still scrolls.
            what.evaluate("each => each.scrollIntoView({ block: 'center' })")
            what.tap()
        else:
            self.reach(what)
            self.page.keyboard.press("Enter")

    def reach(self, what: Locator) -> None:
        """Go on with the key Tab until something has the keys."""
        what.wait_for()
        for _ in range(400):
            if what.evaluate("each => each === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"the keyboard does not reach {what}")

    def write(self, what: Locator, words: str) -> None:
        """Write into a field."""
        if self.how == "keys":
            self.reach(what)
            self.page.keyboard.press("Control+A")
        else:
            self.press(what)
            what.fill("")
        self.page.keyboard.type(words)

    def open(self, key: str) -> None:
        """Open a step of the sheet."""
        self.press(self.page.locator(f"li[data-key={key}] button.line"))
        self.page.locator(f"li[data-key={key}].open > .blocks > *").first.wait_for()
        settled(self.page)
        if key not in ("yard", "ground"):
            self.page.locator("html:not(.so-far)").wait_for(state="attached")


def button(where: Locator, name: str) -> Locator:
    return where.get_by_role("button", name=name, exact=True)


def placed(hands: Hands, x: str, y: str) -> None:
    """Give a place of a tool as it is typed."""
    plan = hands.page.locator("#plan")
    fold = plan.locator("details:visible", has_text="type its place")
    if fold.count() and not fold.evaluate("each => each.open"):
        hands.press(fold.locator("summary"))
    for name, words in (("x", x), ("y", y)):
        hands.write(fold.get_by_label(name, exact=True), words)
    hands.press(button(fold, "Add"))


def edge(hands: Hands, length: str, way: str) -> None:
    """Give an edge of a tool by its length and the way that it goes."""
    plan = hands.page.locator("#plan")
    onward = plan.locator("select:visible")
    if hands.how == "keys":
        hands.reach(onward)
        hands.page.keyboard.press("Home")
        names = onward.locator("option").all_inner_texts()
        for _ in range(names.index(way)):
            hands.page.keyboard.press("ArrowDown")
    else:
        onward.select_option(label=way)
    expect(onward.locator("option:checked")).to_have_text(way)
    long = plan.get_by_label("Length of the next edge")
    hands.write(long, length)
    hands.press(button(plan, "Add"))
    expect(long).to_have_value("")


def saved(page: Page) -> None:
    """Wait until the files hold what the page shows."""
    expect(page.locator("#saved")).to_have_text(re.compile("^saved"))


def drawn(hands: Hands) -> None:
    """Draw the house, a door in it and the paving, by their sizes."""
    sheet, plan = hands.page.locator("#sheet"), hands.page.locator("#plan")
    hands.press(button(sheet, "Draw the house walls"))
    placed(hands, "34", "0")
    for length, way in (("34'", "to the right"), ("9'", "turn right"), ("8 ft", "turn left")):
        edge(hands, length, way)
    hands.press(button(plan, "Done"))
    settled(hands.page)
    hands.press(button(sheet, "Place a door"))
    placed(hands, "15", "0")
    hands.write(plan.get_by_label(re.compile("is called|name", re.I)).first, "back door")
    hands.write(plan.get_by_label("Level of the top of its sill"), "100' 0\"")
    hands.press(button(plan, "Done"))
    settled(hands.page)
    hands.press(button(sheet, "Draw the outline of the paving"))
    placed(hands, "22", "0")
    for length, way in (("20'", "to the right"), ("14'", "turn right"), ("20'", "turn right")):
        edge(hands, length, way)
    hands.press(button(plan, "Done"))
    settled(hands.page)


def measured(hands: Hands) -> None:
    """Paste the survey into the grid."""
    hands.open("ground")
    first = hands.page.get_by_role("grid", name="Spots", exact=True).locator("input").first
    hands.reach(first) if hands.how == "keys" else first.focus()
    words = "\n".join("\t".join(map(str, row)) for row in SPOTS)
    hands.page.evaluate(
        """(words) => {
            const data = new DataTransfer();
            data.setData("text/plain", words);
            document.activeElement.dispatchEvent(new ClipboardEvent("paste",
                {clipboardData: data, bubbles: true, cancelable: true}));
        }""",
        words,
    )
    expect(hands.page.locator("li[data-key=ground] .answer")).to_have_text(
        re.compile(f"{len(SPOTS)} spots")
    )
    hands.page.keyboard.press("Escape")  # out of the table
    hands.write(hands.page.get_by_label("Topsoil and roots to strip"), "2 in")
    hands.page.keyboard.press("Enter")
    settled(hands.page)


def chosen(hands: Hands) -> None:
    """Turn the fall, where a wall is in the way take what is offered, and choose a base."""
    page = hands.page
    hands.open("finish")
    hands.press(
        page.locator("#sheet").get_by_role("button", name=re.compile("^straight out")).first
    )
    settled(page)
    problems = page.locator("#problems")
    expect(problems).to_contain_text("no finish plane has all of these together")
    hands.press(problems.locator(".offer button").first)
    expect(problems).to_be_hidden()
    settled(page)
    hands.open("base")
    panels = page.locator("li[data-key=base] .choice").get_by_role(
        "button", name=re.compile(r"^(✓ )?Panels")
    )
    hands.press(panels)
    expect(panels).to_have_attribute("aria-pressed", "true")
    settled(page)


def papered(hands: Hands) -> str:
    """Make the homeowner's paper, and return its text."""
    page = hands.page
    hands.open("papers")
    hands.press(page.get_by_role("button", name="The homeowner's paper"))
    link = page.get_by_role("link", name="homeowner.pdf")
    link.wait_for()
    data = page.request.get(link.evaluate("each => each.href")).body()
    assert data.startswith(b"%PDF")
    with pdfplumber.open(io.BytesIO(data)) as paper:
        return "\n".join(sheet.extract_text() for sheet in paper.pages)


@pytest.mark.parametrize(
    "how", ["keys", *(pytest.param(each, marks=pytest.mark.long) for each in ("mouse", "touch"))]
)
def test_from_an_empty_page_to_the_homeowners_paper(browser, tmp_path, how):
    folder = begin(tmp_path, "Tern Street 9")
    window = SIZES["phone" if how == "touch" else "desk"]
    with Served(folder) as served, paged(browser, served, window, has_touch=how == "touch") as page:
        hands = Hands(page, how)
        drawn(hands)
        measured(hands)
        chosen(hands)
        words = papered(hands)
        page.locator("html:not(.so-far)").wait_for(state="attached")
        figures = page.locator("#tally .value").all_inner_texts()
        saved(page)
    command = [sys.executable, "-m", "viz.cli", "plan", str(folder), "--json"]
    told = json.loads(subprocess.run(command, capture_output=True, cwd=ROOT, check=False).stdout)
    job, (area,) = told["answer"]["whole_job"], told["areas"]
    assert area["base"] == "panel"
    assert figures[0] == f"{job['cut'] / 0.9144**3:.1f} yd³"
    assert figures[1] == str(job["trips"])
    # Nobody gave prices: the days stand where money would.
    assert float(sum(map(Fraction, figures[2].split()))) == told["cost"]["days"]["mean"]
    least = min(wall["fall_away"] for wall in area["walls"])
    assert figures[3] == f"{100 * least:.1f} %"
    assert "Tern Street 9" in words
