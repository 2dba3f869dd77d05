"""What hands do on the plan of the page, for tests in a real browser."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from drive.browser import browsing
from drive.paged import SIZES, paged
from drive.served import Served
from playwright.sync_api import Page


@contextmanager
def planned(
    folder: Path, size: tuple[int, int] = SIZES["desk"], whole: bool = True, **options: Any
) -> Iterator[Page]:
    """Serve a site, and give its page with the plan in view; not `whole` where none can be made."""
    with (
        Served(folder) as served,
        browsing() as browser,
        paged(browser, served, size, **options) as page,
    ):
        page.locator(".plan[data-ready]").wait_for()
        if whole:
            still(page)
        yield page


def still(page: Page) -> None:
    """Wait until all that was asked is answered and shown."""
    page.locator("html:not(.so-far):not(.working) .plan:not(.working)").wait_for()
    drawn(page)


def drawn(page: Page) -> None:
    """Wait until what is due is drawn."""
    page.evaluate(
        "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
    )


def middle_of(page: Page, key: str) -> tuple[float, float]:
    """Return where a handle of the plan is on the screen. [pixels]"""
    box = page.locator(f'[data-key="{key}"]').bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def begin(page: Page, name: str, told: dict[str, Any] | None = None) -> None:
    """Begin a way of drawing, as a button of the sheet does."""
    page.evaluate(
        """async ([name, told]) =>
            (await import("/web/live.js")).desk._tell({ tool: { name, with: told } })""",
        [name, told or {}],
    )
    page.locator(".plan-bar").wait_for()


def words_drawn(page: Page) -> list[tuple[str, float, float, float, float]]:
    """Return the words on the plan, each with its box: left, top, right, bottom. [pixels]"""
    found = page.evaluate(
        """() => [...document.querySelectorAll(".plan-picture .words text")].map((each) => {
            const box = each.getBoundingClientRect();
            return [each.textContent, box.left, box.top, box.right, box.bottom];
        })"""
    )
    return [tuple(each) for each in found]
