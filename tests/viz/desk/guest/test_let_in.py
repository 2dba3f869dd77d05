"""What the homeowner sees, and what one may do who was let in from the network."""

import re

import pytest
from drive.browser import browsing
from drive.paged import paged, settled, wrong_for_somebody
from drive.served import Served, conversed
from make.plans.looked_at import priced
from playwright.sync_api import expect

MONEY = re.compile(r"[$€£]\s?\d")


@pytest.fixture(scope="module")
def site(tmp_path_factory):
    return priced("raised-patio", tmp_path_factory.mktemp("shared"))


def told(line):
    """Return all words of the sheet and the line of five that a window was told."""
    state = line.state
    return str([state["steps"], state["open"], state["tally"]])


def test_the_homeowner_is_told_no_money_and_offered_no_change(site):
    async def talk(line):
        await line.ask(do="see", step="cost", view="plan")
        await line.until(lambda state: state.get("whole"))
        assert MONEY.search(told(line))
        for step in ("water", "steps", "edge", "base", "agreed", "settled"):
            await line.ask(do="see", who="home", prices=False, step=step, view="plan")
            assert line.state["open"]["key"] in (step, "water")
            assert not MONEY.search(told(line)), step
            kinds = {block["kind"] for block in line.state["open"]["blocks"]}
            assert kinds <= {"say", "head", "table", "tool"}
        await line.ask(do="see", who="crew", prices=True, step="cost")
        assert MONEY.search(told(line))

    with Served(site) as served:
        conversed(served, talk)


def test_what_the_homeowner_reads_is_what_their_paper_says(site):
    import grading
    from viz.paper.page import page_for
    from viz.sheets.head import Job
    from viz.sheets.homeowner.told import water_told

    plan = grading.plan(grading.read_site(site))
    said = water_told(Job(plan, plan.order, page_for(plan.site.unit, None, portrait=True)))

    async def talk(line):
        await line.until(lambda state: state.get("whole"))
        await line.ask(do="see", who="home", prices=False, step="water")
        blocks = line.state["open"]["blocks"]
        assert [each["text"] for each in blocks if each.get("tone") == "plain"] == said

    with Served(site) as served:
        conversed(served, talk)


def other_door(served):
    """Return the page as it is opened by the address for others on the network."""
    line = served.process.stdout.readline()
    address = line.rpartition(" ")[2].strip()
    shared = Served(served.folder)
    shared.address = address
    shared.home, _, shared.key = address.partition("/?key=")
    return shared


@pytest.mark.parametrize("rights", ["view", "field"])
def test_one_who_is_let_in_changes_nothing_and_sees_no_money(site, rights):
    before = {file: file.read_bytes() for file in site.iterdir() if file.is_file()}

    async def talk(line):
        await line.until(lambda state: state.get("rights") == rights)
        await line.ask(do="see", step="yard", view="plan")  # as every page begins
        assert line.state["open"]["blocks"]
        for asked in (
            {"do": "see", "who": "crew", "prices": True, "step": "cost"},
            {"do": "look", "who": "crew", "prices": True},
        ):
            await line.ask(**asked)
            assert line.state["who"] == {"view": "home", "field": "field"}[rights]
            assert not MONEY.search(told(line))
        for refused in (
            {"do": "set", "at": "name", "to": "Mine"}, {"do": "undo"}, {"do": "restore", "rev": 1},
            {"do": "file", "name": "spots.csv", "text": ""}, {"do": "make", "what": "crew"},
            {"do": "set", "at": "name", "to": "Mine", "live": True},
            {"do": "call", "name": "settle", "with": {}},
        ):  # fmt: skip
            assert (await line.ask(**refused))["is"] == "refused", refused

    with Served(site, "--share", rights) as served:
        conversed(other_door(served), talk)
    assert {file: file.read_bytes() for file in before} == before


def test_an_address_for_others_opens_one_browser(site):
    import asyncio

    import aiohttp

    async def opened(address):
        jar = aiohttp.CookieJar(unsafe=True)
        async with aiohttp.ClientSession(cookie_jar=jar) as own, own.get(address) as response:
            return response.status

    with Served(site, "--share", "view") as served:
        shared = other_door(served)
        assert asyncio.run(opened(shared.address)) == 200
        assert asyncio.run(opened(shared.address)) == 403
        assert asyncio.run(opened(served.address)) == 200


def test_the_sheet_is_turned_for_the_homeowner_and_back(site):
    with browsing() as browser, Served(site) as served, paged(browser, served) as page:
        page.locator("html:not(.so-far)[data-ready]").wait_for(state="attached")
        page.locator("#guest").click()
        expect(page.locator("#guest")).to_have_text("Back to the work")
        settled(page)
        expect(page.locator("#sheet")).not_to_contain_text("$")
        expect(page.locator("#tally")).not_to_contain_text("$")
        expect(page.locator("#sheet input")).to_have_count(0)
        expect(page.locator("#undo")).to_be_hidden()
        assert not wrong_for_somebody(page)
        page.locator("li[data-key=steps] button.line").click()
        page.locator("li[data-key=steps] table").wait_for()
        expect(page.get_by_role("button", name="Copy the table")).to_have_count(0)
        page.locator("#guest").click()
        expect(page.locator("li[data-key=yard]")).to_be_visible()
        expect(page.locator("#undo")).to_be_visible()
