"""A real browser without a screen or a net, and a file from the disk opened in it.

It answers when it has done what it was asked, so nothing here waits for a time: a page is looked
at when it says that it is ready, and after a press when frames come out with nothing moved.
"""

from __future__ import annotations

import os
import shutil
import signal
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from drive.patience import PATIENCE
from playwright.sync_api import Browser, BrowserContext, expect, sync_playwright

CHROMIUM = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome", "chrome")
     if (found := shutil.which(name))),
    None,
)  # fmt: skip
FLAGS = [
    "--no-sandbox", "--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader",
    # Space is drawn in software; letters and boxes are drawn sooner without it.
    "--disable-gpu-rasterization", "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
]  # fmt: skip

TOUCH = "--blink-settings=primaryPointerType=2,availablePointerTypes=2"
"""Fingers alone point."""

STILL: dict[str, Any] = {"reduced_motion": "reduce"}
"""Nothing is drawn on its way: where nobody looks at that, it is half of what a browser does."""

GIVEN_UP = 1000 * PATIENCE
expect.set_options(timeout=GIVEN_UP)

needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="no Chromium is installed here")


@contextmanager
def browsing(*flags: str) -> Iterator[Browser]:
    """Give a browser; it draws 3D in software."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=[*FLAGS, *flags])
        yield browser
        browser.close()


@contextmanager
def beside(browser: Browser, *flags: str) -> Iterator[Browser]:
    """Give another browser while one is open, with more on its command line."""
    other = browser.browser_type.launch(executable_path=CHROMIUM, args=[*FLAGS, *flags])
    yield other
    other.close()


def windowed(browser: Browser, size: tuple[int, int], **options: Any) -> BrowserContext:
    """Return a window of its own, so large. [pixels]"""
    return browser.new_context(viewport={"width": size[0], "height": size[1]}, **options)


def kept_in(browser: Browser, folder: Path) -> BrowserContext:
    """Return a window of another browser that keeps in a folder what it is given."""
    return browser.browser_type.launch_persistent_context(
        folder, executable_path=CHROMIUM, args=FLAGS, offline=True
    )


def killed(folder: Path) -> None:
    """End the browser that keeps its things in a folder as kill -9 does."""
    # By its own convention it tells there who it is: the name of the machine, and its process.
    process = int(os.readlink(folder / "SingletonLock").rpartition("-")[2])
    os.kill(process, signal.SIGKILL)


class FilePage:
    """A file opened from the disk, offline; what its console says of errors is kept."""

    def __init__(self, context: BrowserContext, file: Path) -> None:
        self.wrong: list[str] = []
        self.asked: list[str] = []
        self.context = context
        self.page = context.new_page()
        self.page.set_default_timeout(GIVEN_UP)
        self.page.on("pageerror", lambda error: self.wrong.append(str(error)))
        self.page.on("console", lambda said: said.type in ("error", "warning")
                     and self.wrong.append(said.text))  # fmt: skip
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.address = file.as_uri()
        self.open()

    def open(self) -> None:
        """Open it, or open it again."""
        self.page.goto(self.address)

    def ready(self) -> None:
        """Wait until it says that all of it is there."""
        self.page.locator("[data-ready]").wait_for(state="attached")
