"""A page of `fallaway open` in Debian's chromium: offline, and every fault in its console told."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from drive.browser import GIVEN_UP, STILL, windowed
from drive.served import Served
from playwright.sync_api import Browser, BrowserContext, Page, Route

SIZES = {"phone": (390, 844), "desk": (1440, 900)}
AXE = Path(__file__).parents[1] / "vendored" / "axe.min.js"
"""axe-core 4.14.1, MPL-2.0, https://github.com/dequelabs/axe-core: the outside judge of whether
everybody can use a page. https://www.w3.org/TR/WCAG22/"""


@contextmanager
def paged(
    browser: Browser, served: Served, size: tuple[int, int] = SIZES["desk"], **options: Any
) -> Iterator[Page]:
    """Give the page of a site in a window of its own, ready to be worked on; nothing moves in it.

    What it asks of another machine, and what its console calls an error, fails the test.
    """
    context = windowed(browser, size, accept_downloads=True, **(STILL | options))
    faults = watched(context, served)
    page = context.new_page()
    page.set_default_timeout(GIVEN_UP)
    page.on("pageerror", lambda error: faults.append(f"error: {error}"))
    page.on(
        "console",
        lambda said: faults.append(f"console: {said.text}") if said.type == "error" else None,
    )
    page.goto(served.address)
    ready(page)
    yield page
    context.close()
    assert not faults, faults


def watched(context: BrowserContext, served: Served) -> list[str]:
    """Let a window ask nothing but its server; return what it asked beside."""
    faults: list[str] = []

    def route(route: Route) -> None:
        if route.request.url.startswith((served.home, "data:", "blob:")):
            route.continue_()
        else:
            faults.append(f"asked {route.request.url}")
            route.abort()

    context.route("**/*", route)
    return faults


def ready(page: Page) -> None:
    """Wait until a page shows the whole of a plan, or what keeps it from one."""
    page.locator("html[data-ready]").wait_for(state="attached")


def settled(page: Page) -> None:
    """Wait until nothing is being worked out any more."""
    page.locator("html:not(.working)[data-ready]").wait_for(state="attached")


def opened(page: Page, key: str) -> None:
    """Open a step of the job sheet."""
    page.locator(f"li[data-key={key}] button.line").click()
    page.locator(f"li[data-key={key}].open .blocks > *").first.wait_for()
    settled(page)


def wrong_for_somebody(page: Page) -> list[str]:
    """Return what axe finds serious or critical."""
    page.evaluate(AXE.read_text(encoding="utf-8"))
    found = page.evaluate("() => axe.run(document, {resultTypes: ['violations']})")
    return [
        f"{each['impact']} {each['id']}: {node['html'][:200]} {node['failureSummary'][:300]}"
        for each in found["violations"]
        if each["impact"] in ("serious", "critical")
        for node in each["nodes"]
    ]


def beyond_the_edge(page: Page) -> list[str]:
    """Return what lies beyond the right edge of the window, or makes the page wider than it."""
    return page.evaluate(
        """() => {
            const wide = document.documentElement.scrollWidth - innerWidth;
            const found = wide > 0 ? [`the page is ${wide} px too wide`] : [];
            for (const each of document.querySelectorAll("button, input, p, h1, h2, h3, a")) {
                const box = each.getBoundingClientRect();
                if (!box.width || each.closest(".wide, .unseen, svg, [data-scrolls]")) continue;
                if (box.right > innerWidth + 1 || box.left < -1) {
                    const words = each.textContent.slice(0, 40);
                    found.push(`${each.tagName} ${words} ${box.left} ${box.right}`);
                }
            }
            return found;
        }"""
    )


def too_small(page: Page) -> list[str]:
    """Return what is to be pressed and is smaller than a thumb: 44 px."""
    return page.evaluate(
        """() => [...document.querySelectorAll("button, summary, input, select, a")]
            .filter((each) => {
                const box = each.getBoundingClientRect();
                return box.width && (box.height < 43.5 || box.width < 43.5);
            })
            .map((each) => `${each.tagName} ${each.textContent.slice(0, 40)} ${each.className}`)"""
    )
